"""What `log` shows: everything that was read and made of an instrument, and what it tells of wear."""

from collections.abc import Sequence

from nutgen.bench.dryfit.fitlog import Entry, Making, Round, notes_of
from nutgen.documents.blocks import Column, Document, Findings, Paragraph, Space, Table, Title
from nutgen.documents.texts import phrase
from nutgen.finding import Finding
from nutgen.nut.part import Nut


def log_blocks(nut: Nut, entries: Sequence[Entry], findings: Sequence[Finding]) -> Document:
    """The log as a table, oldest first, then the wear."""
    notes = [slot.note for slot in nut.slots]
    columns = (
        Column("date"),
        Column("what"),
        Column("relief", "leaf", none=""),
        *(Column(f"{slot.number} {slot.note}", "leaf", none="") for slot in nut.slots),
    )
    about = phrase("Over fret 1, open, all in {units}; of a dry fit the leaf that passed.")
    return (
        Title(nut.title),
        Space(),
        Table(columns, tuple(_row(one, notes) for one in entries)),
        Paragraph(
            about if entries else "Nothing yet: --add keeps the readings of [setup], make and dryfit add theirs."
        ),
        Findings(tuple(findings), none=""),
    )


def _row(one: Entry, notes: Sequence[str]) -> tuple[str | float | None, ...]:
    none = (None,) * len(notes)
    if isinstance(one, Making):
        return one.made[:10], f"made: {', '.join(one.wanted)}", None, *none
    if isinstance(one, Round):
        passed = [next((gap.passes for gap in s.gaps if gap.check == "feeler"), None) for s in one.strings]
        return one.time[:10], "dry fit", one.relief, *(passed if notes_of(one) == list(notes) else none)
    return one.read[:10], "read", one.relief, *(one.clearance if one.notes == tuple(notes) else none)
