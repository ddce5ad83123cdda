"""Words for the stages at the bench: what is done, how it is measured, what is measured."""

from nutgen.documents.words.entry import Entry, Sentence, Told, alike

SIZES = {
    "length": "length",
    "thickness": "thickness",
    "whole thickness": "thickness over the shelf",
    "seat thickness": "thickness below the shelf",
    "height": "height",
    "bass height": "height at the bass end",
    "treble height": "height at the treble end",
    "back height": "height at the back",
    "land": "land",
    "rebate": "height of the rebate",
    "off the board": "shelf off the board",
    "start": "thickness where the string starts",
    "floor": "floor over the board",
    "width": "width",
    "depth": "depth",
    "clearance": "clearance at fret 1",
}
"""What is measured at the bench, as a maker says it."""


_BEDS = {
    "channel": "until it goes into its channel with an easy press of the thumb, never a wedge",
    "ledge": "until it stands on its ledge without rocking, hard against the end of the board",
    "surface": "until it stands on the board without rocking",
}


def _fit_to_seat(t: Told) -> str:
    arch = t.fill(f"an arch of radius {{radius:radius}}{_along_neck(t)}") if t.raw("radius") else "flat"
    return (
        f"Clean old glue out of the seat. Bed the underside ({arch}) with a few strokes at a time, then the back face,"
        f" {_BEDS[t['seat']]}. Hold it to the light: no gap under it or in front."
        f"{_shelf_bed(t) if t.raw('clear') else ''}"
    )


def _along_neck(t: Told) -> str:
    """Where the nut slants, its arch runs on along the neck and not square to the front face."""
    return (
        t.fill(" across the neck, its hollow running along the neck, {off_square_deg} off square to the front face")
        if t.raw("off_square_deg")
        else ""
    )


def _shelf_bed(t: Told) -> str:
    arch = t.fill(f"an arch of radius {{shelf_radius:radius}}{_along_neck(t)}") if t.raw("shelf_radius") else "straight"
    near = " ({stack})" if t.raw("stack") else ""
    return t.fill(
        f" Then file the underside of the shelf, {arch}, until packing of {{clear}}{near}"
        " slides between it and the board from end to end: the nut rests on its seat, the shelf on nothing."
    )


def _square(t: Told) -> str:
    face = (
        t.fill(
            "that is the front of the shelf, which stays as it is; the face that goes against the board is cut {deep}"
            " behind it"
        )
        if t.raw("deep")
        else "that is the front face"
    )
    return (
        f"Flatten one face on paper stuck to glass: {face}. Square the underside to it, then the back, the top and the"
        " ends, checking with a small square against the light."
    )


def _against(t: Told) -> str:
    return "the shelf, or to the front face where none stands," if t.raw("deep") else "the front face,"


def _ends(t: Told) -> str:
    if t.raw("bass_deg") is None:
        return "Mark both ends against the board, centred, and sand them square down to the marks."
    return t.fill(
        "Mark both ends against the board: along the front face the bass end is {bass} from the centre line, the treble"
        " end {treble}. Sand them upright down to the marks, along the board's edges: seen from above, from the front"
        f" face back, the bass end turns {_turned(t, 'bass_deg')}, the treble end {_turned(t, 'treble_deg')}."
    )


def _turned(t: Told, end: str) -> str:
    """Which way an end stands off square."""
    return t.fill(f"{{{end}}} {'outward' if t.raw(end) > 0.0 else 'inward'}").removeprefix("-")


def _crown(t: Told) -> str:
    crown = t.fill("an arc of radius {radius:radius}") if t.raw("radius") else "a straight line"
    return (
        f"File the top to {crown} along the template's line, square to the front face, from the middle outward;"
        " check the height at the middle and both ends in turn."
    )


def _bevel(t: Told) -> str:
    return t.fill(
        f"File the bevel at {t.raw('bevel_deg'):g} degrees down to the back face, parallel to the crown, up to a pencil"
        " line {land} behind the front edge; the strings start on that land."
    )


def _polish(t: Told) -> str:
    eased = (
        t.fill("Ease the ends and the back top edge to a radius of {edge_radius}; ")
        if t.raw("edge_radius")
        else "Leave the edges crisp; "
    )
    return (
        "Go through the papers in order, each until the scratches of the one before are gone and no longer."
        f" {eased}keep the front top edge sharp. Draw a used string with polish through each slot, twice."
    )


def _at_pitch(t: Told) -> str:
    saddle = "set the action at the saddle from {bass_now} to {bass_wanted}, treble {treble_now} to {treble_wanted}, "
    return f"String up to pitch, {t.fill(saddle) if t.raw('bass_now') else ''}"


def _fix(t: Told) -> str:
    return (
        f"{_at_pitch(t)}press each string down just in front of the"
        " nut, and read the clearance at fret 1. When all are right, hold the nut with one small dab of glue that lets"
        " go again: the strings do the rest."
    )


def _strips(t: Told) -> str:
    """How wide the leaves of a stop may be, where they lie between nut and zero fret."""
    return t.fill(", cut to strips that fit into the {gap} between nut and zero fret,") if t.raw("gap") else ""


def _fix_behind_zero_fret(t: Told) -> str:
    return (
        f"{_at_pitch(t)}and press each string down between nut and"
        " zero fret while it sounds: where the note changes, it does not lie on the zero fret, and its slot is filed"
        " deeper. When all lie, hold the nut with one small dab of glue that lets go again: the strings do the rest."
    )


_STAGES = alike(
    "One stage of the work, with the sizes of this nut.",
    "",
    {
        "stage.saw": "Saw a block out of the soundest part, {over:stock} over on every face; draw the front face and"
        " the top on it, so that no porous or soft spot lies under a string.",
        "stage.clean-print": "Nothing to saw: cut off brim and supports, and let the part cool flat.",
        "stage.square": _square,
        "stage.thickness": "Sand the back face only, the paper on glass, turning the blank end for end every ten"
        " strokes so that it does not taper; end on {paper}.",
        "stage.shelf": "Scribe a line across the front {high} over the underside. Saw and file away what lies below it,"
        " {deep} deep and square in the corner, from end to end: this rebate lets the nut into its seat, and what"
        " stands over it is the shelf. From here on front face means the back of the rebate, which goes against the"
        " board.",
        "stage.shelf-printed": "The shelf is printed: clean its underside, and measure what is below and over it before"
        " it goes into the seat.",
        "stage.fit-to-seat": _fit_to_seat,
        "stage.ends": _ends,
        "stage.crown": _crown,
        "stage.bevel": _bevel,
        "stage.no-bevel": "Nothing to do: this top runs level to the back face.",
        "stage.starts": "The front steps back to where each string starts. Mark the steps from the table or the"
        " template's top view, saw their sides, and file each stretch back square to the underside until the nut is as"
        " thick at each string as its size says.",
        "stage.rough-slots": lambda t: (
            "Mark the slots from the template, scribe them, and start each with the narrowest tool along its own line"
            f" toward its tuner. Lay the stack of the rough stop on the board{_strips(t)} and file down, dipping"
            " toward the headstock by the slot's tilt."
        ),
        "stage.final-slots": lambda t: (
            f"Fit the nut dry, strings off or slack. Push the stop stack{_strips(t)} up to {_against(t)} centred under"
            " the string and lying along it, and file on until the file just touches steel; then stop. Widen by rocking"
            " until the string drops in under its own weight and does not move sideways."
        ),
        "stage.dress-the-top": "With the slots at their floors, sand the top down, land and bevel alike, until each"
        " string lies as deep in its slot as its size says. The floors are not touched.",
        "stage.polish": _polish,
        "stage.fix": _fix,
        "stage.fix-behind-zero-fret": _fix_behind_zero_fret,
        "stage.fix-under-bar": "String up to pitch and lay a straightedge across the string tops, close to the nut:"
        " where one stands proud, file its slot deeper, by what the others are below it. When the edge lies on all,"
        " hold the nut with one small dab of glue that lets go again: the strings do the rest.",
    },
)


def _by_caliper(after: str, before: str = "") -> Sentence:
    """A measure by caliper; one that is too coarse is told what to use instead."""

    def says(t: Told) -> str:
        coarse = (
            " This caliper is too coarse for the last strokes: compare against a stack of leaves instead."
            if t.raw("too_coarse")
            else ""
        )
        return t.fill(before + "caliper, to {caliper:leaf}" + after) + coarse

    return says


def _measure_dress(t: Told) -> str:
    proud = zip(t.finding.strings, t["proud"], strict=True)
    stands = ", ".join(f"string {number} {over:+}" for number, over in proud)
    return t.fill(
        "Lay a piece of each string in its slot and a straightedge across the top beside it: what stands proud is the"
        f" gauge less the depth: {stands} once polished. Heights by caliper, to {{caliper:leaf}}."
    )


def _measure_fix_by_sheets(t: Told) -> str:
    between = "Between the open string and fret 1, at pitch, what just drags and does not lift"
    if not t.raw("stacks"):
        return f"{between}: fill the gap, and squeeze what fills it in the caliper, as one."
    rows = zip(t.finding.strings, t["stacks"], t["sums"], strict=True)
    stacks = ", ".join(f"string {number} {stack} ({height:leaf,bare})" for number, stack, height in rows)
    return f"{between}; nearest to the size to reach: {stacks}."


_MEASURES = alike(
    "How the sizes of a stage are measured with the tools that the file lists.",
    "List the tools that you have under [tools].",
    {
        "measure.saw": _by_caliper(": the smallest of three places on each size."),
        "measure.square": _by_caliper(", at both ends and the middle; a square against the light."),
        "measure.thickness": _by_caliper(", at the four corners and the middle: the smallest counts."),
        "measure.shelf": _by_caliper(
            ": the thickness below the shelf and over it, at both ends and the middle; the rebate with the tail of the"
            " caliper from the underside."
        ),
        "measure.starts": _by_caliper(", front to back, jaws as narrow as the stretch."),
        "measure.fit-to-seat": _by_caliper(
            ".", "The seat itself, and what just fills the gap where it stands off. Height from the underside: "
        ),
        "measure.ends": _by_caliper(", end to end, and a fingertip along the edge of the board."),
        "measure.crown": _by_caliper(
            ", jaws over underside and top at the front face: greatest height, then each end."
        ),
        "measure.bevel": _by_caliper(", jaws over underside and top at the back face; the land with its tips."),
        "measure.rough-slots": "The stop stack on the board: the tool touches its steel, no deeper. Width: the tool's"
        " own.",
        "measure.final-slots": "The stop stack on the board in front of the nut. Width: the string itself, or a drill"
        " shank or wire of that size.",
        "measure.dress-the-top": _measure_dress,
        "measure.polish": _by_caliper(", after each paper."),
        "measure.fix-by-sheets": _measure_fix_by_sheets,
        "measure.fix-under-bar": "A straightedge across the string tops: paper under it must drag at every string.",
        "measure.fix-behind-zero-fret": "A strip of thin paper between string and zero fret: it must not pull out.",
        "measure.fix": "Leaves between the open string and fret 1, at pitch: the leaf that just drags, not lifts.",
    },
)


def _stops_read(t: Told) -> str:
    shelf = t.raw("shelf")
    against = "shelf, or to the front face where no shelf meets them" if shelf else "front face"
    reach = (
        " Where a neighbour's shelf keeps them off a string that starts farther back, the stack is as high as the file"
        " stands over them there."
    )
    block = "Square a block of metal or hard wood to {block} by caliper: it lies on the board under every stack. "
    return (
        f"{t.fill(block) if t.raw('block') else ''}"
        f"Lay the {'stack' if t.raw('found') is not None else 'leaves'} on the board in front of the nut, along the"
        f" string and centred under it, pushed up to the {against}.{reach if shelf else ''} File until the file just"
        f" touches steel. Low: stop that much short of the steel.{_of_own(t)}"
    )


def _of_own(t: Told) -> str:
    """A stack that is no set of leaves: what lies on top, and how it is measured as one."""
    if t.raw("found") is None:
        return ""
    words = t.fill(
        " One strip of steel lies on top, {wide:stock} wide or less, the sheets under it cut no wider: a file goes"
        " through paper, card and plastic."
    )
    if not t.raw("found"):
        words += t.fill(
            " To find: the side of a tin (about {tinplate}) with its edges and corners filed dull, an old feeler leaf,"
            " the smooth part behind the teeth of an old saw blade; a drill's smooth shank only along the string, taped"
            " down so that it cannot roll. No razor or knife blade. Measure it, and list it in tools.steel."
        )
    loose = t.fill(" Loose sheets may be off by {loose:fine}, and {each:fine} more each.") if t.raw("sheets") else ""
    return words + (
        f"{loose} Squeeze the whole stack in the caliper, as one: where it does not measure what the table says, change"
        " a sheet."
    )


_READ = {
    "work.local-rules": Entry(
        "Local rules for workshops, dust, glue and the trade in animal parts come first. Where you are unsure, or the"
        " instrument is worth more than the lesson, ask a licensed repairer.",
        "Work at the bench can hurt, and animal parts are regulated.",
        "Read the rules of your place; ask somebody with a licence.",
    ),
    "work.sizes-read": Entry(
        "Stop at: put the tool down and measure; from there stroke by stroke. Reach: the size of this stage, with what"
        " comes off later still on. Limit: beyond it the nut is no longer sound; then see the way back.",
        "How the sizes of the stages are meant.",
    ),
    "work.stops-read": Entry(_stops_read, "How a stack with steel on top stops a file."),
}

STAGES: dict[str, Entry] = {**_STAGES, **_MEASURES, **_READ}
