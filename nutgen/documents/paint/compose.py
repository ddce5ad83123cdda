"""Blocks set on a page that is printed true to size: words and rules at places in mm."""

import math
from collections.abc import Iterator, Sequence
from itertools import accumulate

from nutgen.documents import blocks
from nutgen.documents.font import printable, width
from nutgen.documents.lettering import Align, Words
from nutgen.documents.paint.columns import column_widths
from nutgen.documents.paint.page import (
    BODY,
    GAP,
    GREY,
    HEAD,
    LEADING,
    SMALL,
    TITLE,
    Group,
    Item,
    Linework,
    rule,
    wrapped,
)
from nutgen.documents.paint.written import written, written_table
from nutgen.documents.words.quantities import Units

ROWS = 24
"""Of a table, before it is broken."""

_HANG, _STEP = 3.0, 7.0  # mm, of a point and of a numbered step
_WIDEST_GAP, _LEAST_GAP = 12.0, 2.0  # mm, between columns of a table
_ROW = 1.7 * BODY


def composed(document: blocks.Document, room: float, units: Units) -> list[Group]:
    """What stays together on a page: a title with what follows it, a note with what it is under.

    room : width between the margins [mm]
    """
    groups: list[Group] = []
    titles: list[Group] = []
    for block in document:
        for group in _set(block, room, units):
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
    return Group(y - gap, tuple(items))


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

    def say(self, text: blocks.Text, size: float, *, x: float = 0.0, bold: bool = False, shade: float = 0.0) -> None:
        shown, typeface, _ = printable(written(text, self.units))
        for line in wrapped(shown, size, self.room - x, bold=bold, typeface=typeface):
            self.items.append(Words(x, self.y + size, line, size, bold=bold, shade=shade, typeface=typeface))
            self.y += size * LEADING

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
            _points(stack, [(block.mark, item) for item in block.items])
        case blocks.Findings():
            _points(stack, [("!" if mark == "!" else "\N{EN DASH}", found) for mark, found in block.marked])
        case blocks.Ticks():
            _points(stack, [("\N{WHITE SQUARE}", item) for item in block.items])
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


def _points(stack: _Stack, items: Sequence[tuple[str, blocks.Text]]) -> None:
    for mark, item in items:
        stack.y += 0.6
        if mark:
            stack.items.append(Words(0.0, stack.y + SMALL, mark, SMALL))
        stack.say(item, SMALL, x=_HANG if mark else 0.0)


def _step(number: int, item: blocks.Text, room: float, units: Units) -> Group:
    """A number before the words; a label stands on a line of its own."""
    stack = _Stack(room, units)
    stack.items.append(Words(_STEP - 2.0, BODY, str(number), BODY, bold=True, align="right"))
    if isinstance(item, blocks.Labelled):
        stack.say(item.label, BODY, x=_STEP, bold=True)
        item = item.text
    stack.say(item, BODY, x=_STEP)
    return stack.group()


def _facts(facts: blocks.Facts, room: float, units: Units) -> Group:
    """Names over what belongs to them, in a row, or in as many as they take."""
    rows: list[list[tuple[str, str, float]]] = [[]]
    for name, value in ((written(name, units), written(value, units)) for name, value in facts.rows):
        wide = max(width(name, SMALL), width(value, BODY))
        if rows[-1] and sum(one for _, _, one in rows[-1]) + wide + _LEAST_GAP * len(rows[-1]) > room:
            rows.append([])
        rows[-1].append((name, value, wide))
    items: list[Item] = []
    height = SMALL + BODY * LEADING + 1.0
    for down, row in enumerate(rows):
        widths = [wide for _, _, wide in row]
        even = (room - sum(widths)) / max(1, len(row) - 1) if len(rows) == 1 else 0.0
        for x, (name, value, _) in zip(_places(widths, max(_LEAST_GAP, even)), row, strict=True):
            items.append(Words(x, down * height + SMALL, name, SMALL, shade=GREY))
            items.append(Words(x, down * height + SMALL + BODY * LEADING, value, BODY))
    return Group(len(rows) * height, tuple(items))


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
    widths = column_widths(columns, titles, rows, room - gaps * _LEAST_GAP, _measure)
    between = min(_WIDEST_GAP, max(_LEAST_GAP, (room - sum(widths)) / gaps))
    lefts = _places(widths, between)
    full = lefts[-1] + widths[-1]
    items: list[Item] = []
    y = 0.0
    for number, cells in enumerate([titles, *rows]):
        if number == 1:
            items.append(rule(name, full, y))
        elif number:
            items.append(rule(f"{name}-row-{number - 1}", full, y, layer="row-rules"))
        parts = [_lines(text, wide) for text, wide in zip(cells, widths, strict=True)]
        first = y + (0.75 * _ROW if number else BODY)
        for column, left, wide, lines in zip(columns, lefts, widths, parts, strict=True):
            align: Align = "right" if column.flush_right else "left"
            x = left + wide if column.flush_right else left
            for line, text in enumerate(filter(None, lines)):
                at = first + 1.3 * BODY * line
                items.append(Words(x, at, text, BODY, align=align, shade=0.0 if number else GREY))
        more = 1.3 * BODY * (max(map(len, parts)) - 1)
        y = first + more + (0.25 * _ROW if number else 0.69 * BODY + 0.4)
    return Group(y + 0.6, tuple(items))


def _measure(text: str) -> float:
    return width(text, BODY)


def _lines(text: str, room: float) -> list[str]:
    """Words broken at "\n", and where the room ends."""
    return [line for part in text.split("\n") for line in wrapped(part, BODY, room + 1e-6)]


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
