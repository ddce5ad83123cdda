"""What `check` shows: the solved nut."""

from nutgen.documents.blocks import Column, Document, Findings, Paragraph, Shown, Space, Title, remark
from nutgen.documents.strings import bend_at_guide, by_string
from nutgen.documents.texts import Run, phrase
from nutgen.nut import Nut

_SIZES = "Nut {length:bare} long, {thickness:bare} thick, {height:bare} high, {seat} seat, strung {strung}."
_BLANK = (
    "Blank at least {length:blank,bare} x {thickness:blank,bare} x {height:blank,bare}. All in {units} unless marked."
)


def nut_blocks(nut: Nut, note: str) -> Document:
    """The solved nut: its sizes, its strings from the bass end, its warnings."""
    guided, plane = any(slot.guide for slot in nut.slots), "fret plane" if nut.tops is None else "board"
    shown: list[Shown] = [
        (Column("gauge in", "gauge"), "gauge"),
        (Column("centre", "setting_out"), nut.from_bass_end),
        (Column("width", "setting_out"), "width"),
        (Column("floor", "setting_out", sign=True, breaks=True), "floor_height"),
        (Column("seat", "setting_out"), nut.floor_over_seat),
        (Column("depth", "setting_out"), "depth"),
        (Column("buried", "share"), "buried"),
        (Column("tilt", "angle", breaks=True), "tilt_deg"),
        (Column("fan", "angle", sign=True), "fan_deg"),
    ]
    if nut.tops is None:
        shown.append((Column("fret 1", "setting_out"), "first_fret_clearance"))
        shown.append((Column("fret 12", "setting_out"), "action"))
    if guided:
        shown.append((Column("guide", "angle", none=""), bend_at_guide))
    return (
        Title(nut.title),
        Paragraph(note, "note"),
        Paragraph(Run((phrase(_SIZES, nut, seat=nut.seat.kind), phrase(_BLANK, nut.blank)), " ")),
        by_string(nut.slots, *shown),
        Space(),
        remark(
            f"centre: from the bass end of the board. floor: of the slot at the front face, over the {plane};"
            " seat: the same over the seat floor. buried: share of the gauge below the top."
            f"{' guide: how far the string bends there.' if guided else ''}"
        ),
        Findings(nut.findings),
    )
