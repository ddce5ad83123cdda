"""Words for the work at the bench: stages, sizes, tools, leaves, the way back, the old nut."""

from nutgen.documents.words.entry import Entry, Sentence, Told, alike
from nutgen.documents.words.quantities import MM_PER_INCH, Units, rounded

SIZES = {
    "length": "length",
    "thickness": "thickness",
    "height": "height",
    "bass height": "height at the bass end",
    "treble height": "height at the treble end",
    "back height": "height at the back",
    "land": "land",
    "floor": "floor over the board",
    "width": "width",
    "depth": "depth",
    "clearance": "clearance at fret 1",
}
"""What is measured at the bench, as a maker says it."""


def leaves_marked(leaves: tuple[float, ...], units: Units) -> str:
    """The leaves of a stack as they are marked: 1.00 + 0.35, or .035 + .0015.

    leaves : [mm]
    units  : of the set they belong to
    """
    if units == "mm":
        return " + ".join(f"{leaf:.3f}".rstrip("0").ljust(4, "0") for leaf in leaves) or "no leaf"
    inches = (f"{leaf / MM_PER_INCH:.4f}" for leaf in leaves)
    return " + ".join(text.lstrip("0")[: 4 if text[-1] == "0" else 5] for text in inches) or "no leaf"


def thousandths(width: float) -> str:
    """A width [mm] as files are marked: .042 in."""
    return f"{rounded(width / MM_PER_INCH, 3):.3f} in".lstrip("0")


def filled(material: str) -> str:
    """How a slot is filled."""
    return f"fill the slot with dust of {material} and thin glue, in two goes, and file it again"


_SAME = filled("the same material")

_BEDS = {
    "channel": "until it goes into its channel with an easy press of the thumb, never a wedge",
    "ledge": "until it stands on its ledge without rocking, hard against the end of the board",
    "surface": "until it stands on the board without rocking",
}


def _fit_to_seat(t: Told) -> str:
    arch = t.fill("an arch of radius {radius:radius}") if t.raw("radius") else "flat"
    return (
        f"Clean old glue out of the seat. Bed the underside ({arch}) with a few strokes at a time, then the back face,"
        f" {_BEDS[t['seat']]}. Hold it to the light: no gap under it or in front."
    )


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


_STAGES = alike(
    "One stage of the work, with the sizes of this nut.",
    "",
    {
        "stage.saw": (
            "Saw a block out of the soundest part, {over:stock} over on every face; draw the front face and the top on"
            " it, so that no porous or soft spot lies under a string."
        ),
        "stage.clean-print": "Nothing to saw: cut off brim and supports, and let the part cool flat.",
        "stage.square": (
            "Flatten one face on paper stuck to glass: that is the front face. Square the underside to it, then the"
            " back, the top and the ends, checking with a small square against the light."
        ),
        "stage.thickness": (
            "Sand the back face only, the paper on glass, turning the blank end for end every ten strokes so that it"
            " does not taper; end on {paper}."
        ),
        "stage.fit-to-seat": _fit_to_seat,
        "stage.ends": "Mark both ends against the board, centred, and sand them square down to the marks.",
        "stage.crown": _crown,
        "stage.bevel": _bevel,
        "stage.no-bevel": "Nothing to do: this top runs level to the back face.",
        "stage.rough-slots": (
            "Mark the slots from the template, scribe them, and start each with the narrowest tool along its own line"
            " toward its tuner. Lay the leaves of the rough stop on the board and file down, dipping toward the"
            " headstock by the slot's tilt."
        ),
        "stage.final-slots": (
            "Fit the nut dry, strings off or slack. Push the stop stack up to the front face, centred under the string"
            " and lying along it, and file on until the file just touches steel; then stop. Widen by rocking until the"
            " string drops in under its own weight and does not move sideways."
        ),
        "stage.dress-the-top": (
            "With the slots at their floors, sand the top down, land and bevel alike, until each string lies as deep in"
            " its slot as its size says. The floors are not touched."
        ),
        "stage.polish": _polish,
        "stage.fix": (
            "String up to pitch, press each string down just in front of the nut, and read the clearance at fret 1."
            " When all are right, hold the nut with one small dab of glue that lets go again: the strings do the rest."
        ),
    },
)


def _by_caliper(after: str, before: str = "") -> Sentence:
    """A measure by caliper; one that is too coarse is told what to use instead."""

    def says(t: Told) -> str:
        coarse = (
            " This caliper is too coarse for the last tenths: compare against a stack of feeler leaves instead."
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


_MEASURES = alike(
    "How the sizes of a stage are measured with the tools that the file lists.",
    "List the tools that you have under [tools].",
    {
        "measure.saw": _by_caliper(": the smallest of three places on each size."),
        "measure.square": _by_caliper(", at both ends and the middle; a square against the light."),
        "measure.thickness": _by_caliper(", at the four corners and the middle: the smallest counts."),
        "measure.fit-to-seat": _by_caliper(
            ".", "The seat itself, and a leaf in the gap where it stands off. Height from the underside: "
        ),
        "measure.ends": _by_caliper(", end to end, and a fingertip along the edge of the board."),
        "measure.crown": _by_caliper(
            ", jaws over underside and top at the front face: greatest height, then each end."
        ),
        "measure.bevel": _by_caliper(", jaws over underside and top at the back face; the land with its tips."),
        "measure.rough-slots": "Leaves on the board: the tool touches them, no deeper. Width: the tool's own.",
        "measure.final-slots": (
            "Leaves on the board in front of the nut. Width: the string itself, or a drill shank or leaf of that size."
        ),
        "measure.dress-the-top": _measure_dress,
        "measure.polish": _by_caliper(", after each paper."),
        "measure.fix": (
            "Feeler leaves between the open string and fret 1, at pitch: the leaf that just drags, not lifts."
        ),
    },
)

_CAUTIONS = alike(
    "A step at the bench that can hurt whoever does it.",
    "Do as it says; local rules and licensed practice come first.",
    {
        "bench.dust": "Dust: wet work or extraction, a fitted mask, no dry sweeping; see the cautions of the material.",
        "bench.turning-tools": (
            "Rotary tools and belts: goggles, hair and sleeves tied back, no gloves, piece clamped or in a jig."
        ),
        "bench.edges": "Saws and files slip: clamp the piece, not your fingers; goggles.",
        "bench.prising": ("Prise nothing out of a seat by force: score the finish first, tap the old nut sideways."),
        "bench.string-whips": "A string under tension can whip: slacken it before you lift it, goggles on, face away.",
        "bench.thin-glue": (
            "Thin glue bonds skin and eyes and heats on cotton or dust: goggles, air the room, keep a debonder by."
        ),
    },
)

_REMEDIES = alike(
    "A size is past its limit: what is sanded or filed off does not come back.",
    "Stop where the stage says stop, and go on stroke by stroke.",
    {
        "remedy.too-short": (
            "start again: a short nut lets the outer string slip off; keep the piece for a narrower board"
        ),
        "remedy.turn-for-thickness": (
            "turn the blank a quarter, so that its height becomes the thickness, where that measures {least} and more"
            " and the other way {height}; else start again"
        ),
        "remedy.turn-for-height": (
            "turn the blank a quarter, so that its thickness becomes the height, where that measures {least} and more"
            " and the other way {thickness}; else pack it from below, up to {thickest_shim:stock}, or start again"
        ),
        "remedy.pack-behind": (
            "pack it behind, between back face and headstock, never in front: the scale starts at the front face"
        ),
        "remedy.too-thin": "start again: the land no longer fits on the nut; a ledge can not be packed",
        "remedy.pack-below": "pack the whole nut from below, end to end, so that it stays level",
        "remedy.dress-top": (
            "dress the top and leave the bevel alone: each {off} off the top widens the land by {wider}"
        ),
        "remedy.fill-wide": f"{_SAME}; or fit the next thicker string",
        "remedy.too-wide": "start again: metal cannot be filled; or fit the next thicker string",
        "remedy.too-shallow": (
            "the string lies too shallow: pack the whole nut from below and file every slot down by the same"
        ),
        "remedy.too-low": lambda t: (
            (f"where one slot alone is low, {_SAME}; else " if t.raw("fill") else "")
            + "pack the whole nut from below by what is missing and file the other slots down by the same"
        ),
    },
)

_TOOLS = {
    "saw": "saw of {tool_width} kerf",
    "slotting file": "slotting file {tool_width}",
    "needle file": (
        "needle file, taped where it measures {tool_width}, handle toward the headstock; never let the tape pass the"
        " front face"
    ),
    "drill shank": "abrasive paper round a drill shank, {tool_width} over the paper",
}


def _cut(tool: str) -> Sentence:
    def says(t: Told) -> str:
        words = t.fill(_TOOLS[tool])
        if tool == "slotting file" and t.units == "mm":
            words += f" ({thousandths(t.raw('tool_width'))})"
        strokes, rocking = t["strokes"], t["rock_strokes"]
        words += t.fill(
            ": down to {floor_left} above the final floor" if t.raw("floor_left") else ": down to the stop stack"
        )
        words += f", looking every {'stroke' if strokes == 1 else f'{strokes} strokes'}"
        if t.raw("widen"):
            every = "every rocking stroke" if rocking == 1 else f"every {rocking} rocking strokes"
            words += t.fill("; rock it to widen by {widen:fine}") + f", trying the string {every}"
        return words

    return says


def _no_tool_fits(verdict: str) -> Sentence:
    def says(t: Told) -> str:
        asked = f" ({thousandths(t.raw('width'))})" if t.units == "mm" else ""
        return t.fill(f"{{width}}{asked}: no tool fits; the nearest, the {{tool}}, leaves {{leaves}}, {verdict}")

    return says


_SLOTS = {
    **alike(
        "One tool in one slot: the narrowest first, the last one to width and floor.",
        "List the files, saws and shanks that you have under [tools].",
        {f"tools.{tool.replace(' ', '-')}": _cut(tool) for tool in _TOOLS},
    ),
    "tools.fits": Entry(
        "{width}: the {tool} fits, to about {plus_minus}",
        "A tool on the bench leaves the width that the slot wants, as near as its own mark.",
    ),
    "tools.none": Entry(
        "no tool on this bench cuts a round slot; list files, needle_files or drill_shanks under [tools]",
        "The file lists no tool with a round edge.",
        "List what you have under [tools].",
    ),
    **alike(
        "No tool that the file lists leaves the width that this slot wants.",
        "Borrow or buy a file of the width, or list it under [tools] if it is there.",
        {
            "tools.below-gauge": _no_tool_fits("{off} too narrow for the string itself; open it with paper on a wire"),
            "tools.narrow": _no_tool_fits(
                "{off} narrow: the string may bind, so open it with paper folded over a leaf"
            ),
            "tools.wide": _no_tool_fits(
                "{off} wide: the string may rattle sideways, so borrow or buy a file of the width"
            ),
        },
    ),
}


def _widen(t: Told) -> str:
    return t.fill("widen to {width:bare}") + (t.fill(", toward the {toward} side") if t.raw("toward") else "")


_OLD_NUT = {
    **alike(
        "A slot of the old nut does not suit the string that it is to carry.",
        "File what can be filed; a slot that is too wide or off its place wants filling or a new nut.",
        {
            "old-slot.widen": _widen,
            "old-slot.too-wide": "too wide by {by:bare} (rattle)",
            "old-slot.off-position": "off position by {by:bare} to the {side} side",
            "old-slot.too-low": "too low by {by:bare} (buzz)",
            "old-slot.file-down": "file the floor down by {by:bare}",
            "old-slot.low-but-clear": "{by:bare} lower than wanted, still clear",
        },
    ),
    **alike(
        "The old nut is held, slot by slot, against the nut that the file asks for.",
        "",
        {
            "old-nut.keep": "every slot suits its string as it is",
            "old-nut.file": "every slot can be filed to what its string needs",
            "old-nut.fill": "{who} to fill and to file again; the others need no packing for that",
            "old-nut.shim": "a shim of {shim} under the nut saves it; then file each floor to its height",
            "old-nut.shim-too-thick": (
                "a slot is too low by {shim}: over {most:stock} neither a shim nor a filled slot holds"
            ),
            "old-nut.slots-lost": lambda t: (
                " and ".join(
                    f"{what} for {', '.join(names)}"
                    for what, names in (("too wide", t["too_wide"]), ("off position", t["misplaced"]))
                    if names
                )
                + (": fill those slots and cut them again, or make a new nut" if t.raw("fill") else "")
                + "; a shim does not help"
            ),
        },
    ),
    "old-nut.pluck-assumed": Entry(
        lambda t: f"buzz is judged by a pluck that is assumed: {', '.join(t['assumed'])}; write [pluck]",
        "How hard the strings are plucked decides how low a floor may be, and the file does not say it.",
        "Write [pluck].",
    ),
}

BENCH: dict[str, Entry] = {**_STAGES, **_MEASURES, **_CAUTIONS, **_REMEDIES, **_SLOTS, **_OLD_NUT}
