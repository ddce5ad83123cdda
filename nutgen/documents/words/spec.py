"""Words for what the readings of a file say about each other, and for answers at the terminal."""

from nutgen.documents.words.entry import Entry, Told, alike, entries
from nutgen.documents.words.readings import READ_AGAIN

_FROM_FIRST = "Measure every distance from the first end of the piece, along one straightedge."


def _unknown_sheet(t: Told) -> str:
    meant = f"; did you mean {t['likely']}?" if t["likely"] else ""
    known = f"; there {'is' if len(t['allowed']) == 1 else 'are'} {', '.join(t['allowed'])}" if t["allowed"] else ""
    how = "" if known else f"; write own_leaves = {{ {t['written']} = {{ ten = }} }} there, or a length in mm, cm or in"
    return f'no sheet "{t["written"]}" is in tools.own_leaves{meant or known}{how}'


def _unknown_wire(t: Told) -> str:
    known = f"; there are {', '.join(t['allowed'])}" if t["allowed"] else ""
    return f"no wire {t['written']} is in tools.wires{known}"


def _no_angle(t: Told) -> str:
    which = f" for strings {', '.join(map(str, t['listed']))}" if t["listed"] else ""
    return f"missing{which}; write the angle, or a tuner post for each string: post = {{ y = , x = , drop = }}"


def _courses_missing(t: Told) -> str:
    return f"course is missing in {', '.join(map(str, t['listed']))}; give it for every string or for none"


def _below_leaf(t: Told) -> str:
    guess = f"; inches? write {t['likely']}" if t["likely"] else ""
    words = t.fill("{written:given} is less than the thinnest leaf, {least:given}")
    return f"{words}{guess}; write 0 where none passes, or list the leaf in tools.feeler"


def _not_a_choice(t: Told) -> str:
    return f"write {', '.join(t['allowed'])}" + (f"; did you mean {t['likely']}?" if t["likely"] else "")


def _too_close(t: Told) -> str:
    cure = f"metres? write {t['likely']}" if t["likely"] else "leave one of the two out"
    return t.fill("{apart:given} from the one above; allowed is {least:at_least} at least; ") + cure


def _core_outside(t: Told) -> str:
    (wide, high), (left, up), (width, height) = t["core"], t["middle"], t["skin"]
    return (
        f"a core {wide:given,bare} x {high:given}, its middle {left:given,bare} to the left and {up:given,bare} up,"
        f" comes out through a skin of {width:given,bare} x {height:given}; measure again, from the section's middle"
    )


INSTRUMENT: dict[str, Entry] = {
    **entries("""
instrument.square-fret-beyond-last
    {written} is above the last fret, {frets}
    cause: The fret that stands square is one of those there are.
seat.surface-has-none
    a surface nut stands on the board and has no {key} of its own; leave the key out
    cause: A nut glued on the board has no seat below it.
seat.no-depth
    missing or below {least:at_least}; measure from the board surface down to the floor, or write kind = "surface"
    cause: The depth of the seat carries the nut; only a surface nut has none.
setup.no-target
    missing; write it, or floor_height where you know the floor
    cause: One of the two sets the height of the slots.
spacing.measured-by-rule
    given, but the rule is "{rule}"; write rule = "measured"
    cause: Measured centres go with the rule for them.
spacing.no-margin
    missing; measure from the board edge to the outer string
    cause: The rule wants the margins of the outer strings.
spacing.no-centres
    missing; write the centres from the bass end, measured = [...]
    cause: The rule says that they were measured.
spacing.no-course-gap
    missing; measure the room between the two strings of a course
    cause: Strings of one course stand together.
spacing.odd-pairs
    pairs up the strings, but there are {strings}; write course = N in each [[strings]]
    cause: An odd number of strings does not pair up.
strings.courses-out-of-order
    courses run from the highest number (bass) down to 1 (treble-most); reorder them
    cause: Strings are listed bass to treble and counted the trade's way.
strings.treble-first
    listed treble to bass; list them bass to treble (the thickest, lowest string first)
    cause: Every list of a file runs bass to treble.
strings.note-too-high
    {note} ({wanted_hz:.0}) breaks any {material} string on a scale of {scale:given}, whatever its gauge; the highest is
    about {highest_hz:.0}; an octave too high?
    cause: The stress at pitch does not depend on the gauge.
    cure: Look at the octave of the note, and at the scale length.
guide.no-height
    missing; write how far its underside lies below the board's plane, or wanted_deg for the angle it is to give
    cause: How far a guide bends the strings follows from its height.
guide.over-nut
    {written} lies over the nut, which ends at {least}
    cause: A guide presses behind the nut.
guide.no-such-string
    there is no string {number}; allowed is 1 to {most}
    cause: 1 is the treble-most string.
guide.second
    string {number} runs under another guide already; say with strings = [] which run under this one
    cause: One guide a string is reckoned with.
guide.no-post
    missing; a guide bends a string on its way to its post, so write post = {{ y = , x = , drop = }}
    cause: Where a string goes from a guide depends on its post.
guide.behind-post
    {written} is behind the post of string {number}, at {most}
    cause: A guide presses between nut and post.
string-set.no-name
    is no name of a set; write that of a file in sets/ beside the instrument file, without .toml
    cause: A set of your own is found by its name.
string-set.wrong-count
    has {count}, the instrument {strings}; list one for each, bass to treble
    cause: A set is strung string by string.
string-set.twice
    the set "{set}" says this too; leave it out here, or there
    cause: Which of the two is on the instrument cannot be told.
strings.plain-is-built
    a plain string has none; write wound = true, or leave the key out
    cause: Core and wraps are of wound strings.
body.land-too-wide
    {written:given} is more than the nut is thick; allowed is up to seat.thickness, {most:given}
    cause: The land lies on the top of the nut.
pluck.over-board
    {written:given} is over the board; allowed is up to the last fret, {most:at_most} from the bridge
    cause: Strings are plucked between the last fret and the bridge.
before.says-nothing
    says nothing; write [[before.strings]], a string_set, or tuning = ["E1", ...] for the same strings
    cause: The table tells what was strung before.
old-nut.floors-too-high
    {written:given} is above {most:given} over the fret plane; measured from the seat floor? write floors_from = "seat
    floor"
    cause: A floor that high was measured from somewhere else.
old-nut.no-such-string
    there is no string {number}; write numbers from 1, the treble-most, to {most}
    cause: Strings are counted from the treble side.
old-nut.floors-too-low
    {written:given} leaves no nut under the slot; measured from the fret plane? write floors_from = "fret plane"
    cause: A floor that low was measured from somewhere else.
trial.no-plane
    no string has a clearance over 0 and a caliper reading beside it; write both for three strings at least
    cause: A trial nut tells the fret plane where its strings clear fret 1.
trial.floor-too-low
    {written:given} over the underside, less the wire, leaves no nut under the slot; write what the caliper shows, the
    wire not taken off
    cause: A floor that low was measured from somewhere else, or its wire was taken off twice.
dry-fit.no-readings
    missing; write the thickest leaf that passes over fret 1, string by string
    cause: A dry fit is read by leaves.
dry-fit.reading-alone
    missing; {key} says nothing without it
    cause: One reading rests on another.
dry-fit.drags-thinner-than-passes
    {written:given} drags but {passes:given} passes; the one that drags is the thicker
    cause: A leaf that drags is thicker than one that passes.
old-nut.no-go-enters
    {written:given} does not enter but {passes:given} does; the one that does not is the thicker
    cause: A slot is as wide as what enters, and narrower than what does not.
tools.tip-wider-than-shank
    the tip is wider than the shank; measured the other way? change them round
    cause: Needle files taper to the tip.
tools.own-leaves-misread
    {written} is no list of own leaves; write {{ card = {{ ten = 2.95 }} }}
    cause: Paper, card and the like serve as leaves once ten of them were measured.
    cure: Squeeze ten in the caliper and write what it reads as ten.
tools.no-sheet-name
    "{written}" is no name for a sheet; write one word in small letters, such as card
    cause: A sheet is called by its name in readings: 2 card + 1 paper.
mill.not-a-cutter
    {written} is not a cutter; write {{ diameter = , end = }} or text such as "1 ball"
    cause: A cutter is a diameter and the shape of its end.
print.layer-over-nozzle
    {written:given} is more than the nozzle, {most:given}; half the nozzle is usual
    cause: A nozzle cannot press out a layer higher than it is wide.
print.line-off-nozzle
    {written:given} does not go with a nozzle of {nozzle:given}; about the nozzle is usual
    cause: A printed line is between half and twice the nozzle wide.
"""),
    **alike(
        "A bar lies on the strings: none is pressed on a fret, and their tops, not their floors, are what is level.",
        "For a nut raised for a bar write [lap] instead of [setup]; else read heights over the frets by feeler leaf.",
        {
            "seat.raised": 'a nut raised for a bar has a seat too: kind = "channel", "ledge" or "surface", with [lap]',
            "setup.raised": "so high? For a nut raised for a bar write [lap] with tops and tops_at_12, and no [setup]",
            "lap.no-frets": "under a bar ([lap]) no string is pressed on a fret; leave it out",
            "lap.fret-height-none": "none is for a nut under a bar, with [lap]; measure the crown of fret 1",
        },
    ),
    "seat.fret-plane-too-low": Entry(
        "{written:given} leaves no nut above its seat", "The fret plane lies above the seat's floor.", READ_AGAIN
    ),
    "headstock.no-angle": Entry(_no_angle, "Without an angle or posts nothing says where the strings go."),
    "strings.courses-missing": Entry(_courses_missing, "Some strings say their course, others do not."),
    "strings.no-room-for-wrap": Entry(
        "{written} leaves no room for a wrap; below {most}", "The core is thicker than the gauge allows.", READ_AGAIN
    ),
    "strings.no-core-left": Entry(
        "the wraps take {written} of a gauge of {most}; no core is left", "The wraps fill the gauge.", READ_AGAIN
    ),
    "dry-fit.below-thinnest-leaf": Entry(_below_leaf, "No leaf on this bench is so thin.", READ_AGAIN),
    **alike(
        "A gap may be read by what fills it: loose sheets, a leaf, a wire off its packet.",
        "List what is on the bench as own_leaves and wires in [tools].",
        {
            "stack.unknown-sheet": _unknown_sheet,
            "stack.wrong-count": "{written}: allowed is 1 to {most} of a sort",
            "stack.unknown-wire": _unknown_wire,
        },
    ),
}

PIECE: dict[str, Entry] = {
    **entries("""
stations.no-source
    missing; write one [[stations]] for each place by calipers, or a [scan]
    cause: A piece is one or the other.
stations.only-one
    one station alone is no piece; measure both ends at least
    cause: A piece has a length.
stations.gap-missing
    missing; it is given at other stations: measure it at each, 0 where the straightedge touches
    cause: The gaps under one straightedge go together.
stations.too-steep
    the middle moves {moved:given} over {along:given} along, more than 45 degrees; one misread? Otherwise lay the
    straightedge along the run of the piece
    cause: A piece so bent cannot be measured along that straightedge.
stations.too-twisted
    {written_deg} after {before_deg}; allowed is {most_deg:.0} from one station to the next; measure one between
    cause: Beyond that the twist could as well go the other way round.
stations.walls-meet
    {sides} together are {both:given} of a {key} of {size:given}; the walls meet there; measure one wall each, or leave
    wall out where it is compact throughout
    cause: Walls that meet leave no core.
ends.tip-of-cut
    given, but the last end is "cut"; leave it out, or write last = "closed"
    cause: A saw cut has no tip.
ends.tip-of-scan
    a scan shows its own tip; leave the key out
    cause: A scan has its ends in it.
scan.core-is-skin
    is the same file as the skin; a core has a mesh of its own
    cause: Skin and core are two surfaces.
scan.no-direction
    points nowhere; write three numbers, like [1, 0, 0]
    cause: A direction of no length is none.
scan.back-runs-along
    runs along the piece like scan.along; point it square to that, out of the back
    cause: Two directions make a frame.
scan.check-says-nothing
    holds no reading; write {{ at = , width = }}, {{ at = , height = }} or {{ length = }}
    cause: The table holds one caliper reading.
scan.check-without-place
    missing; write where {key} was taken
    cause: A width is read at one place.
"""),
    "stations.last-first": Entry(
        "listed from the last end to the first; list them from the first end on", "Distances grow.", _FROM_FIRST
    ),
    "stations.out-of-order": Entry(
        "{written:given} comes before the {before:given} of the one above; list them from the first end on",
        "Distances grow from station to station.",
        _FROM_FIRST,
    ),
    "stations.same-place": Entry(
        "{written:given} is the place of the one above; one of the two is misread, or too many",
        "Two stations stand at one place.",
        _FROM_FIRST,
    ),
    "stations.too-close": Entry(_too_close, "Nearer stations say more of the caliper than of the piece.", _FROM_FIRST),
    "stations.core-outside": Entry(_core_outside, "The core lies inside the skin.", READ_AGAIN),
    "stations.first-is-not-the-cut": Entry(
        "{written:given}, but distances count from the first end: measure the cut itself, at = 0",
        "The first end is a saw cut, and a station stands on it.",
        _FROM_FIRST,
    ),
    "stations.first-is-the-tip": Entry(
        "{written:given}, but the first end is closed and its tip lies at 0; allowed is {least:at_least} at least",
        "A tip has no section to measure.",
        _FROM_FIRST,
    ),
    "ends.tip-not-beyond": Entry(
        "{written:given} is not beyond the last station at {last:given}; allowed is {least:at_least} at least",
        "The tip closes the piece beyond its last station.",
        _FROM_FIRST,
    ),
    "scan.not-a-mesh": Entry(
        lambda t: f"{t['written']} is not a mesh by its name; allowed are {', '.join(t['allowed'])}",
        "The format of a mesh is told by its name.",
    ),
}

ANSWERS: dict[str, Entry] = {
    **entries("""
answer.nothing
    nothing was given; write a value
    cause: The question wants an answer.
answer.no-count
    write a whole number, {least} to {most}
    cause: The answer is a count.
answer.no-such-strings
    write numbers of strings, 1 to {most}, or none, or not yet
    cause: Strings are counted from the treble side.
answer.doubled
    doubled, {fault}
    cause: The distance to fret 12 is half the scale length.
answer.whole-scale
    twice the kind's {usual} {unit}: was that the whole scale? Measure to fret 12 only
    cause: The distance to fret 12 is half the scale length.
answer.far-from-kind
    far from the kind's {usual} {unit}; if that was a slip, back
    cause: A reading so far off is often a slip.
answer.no-gap
    {written}: write the gap at either end and how far apart they are, like "gap 0.7 0.66 41"
    cause: The gaps under a ruler across fret 1, and their distance, are three lengths.
answer.no-sheets
    {written}: write each sort once, with what ten of it measure, like "paper 1.02, card 2.95"
    cause: A sheet's thickness comes from ten of them, squeezed in the caliper.
answer.no-angle
    {written}: write degrees, or a fall over a run, like 12/80
    cause: An angle is a number, or a fall over a run.
answer.no-post
    {written}: write three lengths: y (behind the front face), x (bass side negative), drop
    cause: A tuner post stands at three lengths.
answer.no-string
    {written}: write note and gauge, and wound where it is: E2 0.046 wound
    cause: A string is a note and a gauge.
"""),
    "answer.not-a-choice": Entry(_not_a_choice, "There are a few answers only."),
}

SPEC = INSTRUMENT | PIECE | ANSWERS
