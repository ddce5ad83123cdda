"""Blocks set on a page: words, rules and boxes at places in mm."""

import math
from collections.abc import Iterator, Sequence
from itertools import accumulate, groupby

from nutgen.documents import blocks, texts
from nutgen.documents.font import printable, width
from nutgen.documents.lettering import Align, Words
from nutgen.documents.paint.columns import column_widths
from nutgen.documents.paint.look import BODY, GAP, GREY, HEAD, LEADING, SMALL, TITLE
from nutgen.documents.paint.page import Group, Item, Linework, box, rule, wrapped
from nutgen.documents.paint.written import written, written_table
from nutgen.documents.words.quantities import Units
from nutgen.geometry.lines import Chain, Line

ROWS = 24
"""Of a table, before it is broken."""

_HANG, _STEP = 3.0, 7.0  # mm, of a point and of a numbered step
_APART, _LEGEND = 9.0, 54.0  # mm, between drawings side by side; width of a legend among them
_TICK, _PADDING = 2.3, 2.0  # mm, side of a box to tick; room within a frame
_FILLED: dict[blocks.ColumnKind, float] = {"tick": _TICK, "write": 14.0}  # mm, least of columns that a maker fills in
_WIDEST_GAP, _LEAST_GAP = 12.0, 2.0  # mm, between columns of a table
_ROW = 1.7 * BODY


def composed(document: blocks.Document, room: float, units: Units) -> list[Group]:
    """What stays together on a page: a title with what follows it, a note with what it is under.

    room : width between the margins [mm]
    """
    groups: list[Group] = []
    titles: list[Group] = []
    for drawn, run in groupby(document, key=lambda one: isinstance(one, blocks.Figure | blocks.Legend)):
        row = list(run)
        if drawn and len(row) > 1:
            groups.append(below([*titles, _drawn(row, room, units)], 0.6))
            titles = []
            continue
        for block, group in ((one, group) for one in row for group in _set(one, room, units)):
            if isinstance(block, blocks.Title):
                titles.append(group)
            elif isinstance(block, blocks.Paragraph) and block.style == "note" and groups and not titles:
                groups[-1] = below([groups[-1], group], 0.6)
            else:
                groups.append(below([*titles, group], 0.6))
                titles = []
    return [*groups, *titles]


def fits(document: blocks.Document, room: float, units: Units) -> bool:
    """Whether every table stands in a width without a line being broken [mm]."""
    written = (written_table(block, units) for block in document if isinstance(block, blocks.Table))
    return all(
        sum(column_widths(columns, heads, rows, math.inf, _measure)) + _LEAST_GAP * (len(columns) - 1) <= room
        for columns, heads, rows in written
    )


def below(groups: Sequence[Group], gap: float) -> Group:
    """Groups below each other as one."""
    items: list[Item] = []
    y = 0.0
    for group in groups:
        items += [item.moved(0.0, y) for item in group.items]
        y += group.height + gap
    return Group(y - gap, tuple(items), tuple(groups))


def framed(document: blocks.Document, room: float, units: Units) -> Group:
    """Blocks in a frame."""
    inner = below(composed(document, room - 2.0 * _PADDING, units), 0.6)
    high = inner.height + 2.0 * _PADDING
    return Group(high, (box("frame", 0.0, 0.0, room, high), *(one.moved(_PADDING, _PADDING) for one in inner.items)))


def beside(left: Group, right: Group, column: float) -> Group:
    """Two groups side by side, the second a column and a gap to the right."""
    moved = (item.moved(column + GAP, 0.0) for item in right.items)
    return Group(max(left.height, right.height), (*left.items, *moved))


class _Stack:
    """Lines of words below each other."""

    def __init__(self, room: float, units: Units) -> None:
        self.room, self.units = room, units
        self.items: list[Item] = []
        self.y = 0.0

    def say(self, text: texts.Text, size: float, *, x: float = 0.0, bold: bool = False, shade: float = 0.0) -> None:
        """Words below what was said; a label before them is bold, and they go on behind it."""
        parts = [(text.label, True), (text.text, bold)] if isinstance(text, texts.Labelled) else [(text, bold)]
        taken = 0.0
        for part, heavy in parts:
            shown, face, _ = printable(written(part, self.units))
            self.y -= size * LEADING if taken else 0.0
            for line in wrapped(shown, size, self.room - x, bold=heavy, typeface=face, taken=taken):
                place = x + taken, self.y + size
                self.items += [Words(*place, line, size, bold=heavy, shade=shade, typeface=face)] if line else []
                self.y += size * LEADING
                taken = 0.0
            last = self.items[-1] if self.items else None
            taken = width(f"{last.text} ", size, bold=heavy, typeface=face) if isinstance(last, Words) else 0.0

    def group(self) -> Group:
        return Group(self.y, tuple(self.items))


def _set(block: blocks.Block, room: float, units: Units) -> Iterator[Group]:
    stack = _Stack(room, units)
    match block:
        case blocks.Title():
            stack.say(block.text, {1: TITLE, 2: 1.3 * HEAD, 3: HEAD}.get(block.level, BODY), bold=True)
        case blocks.Paragraph():
            note = block.style == "note"
            stack.say(block.text, SMALL if note else BODY, bold=block.style == "strong", shade=GREY if note else 0.0)
        case blocks.Points():
            _points(stack, [("\N{EN DASH}" if block.mark == "-" else block.mark, item) for item in block.items])
        case blocks.Findings():
            _points(stack, [("!" if mark == "!" else "\N{EN DASH}", found) for mark, found in block.marked])
        case blocks.Steps():
            yield from (_step(number, item, room, units) for number, item in enumerate(block.items, block.first))
            return
        case blocks.Facts():
            yield _facts(block, room, units)
            return
        case blocks.Table():
            yield from _tables(block, room, units)
            return
        case blocks.Legend():
            yield _legend(block, room)
            return
        case blocks.Beside():
            column = (room - GAP) * block.share
            left, right = composed(block.left, column, units), composed(block.right, room - GAP - column, units)
            yield beside(below(left, 1.0), below(right, 1.0), column)
            return
        case blocks.Figure():
            yield _figure(block, room, units)
            return
        case blocks.Space():
            return
    yield stack.group()


def _points(stack: _Stack, items: Sequence[tuple[str, texts.Text]]) -> None:
    for mark, item in items:
        stack.y += 0.6
        if mark:
            stack.items.append(Words(0.0, stack.y + SMALL, mark, SMALL))
        stack.say(item, SMALL, x=_HANG if mark else 0.0)


def _step(number: int, item: texts.Text, room: float, units: Units) -> Group:
    """A number before the words; a label stands on a line of its own."""
    stack = _Stack(room, units)
    stack.items.append(Words(_STEP - 2.0, BODY, str(number), BODY, bold=True, align="right"))
    if isinstance(item, texts.Labelled):
        stack.say(item.label, BODY, x=_STEP, bold=True)
        item = item.text
    stack.say(item, BODY, x=_STEP)
    return stack.group()


def _facts(facts: blocks.Facts, room: float, units: Units) -> Group:
    """Names over what belongs to them, in a row, or in as many as they take below each other."""
    told = [(written(name, units), written(value, units)) for name, value in facts.rows]
    wide = [max(width(name, SMALL), width(value, BODY)) for name, value in told]
    rows_of = ([max(wide[column::count]) for column in range(count)] for count in range(len(told), 0, -1))
    widths = next((one for one in rows_of if sum(one) + 2.0 * _LEAST_GAP * (len(one) - 1) <= room), [room])
    lefts = _places(widths, (room - sum(widths)) / max(1, len(widths) - 1))
    items: list[Item] = []
    height = SMALL + BODY * LEADING + 1.0
    for place, (name, value) in enumerate(told):
        down, across = divmod(place, len(lefts))
        x, y = lefts[across], down * (height + 1.0) + SMALL
        items += [Words(x, y, name, SMALL, shade=GREY), Words(x, y + BODY * LEADING, value, BODY)]
    rows = -(-len(told) // len(lefts))
    return Group(rows * (height + 1.0) - 1.0, tuple(items))


def _places(widths: Sequence[float], between: float) -> list[float]:
    return list(accumulate(widths, lambda left, wide: left + wide + between, initial=0.0))[:-1]


def _tables(table: blocks.Table, room: float, units: Units) -> Iterator[Group]:
    """The table, in as many parts as it takes to break it over pages."""
    columns, heads, rows = written_table(table, units)
    for first in range(0, len(rows), ROWS):
        yield _table(f"{table.name}-{first}" if first else table.name, columns, heads, rows[first : first + ROWS], room)


def _table(
    name: str, columns: Sequence[blocks.Column], titles: Sequence[str], rows: Sequence[Sequence[str]], room: float
) -> Group:
    gaps = max(1, len(columns) - 1)
    widths = column_widths(columns, titles, rows, room - gaps * _LEAST_GAP, _measure, _FILLED)
    fills = [column.kind == "write" for column in columns]
    spare = (room - gaps * _LEAST_GAP - sum(widths)) / max(1, sum(fills))
    widths = [wide + spare * fill for wide, fill in zip(widths, fills, strict=True)]
    between = min(_WIDEST_GAP, max(_LEAST_GAP, (room - sum(widths)) / gaps))
    lefts = _places(widths, between)
    full = lefts[-1] + widths[-1]
    items: list[Item] = []
    y = 0.0
    for number, cells in enumerate([titles, *rows]):
        if number:
            items.append(rule(f"{name}-row-{number - 1}" if number > 1 else name, full, y))
        parts = [_lines(text, wide) for text, wide in zip(cells, widths, strict=True)]
        first = y + (0.75 * _ROW if number else BODY)
        more = 1.3 * BODY * (max(map(len, parts)) - 1)
        foot = first + more + (0.25 * _ROW if number else 0.69 * BODY + 0.4)
        for column, left, wide, lines in zip(columns, lefts, widths, parts, strict=True):
            align: Align = "right" if column.flush_right else "left"
            x = left + wide if column.flush_right else left
            for line, text in enumerate(filter(None, lines)):
                at = first + 1.3 * BODY * line
                bold, (shown, face, _) = column.strong and number > 0, printable(text)
                shade = 0.0 if number else GREY
                items.append(Words(x, at, shown, BODY, bold=bold, align=align, shade=shade, typeface=face))
            if number and column.kind == "tick":
                items.append(box(f"{name}-tick-{number}", left, y + (foot - y - _TICK) / 2.0, _TICK, _TICK))
            if number and column.kind == "write":
                side = (Chain("rules", (Line((0.0, 0.0), (0.0, foot - y)),)),)
                items.append(Linework(f"{name}-write-{number}-{left:.0f}", left, foot, side))
        y = foot
    return Group(y + 0.6, tuple(items))


def _measure(text: str) -> float:
    return width(text, BODY)


def _lines(text: str, room: float) -> list[str]:
    """Words broken at "\n", and where the room ends."""
    return [line for part in text.split("\n") for line in wrapped(part, BODY, room + 1e-6)]


def _drawn(drawn: Sequence[blocks.Block], room: float, units: Units) -> Group:
    """Figures and legends side by side, below each other where they are too wide."""
    items: list[Item] = []
    x = y = high = 0.0
    for block in drawn:
        wide = _LEGEND
        if isinstance(block, blocks.Figure):
            left, _, right, _ = block.box
            wide = min(room, max(right - left, width(written(block.caption, units), SMALL)))
        if x > 0.0 and x + wide > room:
            x, y, high = 0.0, y + high + GAP, 0.0
        for group in _set(block, wide, units):
            items += [item.moved(x, y) for item in group.items]
            x, high = x + wide + _APART, max(high, group.height)
    return Group(y + high, tuple(items))


def _legend(legend: blocks.Legend, room: float) -> Group:
    """A sample of every kind of line with its meaning, in one column or two."""
    columns = 2 if room > 120.0 else 1
    rows, step = -(-len(legend.rows) // columns), BODY * 1.6
    items: list[Item] = []
    for index, (chains, words) in enumerate(legend.rows):
        x, y = room / columns * (index // rows), (index % rows) * step + SMALL
        items.append(Linework(f"sample-{index + 1}", x, y - SMALL * 0.35, chains))
        items.append(Words(x + blocks.SAMPLE + 2.0, y, words, SMALL))
    return Group(rows * step, tuple(items))


def _figure(figure: blocks.Figure, room: float, units: Units) -> Group:
    """A drawing in the middle of the room under its words."""
    stack = _Stack(room, units)
    stack.say(figure.caption, SMALL)
    left, low, right, high = figure.box
    x, y = (room - (right - left)) / 2.0 - left, stack.y + 2.0 + high
    stack.items.append(Linework(figure.name, x, y, figure.chains))
    stack.items += [words.on_page(x, y) for words in figure.labels]
    return Group(y - low + 1.0, tuple(stack.items))
