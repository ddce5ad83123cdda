"""A nut's strings, its front and its ends, as the template, the sheet and the machines' papers show them."""

from collections.abc import Sequence
from typing import Any

from nutgen.documents.blocks import Column, Document, Legend, Paragraph, Shown, Table, remark, sample, table_of
from nutgen.documents.texts import Cell, Run, Text, phrase
from nutgen.nut.part import Nut
from nutgen.nut.setback import Stretch, fronts, rebate
from nutgen.nut.slot import Slot

FINISH = {
    "": "measure the clearance over fret 1",
    "-behind-zero-fret": "see that each string lies on the zero fret",
    "-under-bar": "lay a straightedge across the string tops",
}
"""What tells at pitch that a slot is deep enough, by `nut.heights.fitted_how`."""


def by_string(strings: Sequence[Any], *shown: Shown, name: str = "table", indent: int = 0) -> Table:
    """A row a string behind its number and note."""
    return table_of(strings, (Column("string"), string_name), *shown, name=name, indent=indent)


def string_name(one: Any) -> str:
    """Number and note of a string."""
    return f"{one.number} {one.note}"


def string_table(nut: Nut) -> Document:
    """One row a string, bass first, and how to read it."""
    set_back, pressed = any(slot.start_y < 0.0 for slot in nut.slots), nut.tops is None
    shown: list[Shown] = [
        (Column("string"), lambda slot: str(slot.number)),
        (Column("note"), "note"),
        (Column(""), lambda slot: "wound" if slot.wound else "plain"),
        (Column("gauge\nin", "gauge"), "gauge"),
        (Column("gauge\nmm", "fine", only="mm"), "gauge"),
        (Column("centre from\nbass end", "setting_out"), nut.from_bass_end),
        (Column("slot\nwidth", "setting_out"), "width"),
        (Column("floor over\nseat", "setting_out"), nut.floor_over_seat),
        (Column(f"floor over\n{'fret plane' if pressed else 'board'}", "setting_out"), "floor_height"),
        (Column("floor\nunder top", "setting_out"), "depth"),
        (Column("falls", "angle", right=True), lambda slot: _falls(nut, slot)),
        (Column("fans", "angle", sign=True), "fan_deg"),
    ]
    if pressed:
        shown.append((Column("clears\nfret 1", "setting_out"), "first_fret_clearance"))
        shown.append((Column("clears\nfret 12", "setting_out"), "action"))
    if any(slot.guide for slot in nut.slots):
        shown.append((Column("bends at\nguide", "angle", none=""), bend_at_guide))
    if set_back:
        shown.append((Column("starts\nin front", "setting_out"), lambda slot: -slot.start_y))
    bass = "left" if nut.strung == "right" else "right"
    floors = (
        "Floors are given where the string starts, in front of the front face, and fall from there."
        if set_back
        else "Floors are given at the front face and fall toward the headstock."
    )
    words = (
        f" Seen from the bridge the bass end is at the {bass}; a slot fans + to the right. {floors}"
        f"{' Clearances: open string, at pitch.' if pressed else ''}"
    )
    read = Paragraph(Run((phrase("Lengths in {units}."), words)), "note")
    return table_of(nut.slots, *shown, name="strings"), read


def bend_at_guide(slot: Slot) -> float | None:
    """How far a string bends at the guide behind the nut, where it runs under one [deg]."""
    return slot.guide.bend_deg if slot.guide else None


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
    read = remark(
        "The shelf: from the bass end of the board, how far the front stands before the front face that goes against"
        " the board. Its underside is {high} over the nut's at its lowest, follows the board and stays {clear} clear of"
        " it.",
        high=rebate(nut),
        clear=nut.shelves.clear,
    )
    return front_table(fronts(nut)), read


def front_table(stretches: Sequence[Stretch]) -> Table:
    """The front, stretch by stretch."""
    return table_of(
        stretches,
        (Column("front at\nstring"), lambda one: ", ".join(map(str, one.strings)) or "-"),
        (Column("from\nbass end", "setting_out"), "start"),
        (Column("to", "setting_out"), "end"),
        (Column("stands\nin front", "setting_out", none="front face"), lambda one: one.ahead or None),
        name="fronts",
    )


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
