"""The paper template: what stands where on the pages that a maker glues on or traces from."""

from collections.abc import Iterator
from typing import Literal

from nutgen.export.font import printable, width
from nutgen.export.page import Align, Block, Figure, Item, Page, Words, spread, stacked, wrapped
from nutgen.export.stamp import Stamp
from nutgen.model.drawing import LAYERS, Drawing, draw
from nutgen.model.lines import Chain, Line, Part
from nutgen.nut.part import Nut, Slot

Paper = Literal["a4", "letter"]

PAPERS: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height [mm]: ISO 216 A4, and US Letter, 8.5 by 11 in."""

INCH = 25.4
MARGIN = 12.0
GAP = 6.0
TITLE, HEAD, BODY, SMALL = 5.0, 3.0, 2.6, 2.3
LEADING = 1.4
GREY = 0.35

USE = (
    "Measure both check bars on the print. If either is off, set the printer to 100 % and print again.",
    "Cut out a front view along the line of the blank. Glue it to the front face of the squared blank,"
    " lower edges level: the lower edge stands on the seat floor.",
    "Shape the top to the wide line, ends last. Start each slot on its centre line.",
    "File towards the short floor line and stop above it: paper is no gauge. Finish by measuring over the frets.",
)
CAUTIONS = (
    "Bone and antler dust harms the lungs: work wet, draw the dust off, wear a fitted mask (FFP3, N95 or better),"
    " do not sweep dry. Use clean, dry, hard material only.",
    "Wear eye protection at rotary tools and while a string is under tension; keep fingers, hair and sleeves clear.",
    "Follow your local rules for workshops, dust, adhesives and the trade in animal parts.",
)


def template_pages(nut: Nut, stamp: Stamp, *, paper: Paper) -> list[Page]:
    """Lay out the template of a nut, at its final sizes.

    nut     : as solved
    stamp   : named on every page
    paper   : "a4" or "letter"
    returns : pages; every line on them is at 1:1
    raises  : ValueError for another paper
    """
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r} is not known; allowed are {', '.join(PAPERS)}")
    wide, high = PAPERS[paper]
    room = wide - 2.0 * MARGIN
    drawing = draw(nut)
    head = _heading(nut, stamp, room)
    blocks = [_views(nut, drawing, room), _table(nut, room), _legend(room), _notes(room), *_copies(drawing, room)]
    sheets = stacked(blocks, top=MARGIN + head.height + GAP, bottom=high - MARGIN - 2.0 * SMALL, gap=GAP)
    pages = []
    for number, items in enumerate(sheets, start=1):
        foot = _foot(stamp, room, high - 2.0 * MARGIN, number, len(sheets))
        placed = [item.moved(MARGIN, MARGIN) for item in (*head.items, *foot)]
        pages.append(Page(wide, high, (*placed, *(item.moved(MARGIN, 0.0) for item in items))))
    return pages


def _heading(nut: Nut, stamp: Stamp, room: float) -> Block:
    """Title, scale, and the bars that show whether the print is true."""
    items: list[Item] = []
    lines = wrapped(printable(stamp.title), TITLE, room, bold=True)
    y = 0.0
    for line in lines:
        y += TITLE
        items.append(Words(0.0, y, line, TITLE, bold=True))
    y += 5.0
    items.append(Words(0.0, y, f"Nut template, scale 1:1, strung {nut.strung}-handed, final sizes", BODY))
    items.append(Words(room, y, f"{stamp.spec_hash}   {stamp.program}", BODY, align="right", shade=GREY))
    y += 2.0
    items.append(_rule("rule-head", room, y))
    y += 8.0
    items.append(_bar("check-bar-mm", 0.0, y, 50.0, 10.0))
    items.append(Words(0.0, y - 2.6, "50 mm", SMALL))
    items.append(_bar("check-bar-in", 60.0, y, 2.0 * INCH, INCH / 2.0))
    items.append(Words(60.0, y - 2.6, "2 in", SMALL))
    items.append(Words(120.0, y - 2.6, "Print at 100 %, no fitting.", HEAD, bold=True))
    items.append(Words(120.0, y + 1.2, "Both bars must measure true.", BODY))
    return Block(y + 2.0, tuple(items))


def _foot(stamp: Stamp, room: float, y: float, number: int, count: int) -> list[Item]:
    return [
        Words(0.0, y, printable(stamp.line), SMALL, shade=GREY),
        Words(room, y, f"page {number} of {count}", SMALL, align="right", shade=GREY),
    ]


def _bar(name: str, x: float, y: float, length: float, step: float) -> Figure:
    """A bar from 0 to a length with a tick at every step, long ones at the ends."""
    count = round(length / step)
    ticks = [Line((length * i / count, -0.8), (length * i / count, 0.8)) for i in range(1, count)]
    ends = [Line((end, -1.6), (end, 1.6)) for end in (0.0, length)]
    lines = [Line((0.0, 0.0), (length, 0.0)), *ends, *ticks]
    return Figure(name, x, y, tuple(Chain("check-bar", (line,)) for line in lines))


def _rule(name: str, length: float, y: float, x: float = 0.0) -> Figure:
    return Figure(name, x, y, (Chain("rules", (Line((0.0, 0.0), (length, 0.0)),)),))


def _views(nut: Nut, drawing: Drawing, room: float) -> Block:
    """The three views: top above front, end beside it."""
    left, low, right, high = drawing.front.box
    x = -left
    items: list[Item] = []
    y = SMALL
    items.append(Words(0.0, y, drawing.top.title, SMALL, shade=GREY))
    y += 2.0 + drawing.top.box[3]
    items.append(Figure("top", x, y, drawing.top.chains))
    y += -drawing.top.box[1] + 4.0 + SMALL
    beside = right - left + 12.0
    titles = wrapped(drawing.end.title, SMALL, room - beside)
    for row, words in enumerate(titles):
        items.append(Words(beside, y + (row + 1 - len(titles)) * SMALL * LEADING, words, SMALL, shade=GREY))
    items.append(Words(0.0, y, drawing.front.title, SMALL, shade=GREY))
    y += 2.0
    items += _slot_labels(nut, x, y)
    y += 2.0 * SMALL + 4.0 + high
    items.append(Figure("front", x, y, drawing.front.chains))
    items.append(Figure("end", beside - drawing.end.box[0], y, drawing.end.chains))
    y += -low + 2.0
    items += _ruler(nut, x, y)
    return Block(y + 2.0 + 3.0 * SMALL, tuple(items))


def _slot_labels(nut: Nut, x: float, y: float) -> Iterator[Item]:
    """Number and note over every slot, led to its centre line where they had to move aside."""
    slots = sorted(nut.slots, key=lambda slot: slot.x)
    centres = [float(slot.x_at(0.0)) for slot in slots]
    apart = max(width(slot.note, SMALL) for slot in slots) + 0.8
    chains = []
    for slot, centre, place in zip(slots, centres, spread(centres, apart), strict=True):
        yield Words(x + place, y + SMALL, str(slot.number), SMALL, bold=True, align="centre")
        yield Words(x + place, y + 2.0 * SMALL + 0.3, slot.note, SMALL, align="centre")
        chains.append(Chain("leaders", (Line((place, 3.2), (centre, 0.4)),)))
    yield Figure("leaders", x, y + 2.0 * SMALL + 4.0, tuple(chains))


def _ruler(nut: Nut, x: float, y: float) -> Iterator[Item]:
    """Millimetres from the bass end of the board."""
    side = -1.0 if nut.strung == "right" else 1.0
    start = side * nut.half_length
    ticks: list[Part] = [Line((start, 0.0), (-start, 0.0))]
    for mm in range(int(nut.length) + 1):
        place = start - side * mm
        ticks.append(Line((place, 0.0), (place, -2.0 if mm % 10 == 0 else -1.4 if mm % 5 == 0 else -0.9)))
        if mm % 10 == 0:
            yield Words(x + place, y + 2.4 + SMALL, str(mm), SMALL, align="centre", shade=GREY)
    yield Figure("ruler", x, y, tuple(Chain("ruler", (tick,)) for tick in ticks))
    words = ("bass end", "treble end") if nut.strung == "right" else ("treble end", "bass end")
    yield Words(x - nut.half_length, y + 2.8 + 2.2 * SMALL, words[0], SMALL)
    yield Words(x + nut.half_length, y + 2.8 + 2.2 * SMALL, words[1], SMALL, align="right")


_COLUMNS: tuple[tuple[str, str, Align], ...] = (
    ("string", "", "right"),
    ("note", "", "left"),
    ("", "", "left"),
    ("gauge", "in", "right"),
    ("gauge", "mm", "right"),
    ("centre", "from bass end", "right"),
    ("slot", "width", "right"),
    ("floor above", "seat floor", "right"),
    ("floor above", "fret plane", "right"),
    ("falls", "deg", "right"),
    ("fans", "deg", "right"),
)


def _row(nut: Nut, slot: Slot) -> tuple[str, ...]:
    side = 1.0 if nut.strung == "right" else -1.0
    seat = float(slot.floor_at(0.0)) - float(nut.underside.z(slot.x_at(0.0)))
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
        f"{slot.tilt_deg:.1f}",
        f"{slot.fan_deg + 0.0:.1f}",
    )


def _table(nut: Nut, room: float) -> Block:
    """One line a string, bass first."""
    rows = [_row(nut, slot) for slot in nut.slots]
    step = BODY * 1.75
    widths = [
        max(width(text, BODY) for text in (column[0], column[1], *cells))
        for column, cells in zip(_COLUMNS, zip(*rows, strict=True), strict=True)
    ]
    between = min(6.0, (room - sum(widths)) / (len(widths) - 1))
    items: list[Item] = []
    x = 0.0
    for index, (first, second, align) in enumerate(_COLUMNS):
        place = x if align == "left" else x + widths[index]
        items.append(Words(place, BODY, first, BODY, align=align, shade=GREY))
        items.append(Words(place, BODY * 2.3, second, BODY, align=align, shade=GREY))
        for number, row in enumerate(rows):
            items.append(Words(place, BODY * 2.3 + 1.5 + (number + 1) * step, row[index], BODY, align=align))
        x += widths[index] + between
    items.append(_rule("rule-table", x - between, BODY * 2.3 + 1.5))
    items = [item for item in items if not isinstance(item, Words) or item.text]
    return Block(BODY * 2.3 + 2.5 + len(rows) * step, tuple(items))


def _legend(room: float) -> Block:
    """A sample of every line on the front view, with its meaning."""
    layers = [layer for layer in LAYERS if layer.name in _SHOWN]
    half = room / 2.0
    items: list[Item] = []
    rows = (len(layers) + 1) // 2
    for index, layer in enumerate(layers):
        x, y = half * (index // rows), (index % rows + 1) * BODY * 1.5
        sample = Chain(layer.name, (Line((0.0, 0.0), (12.0, 0.0)),))
        items.append(Figure(f"sample-{layer.name}", x, y - BODY * 0.3, (sample,)))
        items.append(Words(x + 14.0, y, layer.meaning, SMALL))
    return Block(rows * BODY * 1.5 + 1.0, tuple(items))


_SHOWN = (
    "front-outline",
    "front-hidden",
    "front-blank",
    "fret-plane",
    "board-surface",
    "slot-centres",
    "slot-floors",
)


def _notes(room: float) -> Block:
    """What to do with the page, and what to look out for, side by side."""
    column = (room - GAP) / 2.0
    items: list[Item] = []
    heights = []
    for x, head, paragraphs in ((0.0, "How to use it", USE), (column + GAP, "Take care", CAUTIONS)):
        y = HEAD
        items.append(Words(x, y, head, HEAD, bold=True))
        for paragraph in paragraphs:
            y += 1.0
            for line in wrapped(paragraph, SMALL, column):
                y += SMALL * LEADING
                items.append(Words(x, y, line, SMALL))
        heights.append(y + 1.0)
    return Block(max(heights), tuple(items))


def _copies(drawing: Drawing, room: float) -> Iterator[Block]:
    """Three more front views to cut out, as many in a row as fit."""
    left, low, right, high = drawing.front.box
    wide, apart = right - left, 8.0
    across = max(1, min(3, int((room + apart) / (wide + apart))))
    for first in range(0, 3, across):
        items: list[Item] = []
        top = 0.0
        if first == 0:
            top = SMALL + 2.0
            items.append(Words(0.0, SMALL, "Spare front views", SMALL, shade=GREY))
        for column in range(min(across, 3 - first)):
            x = column * (wide + apart) - left
            items.append(Figure(f"front-copy-{first + column + 1}", x, top + high, drawing.front.chains))
        yield Block(top + high - low, tuple(items))
