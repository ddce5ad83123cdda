"""Words for a reading that cannot be read, and for a file that cannot be opened."""

import math
from collections.abc import Callable

from nutgen.documents.words.entry import Entry, Told, entries, table_named
from nutgen.documents.words.quantities import MM_PER_INCH, rounded

MM_PER = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}

SLIPS = {
    "thousandths": "thousandths? write {}",
    "hundredths": "hundredths of a millimetre? write {}",
    "inches": "inches? write {}",
    "millimetres": "millimetres? write {}",
    "metres": "metres? write {}",
    "radians": "radians? write {}",
    "per-cent": "per cent? write {}",
    "other-way": "measured the other way? write {}",
    "no-leaf": "a leaf cannot read that: write {} where none passes",
}
"""What a reading out of its range was meant to be."""

READ_AGAIN = "Measure again, and mind the unit: a bare number is in the file's `units`, a gauge in `gauge_units`."
_KEEP_ONE = "Leave one of the two out."
ONE_A_STRING = "Write one value a string, bass first."
_SEE_SCHEMA = "`nutgen schema` lists every key with its range and what it means."


def _bounds(t: Told) -> tuple[str, str]:
    """What is allowed, in the unit that was written; limits are whole in mm, in inches three figures within them."""
    low, high = (bound / MM_PER.get(t["unit"], 1.0) for bound in t.raw("allowed"))
    if t["unit"] == "in":
        low, high = _within(low, math.ceil), _within(high, math.floor)
    return f"{low:.6g}", f"{high:.6g}"


def _within(bound: float, whole: Callable[[float], int]) -> float:
    step = 10.0 ** (math.floor(math.log10(abs(bound))) - 2) if bound else 1.0
    return whole(rounded(bound / step, 6)) * step


def _allowed(t: Told) -> str:
    return "allowed is {} to {}".format(*_bounds(t))


def _quoted(t: Told) -> str:
    return ", ".join(f'"{word}"' for word in t["allowed"])


def _in_parts(t: Told) -> str:
    return f"{{ {', '.join(f'{key} =' for key in t['allowed'])} }}"


def _mean(t: Told, words: str, mark: str = "") -> str:
    """The word that is spelt most like it, where there is one."""
    return f"{words}; did you mean {mark}{t['likely']}{mark}?" if t["likely"] else words


def _out_of_range(t: Told) -> str:
    below = t.finding.code == "reading.below-range"
    bound = f"{_bounds(t)[0 if below else 1]} {t['unit']}".rstrip()
    cure = "; ".join(SLIPS[slip].format(text) for slip, text in t["likely"]) or _allowed(t)
    return f"{t['written']} is {'below' if below else 'above'} {bound}; {cure}"


def _not_finite(t: Told) -> str:
    cure = _allowed(t) if t.raw("allowed") else "write the measured length"
    return f"{t['written']} is not a finite number; {cure}"


def _not_a_length(t: Told) -> str:
    comma = " (a point, not a comma)" if t.raw("comma") else ""
    return f'{t["written"]} is not a length; write a number, or text such as "0.3 mm" or "1 5/8 in"{comma}'


def _not_a_list(t: Told) -> str:
    cure = f"write one like {t['likely']}" if t["likely"] else "write [first, second, ...]"
    return f"{t['written']} is not a list; {cure}{', or [] where there is none' if t['may_be_empty'] else ''}"


def _wrong_count(t: Told) -> str:
    least, most = t["allowed"]
    allowed = f"{least}" if least == most else f"{least} to {most}" if most else f"{least} at least"
    cure = f"; write them like {t['likely']}" if t["likely"] else ""
    allowed = allowed if least or not most else f"{most} at most"
    return f"has {t['count']} entries; allowed is {allowed}{cure}"


def _missing(t: Told) -> str:
    means = f" ({t['means']})" if t["means"] else ""
    allowed = "; allowed is {} to {}".format(*t["allowed"]) if t["allowed"] else ""
    return f"missing; write {t['name']} = ...{means}{allowed}"


def _unknown_key(t: Told) -> str:
    if t["likely"]:
        return _mean(t, "unknown key")
    if t["elsewhere"]:
        inside = ", ".join(table_named(key) for key in t["elsewhere"] if key)
        places = ["at the top of the file"] * ("" in t["elsewhere"]) + [f"in {inside}"] * bool(inside)
        return f"no key of this table; there is one {' or '.join(places)}"
    return f"unknown key; known are {', '.join(t['allowed'])}"


def _not_among_presets(t: Told) -> str:
    """Of one sort a file may be meant too, of both only a name."""
    if len(t["allowed"]) == 1:
        (what,) = t["allowed"]
        return f"{_mean(t, f'no such file, and no such {what}')}; `nutgen presets` lists the {what}s"
    return f"{_mean(t, 'no kind and no piece is called so')}; `nutgen presets` lists both"


def _missing_file(t: Told) -> str:
    beside = f"; beside it are {', '.join(t['beside'])}" if t["beside"] else ""
    if t["what"] == "set of strings":
        return f"no such file{beside}; string_set and --against-set name a set in sets/ beside the instrument file"
    return f"no such file{beside}; `nutgen presets` lists the kinds to start from"


def _lower_first(name: str, before: str) -> "Entry":
    """What another program said, in the middle of a sentence."""

    def says(t: Told) -> str:
        return f"{before}{t[name][:1].lower()}{t[name][1:]}"

    return Entry(says, "The file cannot be opened, or is not in the form it ought to have.", "Look at the place named.")


def _mesh(t: Told) -> str:
    lines = (
        f'title = "{t["stem"]}"',
        'material = "bone"',
        "[scan]",
        f'file = "{t["name"]}"',
        'units = "mm"                     # of the mesh: "mm", "cm", "m" or "in"',
        'wall = 6.0                       # or core = "..." as a mesh; leave out where it is compact all through',
        "check = { length = 120.0 }       # by caliper, end to end",
    )
    return (
        "is a mesh, and a mesh says neither its units nor what is inside; write a piece file beside it,"
        f" say {t['stem']}.toml, and name that:\n\n" + "\n".join(f"    {line}" for line in lines) + "\n"
    )


def _centres(t: Told) -> str:
    return f"must grow from the bass end; {'measured from the treble end?' if t['backwards'] else 'one misread?'}"


READINGS: dict[str, Entry] = {
    **entries("""
reading.out-of-range
    {written} is out of range; allowed is {allowed[0]} to {allowed[1]}; is it the unit printed beside it?
    cause: No string weighs so much or so little.
    cure: Copy the mass per length with the unit that is printed beside it.
reading.no-fret
    {written} is no fret; write a fret's number before each reading: {{ 7 = 0.08 }}
    cause: Such readings go by their frets.
reading.not-yes-or-no
    {written} is not true or false; write true or false, without quotes
    cause: The key holds true or false.
reading.not-text
    {written} is not text; put it in quotes
    cause: The key holds words.
reading.empty-text
    is empty; write a few words
    cause: The key holds words.
reading.long-text
    has more than {most} letters; shorten it
    cause: The words stand on every file made.
reading.unshowable-text
    letter {place} is {letter}, which cannot be shown; leave it out
    cause: The words stand on every file made, and in the terminal.
    cure: Write letters, figures and signs on one line.
reading.not-a-note
    {written} is not a note; write it like "E2", "F#3" or "Bb1"
    cause: A note is a letter, its sharp or flat, and its octave; A4 is at 440 Hz.
body.ends-beyond-arch
    {written:given} left on the ends reaches beyond an underside arched at {radius:given}; allowed is {most:at_most} at
    most
    cause: The underside is as round as the board, and an arch ends at its half circle.
    cure: Leave less on the ends, or read the radius again.
"""),
    "reading.below-range": Entry(_out_of_range, "Less than wood, wire or a hand can give.", READ_AGAIN),
    "reading.above-range": Entry(_out_of_range, "More than wood, wire or a hand can give.", READ_AGAIN),
    "reading.not-finite": Entry(_not_finite, "nan, inf or a number without an end was written.", READ_AGAIN),
    "reading.not-a-length": Entry(_not_a_length, "A length is a number, or text with a unit.", READ_AGAIN),
    "reading.unknown-unit": Entry(
        '{written} has an unknown unit "{unit}"; use mm, cm or in', "Lengths are in mm, cm or in.", READ_AGAIN
    ),
    "reading.not-a-number": Entry(
        lambda t: f"{t['written']} is not a number; {_allowed(t)}", "The key holds a plain number.", _SEE_SCHEMA
    ),
    "reading.not-whole": Entry(
        "{written} is not a whole number; allowed is {allowed[0]} to {allowed[1]}",
        "The key holds a count.",
        _SEE_SCHEMA,
    ),
    "reading.without-unit": Entry(
        lambda t: f"{t['written']} has no unit that is known ({', '.join(t['allowed'])}); write it like {t['likely']}",
        "A mass per length means nothing without its unit.",
        "Copy it with the unit that is printed beside it.",
    ),
    "reading.not-one-of": Entry(
        lambda t: _mean(t, f"{t['written']} is not one of {_quoted(t)}", '"'), "The key holds one of a few words."
    ),
    "reading.not-a-list": Entry(_not_a_list, "The key holds a list.", _SEE_SCHEMA),
    "reading.wrong-count": Entry(_wrong_count, "A list is longer or shorter than it can be.", _SEE_SCHEMA),
    "reading.not-a-table": Entry(
        "{written} is not a table; write [{name}] above its keys", "A key has the name of a table.", _SEE_SCHEMA
    ),
    "reading.not-tables": Entry(
        "{written} is not a list of tables; write one [[{name}]] each", "Each wants a table of its own.", _SEE_SCHEMA
    ),
    "reading.not-in-parts": Entry(
        lambda t: f"{t['written']} is not a table; write {_in_parts(t)}", "The value has parts.", _SEE_SCHEMA
    ),
    "reading.missing": Entry(_missing, "The nut cannot be worked out without it.", _SEE_SCHEMA),
    "reading.missing-choice": Entry(
        lambda t: f"missing; one of {_quoted(t)}", "The nut cannot be worked out without it.", _SEE_SCHEMA
    ),
    "reading.missing-table": Entry(
        lambda t: f"missing; write [{t['name']}] with {', '.join(t['allowed'])}",
        "The nut cannot be worked out without it.",
        _SEE_SCHEMA,
    ),
    "reading.missing-tables": Entry(
        "missing; write one [[{name}]] each ({means})", "The nut cannot be worked out without them.", _SEE_SCHEMA
    ),
    "reading.unknown-key": Entry(_unknown_key, "No key of the table has that name.", _SEE_SCHEMA),
    "reading.given-together": Entry(
        "given together with {other}; one follows from the other, keep one", "Two keys say the same.", _KEEP_ONE
    ),
    "reading.not-one-a-string": Entry(
        lambda t: (
            f"{t['count']} value{'s' * (t['count'] != 1)} for {t['strings']} strings; write one a string, bass first"
        ),
        "A list goes with the strings one by one.",
        ONE_A_STRING,
    ),
    "reading.radius-too-small": Entry(
        "{written:given} is too small for a board {width:given} wide; allowed is {least:at_least} at least",
        "An arch of that radius does not reach across the board.",
        READ_AGAIN,
    ),
    "fretboard.no-such-taper": Entry(
        "{written:given} is no width at fret 12 of a board that is {least:given} wide at the nut; allowed is"
        " {least:given} to {most:at_most}",
        "A board is as wide at fret 12 as at the nut, or wider.",
        READ_AGAIN,
    ),
    "reading.centres-out-of-order": Entry(
        _centres, "Centres are measured from the bass end, each farther than the one before.", ONE_A_STRING
    ),
    "reading.beyond-board": Entry(
        "{written:given} is beyond the board, {most:given} wide", "A string beyond the board cannot be.", READ_AGAIN
    ),
}

FILES: dict[str, Entry] = {
    **entries("""
file.nested-too-deeply
    not a usable {what}: nested too deeply, at line {line}
    cause: No file of ours is nested so.
file.number-too-long
    not a usable {what}: the number at line {line} has thousands of digits
    cause: No reading has so many.
file.is-a-folder
    is a folder; name the {what} in it
    cause: A folder was named instead of a file.
file.no-plain-file
    is a device or a pipe and no {what}; write it to a file first
    cause: Such a thing may never end.
file.too-large
    is larger than {most_megabytes} MB; a real {what} has a few thousand bytes
    cause: It is another sort of file.
file.empty
    is empty; `nutgen new FILE --from KIND` writes one to edit
    cause: There is nothing in it.
    cure: Start from a kind.
file.not-text
    is not text in UTF-8, so no {what}: look at line {line}
    cause: It is another sort of file.
file.is-an-instrument
    is an instrument file; a piece file has [[stations]] or a [scan]; `nutgen presets` lists pieces
    cause: An instrument file was named where a piece is asked for.
file.is-there
    is there already and is left as it is; choose another name
    cause: Nothing of the maker's is written over.
file.no-folder
    there is no folder {folder}; make it first
    cause: A file is written into a folder that is there.
file.named-as-mesh
    is the name of the mesh that goes with it; choose one that ends in .toml
    cause: A piece by scan has its meshes beside it.
file.other-mesh
    is there already, is another mesh and is left as it is; write the piece file into another folder
    cause: Nothing of the maker's is written over.
file.no-terminal
    {command} asks at a terminal, and there is none; {instead}
    cause: Nobody can answer.
    cure: Write the file by hand.
file.no-draft
    is not a draft, or is torn; delete it to start anew
    cause: The answers of `new --ask` are kept so.
file.other-draft
    is a draft of another version, or was edited; delete it to start anew
    cause: The answers of `new --ask` are kept so.
file.draft-of-another-kind
    was begun from {kind}; leave --from out to go on, or delete it to start anew
    cause: The kind gives the defaults of every question.
file.no-name
    has no name that a folder can have, or one that cannot be shown; rename it, like mine.toml
    cause: A folder is named after its file.
file.same-folder
    another file of this call goes to the folder "{folder}" too; make them one by one with -o
    cause: A folder is named after its file.
file.is-a-kind
    is a kind, and a dry fit is of one nut; nutgen new mine.toml --from {kind} writes a file for it
    cause: The log of a dry fit stands beside a file of the maker's own.
file.nothing-to-undo
    no round is there to take back
    cause: The log holds no round of a dry fit.
file.not-svg
    the picture is an SVG; give it a name that ends in .svg
    cause: Charts are drawn as SVG.
file.not-pdf
    the strip is a PDF; give it a name that ends in .pdf
    cause: What is true to size is a PDF.
file.no-old-nut
    missing; write [old_nut] with edges or centres, widths and floors, or let --ask ask for them
    cause: The old nut is judged by its readings.
answer.no-frets
    {written}: write each fret with its gap, like 8 0.12, 9 -0.06
    cause: Each reading stands behind its fret's number.
answer.no-guide
    {written}: write y and drop, and the strings where it is not over all: 30 6 strings 1 2
    cause: A guide presses at a place behind the nut, so far below the board.
"""),
    "file.not-toml": _lower_first("reason", "not a TOML file: "),
    "file.unreadable": _lower_first("reason", "cannot be read: "),
    "file.missing": Entry(_missing_file, "No file has that name.", "Look at the spelling, and at the folder."),
    "file.is-a-mesh": Entry(_mesh, "A mesh says neither its units nor its inside.", "Write a piece file beside it."),
    "file.not-among-presets": Entry(
        _not_among_presets, "No file and nothing that comes with nutgen has that name.", "`nutgen presets` lists them."
    ),
}
