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
    },
)

_CHECKS: dict[str, Entry] = alike(
    "A printer that shrinks or stretches shows it on the longest side of a jig.",
    "Put the reading under [print] jig_sizes, and make the jig again.",
    {"jig.check-length": "Caliper over its whole length"},
)

_THICKNESS: dict[str, Entry] = alike(
    "The thickness carrier stops on four steel heads that ride on glass beside the paper; plastic never rubs.",
    "",
    {
        "jig.thickness-set": (
            "Press a nut into each of the four traps. Turn the screws in from the open side, heads outward, a second"
            " nut behind the plate on each. Set every head to {heads} over the bearing face by caliper (the finished"
            " size, what is fitted by hand, and {paper} of paper): an eighth of a turn is {eighth}. Tighten the"
            " nuts behind, measure all four again."
        ),
        "jig.thickness-load": (
            "Flatten the front face by hand first. Lay it on the bearing face, the underside against the plain wall,"
            " and drive the wedge in until the blank does not stir. Stick a strip of paper {wide} wide on glass, so"
            " that the heads ride on bare glass to either side of it."
        ),
        "jig.thickness-sand": (
            "Sand until all four heads ring on the glass: the blank is then {stop}. The last {left} is fitted by hand"
            " to the seat."
        ),
        "jig.thickness-holds": "thickness {stop}, within {within}",
    },
)

_COMB: dict[str, Entry] = alike(
    "The comb places each slot; teeth must not ride on plastic, so that only steel can stop them.",
    "",
    {
        "jig.comb-set": (
            "Stand comb and blank on a flat table, bridge side of the blank toward the letters, and press the blank"
            " against the bass end with the M3 x {screw} screw. Hold the comb in a vise or clamp it by its foot."
        ),
        "jig.comb-cut": (
            "Begin each slot through its two notches, easy strokes, the tool level over both plates. Toothed sides eat"
            " the notch: a dozen strokes, no more."
        ),
        "jig.comb-stops": (
            "Glue a strip of steel of {strip} on top of both plates: the back of the saw meets it when the slot is"
            " begun. Stop there."
        ),
        "jig.comb-by-hand": (
            "Nothing stops the tool here: your hand decides. Stop at a groove that holds the next file, well above the"
            " floor."
        ),
        "jig.comb-holds": (
            "places along the nut within {placed} and {play} of play; a tool may stand askew in its notches by"
            " {turn_deg}"
        ),
        "jig.comb-notch-wide": (
            "{who}: the nozzle leaves no notch narrower than {notch}, and the tool is {tool_width}: it has that much"
            " room to wander; hold it to one side, or print with a finer nozzle"
        ),
        "jig.comb-shallow": (
            "{who}: the slot is so shallow that its start against a stop is {deep} deep; mark it through the notch and"
            " file by hand"
        ),
        "jig.comb-no-stop": (
            "{who}: no steel stop, your hand decides how deep it is begun; list the saw under tools.blades (its height"
            " from the teeth to the back) and a strip under tools.steel"
        ),
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
        "the part {part} is {across} by {deep}, and print.bed is {bed}: a larger printer, or leave this jig out",
        "A part is printed in one piece, lying as it prints best.",
        "print.bed, where the printer is larger than the file says; else make the jig without this part.",
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
        "jig.caution-fingers": (
            "Hold the jig in a vise or with clamps, never by fingers near the tool. Eye protection, a fitted mask."
        ),
        "jig.caution-blades": "No razor blade or knife in these guides: they are made for saws and files by hand.",
        "jig.caution-belt": "No printed jig on a moving belt, disc or cutter, and nothing wet at a mains machine.",
        "jig.caution-heat": "PLA gives way near 60 degrees C: not in a hot car, not under a lamp, no fast strokes.",
    },
)

JIGS: dict[str, Entry] = {**_HARDWARE, **_CHECKS, **_THICKNESS, **_COMB, **_NOT_MADE, **_CAUTIONS}
