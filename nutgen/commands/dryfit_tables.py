"""What `dryfit` shows."""

from typing import TYPE_CHECKING

from nutgen.commands.columns import show_split
from nutgen.documents.screen import Column, Screen
from nutgen.spec.values import MM_PER

if TYPE_CHECKING:
    from nutgen.bench.dryfit.judge import Fit, StringFit
    from nutgen.nut import Nut
    from nutgen.spec.tables import Spec

CHECK_AT = {"feeler": "open at 1", "sliver": "pressed at 3", "barre": "barre"}

HOW_TO_FILE = (
    "How: slacken the string and lift it out. Lay leaves on the board against the nut until the file, lying in the"
    " slot, just touches them; take out leaves of what is to come off, and file until it touches again, the handle"
    " dipped to the headstock so that the floor stays highest at the front face. Tune back to pitch, and read again."
)


def show_fit(screen: Screen, spec: "Spec", nut: "Nut", fit: "Fit", *, number: int) -> None:
    """A round of a dry fit: what comes first, the table, how to file, ways back, remarks."""
    screen.say(spec.title, style="bold")
    screen.say(f"Dry fit, round {number}. {_verdict(fit)}")
    for note in fit.cautions:
        screen.say(f"! {note.text}", hang="  ")
    screen.say()
    if fit.rod_first:
        screen.say(f"{fit.rod_first[0].upper()}{fit.rod_first[1:]}.", style="bold")
        screen.say()
    _show_table(screen, spec, fit)
    _show_strings(screen, fit)
    _show_ways_back(screen, spec, fit)
    if fit.remarks:
        screen.say()
    for remark in fit.remarks:
        screen.say(f"! {remark}", hang="  ")


def _verdict(fit: "Fit") -> str:
    if fit.rod_first:
        return "The truss rod first."
    counts = {word: sum(s.verdict == word for s in fit.strings) for word in ("measure again", "low", "file")}
    words = {
        "measure again": f"{counts['measure again']} to measure again",
        "low": f"{counts['low']} too low",
        "file": f"{counts['file']} to file",
    }
    told = ", ".join(words[word] for word, count in counts.items() if count)
    return f"Slots: {told}." if told else "Done: leave every slot alone."


def _number(mm: float, spec: "Spec", *, sign: bool = False) -> str:
    digits = 4 if spec.units == "in" else 2
    return f"{mm / MM_PER[spec.units]:{'+' if sign else ''}.{digits}f}"


def _show_table(screen: Screen, spec: "Spec", fit: "Fit") -> None:
    def span(low: float, high: float, *, sign: bool = False) -> str:
        return f"{_number(low, spec, sign=sign)} to {_number(high, spec, sign=sign)}"

    checks = [gap.check for gap in fit.strings[0].gaps]
    titles = ["string", *(CHECK_AT[check] for check in checks), "floor off by", "file", f"then {CHECK_AT[checks[0]]}"]
    rows = [
        [
            f"{string.number} {string.note}",
            *(span(gap.passes, gap.drags) for gap in string.gaps),
            span(string.low, string.high, sign=True),
            _number(string.file_off, spec) if string.file_off else {"leave": "-"}.get(string.verdict, string.verdict),
            span(*string.expect) if string.file_off else "",
        ]
        for string in fit.strings
    ]
    show_split(screen, [Column(title, right=index > 0) for index, title in enumerate(titles)], rows)
    screen.say()
    unit = "In inches; the sentences below in mm." if spec.units == "in" else "All in mm."
    screen.say(
        f"{unit} floor off by: over the height wanted, 99 times in 100 between these two. file: off the slot floor."
        " then: what the same check reads after that, the saddle left alone.",
        style="dim",
    )


def _show_strings(screen: Screen, fit: "Fit") -> None:
    screen.say()
    if fit.rod_first:
        return
    for string in fit.strings:
        screen.say(f"{string.number} {string.note}: {_string_words(string)}", hang="  ")
    if any(string.file_off for string in fit.strings):
        screen.say()
        screen.say(HOW_TO_FILE)


def _string_words(string: "StringFit") -> str:
    if not string.file_off:
        return string.words
    steps = "; then ".join(step.words for step in string.steps)
    return f"file {string.file_off:.2f} mm: {steps}. The action there falls by {string.action_falls:.2f}"


def _show_ways_back(screen: Screen, spec: "Spec", fit: "Fit") -> None:
    if not fit.ways_back:
        return
    screen.say()
    screen.say("Ways back, before anything else is filed", style="bold")
    for letter, way in zip("abc", fit.ways_back, strict=False):
        screen.say(f"{letter}) {way.words}.", hang="   ")
        if way.raised:
            columns = [Column("string"), *(Column(t, right=True) for t in ("open at 1 now", "raised", "then file"))]
            rows = [
                [
                    f"{one.number} {one.note}",
                    _number(one.clearance_now, spec),
                    _number(one.clearance, spec),
                    _number(one.file_off, spec) if one.file_off else "-",
                ]
                for one in way.raised
            ]
            screen.table(columns, rows, indent="   ")
