"""The words on the paper template: the table of slots, the sizes, how to use it and what to look out for."""

from itertools import accumulate

from nutgen.export.font import width
from nutgen.export.page import BODY, GAP, GREY, HEAD, LEADING, SMALL, Align, Block, Item, Words, rule, wrapped
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

_COLUMNS: tuple[tuple[str, str, Align], ...] = (
    ("string", "", "right"),
    ("note", "", "left"),
    ("", "", "left"),
    ("gauge", "in", "right"),
    ("gauge", "mm", "right"),
    ("centre from", "bass end", "right"),
    ("slot", "width", "right"),
    ("floor above", "seat floor", "right"),
    ("floor above", "fret plane", "right"),
    ("falls", "deg", "right"),
    ("fans", "deg", "right"),
)


def table(nut: Nut, room: float) -> Block:
    """One line a string, bass first."""
    rows = [_row(nut, slot) for slot in nut.slots]
    step = BODY * 1.75
    widths = [
        max(width(text, BODY) for text in (first, second, *cells))
        for (first, second, _), cells in zip(_COLUMNS, zip(*rows, strict=True), strict=True)
    ]
    between = (room - sum(widths)) / (len(widths) - 1)
    lefts = list(accumulate(widths, lambda left, wide: left + wide + between, initial=0.0))
    places = [
        left if align == "left" else left + wide
        for left, wide, (_, _, align) in zip(lefts, widths, _COLUMNS, strict=False)
    ]
    under = BODY * 2.3 + 1.5
    lines = [(BODY, [column[0] for column in _COLUMNS], GREY), (BODY * 2.3, [column[1] for column in _COLUMNS], GREY)]
    lines += [(under + (number + 0.75) * step, list(row), 0.0) for number, row in enumerate(rows)]
    items: list[Item] = [rule("table", room, under)]
    for y, cells, shade in lines:
        for place, text, (_, _, align) in zip(places, cells, _COLUMNS, strict=True):
            if text:
                items.append(Words(place, y, text, BODY, align=align, shade=shade))
    for number in range(1, len(rows)):
        items.append(rule(f"row-{number}", room, under + number * step, layer="row-rules"))
    end = under + len(rows) * step
    items.append(Words(0.0, end + SMALL * 1.4, _remark(nut), SMALL, shade=GREY))
    return Block(end + SMALL * 1.8, tuple(items))


def _row(nut: Nut, slot: Slot) -> tuple[str, ...]:
    side = 1.0 if nut.strung == "right" else -1.0
    seat = float(slot.floor_at(0.0)) - float(nut.underside.z(slot.x_at(0.0)))
    falls = [slot.tilt_at(0.0)] + ([slot.tilt_at(nut.thickness)] if slot.rolled else [])
    return (
        str(slot.number),
        slot.note,
        "wound" if slot.wound else "plain",
        f"{slot.gauge / INCH:.4f}",
        f"{slot.gauge:.3f}",
        f"{nut.half_length + side * float(slot.x_at(0.0)):.2f}",
        f"{slot.width:.2f}",
        f"{seat:.2f}",
        f"{slot.floor_height:.2f}",
        " to ".join(f"{fall:.1f}" for fall in falls),
        f"{slot.fan_deg:+.1f}" if abs(slot.fan_deg) >= 0.05 else "0.0",
    )


def _remark(nut: Nut) -> str:
    bass = "left" if nut.strung == "right" else "right"
    return (
        f"Lengths in mm. Seen from the bridge the bass end is at the {bass}; a slot fans + to the right."
        " Floors are given at the front face and fall toward the headstock."
    )


def sizes(nut: Nut, room: float) -> Block:
    """The sizes of the nut and of its blank, in a row."""
    cells = [
        ("nut: length, thickness, height", f"{nut.length:.2f} × {nut.thickness:.2f} × {nut.height:.2f}"),
        ("squared blank", f"{nut.blank.length:.1f} × {nut.blank.thickness:.1f} × {nut.blank.height:.1f}"),
        ("top radius", f"{nut.top_radius:.0f}" if nut.crown.curvature else "flat"),
        ("land", f"{nut.land:.2f}"),
        ("bevel", f"{nut.bevel_deg:g} deg"),
        ("eased edges", f"{nut.edge_radius:g}" if nut.edge_radius else "sharp"),
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
