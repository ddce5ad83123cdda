"""Blocks as plain text: for the terminal and for files that end in .txt.

Kept free of heavy imports, because every command prints and `check` must feel instant.
"""

import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TextIO

from nutgen.documents import blocks, texts
from nutgen.documents.paint.written import written, written_table
from nutgen.documents.words.quantities import Units
from nutgen.finding import echoed

RULE = "\N{BOX DRAWINGS LIGHT HORIZONTAL}"
LEAST_WIDTH = 24
WRAPPED = 16
"""A last column of words may be wrapped to this many letters before the table goes on below itself."""

_PLAIN = {
    RULE: "-",
    "\N{MINUS SIGN}": "-",
    "\N{EN DASH}": "-",
    "\N{DEGREE SIGN}": " deg",
    "\N{PLUS-MINUS SIGN}": "+/-",
    "\N{MULTIPLICATION SIGN}": "x",
    "\N{SUPERSCRIPT TWO}": "2",
    "\N{LEFT DOUBLE QUOTATION MARK}": '"',
    "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
}
_STYLES = {"strong": "1", "note": "2"}

Rows = Sequence[Sequence[str]]


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the result and how a terminal shows it."""

    text: str
    style: str = ""


def text(document: blocks.Document, *, width: int = 80, units: Units = "mm", encoding: str = "utf-8") -> str:
    """A document as text.

    width    : letters in a line
    units    : of the reader
    encoding : letters that it lacks are written with those it has
    """
    return "".join(f"{line.text}\n" for line in _Painter(width, units, encoding).document(document))


def show(document: blocks.Document, *, units: Units = "mm", out: TextIO | None = None) -> None:
    """Write a document to a stream, stdout where none is given; bold and dim only where a terminal listens."""
    out = out or sys.stdout
    width = max(LEAST_WIDTH, shutil.get_terminal_size((80, 24)).columns)
    for line in _Painter(width, units, getattr(out, "encoding", None) or "utf-8").document(document):
        code = _STYLES.get(line.style) if out.isatty() else None
        print(f"\x1b[{code}m{line.text}\x1b[0m" if code else line.text, file=out)


def legible(words: str, encoding: str) -> str:
    """The same words on one line, with the letters that an encoding has: accents are left out, others become "?"."""
    words = echoed(words)
    try:
        words.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return "".join(_legible_letter(letter, encoding) for letter in words)
    return words


def _legible_letter(letter: str, encoding: str) -> str:
    for tried in (letter, _PLAIN.get(letter, letter), unicodedata.normalize("NFKD", letter)[0]):
        try:
            tried.encode(encoding)
        except (UnicodeEncodeError, LookupError):
            continue
        return tried
    return "?"


@dataclass(frozen=True, slots=True)
class _Painter:
    width: int
    units: Units
    encoding: str

    def document(self, document: blocks.Document) -> Iterator[Line]:
        """Line by line; a title stands apart from what is above it, and so does a table but for its title."""
        before: blocks.Block = blocks.Space()
        for block in document:
            lines = list(self.block(block))
            apart = blocks.Title if isinstance(before, blocks.Title) else blocks.Title | blocks.Table
            if lines and isinstance(block, apart) and not isinstance(before, blocks.Space):
                yield Line("")
            yield from lines
            before = block if lines else before

    def block(self, block: blocks.Block) -> Iterator[Line]:
        match block:
            case blocks.Title():
                yield from self.wrapped(self.written(block.text), style="strong")
            case blocks.Paragraph():
                yield from self.wrapped(self.written(block.text), block.style, " " * block.indent, " " * block.hang)
            case blocks.Points():
                yield from self.points((block.mark, item) for item in block.items)
            case blocks.Findings():
                if block.calm and block.none:
                    yield from self.wrapped(block.none)
                yield from self.points(block.marked)
            case blocks.Steps():
                for number, item in enumerate(block.items, block.first):
                    yield from self.marked(f"{number}.", item, " " * block.indent, 3)
            case blocks.Facts():
                columns = (blocks.Column("", "text"), blocks.Column("", "text"))
                yield from self.grid(columns, [[self.written(part) for part in row] for row in block.rows])
            case blocks.Table():
                yield from self.table(block)
            case blocks.Space():
                yield Line("")
            case blocks.Beside():
                yield from self.document((*block.left, blocks.Space(), *block.right))
            case blocks.Figure() | blocks.Legend():
                pass

    def written(self, text: texts.Text) -> str:
        return legible(written(text, self.units), self.encoding)

    def wrapped(self, words: str, style: str = "", indent: str = "", hang: str = "") -> Iterator[Line]:
        lines = textwrap.wrap(words, self.width, initial_indent=indent, subsequent_indent=indent + hang) or [""]
        yield from (Line(line, style) for line in lines)

    def points(self, items: Iterable[tuple[str, texts.Text]]) -> Iterator[Line]:
        for mark, item in items:
            yield from self.marked(mark, item)

    def marked(self, mark: str, item: texts.Text, indent: str = "", hang: int = 2) -> Iterator[Line]:
        yield from self.wrapped(f"{mark} {self.written(item)}", "", indent, " " * hang)

    def table(self, table: blocks.Table) -> Iterator[Line]:
        columns, titles, written_rows = written_table(table, self.units)
        rows = [[legible(cell, self.encoding) for cell in row] for row in written_rows]
        heads = [legible(title.replace("\n", " "), self.encoding) for title in titles]
        room = self.width - table.indent
        for index, group in enumerate(_groups(columns, [heads, *rows], room)):
            if index:
                yield Line("")
            chosen = [columns[i] for i in group]
            cells = [[row[i] for i in group] for row in rows]
            yield from self.grid(chosen, cells, [heads[i] for i in group], " " * table.indent)

    def grid(
        self, columns: Sequence[blocks.Column], rows: Rows, heads: Sequence[str] = (), indent: str = ""
    ) -> Iterator[Line]:
        """Cells under each other; columns of words are wrapped to the width, the last one first, then the widest."""
        widths = _widths([heads, *rows] if heads else rows)
        wordy = [index for index, column in enumerate(columns) if not column.flush_right]
        least = _widths([[max(cell.split(), key=len, default="") for cell in row] for row in rows]) if rows else widths
        for index in [*wordy[-1:], *sorted(wordy, key=lambda one: -widths[one])]:
            over = sum(widths) + 2 * (len(widths) - 1) - (self.width - len(indent))
            low = 8 if index == wordy[-1] else max(8, least[index])  # words are broken in the last one alone
            widths[index] = max(min(low, widths[index]), widths[index] - max(over, 0))
        if heads:
            yield from (Line(indent + line, "note") for line in _lines(heads, columns, widths))
            rule = legible(RULE, self.encoding)
            yield Line(indent + "  ".join(rule * width for width in widths), "note")
        for row in rows:
            yield from (Line(indent + line) for line in _lines(row, columns, widths))


def _widths(rows: Rows) -> list[int]:
    return [max(map(len, cells)) for cells in zip(*rows, strict=True)]


def _groups(columns: Sequence[blocks.Column], rows: Rows, room: int) -> list[list[int]]:
    """Which columns stand beside each other, the first one leading each group; rows have the heads on top."""
    widths = _widths(rows)
    if not columns[-1].flush_right:
        widths[-1] = min(widths[-1], WRAPPED)

    def fits(group: Sequence[int]) -> bool:
        return sum(widths[i] + 2 for i in (0, *group)) - 2 <= room

    rest = list(range(1, len(columns)))
    pieces = _pieces(columns)
    if len(pieces) > 1:
        groups = [pieces[0]]
        for piece in pieces[1:]:
            if fits(groups[-1] + piece):
                groups[-1] = groups[-1] + piece
            else:
                groups.append(piece)
        return [[0, *group] for group in groups]
    groups = [rest]
    for count in range(1, len(rest) + 1):
        groups = [rest[len(rest) * k // count : len(rest) * (k + 1) // count] for k in range(count)]
        if all(map(fits, groups)):
            break
    return [[0, *group] for group in groups]


def _pieces(columns: Sequence[blocks.Column]) -> list[list[int]]:
    """The columns but the first, cut where one may begin anew."""
    pieces: list[list[int]] = [[]]
    for index in range(1, len(columns)):
        if columns[index].breaks and pieces[-1]:
            pieces.append([])
        pieces[-1].append(index)
    return pieces


def _lines(row: Sequence[str], columns: Sequence[blocks.Column], widths: Sequence[int]) -> Iterator[str]:
    folded = [textwrap.wrap(cell, width) or [""] for cell, width in zip(row, widths, strict=True)]
    for number in range(max(map(len, folded))):
        cells = [cell[number] if number < len(cell) else "" for cell in folded]
        yield "  ".join(
            cell.rjust(width) if column.flush_right else cell.ljust(width)
            for cell, column, width in zip(cells, columns, widths, strict=True)
        ).rstrip()
