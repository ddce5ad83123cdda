"""What squared blanks are worth for a nut: the verdict, and what comes off each face."""

from collections.abc import Sequence

from nutgen.documents.blocks import Column, Document, Entry, Space, Table, Title, remark
from nutgen.documents.texts import phrase
from nutgen.nut.part import Nut
from nutgen.stock.block import Face
from nutgen.stock.ready import Ready

_OFF: dict[Face, str] = {"top": "off top", "back": "off back", "end": "off each end"}


def ready_blocks(nut: Nut, found: Sequence[Ready]) -> Document:
    """Which blank, which way up, what comes off each face; of one that is too small, what is missing."""
    columns = Column("blank"), Column("way up"), *(Column(name, "setting_out", none="") for name in _OFF.values())
    rows = tuple((one.name, *_row(one)) for one in found)
    told = remark(
        "Off: down to the finished nut; nothing off front and underside, which stay as they are squared, as all else is"
        " measured from them. turned: the blank's height becomes the nut's thickness. Wanted is a blank of"
        " {length:blank,bare} x {thickness:blank,bare} x {height:blank,bare} {units} at least.",
        nut.blank,
    )
    verdict = f"Yes: {found[0].name} wastes least." if found[0].fits else "No: none is large enough."
    return Title(verdict), Space(), Table((*columns, Column("waste", "share", none="")), rows), told


def _row(one: Ready) -> tuple[Entry, ...]:
    if one.fits:
        return ("turned" if one.turned else "as given", *(one.off[face] for face in _OFF), one.waste_share)
    short = phrase("no: {missing} short", missing=max(one.missing))
    return short, *(None for _ in _OFF), None
