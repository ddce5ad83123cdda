"""Words for what the readings of a file say about each other, and for answers at the terminal."""

from nutgen.documents.words.entry import Entry, Told, alike
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
    return t.fill("{apart:given} from the one above; allowed is {least:given} at least; ") + cure


def _core_outside(t: Told) -> str:
    (wide, high), (left, up), (width, height) = t["core"], t["middle"], t["skin"]
    return (
        f"a core {wide:given,bare} x {high:given}, its middle {left:given,bare} to the left and {up:given,bare} up,"
        f" comes out through a skin of {width:given,bare} x {height:given}; measure again, from the section's middle"
    )


INSTRUMENT: dict[str, Entry] = {
    "instrument.square-fret-beyond-last": Entry(
        "{written} is above the last fret, {frets}", "The fret that stands square is one of those there are."
    ),
    "seat.surface-has-none": Entry(
        "a surface nut stands on the board and has no {key} of its own; leave the key out",
        "A nut glued on the board has no seat below it.",
    ),
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
    "seat.no-depth": Entry(
        'missing or below {least:given}; measure from the board surface down to the floor, or write kind = "surface"',
        "The depth of the seat carries the nut; only a surface nut has none.",
    ),
    "seat.fret-plane-too-low": Entry(
        "{written:given} leaves no nut above its seat", "The fret plane lies above the seat's floor.", READ_AGAIN
    ),
    "headstock.no-angle": Entry(_no_angle, "Without an angle or posts nothing says where the strings go."),
    "setup.no-target": Entry(
        "missing; write it, or floor_height where you know the floor", "One of the two sets the height of the slots."
    ),
    "spacing.measured-by-rule": Entry(
        'given, but the rule is "{rule}"; write rule = "measured"', "Measured centres go with the rule for them."
    ),
    "spacing.no-margin": Entry(
        "missing; measure from the board edge to the outer string", "The rule wants the margins of the outer strings."
    ),
    "spacing.no-centres": Entry(
        "missing; write the centres from the bass end, measured = [...]", "The rule says that they were measured."
    ),
    "spacing.no-course-gap": Entry(
        "missing; measure the room between the two strings of a course", "Strings of one course stand together."
    ),
    "spacing.odd-pairs": Entry(
        "pairs up the strings, but there are {strings}; write course = N in each [[strings]]",
        "An odd number of strings does not pair up.",
    ),
    "strings.courses-missing": Entry(_courses_missing, "Some strings say their course, others do not."),
    "strings.courses-out-of-order": Entry(
        "courses run from the highest number (bass) down to 1 (treble-most); reorder them",
        "Strings are listed bass to treble and counted the trade's way.",
    ),
    "strings.treble-first": Entry(
        "listed treble to bass; list them bass to treble (the thickest, lowest string first)",
        "Every list of a file runs bass to treble.",
    ),
    "strings.note-too-high": Entry(
        "{note} ({wanted_hz:.0}) breaks any {material} string on a scale of {scale:given}, whatever its gauge; the"
        " highest is about {highest_hz:.0}; an octave too high?",
        "The stress at pitch does not depend on the gauge.",
        "Look at the octave of the note, and at the scale length.",
    ),
    "guide.no-height": Entry(
        "missing; write how far its underside lies below the board's plane, or wanted_deg for the angle it is to give",
        "How far a guide bends the strings follows from its height.",
    ),
    "guide.over-nut": Entry("{written} lies over the nut, which ends at {least}", "A guide presses behind the nut."),
    "guide.no-such-string": Entry(
        "there is no string {number}; allowed is 1 to {most}", "1 is the treble-most string."
    ),
    "guide.second": Entry(
        "string {number} runs under another guide already; say with strings = [] which run under this one",
        "One guide a string is reckoned with.",
    ),
    "guide.no-post": Entry(
        "missing; a guide bends a string on its way to its post, so write post = {{ y = , x = , drop = }}",
        "Where a string goes from a guide depends on its post.",
    ),
    "guide.behind-post": Entry(
        "{written} is behind the post of string {number}, at {most}", "A guide presses between nut and post."
    ),
    "string-set.no-name": Entry(
        "is no name of a set; write that of a file in sets/ beside the instrument file, without .toml",
        "A set of your own is found by its name.",
    ),
    "string-set.wrong-count": Entry(
        "has {count}, the instrument {strings}; list one for each, bass to treble", "A set is strung string by string."
    ),
    "string-set.twice": Entry(
        'the set "{set}" says this too; leave it out here, or there',
        "Which of the two is on the instrument cannot be told.",
    ),
    "strings.plain-is-built": Entry(
        "a plain string has none; write wound = true, or leave the key out", "Core and wraps are of wound strings."
    ),
    "strings.no-room-for-wrap": Entry(
        "{written} leaves no room for a wrap; below {most}", "The core is thicker than the gauge allows.", READ_AGAIN
    ),
    "strings.no-core-left": Entry(
        "the wraps take {written} of a gauge of {most}; no core is left", "The wraps fill the gauge.", READ_AGAIN
    ),
    "body.land-too-wide": Entry(
        "{written:given} is more than the nut is thick; allowed is up to seat.thickness, {most:given}",
        "The land lies on the top of the nut.",
    ),
    "pluck.over-board": Entry(
        "{written:given} is over the board; allowed is up to the last fret, {most:.1} from the bridge",
        "Strings are plucked between the last fret and the bridge.",
    ),
    "before.says-nothing": Entry(
        'says nothing; write [[before.strings]], a string_set, or tuning = ["E1", ...] for the same strings',
        "The table tells what was strung before.",
    ),
    "old-nut.floors-too-high": Entry(
        "{written:given} is above {most:given} over the fret plane; measured from the seat floor? write floors_from ="
        ' "seat floor"',
        "A floor that high was measured from somewhere else.",
    ),
    "old-nut.no-such-string": Entry(
        "there is no string {number}; write numbers from 1, the treble-most, to {most}",
        "Strings are counted from the treble side.",
    ),
    "old-nut.floors-too-low": Entry(
        '{written:given} leaves no nut under the slot; measured from the fret plane? write floors_from = "fret plane"',
        "A floor that low was measured from somewhere else.",
    ),
    "trial.no-plane": Entry(
        "no string has a clearance over 0 and a caliper reading beside it; write both for three strings at least",
        "A trial nut tells the fret plane where its strings clear fret 1.",
    ),
    "trial.floor-too-low": Entry(
        "{written:given} over the underside, less the wire, leaves no nut under the slot; write what the caliper"
        " shows, the wire not taken off",
        "A floor that low was measured from somewhere else, or its wire was taken off twice.",
    ),
    "dry-fit.no-readings": Entry(
        "missing; write the thickest leaf that passes over fret 1, string by string", "A dry fit is read by leaves."
    ),
    "dry-fit.reading-alone": Entry("missing; {key} says nothing without it", "One reading rests on another."),
    "dry-fit.below-thinnest-leaf": Entry(_below_leaf, "No leaf on this bench is so thin.", READ_AGAIN),
    "dry-fit.drags-thinner-than-passes": Entry(
        "{written:given} drags but {passes:given} passes; the one that drags is the thicker",
        "A leaf that drags is thicker than one that passes.",
    ),
    "old-nut.no-go-enters": Entry(
        "{written:given} does not enter but {passes:given} does; the one that does not is the thicker",
        "A slot is as wide as what enters, and narrower than what does not.",
    ),
    "tools.tip-wider-than-shank": Entry(
        "the tip is wider than the shank; measured the other way? change them round", "Needle files taper to the tip."
    ),
    "tools.own-leaves-misread": Entry(
        "{written} is no list of own leaves; write {{ card = {{ ten = 2.95 }} }}",
        "Paper, card and the like serve as leaves once ten of them were measured.",
        "Squeeze ten in the caliper and write what it reads as ten.",
    ),
    "tools.no-sheet-name": Entry(
        '"{written}" is no name for a sheet; write one word in small letters, such as card',
        "A sheet is called by its name in readings: 2 card + 1 paper.",
    ),
    **alike(
        "A gap may be read by what fills it: loose sheets, a leaf, a wire off its packet.",
        "List what is on the bench as own_leaves and wires in [tools].",
        {
            "stack.unknown-sheet": _unknown_sheet,
            "stack.wrong-count": "{written}: allowed is 1 to {most} of a sort",
            "stack.unknown-wire": _unknown_wire,
        },
    ),
    "mill.not-a-cutter": Entry(
        '{written} is not a cutter; write {{ diameter = , end = }} or text such as "1 ball"',
        "A cutter is a diameter and the shape of its end.",
    ),
    "print.layer-over-nozzle": Entry(
        "{written:given} is more than the nozzle, {most:given}; half the nozzle is usual",
        "A nozzle cannot press out a layer higher than it is wide.",
    ),
    "print.line-off-nozzle": Entry(
        "{written:given} does not go with a nozzle of {nozzle:given}; about the nozzle is usual",
        "A printed line is between half and twice the nozzle wide.",
    ),
}

PIECE: dict[str, Entry] = {
    "stations.no-source": Entry(
        "missing; write one [[stations]] for each place by calipers, or a [scan]", "A piece is one or the other."
    ),
    "stations.only-one": Entry("one station alone is no piece; measure both ends at least", "A piece has a length."),
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
    "stations.gap-missing": Entry(
        "missing; it is given at other stations: measure it at each, 0 where the straightedge touches",
        "The gaps under one straightedge go together.",
    ),
    "stations.too-steep": Entry(
        "the middle moves {moved:given} over {along:given} along, more than 45 degrees; one misread? Otherwise lay the"
        " straightedge along the run of the piece",
        "A piece so bent cannot be measured along that straightedge.",
    ),
    "stations.too-twisted": Entry(
        "{written_deg} after {before_deg}; allowed is {most_deg:.0} from one station to the next; measure one between",
        "Beyond that the twist could as well go the other way round.",
    ),
    "stations.walls-meet": Entry(
        "{sides} together are {both:given} of a {key} of {size:given}; the walls meet there; measure one wall each, or"
        " leave wall out where it is compact throughout",
        "Walls that meet leave no core.",
    ),
    "stations.core-outside": Entry(_core_outside, "The core lies inside the skin.", READ_AGAIN),
    "stations.first-is-not-the-cut": Entry(
        "{written:given}, but distances count from the first end: measure the cut itself, at = 0",
        "The first end is a saw cut, and a station stands on it.",
        _FROM_FIRST,
    ),
    "stations.first-is-the-tip": Entry(
        "{written:given}, but the first end is closed and its tip lies at 0; allowed is {least:given} at least",
        "A tip has no section to measure.",
        _FROM_FIRST,
    ),
    "ends.tip-of-cut": Entry(
        'given, but the last end is "cut"; leave it out, or write last = "closed"', "A saw cut has no tip."
    ),
    "ends.tip-not-beyond": Entry(
        "{written:given} is not beyond the last station at {last:given}; allowed is {least:given} at least",
        "The tip closes the piece beyond its last station.",
        _FROM_FIRST,
    ),
    "ends.tip-of-scan": Entry("a scan shows its own tip; leave the key out", "A scan has its ends in it."),
    "scan.not-a-mesh": Entry(
        lambda t: f"{t['written']} is not a mesh by its name; allowed are {', '.join(t['allowed'])}",
        "The format of a mesh is told by its name.",
    ),
    "scan.core-is-skin": Entry(
        "is the same file as the skin; a core has a mesh of its own", "Skin and core are two surfaces."
    ),
    "scan.no-direction": Entry(
        "points nowhere; write three numbers, like [1, 0, 0]", "A direction of no length is none."
    ),
    "scan.back-runs-along": Entry(
        "runs along the piece like scan.along; point it square to that, out of the back", "Two directions make a frame."
    ),
    "scan.check-says-nothing": Entry(
        "holds no reading; write {{ at = , width = }}, {{ at = , height = }} or {{ length = }}",
        "The table holds one caliper reading.",
    ),
    "scan.check-without-place": Entry("missing; write where {key} was taken", "A width is read at one place."),
}

ANSWERS: dict[str, Entry] = {
    "answer.nothing": Entry("nothing was given; write a value", "The question wants an answer."),
    "answer.no-count": Entry("write a whole number, {least} to {most}", "The answer is a count."),
    "answer.no-such-strings": Entry(
        "write numbers of strings, 1 to {most}, or none, or not yet", "Strings are counted from the treble side."
    ),
    "answer.not-a-choice": Entry(_not_a_choice, "There are a few answers only."),
    "answer.doubled": Entry("doubled, {fault}", "The distance to fret 12 is half the scale length."),
    "answer.whole-scale": Entry(
        "twice the kind's {usual} {unit}: was that the whole scale? Measure to fret 12 only",
        "The distance to fret 12 is half the scale length.",
    ),
    "answer.far-from-kind": Entry(
        "far from the kind's {usual} {unit}; if that was a slip, back", "A reading so far off is often a slip."
    ),
    "answer.no-gap": Entry(
        '{written}: write the gap at either end and how far apart they are, like "gap 0.7 0.66 41"',
        "The gaps under a ruler across fret 1, and their distance, are three lengths.",
    ),
    "answer.no-sheets": Entry(
        '{written}: write each sort once, with what ten of it measure, like "paper 1.02, card 2.95"',
        "A sheet's thickness comes from ten of them, squeezed in the caliper.",
    ),
    "answer.no-angle": Entry(
        "{written}: write degrees, or a fall over a run, like 12/80", "An angle is a number, or a fall over a run."
    ),
    "answer.no-post": Entry(
        "{written}: write three lengths: y (behind the front face), x (bass side negative), drop",
        "A tuner post stands at three lengths.",
    ),
    "answer.no-string": Entry(
        "{written}: write note and gauge, and wound where it is: E2 0.046 wound", "A string is a note and a gauge."
    ),
}

SPEC = INSTRUMENT | PIECE | ANSWERS
