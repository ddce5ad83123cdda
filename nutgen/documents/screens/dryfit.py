"""What `dryfit` shows."""

from typing import TYPE_CHECKING

from nutgen.bench.remedies import LOWEST, TOLERANCE
from nutgen.documents.blocks import Block, Column, Document, Paragraph, Points, Space, Table, Title, remark
from nutgen.documents.strings import by_string
from nutgen.documents.texts import Run, Text, capital, phrase

if TYPE_CHECKING:
    from nutgen.bench.dryfit.judge import Fit, StringFit

CHECK_AT = {"feeler": "open at 1", "sliver": "pressed at 3", "barre": "barre"}

HOW_TO_FILE = (
    "How: slacken the string and lift it out. Lay a stack on the board against the nut, steel on top, until the file,"
    " lying in the slot, just touches it; take out from under it what is to come off, and file until it touches again,"
    " the handle dipped to the headstock so that the floor stays highest at the front face. No file on paper or card."
    " Tune back to pitch, and read again."
    " Three rounds do where both checks are read and each filing takes off what it is told to within a tenth or so;"
    " a hand that is off by a third needs another now and then."
)


def fit_blocks(title: str, fit: "Fit", *, number: int) -> Document:
    """A round of a dry fit: what comes first, the table, how to file, ways back, remarks."""
    blocks: list[Block] = [
        Title(title),
        Paragraph(f"Dry fit, {'not yet ' * fit.in_doubt}round {number}. {_verdict(fit)}"),
        Points(fit.cautions, "!"),
        Space(),
    ]
    if fit.truss_rod_first:
        blocks += [Paragraph(Run((capital(fit.truss_rod_first), ".")), "strong")]
    blocks += [_table(fit), Space(), remark(_READ, lowest=-LOWEST, highest=TOLERANCE)]
    if not fit.truss_rod_first:
        blocks += [Space(), *(_string(string) for string in fit.strings)]
        if any(string.file_off for string in fit.strings):
            blocks += [Space(), Paragraph(HOW_TO_FILE)]
    blocks += _ways_back(fit)
    if fit.remarks:
        blocks += [Space(), Points(fit.remarks, "!")]
    return tuple(blocks)


_READ = (
    "All in {units}. floor off by: over the height wanted, 99 times in 100 between these two. file: off the slot"
    " floor; -: left alone, surely in tolerance ({lowest:bare,+} to {highest:bare,+}) or as near as a"
    " safe cut brings it."
    " then: what the same check reads after that, the saddle left alone."
)


def _verdict(fit: "Fit") -> str:
    if fit.truss_rod_first:
        return "The truss rod first."
    words = {"measure again": "to measure again", "low": "too low", "file": "to file"}
    counts = {verdict: sum(string.verdict == verdict for string in fit.strings) for verdict in words}
    told = ", ".join(f"{count} {words[verdict]}" for verdict, count in counts.items() if count)
    return f"Slots: {told}." if told else "Done: leave every slot alone."


def _between(low: float, high: float, sign: str = "") -> Text:
    return phrase(f"{{low:leaf,bare{sign}}} to {{high:leaf,bare{sign}}}", low=low, high=high)


def _table(fit: "Fit") -> Table:
    checks = [gap.check for gap in fit.strings[0].readings]
    read = zip(*(string.readings for string in fit.strings), strict=True)
    return by_string(
        fit.strings,
        *(
            (Column(CHECK_AT[check], "leaf"), [_between(gap.passes, gap.drags) for gap in gaps])
            for check, gaps in zip(checks, read, strict=True)
        ),
        (Column("floor off by", "leaf"), lambda one: _between(one.floor_off.low, one.floor_off.high, ",+")),
        (Column("file", "leaf"), lambda one: one.file_off or ("-" if one.verdict == "leave" else one.verdict)),
        (
            Column(f"then {CHECK_AT[checks[0]]}", "leaf"),
            lambda one: _between(one.then_reads.low, one.then_reads.high) if one.file_off else "",
        ),
    )


def _string(string: "StringFit") -> Paragraph:
    words: Text = string.says
    if string.file_off:
        file = phrase("file {file_off:leaf}: ", file_off=string.file_off)
        falls = phrase(". The action there falls by {falls:leaf,bare}", falls=string.action_falls)
        words = Run((file, Run(string.steps, "; then "), falls))
    return Paragraph(Run((f"{string.number} {string.note}: ", words)), hang=2)


def _ways_back(fit: "Fit") -> list[Block]:
    if not fit.ways_back:
        return []
    blocks: list[Block] = [Title("Ways back, before anything else is filed", 2)]
    raised = by_string(
        fit.raised,
        (Column("open at 1 now", "leaf"), "first_fret_clearance_now"),
        (Column("raised", "leaf"), "first_fret_clearance"),
        (Column("then file", "leaf"), lambda one: one.file_off or None),
        indent=3,
    )
    for letter, way in zip("abc", fit.ways_back, strict=False):
        blocks.append(Paragraph(Run((f"{letter}) ", way, ".")), hang=3))
        if way.code == "fit.shim":
            blocks.append(raised)
    return blocks
