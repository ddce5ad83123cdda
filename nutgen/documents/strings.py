"""A nut's strings, its front and its ends, as the template, the sheet and the machines' papers show them."""

from collections.abc import Callable, Sequence

from nutgen.documents.blocks import Column, Document, Entry, Legend, Paragraph, Table, sample
from nutgen.documents.texts import Cell, Run, Text, phrase
from nutgen.nut.part import Nut
from nutgen.nut.setback import Stretch, fronts, rebate
from nutgen.nut.slot import Slot

Each = tuple[Column, Callable[[Nut, Slot], Entry]]
"""A column, and what stands in it for a string."""

FINISH = {
    "": "measure the clearance over fret 1",
    "-behind-zero-fret": "see that each string lies on the zero fret",
    "-under-bar": "lay a straightedge across the string tops",
}
"""What tells at pitch that a slot is deep enough, by `nut.heights.fitted_how`."""

_PLACED: tuple[Each, ...] = (
    (Column("string"), lambda _, slot: str(slot.number)),
    (Column("note"), lambda _, slot: slot.note),
    (Column(""), lambda _, slot: "wound" if slot.wound else "plain"),
    (Column("gauge\nin", "gauge"), lambda _, slot: slot.gauge),
    (Column("gauge\nmm", "fine", only="mm"), lambda _, slot: slot.gauge),
    (Column("centre from\nbass end", "setting_out"), lambda nut, slot: nut.from_bass_end(slot)),
    (Column("slot\nwidth", "setting_out"), lambda _, slot: slot.width),
    (Column("floor over\nseat", "setting_out"), lambda nut, slot: nut.floor_over_seat(slot)),
)
_OVER = {
    plane: (Column(f"floor over\n{plane}", "setting_out"), lambda _, slot: slot.floor_height)
    for plane in ("fret plane", "board")
}
_CUT: tuple[Each, ...] = (
    (Column("floor\nunder top", "setting_out"), lambda _, slot: slot.depth),
    (Column("falls", "angle", right=True), lambda nut, slot: _falls(nut, slot)),
    (Column("fans", "angle", sign=True), lambda _, slot: slot.fan_deg),
)
_OVER_FRETS: tuple[Each, ...] = (
    (Column("clears\nfret 1", "setting_out"), lambda _, slot: slot.first_fret_clearance),
    (Column("clears\nfret 12", "setting_out"), lambda _, slot: slot.action),
)
_GUIDED: Each = Column("bends at\nguide", "angle", none=""), lambda _, slot: slot.guide.bend_deg if slot.guide else None
_SETBACK: Each = Column("starts\nin front", "setting_out"), lambda _, slot: -slot.start_y


def string_table(nut: Nut) -> Document:
    """One row a string, bass first, and how to read it."""
    set_back, pressed = any(slot.start_y < 0.0 for slot in nut.slots), nut.tops is None
    guided = (_GUIDED,) if any(slot.guide for slot in nut.slots) else ()
    behind = (*(_OVER_FRETS if pressed else ()), *guided, *((_SETBACK,) if set_back else ()))
    shown = (*_PLACED, _OVER["fret plane" if pressed else "board"], *_CUT, *behind)
    bass = "left" if nut.strung == "right" else "right"
    floors = (
        "Floors are given where the string starts, in front of the front face, and fall from there."
        if set_back
        else "Floors are given at the front face and fall toward the headstock."
    )
    remark = (
        f" Seen from the bridge the bass end is at the {bass}; a slot fans + to the right. {floors}"
        f"{' Clearances: open string, at pitch.' if pressed else ''}"
    )
    rows = tuple(tuple(value(nut, slot) for _, value in shown) for slot in nut.slots)
    read = Paragraph(Run((phrase("Lengths in {units}."), remark)), "note")
    return Table(tuple(column for column, _ in shown), rows, name="strings"), read


def _falls(nut: Nut, slot: Slot) -> Run:
    ends = (slot.start_y, nut.thickness) if slot.rolled else (slot.start_y,)
    return Run(tuple(Cell(float(slot.tilt_at(y)), "angle") for y in ends), " to ")


def lines_on(nut: Nut, legend: Legend) -> Legend:
    """What its lines mean, without the fret plane where no fret is pressed."""
    fret_plane = sample("fret-plane")
    return legend if nut.tops is None else Legend(tuple(row for row in legend.rows if row[0] != fret_plane))


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
    return front_table(fronts(nut)), Paragraph(remark, "note")


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


def ends_text(nut: Nut) -> Text:
    """How far and which way the bass end and the treble end run off square toward the back, seen from above."""
    if not any(nut.outward_deg):
        return "square"
    return Run(
        tuple(
            Run((f"{name} ", Cell(abs(turn), "angle"), " outward" if turn > 0.0 else " inward"))
            for name, turn in zip(("bass", "treble"), nut.outward_deg, strict=True)
        ),
        ", ",
    )
