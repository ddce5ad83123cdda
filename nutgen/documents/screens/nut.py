"""What `check` shows: the solved nut."""

from nutgen.documents.blocks import Column, Document, Findings, Paragraph, Space, Table, Title, phrase
from nutgen.nut import Nut, Slot

_STRINGS = (
    Column("string"),
    Column("gauge in", "gauge"),
    Column("centre", "setting_out"),
    Column("width", "setting_out"),
    Column("floor", "setting_out", sign=True, breaks=True),
    Column("seat", "setting_out"),
    Column("depth", "setting_out"),
    Column("buried", "share"),
    Column("tilt", "angle", breaks=True),
    Column("fan", "angle", sign=True),
    Column("fret 1", "setting_out"),
    Column("fret 12", "setting_out"),
)


def _string_row(nut: Nut, slot: Slot) -> tuple[str | float, ...]:
    return (
        f"{slot.number} {slot.note}",
        slot.gauge,
        nut.from_bass_end(slot),
        slot.width,
        slot.floor_height,
        nut.floor_over_seat(slot),
        slot.depth,
        slot.buried,
        slot.tilt_deg,
        slot.fan_deg,
        slot.first_fret_clearance,
        slot.action,
    )


def nut_blocks(nut: Nut, note: str) -> Document:
    """The solved nut: its sizes, its strings from the bass end, its warnings."""
    return (
        Title(nut.title),
        Paragraph(note, "note"),
        Paragraph(
            phrase(
                "Nut {length:bare} long, {thickness:bare} thick, {height:bare} high, {seat} seat, strung {strung}."
                " Blank at least {blank_length:blank,bare} x {blank_thickness:blank,bare} x {blank_height:blank,bare}."
                " All in {units} unless marked.",
                length=nut.length,
                thickness=nut.thickness,
                height=nut.height,
                seat=nut.seat.kind,
                strung=nut.strung,
                blank_length=nut.blank.length,
                blank_thickness=nut.blank.thickness,
                blank_height=nut.blank.height,
            )
        ),
        Space(),
        Table(_STRINGS, tuple(_string_row(nut, slot) for slot in nut.slots)),
        Space(),
        Paragraph(
            "centre: from the bass end of the board. floor: of the slot at the front face, over the fret plane;"
            " seat: the same over the seat floor. buried: share of the gauge below the top.",
            "note",
        ),
        Findings(nut.findings),
    )
