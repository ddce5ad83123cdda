"""What `check` shows: the solved nut."""

from nutgen.documents.blocks import Column, Document, Findings, Paragraph, Space, Table, Title
from nutgen.documents.strings import Each
from nutgen.documents.texts import Run, phrase
from nutgen.nut import Nut

_SIZES = "Nut {length:bare} long, {thickness:bare} thick, {height:bare} high, {seat} seat, strung {strung}."
_BLANK = (
    "Blank at least {length:blank,bare} x {thickness:blank,bare} x {height:blank,bare}. All in {units} unless marked."
)

_STRINGS: tuple[Each, ...] = (
    (Column("string"), lambda _, slot: f"{slot.number} {slot.note}"),
    (Column("gauge in", "gauge"), lambda _, slot: slot.gauge),
    (Column("centre", "setting_out"), lambda nut, slot: nut.from_bass_end(slot)),
    (Column("width", "setting_out"), lambda _, slot: slot.width),
    (Column("floor", "setting_out", sign=True, breaks=True), lambda _, slot: slot.floor_height),
    (Column("seat", "setting_out"), lambda nut, slot: nut.floor_over_seat(slot)),
    (Column("depth", "setting_out"), lambda _, slot: slot.depth),
    (Column("buried", "share"), lambda _, slot: slot.buried),
    (Column("tilt", "angle", breaks=True), lambda _, slot: slot.tilt_deg),
    (Column("fan", "angle", sign=True), lambda _, slot: slot.fan_deg),
)
_FRETS: tuple[Each, ...] = (
    (Column("fret 1", "setting_out"), lambda _, slot: slot.first_fret_clearance),
    (Column("fret 12", "setting_out"), lambda _, slot: slot.action),
)
_GUIDED: Each = Column("guide", "angle", none=""), lambda _, slot: slot.guide.bend_deg if slot.guide else None


def nut_blocks(nut: Nut, note: str) -> Document:
    """The solved nut: its sizes, its strings from the bass end, its warnings."""
    guided, plane = any(slot.guide for slot in nut.slots), "fret plane" if nut.tops is None else "board"
    shown = (*_STRINGS, *(_FRETS if nut.tops is None else ()), *((_GUIDED,) if guided else ()))
    rows = tuple(tuple(value(nut, slot) for _, value in shown) for slot in nut.slots)
    return (
        Title(nut.title),
        Paragraph(note, "note"),
        Paragraph(Run((phrase(_SIZES, nut, seat=nut.seat.kind), phrase(_BLANK, nut.blank)), " ")),
        Table(tuple(column for column, _ in shown), rows),
        Space(),
        Paragraph(
            f"centre: from the bass end of the board. floor: of the slot at the front face, over the {plane};"
            " seat: the same over the seat floor. buried: share of the gauge below the top."
            f"{' guide: how far the string bends there.' if guided else ''}",
            "note",
        ),
        Findings(nut.findings),
    )
