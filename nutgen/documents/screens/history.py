"""What `compare` and `log` show: what changes from one file to another, and what was read and made over the months."""

from collections.abc import Sequence

from nutgen.bench.compare import Compared
from nutgen.bench.dryfit.fitlog import Entry, Making, Round, notes_of
from nutgen.documents.blocks import Block, Column, Document, Findings, Paragraph, Space, Table, Title, remark
from nutgen.documents.screens.reuse import reuse_blocks
from nutgen.documents.strings import by_string
from nutgen.documents.texts import phrase
from nutgen.finding import Finding
from nutgen.nut.part import Nut

_READ = (
    "Changes, in {units}: sizes before and after; centre from the bass end of the board, seat: floor over the seat"
    " floor, fret 1 and 12: clearance of the open string."
)
_CHANGES = {
    **{name: name for name in ("gauge", "centre", "width")},
    **{"seat": "floor_above_seat", "fret 1": "first_fret_clearance", "fret 12": "action"},
}


def compare_blocks(title: str, names: tuple[str, str], found: Compared, pull: Document) -> Document:
    """From one file to another.

    names : of what was and what becomes of it
    pull  : what is told of the strings' pull
    """
    keys = ", ".join(found.keys) or "nothing"
    columns = Column("size"), *(Column(name, "setting_out") for name in ("before", "after"))
    blocks: list[Block] = [
        Title(title),
        Paragraph(f"From {names[0]} to {names[1]}. Keys that differ: {keys}."),
        Table(columns, found.sizes),
    ]
    if found.strings:
        shown = ((Column(name, "setting_out", sign=True), change) for name, change in _CHANGES.items())
        blocks.append(by_string(found.strings, *shown))
    blocks += [Space(), remark(_READ), *pull, Space()]
    blocks.append(Findings(found.work, none="Length, thickness and height stay."))
    if found.slots is not None:
        blocks += [*reuse_blocks("The slots, as they were made", found.slots)]
    return tuple(blocks)


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
