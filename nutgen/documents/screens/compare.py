"""What `compare` shows: what changes, and the work that it needs."""

from nutgen.bench.compare import Compared
from nutgen.documents.blocks import Block, Column, Document, Findings, Paragraph, Space, Table, Title
from nutgen.documents.screens.reuse import reuse_blocks
from nutgen.documents.texts import phrase

_READ = (
    "Changes, in {units}: sizes before and after; centre from the bass end of the board, seat: floor over the seat"
    " floor, fret 1 and 12: clearance of the open string."
)
_CHANGES = ("gauge", "centre", "width", "seat", "fret 1", "fret 12")


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
        heads = Column("string"), *(Column(name, "setting_out", sign=True) for name in _CHANGES)
        rows = tuple(
            (
                f"{one.number} {one.note}",
                *(one.gauge, one.centre, one.width, one.floor_above_seat, one.first_fret_clearance, one.action),
            )
            for one in found.strings
        )
        blocks += [Table(heads, rows)]
    blocks += [Space(), Paragraph(phrase(_READ), "note"), *pull, Space()]
    blocks.append(Findings(found.work, none="Length, thickness and height stay."))
    if found.slots is not None:
        blocks += [*reuse_blocks("The slots, as they were made", found.slots)]
    return tuple(blocks)
