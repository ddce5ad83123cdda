"""What `tension` shows: pulls, what changes, gauges for an even pull."""

import math

from nutgen.bench.materials import STRINGS_WHIP
from nutgen.documents.blocks import Column, Document, Entry, Findings, Paragraph, Space, Table, Title
from nutgen.documents.texts import Phrase, Run, capital, phrase
from nutgen.documents.words.quantities import Kind
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
    strings, each = pull.strings, None if changed is None else changed.by_string
    columns = (
        Column("string"),
        Column("gauge in", "gauge", none=""),
        Column("Hz", "pitch", places=2, none=""),
        *(Column(name, "pull") for name in ("N", "±", "kgf", "lbf")),
        Column("of strength", "share", none="?"),
        *([Column("change N", "pull", sign=True)] if each is not None else []),
    )
    lines = zip(strings.gauge, strings.pitch_hz, pull.tension_n, pull.error_n, pull.load_share, strict=True)
    rows: list[tuple[Entry, ...]] = []
    for i, (gauge, pitch, n, error, load) in enumerate(lines):
        other = (n / NEWTON_PER["kgf"], n / NEWTON_PER["lbf"], load)
        change = () if each is None else (each[i],)
        rows.append((f"{len(strings.notes) - i} {strings.notes[i]}", gauge, pitch, n, error, *other, *change))
    n, error = pull.total_n, pull.total_error_n
    in_all = (n, error, n / NEWTON_PER["kgf"], n / NEWTON_PER["lbf"], "")
    rows.append(("in all", None, None, *in_all, *([changed.total_n] if changed and each is not None else [])))
    return Table(columns, tuple(rows))


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
    found, strings = suggestion, pull.strings
    kinds: tuple[tuple[str, Kind], ...] = (("now in", "gauge"), ("N", "pull"), ("then in", "gauge"), ("N", "pull"))
    rows: list[tuple[Entry, ...]] = []
    for i, (now, then) in enumerate(zip(strings.gauge, found.gauge, strict=True)):
        verdict = _missed(found, i) if not found.reached[i] else "stays" if abs(now - then) < 1e-6 * INCH else "change"
        name = f"{len(strings.notes) - i} {strings.notes[i]}"
        rows.append((name, now, pull.tension_n[i], then, found.tension_n[i], verdict))
    words = phrase("Gauges for {each_n} a string, {all_n} in all:", each_n=found.target_n, all_n=found.total_n)
    columns = (Column("string"), *(Column(*kind) for kind in kinds), Column("verdict"))
    return Space(), Paragraph(words), Table(columns, tuple(rows))


def _missed(found: Suggestion, i: int) -> Phrase:
    """Why a string does not come near the pull: the gauges on either side, or the end of the range."""
    (low, high), (low_n, high_n) = found.beside[i].tolist(), found.beside_n[i].tolist()
    if math.isnan(low) or math.isnan(high):
        words = "no gauge from {low:gauge,bare,.3} to {high:gauge,bare,.3} reaches it"
        return phrase(words, low=float(found.low[i]), high=float(found.high[i]))
    words = "falls between {low:gauge,bare,.4} ({low_n}) and {high:gauge,bare,.4} ({high_n})"
    return phrase(words, low=low, low_n=low_n, high=high, high_n=high_n)
