"""Words for what printer and router can hold of a nut, and for making, proving and writing its files."""

from nutgen.documents.words.entry import Entry, Told, alike, entries

_DRAWN_IN_LAYERS = (
    "slot widths and floors are then drawn within each layer, not stacked from layers: the layers leave {worst:fine}"
    " in a floor at most, on the underside it would be {standing}"
)
_WEAK_CAUSE = "A wall of fewer than two printed lines has no core and breaks when the slot is filed."


def _nothing_left(wall: str) -> str:
    return (
        f"print.per_side: {{taken}} off the two sides leaves nothing of the {wall}; measure the printer again with"
        " `nutgen coupon`"
    )


def _weak(side: str) -> str:
    return f"print: between the slot of {{who}} and the {side} {{wall}} is left, under two lines of {{line:machine}}"


def _weak_between(told: Told) -> str:
    fate = "it will not be printed" if told.raw("wall") < told.raw("line") else "one line alone, it will break"
    return told.fill(
        "print: the wall between {who} is {wall}, under two lines of {line:machine}: "
        f"{fate}; a finer nozzle or line_width helps"
    )


PRINT: dict[str, Entry] = {
    **entries("""
print.nozzle-wider-than-gap
    print.nozzle: {nozzle:machine} is wider than the gap of {gap} between {who}; use a finer nozzle, or make it another
    way (--for mill, trace)
    cause: A nozzle lays no line narrower than itself, so two slots closer than that run into one.
    cure: A finer nozzle, or files to trace or to mill.
print.front-off-the-bed
    {who}: a nut whose strings are set back stands on its shelves, not on its front face; use "back" or "best", or set
    slots.setback to 0
    cause: Where strings are set back, shelves stand out before the front face and keep it off the bed.
    cure: print.down = "back" or "best", or slots.setback = 0.
print.layers-miss-the-thickness
    print: {layers} layers of {layer:machine} come to {over} more than the {wanted} from front to back: sand the back
    until the nut slides into its seat; layers of {fits:machine} would fit
    cause: Layers are whole. A thickness between two of them comes out as either, by the slicer; so it is drawn as whole
    layers, too thick rather than too thin.
    cure: Sand the back, or a layer height that divides the thickness; `nutgen coupon` tells how thick the seat is.
print.shelves-between-layers
    print: fronts of shelves lie up to {off} from a whole layer of {layer:machine}, and come out a layer more or less:
    file them to their setback
    cause: Layers are whole, setbacks are not; the front face itself is drawn as whole layers.
    cure: File the fronts of the shelves to the setback that the sheet tells, or print finer layers.
print.edge-droops
    print: {droops_mm2:.2} of an eased edge leans out too far for layers of {layer:machine}; print finer layers, or ease
    the edge by hand (body.edge_radius)
    cause: Each layer of a rounded edge that faces the bed stands out over the one below; too far, and it droops.
    cure: Finer layers, or body.edge_radius = 0 and ease the edge by hand.
coupon.too-thin
    {who} is too thin to try: its narrowest slot would be {width}, and a nozzle of {nozzle:machine} leaves {least} open
    at least; choose a thicker string, or a smaller print.coupon_step
    cause: The coupon's slots run from narrower than the string to wider; a nozzle closes the narrowest.
    cure: A thicker string (--string), a smaller print.coupon_step, or a finer nozzle.
coupon.no-such-string
    there is no string {number}; the nut has strings 1 to {count}
    cause: Strings are counted the trade's way: 1 is the treble-most.
    cure: A number from 1 to the number of strings.
"""),
    **alike(
        "The printer's error, taken off both sides of a wall, leaves nothing to draw.",
        "Measure the printer again with `nutgen coupon`; write what it says under [print].",
        {
            "print.nothing-left-between": _nothing_left("wall of {wall} between {who}"),
            "print.nothing-left-outside": _nothing_left("{wall} between the slot of {who} and the end"),
        },
    ),
    **alike(
        _WEAK_CAUSE,
        "A finer nozzle or line_width under [print]; a wider string spacing; or make it another way.",
        {
            "print.weak-between": _weak_between,
            "print.weak-outside": _weak("end"),
            "print.weak-under": _weak("underside"),
        },
    ),
    "print.weak-at-the-back": Entry(
        "print: {wall} is left at the back under the bevel, under two lines of {line:machine}",
        _WEAK_CAUSE,
        "A flatter bevel (body.bevel_deg), a finer nozzle or line_width under [print].",
    ),
    "print.lies-as-told": Entry("as the file says; " + _DRAWN_IN_LAYERS, "print.down says which face is on the bed."),
    "print.lies-on-back": Entry(
        _DRAWN_IN_LAYERS + "; the front edge, where the strings start, is off the bed and stays crisp",
        "Lying down, the nut's front view is what each layer draws; the back is the face that may be rough.",
    ),
    "print.lies-on-front": Entry(
        _DRAWN_IN_LAYERS + "; on its back {droops_mm2:.2} of the eased edge would droop",
        "Lying down, the nut's front view is what each layer draws; on its back too much of it would droop.",
    ),
}
"""What the printer holds."""

_CUTTER_LEAVES = "What the runs leave is worked out along the bottom line of each slot."

MILL: dict[str, Entry] = {
    **entries("""
mill.stock-too-small
    {who}: {size} of stock is less than the part's {need}; use a larger piece, or leave less on by body.top, body.back
    or body.ends
    cause: The part, its allowances on, must lie inside the stock.
    cure: A larger piece under [mill], or less left on under [body].
mill.cutter-too-large
    mill.cutters: the cutter {diameter:count} {end} is larger than the nut, {length} long; take it out
    cause: A cutter wider than the nut is long makes nothing of it.
    cure: Take it out of mill.cutters.
mill.nothing-to-clamp
    {who}: {beyond} of stock beyond each end of the nut, {wanted} are needed to clamp it and let the cutter pass; glue a
    piece of wood to each end and give the length with them, {longer}
    cause: The nut is held by what sticks out of it at both ends, and the cutter goes round it.
    cure: Longer stock under [mill], or wood glued to both ends; without mill.stock_length the length follows.
mill.no-cutter-enters
    no cutter dips in: file it whole, along its line on the template
    cause: Every cutter at hand is much wider than the slot.
    cure: File the slot, or add a finer ball cutter under [mill].
mill.marked
    a mark alone: file it whole, along the mark
    cause: Every cutter at hand is wider than the slot; it rides on the slot's two edges.
    cure: File the slot, or add a finer ball cutter under [mill].
mill.saw-the-tabs
    Saw through the tabs, {wide} wide and {high} high, outside the nut, and file the ends flush.
    cause: Tabs hold the nut in its stock until the last cut is done.
    cure: Saw them with a fine blade, the nut held, not its ends.
mill.square-the-corners
    Square the inside corners beside the shelves with a file: {left} stand off each point, and what lies between shelves
    closer than the cutter. Or write mill.dogbones = true.
    cause: A turning cutter leaves a fillet of its own radius in an inside corner.
    cure: A file, or mill.dogbones = true.
mill.not-from-above
    Saw and file away what stands under the shelves, {hollow} high from the underside.
    cause: A cutter from above does not reach under a shelf.
    cure: Saw and file it.
"""),
    "mill.milled-whole": Entry("the floor is whole; file the walls", _CUTTER_LEAVES),
    "mill.file-the-rest": Entry("file the rest", _CUTTER_LEAVES, "File what stands in the columns floor and walls."),
    "mill.arched-underside": Entry(
        lambda t: t.fill(
            "File the underside hollow, {hollow} deep in the middle"
            + (
                ", along the neck, {off_square_deg} off square to the front face."
                if t.raw("off_square_deg")
                else "; or cut its arch first by mill-profile.dxf."
            )
        ),
        "The nut stands on its underside; an arched one is hollow there.",
        "File it, or lay the piece on its back and cut the profile first.",
    ),
}
"""What the router holds."""

SOLID: dict[str, Entry] = {
    "solid.cannot-be-made": Entry(
        "the CAD kernel failed at {what}: {reason}",
        "The CAD kernel could not make a part of the solid, its mesh or its file.",
        "Change one size a little (body.edge_radius, body.bevel_deg); please report it with the instrument file.",
    ),
    "solid.slots-not-cut": Entry(
        "the slots could not be cut out of the nut as one solid; slots that run into each other or out of an end may"
        " cause it: move them apart (spacing.margin, spacing.measured, spacing.course_gap), or turn one by a tenth of a"
        " degree (headstock.fan_deg, strings.post)",
        "The CAD kernel lost a slot, or left the nut in pieces.",
        "Move the slots apart by their keys in spacing, or turn one by a tenth of a degree.",
    ),
    "solid.cut-in-two": Entry(
        "a slot cuts through the underside at the front face; use less headstock.fan_deg, or a tuner nearer the"
        " string's line (strings.post), or a deeper seat.depth",
        "The floor of a slot meets the underside, and the front face falls apart.",
        "Less headstock.fan_deg, or a deeper seat.depth.",
    ),
}

MODEL = PRINT | MILL | SOLID

JOBS: dict[str, Entry] = {
    "files.left-out": Entry(
        "the files to {purpose} were left out: {why}",
        "Files for a purpose that was not asked for by name are left out where they cannot be made.",
        "Mend what it says, or leave them out with --for.",
    ),
    "files.placed-late": Entry(
        lambda t: f"an earlier run was ended while it placed its files; placed now: {', '.join(t['names'])}",
        "A run was killed, or the power failed, after its files were written and before all were in their places.",
    ),
    "files.not-all-placed": Entry(
        "{name}: {reason}; some of the new files are in place, the others wait in a folder beside them",
        "A file could not be moved to its place after others had been.",
        "Mend what it says; the next run into the same folder places the others.",
    ),
    "file.not-as-solved": Entry(
        "{who}, read back by {reader}: {what} is {found}, not {wanted}; this is a fault of nutgen's, please report it",
        "Every file is read back before the set counts as made, and this one does not say what was solved.",
        "Nothing was written. Please report it with the instrument file.",
    ),
}
