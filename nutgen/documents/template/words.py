"""The words on the paper template: the table of slots, the sizes, how to use it and what to look out for."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import accumulate

from nutgen.documents.paint.font import width
from nutgen.documents.paint.page import BODY, GAP, GREY, HEAD, LEADING, SMALL, Align, Block, Item, Words, rule, wrapped
from nutgen.model.section import eased_radius
from nutgen.nut.part import Nut, Slot

INCH = 25.4

USE = (
    "Measure both check bars on the print. If one is off, print again at 100 %.",
    "Cut a front view out along the line of the blank and glue it to the front face of the squared blank:"
    " its lower edge is the seat floor.",
    "Shape the top to the wide line, the ends last. Start every slot on its centre line.",
    "File toward the short floor line and stop above it: paper is no gauge. Finish by measuring over the frets.",
)
CAUTIONS = (
    "Bone and antler dust harms the lungs: work wet, draw the dust off, wear a fitted mask (FFP3, N95 or better),"
    " do not sweep dry. Use clean, dry, sound material only.",
    "Wear eye protection at rotary tools and near a string under tension. Keep hair and sleeves clear.",
    "Follow your local rules for workshops, dust, glue and the trade in animal parts.",
)


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of the table: two lines of heading, and what stands in it."""

    heading: tuple[str, str]
    align: Align
    cell: Callable[[Nut, Slot], str]


_COLUMNS = (
    _Column(("string", ""), "right", lambda nut, slot: str(slot.number)),
    _Column(("note", ""), "left", lambda nut, slot: slot.note),
    _Column(("", ""), "left", lambda nut, slot: "wound" if slot.wound else "plain"),
    _Column(("gauge", "in"), "right", lambda nut, slot: f"{slot.gauge / INCH:.4f}"),
    _Column(("gauge", "mm"), "right", lambda nut, slot: f"{slot.gauge:.3f}"),
    _Column(("centre from", "bass end"), "right", lambda nut, slot: f"{_from_bass_end(nut, slot):.2f}"),
    _Column(("slot", "width"), "right", lambda nut, slot: f"{slot.width:.2f}"),
    _Column(("floor above", "seat floor"), "right", lambda nut, slot: f"{_above_seat(nut, slot):.2f}"),
    _Column(("floor above", "fret plane"), "right", lambda nut, slot: f"{slot.floor_height:.2f}"),
    _Column(("falls", "deg"), "right", lambda nut, slot: _falls(nut, slot)),
    _Column(("fans", "deg"), "right", lambda nut, slot: _fans(slot)),
)
_SETBACK = _Column(("starts", "in front"), "right", lambda nut, slot: f"{-slot.start_y:.2f}")


def table(nut: Nut, room: float) -> Block:
    """One line a string, bass first."""
    columns = [*_COLUMNS, _SETBACK] if _set_back(nut) else [*_COLUMNS]
    step, under = BODY * 1.75, BODY * 2.3 + 1.5
    lines = [(BODY + row * BODY * 1.3, [c.heading[row] for c in columns], GREY) for row in (0, 1)]
    for number, slot in enumerate(nut.slots):
        lines.append((under + (number + 0.75) * step, [c.cell(nut, slot) for c in columns], 0.0))
    widths = [max(width(text, BODY) for text in cells) for cells in zip(*(line[1] for line in lines), strict=True)]
    between = (room - sum(widths)) / (len(widths) - 1)
    lefts = list(accumulate(widths, lambda left, wide: left + wide + between, initial=0.0))[:-1]
    items: list[Item] = [rule("table", room, under)]
    for y, cells, shade in lines:
        for column, left, wide, text in zip(columns, lefts, widths, cells, strict=True):
            if text:
                place = left if column.align == "left" else left + wide
                items.append(Words(place, y, text, BODY, align=column.align, shade=shade))
    for number in range(1, len(nut.slots)):
        items.append(rule(f"row-{number}", room, under + number * step, layer="row-rules"))
    y = under + len(nut.slots) * step
    for line in wrapped(_remark(nut), SMALL, room):
        y += SMALL * LEADING
        items.append(Words(0.0, y, line, SMALL, shade=GREY))
    return Block(y + SMALL * 0.4, tuple(items))


def _set_back(nut: Nut) -> bool:
    """Whether any string starts in front of the front face."""
    return any(slot.start_y < 0.0 for slot in nut.slots)


def _from_bass_end(nut: Nut, slot: Slot) -> float:
    side = 1.0 if nut.strung == "right" else -1.0
    return nut.half_length + side * float(slot.x_at(0.0))


def _above_seat(nut: Nut, slot: Slot) -> float:
    return slot.floor_z - float(nut.underside.z(slot.x))


def _falls(nut: Nut, slot: Slot) -> str:
    ends = (slot.start_y, nut.thickness) if slot.rolled else (slot.start_y,)
    return " to ".join(f"{slot.tilt_at(y):.1f}" for y in ends)


def _fans(slot: Slot) -> str:
    shown = f"{slot.fan_deg:+.1f}".replace("-", "\N{MINUS SIGN}")
    return shown if abs(slot.fan_deg) >= 0.05 else "0.0"


def _remark(nut: Nut) -> str:
    bass = "left" if nut.strung == "right" else "right"
    words = [f"Lengths in mm. Seen from the bridge the bass end is at the {bass}; a slot fans + to the right."]
    if _set_back(nut):
        words.append("Floors are given where the string starts, in front of the front face, and fall from there.")
    else:
        words.append("Floors are given at the front face and fall toward the headstock.")
    return " ".join(words)


def sizes(nut: Nut, room: float) -> Block:
    """The sizes of the nut and of its blank, in a row."""
    cells = [
        ("nut: length, thickness, height", f"{nut.length:.2f} × {nut.thickness:.2f} × {nut.height:.2f}"),
        ("squared blank", f"{nut.blank.length:.1f} × {nut.blank.thickness:.1f} × {nut.blank.height:.1f}"),
        ("top radius", f"{nut.top_radius:.0f}" if nut.crown.curvature else "flat"),
        ("land", f"{nut.land:.2f}"),
        ("bevel", f"{nut.bevel_deg:g} deg"),
        ("eased edges", f"{eased_radius(nut):.3g}" if eased_radius(nut) else "sharp"),
    ]
    widths = [max(width(label, SMALL), width(value, BODY)) for label, value in cells]
    between = (room - sum(widths)) / (len(cells) - 1)
    items: list[Item] = []
    x = 0.0
    for (label, value), wide in zip(cells, widths, strict=True):
        items.append(Words(x, SMALL, label, SMALL, shade=GREY))
        items.append(Words(x, SMALL + BODY * LEADING, value, BODY))
        x += wide + between
    return Block(SMALL + BODY * LEADING + 1.0, tuple(items))


def notes(room: float) -> Block:
    """How to use the page, and what to look out for, side by side."""
    column = (room - GAP) / 2.0
    items: list[Item] = []
    lowest = 0.0
    for x, head, paragraphs in ((0.0, "How to use it", USE), (column + GAP, "Take care", CAUTIONS)):
        y = HEAD
        items.append(Words(x, y, head, HEAD, bold=True))
        for paragraph in paragraphs:
            y += 1.0
            for line in wrapped(paragraph, SMALL, column):
                y += SMALL * LEADING
                items.append(Words(x, y, line, SMALL))
        lowest = max(lowest, y)
    return Block(lowest + 1.0, tuple(items))
