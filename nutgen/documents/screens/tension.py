"""What `tension` shows: pulls, what changes, gauges for an even pull."""

import math

from nutgen.bench.materials import STRINGS_WHIP
from nutgen.documents.blocks import Column, Document, Findings, Paragraph, Shown, Space, Table, Title, table_of
from nutgen.documents.texts import Phrase, Run, Text, capital, phrase
from nutgen.finding import Finding
from nutgen.play.gauges import Suggestion
from nutgen.play.pull import NEWTON_PER, Change, Pull

INCH = 25.4


def pull_blocks(
    title: str, pull: Pull, changed: Change | None, more: Document, findings: tuple[Finding, ...]
) -> Document:
    """Pull per string and in all; what it rests on.

    more : after the table
    """
    rests_on = (Findings(pull.assumed, none=""), Paragraph(STRINGS_WHIP, "note"))
    return Title(title), Space(), _pull_table(pull, changed), *more, Space(), *rests_on, Findings(findings)


def _pull_table(pull: Pull, changed: Change | None) -> Table:
    n, total = pull.tension_n, pull.total_n
    shown: list[Shown] = [
        (Column("string"), [*_names(pull), "in all"]),
        (Column("gauge in", "gauge", none=""), [*pull.strings.gauge, None]),
        (Column("Hz", "pitch", places=2, none=""), [*pull.strings.pitch_hz, None]),
        (Column("N", "pull"), [*n, total]),
        (Column("±", "pull"), [*pull.error_n, pull.total_error_n]),
        *((Column(unit, "pull"), [*n / NEWTON_PER[unit], total / NEWTON_PER[unit]]) for unit in ("kgf", "lbf")),
        (Column("of strength", "share", none="?"), [*pull.load_share, ""]),
    ]
    if changed is not None and changed.by_string is not None:
        shown.append((Column("change N", "pull", sign=True), [*changed.by_string, changed.total_n]))
    return table_of((), *shown)


def _names(pull: Pull) -> list[str]:
    notes = pull.strings.notes
    return [f"{len(notes) - i} {note}" for i, note in enumerate(notes)]


def change_blocks(changed: Change, name: str, stiffness: float | None, *, stop: bool) -> Document:
    """What another set or tuning changes, in all and for the neck [N/mm of relief].

    stop : whether a finding tells what it means for the neck, which is that nothing is to be made
    """
    before = changed.before
    against = phrase(
        "Against {name} ({notes}, {before_n}): {total_n:bare,+} ± {error_n}.",
        changed,
        name=name,
        notes=" ".join(before.strings.notes),
        before_n=before.total_n,
    )
    unmeasured = "No figure for the relief: it needs instrument.relief_per_100_n, measured on this neck."
    return (
        Space(),
        Paragraph(against),
        *([Paragraph("Another number of strings: compared in all only.")] if changed.by_string is None else []),
        *([] if stop else [Paragraph(Run((capital(changed.meaning), ".")))]),
        *([Paragraph(unmeasured, "note")] if stiffness is None else []),
    )


def suggestion_blocks(pull: Pull, suggestion: Suggestion) -> Document:
    """Gauges now and then, string by string."""
    found, now = suggestion, pull.strings.gauge
    table = table_of(
        (),
        (Column("string"), _names(pull)),
        (Column("now in", "gauge"), now),
        (Column("N", "pull"), pull.tension_n),
        (Column("then in", "gauge"), found.gauge),
        (Column("N", "pull"), found.tension_n),
        (Column("verdict"), [_verdict(found, i, gauge) for i, gauge in enumerate(now)]),
    )
    words = phrase("Gauges for {each_n} a string, {all_n} in all:", each_n=found.target_n, all_n=found.total_n)
    return Space(), Paragraph(words), table


def _verdict(found: Suggestion, i: int, now: float) -> Text:
    if not found.reached[i]:
        return _missed(found, i)
    return "stays" if abs(now - found.gauge[i]) < 1e-6 * INCH else "change"


def _missed(found: Suggestion, i: int) -> Phrase:
    """Why a string does not come near the pull: the gauges on either side, or the end of the range."""
    (low, high), (low_n, high_n) = found.beside[i].tolist(), found.beside_n[i].tolist()
    if math.isnan(low) or math.isnan(high):
        words = "no gauge from {low:gauge,bare,.3} to {high:gauge,bare,.3} reaches it"
        return phrase(words, low=float(found.low[i]), high=float(found.high[i]))
    words = "falls between {low:gauge,bare,.4} ({low_n}) and {high:gauge,bare,.4} ({high_n})"
    return phrase(words, low=low, low_n=low_n, high=high, high_n=high_n)
