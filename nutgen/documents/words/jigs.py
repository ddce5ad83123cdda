"""Words for the jigs: how each is set, used and checked, what it promises, and why one is not made."""

from nutgen.documents.words.entry import Entry, Told, alike

JIG_NAMES = {
    "trial": "trial nut",
    "pencil": "pencil block",
    "thickness": "thickness carrier",
    "ends": "end cradle",
    "top": "top cheeks",
    "comb": "starting comb",
    "depth": "depth carrier",
    "stick": "stick clamp",
    "seat": "seat block",
    "gauges": "flat gauges",
}
"""What a maker calls them."""

_SCREWS = "Cap screws with a hexagon socket and hexagon nuts: what any shop for screws sells by these standards."


def _jig(told: Told) -> str:
    return JIG_NAMES[told["jig"]]


_HARDWARE: dict[str, Entry] = alike(
    _SCREWS,
    "",
    {
        "jig.screws-and-nuts": "{count} cap screws {thread} x {long} (ISO 4762), {nuts} nuts {thread} (ISO 4032)",
        "jig.screw-and-nut": "{count} cap screw {thread} x {long} (ISO 4762), {count} nut {thread} (ISO 4032)",
        "jig.pins": "{count} straight steel pins of {pin}: drill shanks or pieces of rod, a smooth end of {smooth} or"
        " more",
        "jig.shoe": "a shoe: 2 straight strips of metal or hard wood, {wide} by {high} or more, {long} long, and 2"
        " small clamps",
        "jig.wear-strips": "{count} strips of brass or tinplate of {strip}, {wide} wide, one glued on the edge of every"
        " cheek",
        "jig.shims": "shims, {long} by {wide} or a little less: leaves, tinplate, card or paper, each measured by"
        " caliper",
    },
)

_CHECKS: dict[str, Entry] = alike(
    "A printer that shrinks or stretches shows it on the longest side of a jig.",
    "Where it is off by more than 0.1 mm (0.004 in), half of what is missing goes under [print] per_side; make the jig"
    " again.",
    {
        "jig.check-length": "Caliper over its whole length (half of what is missing goes on print.per_side)",
        "jig.check-pins": "Caliper from the underside to the top of a pin, in the front groove and in the back one,"
        " where it must be {back}; half of what both are more together goes on every edge to shoe. In front",
        "jig.check-crown": "Caliper on the blank, over its greatest height at the front face once the crown is filed"
        " (what it is more goes under the blank as a shim)",
        "jig.check-channel": "Caliper inside its channel (a nut that fits it is off by as much as this is)",
        "jig.check-flat": "Caliper over the thickness of its flat (what it reads is what you take off the line)",
        "jig.check-strings": "Caliper over the length of the strip with the notches (half of what is missing goes on"
        " print.per_side)",
    },
)

_THICKNESS: dict[str, Entry] = alike(
    "The thickness carrier stops on four steel heads that ride on glass beside the paper; plastic never rubs.",
    "",
    {
        "jig.thickness-set": "Press a nut into each of the four traps. Turn the screws in from the open side, heads"
        " outward, a second nut behind the plate on each. Set every head to {heads} over the bearing face (the finished"
        " size, what is fitted by hand, and {paper} of paper): caliper from the plate's back to the head, less the"
        " plate in the pocket, which is about {plate}; an eighth of a turn is {eighth}. Tighten the nuts behind,"
        " measure all four again.",
        "jig.thickness-load": "Flatten the front face by hand first. Lay it on the bearing face, the underside against"
        " the plain wall, and drive the wedge in until the blank does not stir. Stick a strip of paper {wide} wide on"
        " glass, so that the heads ride on bare glass to either side of it.",
        "jig.thickness-sand": "Sand until all four heads ring on the glass: the blank is then {stop}. The last {left}"
        " is fitted by hand to the seat.",
        "jig.thickness-holds": "thickness {stop}, within {within}",
    },
)

_COMB: dict[str, Entry] = alike(
    "The comb places each slot; teeth must not ride on plastic, so that only steel can stop them.",
    "",
    {
        "jig.comb-set": "Stand jig and blank on a flat table, a low blank on the jig's floor, its bridge side toward"
        " the letters, and press it against the bass end with the M3 x {screw} screw. Hold the jig in a vise or clamp"
        " it by its foot, its back toward you or over the edge of the bench: behind it the tool goes down.",
        "jig.comb-cut": "Begin each slot through its two notches, easy strokes, the tool level over both plates."
        " Toothed sides eat the notch: a dozen strokes, no more.",
        "jig.comb-by-hand": "Nothing stops the tool of {who}: your hand decides; the table of your tools says why. Stop"
        " at a groove that holds the next file, well above the floor; plastic dust in the notch says that you are near"
        " it.",
        "jig.comb-holds": "places along the nut within {placed} and {play} of play; a tool may stand askew in its"
        " notches by {turn_deg}",
        "jig.comb-notch-wide": "{who}: the nozzle leaves no notch narrower than {notch}, and the tool is {tool_width}:"
        " it has that much room to wander; hold it to one side, or print with a finer nozzle",
        "jig.comb-shallow": "{who}: the slot is so shallow that its start against a stop is {deep} deep; mark it"
        " through the notch and file by hand",
    },
)

_ENDS: dict[str, Entry] = alike(
    "Both ends are sawn in one clamping, so that the length is that of the printed guides.",
    "",
    {
        "jig.ends-load": "Stand the blank in the channel on its underside, front face toward the letters, past both"
        " cuts, and press it with the two screws.",
        "jig.ends-saw": "Saw with a kerf of {kerf} through the slots in both walls, one end after the other, without"
        " moving the blank. Stop in the foot as soon as the blank is through.",
        "jig.ends-sand": "Sand {left} off each end on a flat stick, to {length}: by caliper, your hand decides; the jig"
        " stops nothing here.",
        "jig.ends-hold": lambda told: told.fill(
            "length {length} as sawn, within {within}; each end within {turn_deg}"
            + ("" if told.raw("lean_deg") < 0.05 else ", leaning with the edges of the board by {lean_deg} at most")
        ),
        "jig.ends-no-saw": "no saw on the bench: list its kerf under tools.saws, or file the ends to the line",
    },
)

_TOP: dict[str, Entry] = alike(
    "A file that rests on two profiled cheeks cuts the profile between them, and metal on their edges stops it.",
    "",
    {
        "jig.top-load": "Glue a strip of {strip} on every cheek's edge. Stand the blank on the plinth, front face"
        " toward the letters, its bass end against the stop, the cheeks LAND before and behind it on the foot; bolt"
        " them together past the ends.",
        "jig.top-land": "File across both cheeks until the file runs on metal all along. The blank is then too high, by"
        " about {first} and on purpose: caliper its greatest height at the front face, tips on the underside. What that"
        " is over {height} is the shim: lay it under the blank from end to end, bolt up, file again, to {height}.",
        "jig.top-bevel": "Leave the shim. Put the cheeks BEVEL in their place and file again until the file runs on"
        " metal: a bevel of {bevel_deg}, whose land in front is too wide, on purpose. Each {wider} that it is over"
        " {land} asks for a shim of {shim} more; where no bevel shows yet, lay {shim} under and file first. Shim it,"
        " file again: the land is {land}.",
        "jig.top-holds": "the profile within {within}, with the {left} on it that is dressed off at the end",
    },
)

_DEPTH: dict[str, Entry] = alike(
    "A tool whose shoe rests on steel pins before and behind the blank cuts no deeper than the line between them.",
    "",
    {
        "jig.shoe-set": "Clamp the shoe on both smooth sides of the tool, its underside along the edge: by caliper from"
        " the edge to that underside as the table has it, at either end, with what the check of the pins adds. The"
        " clamps stay over the shoe's underside.",
        "jig.shoe-ride": "Lay two pins in each groove, from left and right, smooth ends inward, just clear of the tool"
        " on either side. Cut until the shoe rides on all four. Strokes of {stroke} at most: a shoe that slips off a"
        " pin stops nothing; plastic dust in the notch says so. Caliper the shoe again after the first strokes.",
        "jig.depth-file": "The comb comes first: here the tools that come after follow the groove that it began, a"
        " narrow one in the middle of its notch. Each floor is then {over} over its final place, which is what the neck"
        " and the jig may be off together: the string at pitch decides the rest.",
        "jig.depth-holds": "floors {over} over their final place at the nearest, within {within}",
        "jig.depth-no-pins": "no steel pin: list the drill shanks of {pins:limit} that you have under"
        " tools.drill_shanks",
        "jig.depth-no-need": "the tool that begins each slot in the comb cuts it down to its stop; none comes after it",
        "jig.depth-not-stopped": "{who}: no stop: {why}",
        "jig.blade-round": "round: no sides for a shoe to hold",
        "jig.blade-unknown": "not listed under tools.blades",
        "jig.blade-tapers": "tapers by {taper}: a stop would hold its depth at one place only",
        "jig.blade-toothed": "has teeth on its sides: nothing smooth for a shoe to hold",
        "jig.blade-low": "{high} high, and a shoe needs {least}: from the edge down in the slot to over the blank, and"
        " a grip; use a higher one",
        "jig.blade-stopped": "yes, by a shoe on its sides",
    },
)

_SMALL: dict[str, Entry] = alike(
    "Small blocks and gauges that measure or hold; they repeat what the file says.",
    "",
    {
        "jig.pencil-draw": "Slide the half pencil on the flat against the wall: its lead draws a line.",
        "jig.pencil-read": "Caliper from the underside to the line, less the flat of {base}: write it as `lead` in"
        " seat.fret_plane.",
        "jig.pencil-holds": "the lead within {within}",
        "jig.stick-use": "Clamp a sanding stick of {wide} by {thick} in the front with the M4 screw, hands behind the"
        " guard: {fingers} from the abrasive.",
        "jig.seat-try": "Try the nut in it: it should go in with an easy press. The ridge stands as high as the frets,"
        " carried to the nut. It tests the fit alone, and repeats every misreading of the file: the neck decides.",
        "jig.seat-holds": "the seat as the file has it, within {within}",
        "jig.gauges-use": "Try TOP and the bevel on the finished nut, BOARD (the radius) on the board beside it (where"
        " it rocks or its middle stands off, the radius was misread), against the light: a gap of {within} may be the"
        " printer's. The strip shows the string places from the bass end at its left as seen from the bridge; on a"
        " left-handed nut the bass is at its right.",
        "jig.gauges-paper": "Or cut them out of card by gauges.dxf, or by the drawing below once its bars are true.",
        "jig.gauges-hold": "each edge within {within}",
        "jig.trial": "First, for everyone: print trial.3mf as it lies, a nut with its floors {floors} high. Strung and"
        " filed until it plays, it measures what no gauge reaches, before the blank is cut: `nutgen dryfit --trial`.",
    },
)

_NOT_MADE: dict[str, Entry] = {
    "jig.comb-no-tool": Entry(
        "{who}: no file, saw or shank on the bench goes into the slot; list yours under [tools]",
        "A notch is as wide as the tool that begins its slot; without a tool there is no notch.",
        "List files, saws and drill shanks under [tools], or cut these slots by hand.",
    ),
    "jig.comb-too-close": Entry(
        "{who}: between their notches {wall} would be left, under three printed lines ({least}): use a thinner saw for"
        " both, or a finer nozzle",
        "The wall between two notches must hold a tool, or it breaks away.",
        "A thinner saw under tools.saws, a finer nozzle or line_width under [print].",
    ),
    "jig.bed-too-small": Entry(
        "the part {part} is {across} by {deep}, and print.bed is {bed_wide} by {bed_deep}: a larger printer, or leave"
        " this jig out",
        "A part is printed in one piece, lying as it prints best.",
        "print.bed, where the printer is larger than the file says; else make the jig without this part.",
    ),
    "jig.top-too-round": Entry(
        "the top is so round that cheeks longer than the nut have no room on its arc: file it by its gauge",
        "A cheek goes on past both ends of the nut on the arc of its top.",
        "`--jig gauges`; and look again at fretboard.radius and width.",
    ),
    "jig.none-needed": Entry(
        "none of these jigs serves this nut: a nut from the printer needs its slots filed, nothing else",
        "A printed nut comes off the printer to its size; only its slots are left to file.",
        "`--jig comb`, or no jig at all.",
    ),
    "jig.not-needed": Entry(
        lambda told: f"no {_jig(told)}: a nut from the printer needs slots only",
        "A printed nut comes off the printer to its size.",
    ),
    "jig.not-made": Entry(
        lambda told: f"no {_jig(told)}: {told['why']}",
        "A jig that cannot hold or guide would be worse than none.",
        "What it says; or do this stage by hand, as `nutgen stages` has it.",
    ),
}

_CAUTIONS: dict[str, Entry] = alike(
    "Common practice, no source. Local rules and a licensed repairer come first.",
    "",
    {
        "jig.caution-fingers": "Hold the jig in a vise or with clamps, never by fingers near the tool. Eye protection,"
        " a fitted mask.",
        "jig.caution-blades": "No razor blade or knife in these guides: they are made for saws and files by hand.",
        "jig.caution-belt": "No printed jig on a moving belt, disc or cutter, and nothing wet at a mains machine.",
        "jig.caution-heat": "PLA gives way near 60 degrees C: not in a hot car, not under a lamp, no fast strokes.",
    },
)

JIGS: dict[str, Entry] = {
    **_HARDWARE,
    **_CHECKS,
    **_THICKNESS,
    **_COMB,
    **_ENDS,
    **_TOP,
    **_DEPTH,
    **_SMALL,
    **_NOT_MADE,
    **_CAUTIONS,
}
