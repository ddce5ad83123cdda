"""Words for what a nut does when it is played."""

from nutgen.documents.words.entry import Entry, Told, alike
from nutgen.documents.words.nut import LESS_FRICTION

READINGS = {
    "depth": "seat depth",
    "fret_height": "fret height",
    "fret_plane": "fret plane",
    "radius": "board radius",
    "radius_share": "board radius",
    "relief": "relief",
    "action": "action",
    "floors": "slot floors as filed",
}
"""What the readings whose errors are looked at are called."""

WAYS_SAID = {
    "": "its tool",
    "under_string": "string",
    "gaps": "gaps on fret 1",
    "under_ruler": "ruler at the nut",
    "pencil": "pencil",
    "stack": "loose sheets",
}
"""What a reading was read by, in short."""

_GAUGES = {
    "relief": "a set of feeler leaves under a straightedge, for the relief,",
    "radius": "a radius gauge",
    "fret_height": "a set of feeler leaves, for the fret height,",
    "fret_plane": "a straightedge and leaves, for the fret plane,",
}

_MODELLED = "How a string is built, and how far it stretches until it settles, is not known from its gauge."
_UNIT_MASS = "Write unit_mass where the maker prints it."
_SETTLE = "string up to pitch, let the neck settle, set the relief, and only then file the slots"


def _bow(expected: str) -> Entry:
    def says(t: Told) -> str:
        known = t.raw("relief") is not None
        figure = t.fill(", about {relief:+} by this neck's measured stiffness") if known else ""
        return t.fill("{change_share} ") + expected.format(figure=figure) + f"; {_SETTLE}"

    return Entry(says, "Another pull bends the neck another way: more pull, more relief.", _SETTLE.capitalize() + ".")


def _errors_assumed(t: Told) -> str:
    kinds = {name: "" if name.endswith("_share") else "limit" for name, _ in t.finding.values}
    within = (f"{READINGS[name]} within {t[name]:{kind}}" for name, kind in kinds.items())
    return f"errors not in [errors]: {', '.join(within)}"


def _measure_better(t: Told) -> str:
    name = t["reading"]
    do = "file and check each slot better" if name == "floors" else f"measure {READINGS[name]} better"
    both = "; seat.fret_plane, a straightedge over frets 1 and 2, reads depth and fret height at once"
    causes = t.fill(" first: it causes {causes_share} of the spread of the first-fret clearance")
    return f"{do}{causes}{both if name in ('depth', 'fret_height') else ''}"


PLAY: dict[str, Entry] = {
    "pull.slack": Entry(
        "{who}: {pull_n} is slack, under {least_n:.0}; it will flap and not sound; a thicker gauge or a higher note",
        "So light a string at so low a note hardly pulls.",
        "Use a thicker gauge or a higher note.",
    ),
    "pull.breaks": Entry(
        "{who}: {pull_n:.0} is {load_share} of its strength; it breaks before its pitch",
        "No gauge of this material bears its note at this scale length.",
        "Use a lower note or a shorter scale.",
    ),
    "pull.near-breaking": Entry(
        "{who}: {pull_n:.0} is {load_share} of its strength, over {most_share}; it will break soon at a bend; a"
        " lower note or a shorter scale (no gauge helps)",
        "Bends at nut, bridge and post cost a fifth of a string's strength. The stress at pitch does not depend on"
        " the gauge.",
        "Use a lower note or a shorter scale.",
    ),
    "pull.stiff": Entry(
        "{who}: pulls {more_share} more than its neighbours; it will feel stiff",
        "One string of the set is tighter than those beside it.",
        "Use a thinner gauge; `tension --suggest even` finds one.",
    ),
    "pull.loose": Entry(
        "{who}: pulls {less_share} less than its neighbours; it will feel loose",
        "One string of the set is slacker than those beside it.",
        "Use a thicker gauge; `tension --suggest even` finds one.",
    ),
    "pull.model": Entry(
        "{strings}: pull by a model, within {within_share:.1}; worst of {compared} published strings that it was not"
        " fitted to: {worst_share:.1} off",
        _MODELLED,
        _UNIT_MASS,
    ),
    "pull.model-alone": Entry(
        "{strings}: pull by a model that was compared with no published string; taken to be within {within_share:.1}",
        _MODELLED,
        _UNIT_MASS,
    ),
    "pull.wrap-assumed": Entry(
        "{strings}: the file does not say wrap_metal; phosphor bronze would pull a tenth more, so the pull is known"
        " within {within_share} only; write wrap_metal, off the packet",
        "Nickel-plated steel is assumed where the wrap metal is not given.",
        "Write wrap_metal for each wound string.",
    ),
    "pull.weigh": Entry(
        "a unit_mass, as the maker prints it, is better than any model",
        _MODELLED,
        _UNIT_MASS,
    ),
    "pull.strength": Entry(
        "strength: {strength}",
        "What a string bears goes by its material and thickness.",
    ),
    "pull.unclear": Entry(
        f"that is within what is known of these strings: the relief may move either way; {_SETTLE}",
        "The pulls of both sets are known less well than they differ.",
        _SETTLE.capitalize() + ".",
    ),
    "pull.more": _bow("more pull: expect more relief{figure}"),
    "pull.less": _bow("less pull: expect less relief, perhaps a back bow,{figure}"),
    "pull.back-bow-stays": Entry(
        "the rod is slack already and the neck still bows backward: stop here, no nut cures this; heavier strings, or a"
        " repairer",
        "A slack rod lets off no further, so that only more pull of the strings brings relief.",
        "Choose heavier strings, or have a licensed repairer see the neck before a nut is made for it.",
    ),
    "pitch.untunable": Entry(
        "{who}: up to {off_cents:.0} off by fret {fret}; too slack or too stiff for its length, no saddle cures that",
        "Pressing stretches a string; a slack or thick one goes so sharp that no length makes up for it.",
        "Use another gauge, or another note.",
    ),
    "buzz.pressed-lies": Entry(
        "{who}: pressed at fret {pressed} it lies on a higher fret, {by} too low",
        "The straight string from the pressed fret to the saddle runs through a higher crown.",
        "Use more action or less relief; level the frets where one stands proud.",
    ),
    "buzz.open-touches": Entry(
        "{who}: open, it touches fret {fret} at the pluck, {by} too low",
        "The open string swings farther than the room over a fret.",
        "Use a higher slot, more action, or a softer pluck in [pluck].",
    ),
    "buzz.pressed-touches": Entry(
        "{who}: pressed at fret {pressed}, it touches fret {fret} at the pluck, {by} too low; no nut cures that:"
        " action, relief or a softer pluck",
        "The fretted string swings farther than the room over a higher fret, whatever the nut.",
        "Use more action, another relief or a softer pluck.",
    ),
    "setback.rarely-noticed": Entry(
        "listeners rarely notice nut setback: in a blind test 32 players showed no significant preference for it",
        "A setback moves the open string by a few cents only.",
    ),
    "pitch.saddle-set-for-12": Entry(
        "the saddle is set so that fret 12 is in tune with the open string",
        "So players set it.",
    ),
    "pitch.finger-assumed": Entry(
        "the finger presses {finger:limit} behind the fret",
        "The farther behind its fret a finger presses, the more it stretches the string.",
        "Write pluck.finger.",
    ),
    "pitch.ends-clamped": Entry(
        "string ends keep their direction (clamped); freer ends sound less sharp high up",
        "A stiff string sounds sharper where its ends cannot turn.",
    ),
    "pitch.core-assumed": Entry(
        "wound strings have the usual core (a tenth off moves their cents by a fifth)",
        "What stretches is the core, and the file does not say how thick it is.",
        "Write core where you have measured it at a bared end.",
    ),
    "friction.assumed": Entry(
        "friction {low_ratio} (greased) to {high_ratio} (dry); no published value found; graphite or a drop of"
        " lubricant in the slot lessens it, a string guide that straightens the string lessens the bend",
        "No published friction of wire on bone, antler or hard plastic was found.",
        LESS_FRICTION,
    ),
    "spread.errors-assumed": Entry(
        _errors_assumed,
        "How far each reading may be off decides how far the made nut may be off.",
        "Write [errors] for your own instruments and hands.",
    ),
    **alike(
        "A gauge reads within less than paper, a string or a pencil does; what of that the nut feels is worked out.",
        "Buy, borrow or leave it; `[errors]` says how well each reading is known.",
        {
            "spread.gauge-pays": lambda t: (
                f"{_GAUGES[t['reading']]} "
                + t.fill("would bring the clearance over fret 1 from within {now:bare} to within {then}")
            ),
            "spread.no-gauge-pays": lambda t: (
                "no gauge would pay: "
                + f"{_GAUGES[t['reading']]} "
                + t.fill("brings most, the clearance over fret 1 from within {now:fine,bare} to within {then:fine}")
            ),
        },
    ),
    "spread.no-error": Entry("no reading has an error; nothing to measure better", "Every error in [errors] is 0."),
    "spread.measure-better": Entry(
        _measure_better,
        "Of all readings, this one causes most of the spread of the first-fret clearance.",
        "Read it again with a better instrument, or several times.",
    ),
}
