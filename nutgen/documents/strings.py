"""The tables of a nut's strings and of its front, as the template, the sheet and the machines' papers show them."""

from collections.abc import Sequence

from nutgen.documents.blocks import Cell, Column, Document, Paragraph, Run, Space, Table, phrase
from nutgen.nut.part import Nut
from nutgen.nut.setback import Stretch, fronts, rebate
from nutgen.nut.slot import Slot

_COLUMNS = (
    Column("string"),
    Column("note"),
    Column(""),
    Column("gauge\nin", "gauge"),
    Column("gauge\nmm", "fine", only="mm"),
    Column("centre from\nbass end", "setting_out"),
    Column("slot\nwidth", "setting_out"),
    Column("floor over\nseat", "setting_out"),
    Column("floor over\nfret plane", "setting_out"),
    Column("floor\nunder top", "setting_out"),
    Column("falls", "angle", right=True),
    Column("fans", "angle", sign=True),
    Column("clears\nfret 1", "setting_out"),
    Column("clears\nfret 12", "setting_out"),
)
_SETBACK = Column("starts\nin front", "setting_out")


def string_table(nut: Nut) -> Document:
    """One row a string, bass first, and how to read it."""
    set_back = any(slot.start_y < 0.0 for slot in nut.slots)
    columns = (*_COLUMNS, _SETBACK) if set_back else _COLUMNS
    rows = tuple((*_row(nut, slot), -slot.start_y) if set_back else _row(nut, slot) for slot in nut.slots)
    bass = "left" if nut.strung == "right" else "right"
    floors = (
        "Floors are given where the string starts, in front of the front face, and fall from there."
        if set_back
        else "Floors are given at the front face and fall toward the headstock."
    )
    remark = (
        f" Seen from the bridge the bass end is at the {bass}; a slot fans + to the right. {floors}"
        " Clearances: open string, at pitch."
    )
    return Table(columns, rows, name="strings"), Paragraph(Run((phrase("Lengths in {units}."), remark)), "note")


def shelf_blocks(nut: Nut) -> Document:
    """What stands before the front face, marked out from the bass end; nothing where no string starts there."""
    if not nut.shelves.alone:
        return ()
    remark = phrase(
        "The shelf: from the bass end of the board, how far the front stands before the front face that goes against"
        " the board. Its underside is {high} over the nut's at its lowest, follows the board and stays {clear} clear of"
        " it.",
        high=rebate(nut),
        clear=nut.shelves.clear,
    )
    return Space(), front_table(fronts(nut)), Paragraph(remark, "note")


def front_table(stretches: Sequence[Stretch]) -> Table:
    """The front, stretch by stretch."""
    columns = (
        Column("front at\nstring"),
        Column("from\nbass end", "setting_out"),
        Column("to", "setting_out"),
        Column("stands\nin front", "setting_out", none="front face"),
    )
    rows = tuple((", ".join(map(str, one.strings)) or "-", one.start, one.end, one.ahead or None) for one in stretches)
    return Table(columns, rows, "fronts")


def _row(nut: Nut, slot: Slot) -> tuple[str | float | Run, ...]:
    ends = (slot.start_y, nut.thickness) if slot.rolled else (slot.start_y,)
    return (
        str(slot.number),
        slot.note,
        "wound" if slot.wound else "plain",
        slot.gauge,
        slot.gauge,
        nut.from_bass_end(slot),
        slot.width,
        nut.floor_over_seat(slot),
        slot.floor_height,
        slot.depth,
        Run(tuple(Cell(float(slot.tilt_at(y)), "angle") for y in ends), " to "),
        slot.fan_deg,
        slot.first_fret_clearance,
        slot.action,
    )
