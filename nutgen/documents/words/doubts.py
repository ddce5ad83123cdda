"""Words for how readings were taken, for those that contradict one another, or that hardly any instrument has."""

import math
from collections.abc import Callable

from nutgen.documents.words.entry import Entry, Sentence, Told, alike, entries
from nutgen.documents.words.readings import READ_AGAIN

_BOTH_AGAIN = "Measure both again; the nut is made by the one that counts, so a slip in it ruins the blank."


def _with_slips(says: str, otherwise: str = "measure both again") -> Callable[[Told], str]:
    """A sentence, and how the reading may have gone wrong."""

    def told(t: Told) -> str:
        return f"{t.fill(says)}; {' or '.join(t['slips']) + '?' if t['slips'] else otherwise}"

    return told


SEEN = {"mm": 5e-3, "in": 0.0127}  # mm; less reads as nothing


def _not_measured(t: Told) -> str:
    middle = t.fill(", {middle} on its centre line") if abs(t.raw("middle") - t.raw("edge")) > 5e-3 else ""
    return t.fill(
        "the fret plane over the seat's floor was not measured; seat.depth, radius and fret height give {edge} at the"
        f" board's edges{middle}: check before the blank is cut (seat.fret_plane)"
    )


def _cost(t: Told) -> str:
    """How far a reading that was not taken moves the nut, the part that moves most first."""
    parts = {"floors": "slot floors", "blank": "the blank", "places": "places of slots"}
    moved = sorted((name for name in parts if t.raw(name) >= SEEN[t.units]), key=lambda name: -t.raw(name))
    by = ", ".join(t.fill(f"{parts[name]} by up to {{{name}}}") for name in moved) or "nothing of this nut"
    tried = t["tried_deg"] if t.raw("tried_deg") else t["tried"] if t.raw("tried") else ()
    ends = " to ".join(dict.fromkeys(f"{one}" for one in tried))
    basis = "a share of it more or less" if t["is_share"] else "as the kinds have it"
    return f"{t['who']} not measured: {f'{ends}, {basis},' if ends else basis} moves {by}"


def _no_such_key(t: Told) -> str:
    mean = t.fill('; did you mean "{likely}"?') if t["likely"] else ""
    return t.fill('"{written}" is no key of the file') + mean


def _by_gaps(t: Told) -> str:
    most, result = t.raw("most"), t.raw("value")
    if isinstance(most, float) and math.isinf(most):
        said = "flat" if result == math.inf else t.fill("{value:radius}")
        between = t.fill("{least:radius} or flatter")
    else:
        said, between = t.fill("{value:radius}"), t.fill("{least:radius,bare} to {most:radius}")
    words = f"{t['who']}: {said} by the gaps under a ruler on fret 1, which may be {between}; "
    if t["plane_at_three"]:
        return words + "with seat.fret_plane at three places it hardly matters"
    return words + "seat.fret_plane = { bass = , middle = , treble = } would make it hardly matter"


def _heights(way: str) -> Sentence:
    def says(t: Told) -> str:
        heights = ", ".join(f"{height:bare}" for height in t["value"])
        return f"{t['who']}: {heights} {t['units']}{t.fill(' within {error}, ')}{way}"

    return says


_WAYS: dict[str, Entry] = alike(
    "A reading was taken without its gauge: what was read, its formula and its error are known.",
    "`nutgen heights` tells which reading to take better first, and what a gauge would gain.",
    {
        "way.under-string": "{who}: {value} within {error}, by the thinnest string pressed at fret 1 and at the last,"
        " read over fret {fret}",
        "way.gaps": _by_gaps,
        "way.under-ruler": "{who}: {value} within {error}, by what just fills the gap under a ruler on frets 1 and 2,"
        " at the nut",
        "way.stack": "{who}: {value} within {error}, by loose sheets",
        "way.pencil": _heights("by a halved pencil on frets 1 and 2, its lead's height taken off"),
        "way.trial": _heights("by a trial nut"),
    },
)

DOUBTS: dict[str, Entry] = {
    **entries("""
answer.unread
    measure it and write what you read; or write skip
    cause: The kind's value is another instrument's, no measurement of yours.
answer.kind-has-none
    the kind has no value to stand in for it: it must be measured
    cause: Without this reading there is no nut.
reading.not-measured-unknown
    {who} was not measured; what that may cost cannot be told, for no other value of it gives a nut
    cause: The value stands for a reading that was not taken, and the nut cannot be made from any other near it.
    cure: Measure it, write the value, and take the key out of not_measured.
seat.readings-set-aside
    seat.depth, fretboard.radius and fretboard.fret_height are {apart} off what the trial nut measured; the floors
    follow the trial nut
    cause: A trial nut measures the plane that the floors stand on; one of the other readings is misread by as much.
    cure: Put them right when you next have the caliper there; nothing waits for it.
seat.floor-unlike-board
    {who}: an arch of {read:radius} in a board of {board:radius}, {apart} apart at the edges; is one of the two radii
    misread?
    cause: A seat's floor is flat as a rule, or follows the board.
    cure: Hold the radius gauge against the floor and against the board again; a flat board has a radius of inf.
dry-fit.action-disagrees
    {who}: up to {apart} from dry_fit.action; was the saddle set in between?
    cause: Both are the action as it is now.
    cure: Measure it again and write both alike; a dry fit goes by dry_fit.action.
frets.few
    {who}: {frets} are fewer than {least}; is {likely} meant?
    cause: Hardly any instrument of this kind has so few frets.
    cure: Count the frets; the last one counts, wherever the body begins.
slots.clearance-grips
    {who}: {read:given} over the gauge is less than {least:limit}; the slot will grip its string
    cause: A slot as narrow as its string pinches it: it sticks while tuning and does not reach the floor.
    cure: Use 0.03 to 0.13 mm, a thousandth to five of an inch, in total.
slots.clearance-wide
    {who}: {read:given} over the gauge is more than {most:limit}; the string will move in its slot
    cause: In a wide slot a string rolls sideways and buzzes against a wall.
    cure: Use 0.03 to 0.13 mm, a thousandth to five of an inch, in total.
setup.rises-to-treble
    {who}: {bass:given} at the bass and {treble:given} at the treble; the two swapped?
    cause: Thick strings swing wider, so that the bass side is the higher one as a rule.
    cure: Look which value belongs to which side.
setup.ends-apart
    {who}: {one:given} beside {other:given}; one of the two misread?
    cause: Neighbouring strings, and the two sides of a board, hardly ever want heights so far apart.
    cure: Look at both values again.
slot.floor-near-fret-plane
    {who}: the slot floor is only {by} over the fret plane, under {least:limit,bare}; a stroke of the file too many and
    the open string buzzes
    cause: First-fret clearance and action leave the floor next to no height.
    cure: Use a larger first-fret clearance; look at setup.action too, which lowers the floor where it is too large.
slant.treble-longer
    {who}: {treble:given} at the treble is longer than {bass:given} at the bass; the two swapped?
    cause: Where the scale lengths differ, thick strings are the longer ones.
    cure: Look which value belongs to which side.
string.far-in
    {who}: stands {margin} from the board's edge, over {most:limit,bare}; is fretboard.width right?
    cause: An outer string so far from the edge leaves a strip of the board unused.
    cure: Measure fretboard.width, the margin and the centres again.
strings.far
    {who}: gap {gap} is over {most:limit,bare}; is fretboard.width right?
    cause: Hardly any instrument has strings so far apart.
    cure: Measure fretboard.width and the margins again.
old-nut.centres-disagree
    {who}: up to {apart} from spacing.measured; which of the two is the old nut's?
    cause: Both are centres from the bass end.
    cure: Measure them again, and write what the new nut is to have into spacing.measured.
old-nut.floors-disagree
    {who}: in the middle {middle:+} over the fret plane that the seat's readings give; {low:limit,bare} to {high:limit}
    is likely, so seat.depth, the fret plane or the floors are misread
    cause: The floors of a nut that was played lie a little over the fret plane.
    cure: Measure the seat's depth and the old floors again, both from the seat's floor.
old-nut.slot-too-narrow
    {who}: {apart} narrower than the string it held ([[before.strings]])
    cause: A string does not lie in a slot that is narrower than itself.
    cure: Measure the slot with gauged files or drill shanks; look at the old gauges.
guide.aside
    {who}: bends {bend_deg:bare,.0} degrees at guide {number}, which holds it aside; measure the guide's x again
    cause: No guide bends a string so far; as a rule its x was misread.
    cure: Measure guides.x from the board's centre line, bass side negative; leave it out where strings slide sideways.
crowns.misread
    crowns by rocker: no neck has the heights that these readings ask for; that at fret {fret} is the largest: read it
    and those beside it again. Until then none is heeded
    cause: One wrong reading asks for a ramp of crowns from there to the end of the board.
    cure: Read the frets about it again: where the straightedge rocks the gap is written as it is, where it bridges
    minus. A fret that does stand so high is loose: seat it first.
crowns.back-bow
    gaps along the neck: by these it bows backward by {relief}; a gap under the straightedge is written plus
    cause: As a rule a sign is wrong; the floors would be worked out on a neck that bows the other way.
    cure: Read crowns.relief again; where the neck does bow backward, write setup.back_bow = true.
crowns.relief-apart
    relief: {read} by the gaps along the neck, {now} by setup.relief_now; one of them is misread
    cause: Both are read on the same neck, under the same straightedge.
    cure: Read again, strings at pitch; the gaps under crowns.relief are measured from fret 1 to the last.
headstock.posts-disagree
    {who}: {read_deg:bare} degrees written, {due_deg:bare} by its tuner post; the post counts
    cause: An angle and a tuner post say the same, and differ.
    cure: Leave the angle out, or measure the post again.
strings.gauges-crossed
    {who}: the higher note has {gauge:gauge}, the lower {lower_gauge:gauge}; swapped?
    cause: Of two strings built alike the lower one is the thicker one.
    cure: Look at both gauges and notes.
string.plain-so-thick
    {who}: no plain string of its material is made as thick as {gauge:gauge}, {most:gauge} is the most; wound? write
    wound = true
    cause: Thick strings are wound; a slot for a plain one is narrower, and buries more of it.
    cure: Write wound = true, or look at the gauge.
string.wound-so-thin
    {who}: no wound string is made as thin as {gauge:gauge}, {least:gauge} is the least; plain? leave wound out
    cause: Thin strings are plain.
    cure: Leave wound out, or look at the gauge.
string.mass-disagrees
    {who}: its unit_mass is {off_share} off what {gauge:gauge} weighs; it would fit {likely:gauge}
    cause: Gauge and mass per length are two readings of one string.
    cure: Look at the gauge, at unit_mass and its unit, and whether the string is wound.
string.build-disagrees
    {who}: core and wraps make {due:gauge}, its gauge is {gauge:gauge}
    cause: A wound string is as thick as its core and twice its wraps.
    cure: Look at gauge, core and wraps; a wrap is counted once, not on both sides.
"""),
    **_WAYS,
    **alike(
        "not_measured lists keys of the file that stand for readings which were not taken.",
        'Write the path of a reading that the file holds, like "seat.depth" or "strings[2].post".',
        {
            "not-measured.no-such-key": _no_such_key,
            "not-measured.no-reading": '"{written}" is chosen, not read on the instrument; take it out',
            "not-measured.not-in-file": '"{written}" does not stand in the file: what is left to its default is'
            " assumed; take it out",
            "not-measured.was-read": '"{written}" stands in the file as it was read; take it out here, or write a plain'
            " value there",
            "not-measured.twice": '"{written}" is listed twice',
        },
    ),
    "reading.not-measured": Entry(
        _cost,
        "The value stands for a reading that was not taken: the kind's, or one that was worked out. The nut was made"
        " anew over the plausible range of the reading, to tell what it may cost.",
        "Measure it, write the value, and take the key out of not_measured.",
    ),
    **alike(
        "A reading can go wrong in a few usual ways; this one would make two readings agree.",
        READ_AGAIN,
        {
            "slip.doubled": "{who} doubled ({likely:given} would be right)",
            "slip.halved": "{who} halved ({likely:given} would be right)",
            "slip.not-doubled": "{who} read to fret 12 and not doubled ({likely:given} would be right)",
            "slip.doubled-gauge": "{who} doubled ({likely:gauge} would be right)",
            "slip.halved-gauge": "{who} halved ({likely:gauge} would be right), or the note an octave off",
            "slip.at-edge": "{who} read at the board's edge, not on its centre line ({likely:given} would be right)",
            "slip.on-centre-line": "{who} read on the centre line, not at the board's edges ({likely:given} would be"
            " right)",
            "slip.to-frets": "{who} read from the frets, not from the board ({likely:given} would be right)",
            "slip.from-board": "{who} read from the board, not from the frets ({likely:given} would be right)",
            "slip.other-radius": "{who} by another gauge ({likely:given} would be right)",
            "slip.to-centre": "{who} read to the string's centre, not to its edge ({likely:given} would be right)",
            "slip.other-side": "{who} on the other side of the centre line ({likely:given} would be right)",
            "slip.from-bass-edge": "{who} read from the board's bass edge, not from the centre line ({likely:given}"
            " would be right)",
            "slip.from-treble-edge": "{who} read from the board's treble edge, not from the centre line"
            " ({likely:given} would be right)",
            "slip.swapped": "x and y of the post swapped ({who} = {likely:given,bare} would be right)",
        },
    ),
    "seat.readings-disagree": Entry(
        _with_slips(
            "{who}: {read} read, {due} by seat.depth, fretboard.radius and fretboard.fret_height, {apart:bare} apart"
        ),
        "The fret plane over the seat's floor was measured, and follows from seat depth, radius and fret height too.",
        f"{_BOTH_AGAIN} The heights follow seat.fret_plane.",
    ),
    "seat.plane-not-measured": Entry(
        _not_measured,
        "A slip in one of three lone readings moves every slot, and nothing else in the file shows it.",
        "Lay a straightedge over frets 1 and 2 and measure down to the seat's floor at both edges of the board.",
    ),
    "reading.unusual": Entry(
        _with_slips("{who}: {read:given} is outside practice ({low:limit,bare} to {high:limit})", "measure again"),
        "Hardly any instrument has such a measure, and nothing else in the file bears it out.",
        f"{READ_AGAIN} Where it is right, the nut is right too.",
    ),
    "scale.fret-1-disagrees": Entry(
        _with_slips(
            "{who}: {read} read, {due} by instrument.scale_length, {apart:bare} apart",
            "measure both again, or the nut stands off its place",
        ),
        "Fret 1 lies the 17.817th part of the scale length from the nut.",
        "Measure the nut to fret 12 and double it; then the nut's front face to the crown of fret 1.",
    ),
    "spacing.margin-disagrees": Entry(
        _with_slips("{who}: {read} read, {due} by spacing.measured and fretboard.width, {apart:bare} apart"),
        "Centres that were measured leave the margin no choice.",
        "Measure the board's width and the centres again, from the bass edge; leave spacing.margin out.",
    ),
    "string.post-aside": Entry(
        _with_slips("{who}: bends {sideways_deg:bare} degrees sideways to its tuner post", "measure its post again"),
        "No headstock turns a string so far aside; as a rule a post was misread.",
        "Measure post.x from the board's centre line, bass side negative, and post.y along it from the front face.",
    ),
    "set.pull-unlikely": Entry(
        _with_slips(
            "{who}: the middle string would pull {pull_n:.0}, where such sets pull {low_n:bare,.0} to {high_n:.0}",
            "look at the notes and the gauges",
        ),
        "Scale length, notes and gauges together give the pull; half a scale gives a quarter of it.",
        "Measure the nut to fret 12 and double it; look at the octaves of the notes and at gauge_units.",
    ),
    "set.slack": Entry(
        _with_slips("{who}: on {written:given} even the highest note leaves its string slack"),
        "Scale length and pitch alone give what a string pulls for its weight; half a scale gives a quarter of it.",
        "Measure the nut to fret 12 and double it; look at the octaves of the notes.",
    ),
    "string.pull-unlikely": Entry(
        _with_slips(
            "{who}: {gauge:gauge} would pull {pull_n:.0} at its note, where the set pulls {middle_n:.0}",
            "is its gauge or its note right?",
        ),
        "The strings of one set pull nearly alike.",
        "Look at its gauge, its note and its octave, and whether it is wound.",
    ),
}
