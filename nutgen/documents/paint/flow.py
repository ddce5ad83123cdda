"""Blocks as PDF that flows from page to page: words, tables with boxes to tick, drawings at true size."""

import io
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise
from typing import Any

from reportlab.lib.colors import black
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Paragraph, Spacer, Table
from reportlab.platypus.paraparser import ParaFrag

from nutgen.documents import blocks
from nutgen.documents.font import font_name, printable, width
from nutgen.documents.paint.columns import column_widths
from nutgen.documents.paint.flowables import BOLD, GREY, HAIR, MARGIN, MM, PART, REGULAR, RULE, Box, Drawn, Numbered
from nutgen.documents.paint.papers import paper_size
from nutgen.documents.paint.written import written, written_table
from nutgen.documents.words.quantities import Units
from nutgen.formats.stamp import Stamp

_FILLED: dict[blocks.ColumnKind, float] = {"tick": 11.0, "write": 40.0}
"""Least widths of columns that a maker fills in [pt]."""

FOOT, GAP = 6.0 * MM, 5.0 * MM
"""Room for the foot and between columns [pt]."""


def _style(name: str, size: float, **more: Any) -> ParagraphStyle:
    face = {"fontName": REGULAR, "fontSize": size, "leading": 1.38 * size}
    return ParagraphStyle(name, **face | {"bulletFontName": REGULAR, "bulletFontSize": size} | more)


_BODY = _style("body", 7.4)
_STRONG = _style("strong", 7.4, fontName=BOLD)
_NOTE = _style("note", 6.6, textColor=(GREY, GREY, GREY), spaceAfter=3.0)
_POINT = _style("point", 7.4, leftIndent=9.0, bulletIndent=1.0, spaceAfter=1.4)
_STEP = _style("step", 7.0, leftIndent=11.0, bulletIndent=1.0)
_TITLES = {
    1: ParagraphStyle("title", fontName=BOLD, fontSize=17.0, leading=21.0),
    2: ParagraphStyle("head", fontName=BOLD, fontSize=11.0, leading=14.0, spaceBefore=11.0, spaceAfter=4.0),
    3: ParagraphStyle("part", fontName=BOLD, fontSize=PART, leading=12.0, spaceAfter=2.0),
}

_PLAIN: list[tuple[Any, ...]] = [
    ("FONT", (0, 0), (-1, -1), REGULAR, _BODY.fontSize, _BODY.leading),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    *((f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")),
]
_RULED: list[tuple[Any, ...]] = [
    ("FONT", (0, 0), (-1, 0), REGULAR, _NOTE.fontSize, _NOTE.leading),
    ("TEXTCOLOR", (0, 0), (-1, 0), _NOTE.textColor),
    ("LINEBELOW", (0, 0), (-1, 0), RULE, black),
    ("LINEBELOW", (0, 1), (-1, -1), HAIR, black),
    ("RIGHTPADDING", (0, 0), (-1, -1), 4),
    ("TOPPADDING", (0, 1), (-1, -1), 1.6),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.8),
]


def flow_pdf(flow: Sequence[Flowable], stamp: Stamp, *, paper: str) -> bytes:
    """What flows, as a PDF file; the same flow, stamp and paper give the same bytes.

    paper  : "a4" or "letter"
    raises : ValueError for another paper
    """
    wide, high = (side * MM for side in paper_size(paper))
    file = io.BytesIO()
    frame = Frame(MARGIN, MARGIN + FOOT, room_of(paper), high - 2.0 * MARGIN - FOOT, *[0.0] * 4, id="body")
    document = BaseDocTemplate(
        file,
        pagesize=(wide, high),
        pageTemplates=[PageTemplate("flow", [frame])],
        title=stamp.title.encode(errors="replace").decode(),
        subject=stamp.line.encode(errors="replace").decode(),
        author=stamp.program,
        creator=stamp.program,
        lang="en",
        invariant=1,
        initialFontName=REGULAR,
        initialFontSize=_BODY.fontSize,
    )
    document.build(list(flow), canvasmaker=lambda *given, **more: Numbered(stamp.line, *given, **more))
    return file.getvalue()


def room_of(paper: str) -> float:
    """Width between the margins [pt]; ValueError for a paper that is not known."""
    return paper_size(paper)[0] * MM - 2.0 * MARGIN


def flow(document: blocks.Document, room: float, units: Units) -> list[Flowable]:
    """Blocks as what flows; figures and legends that follow each other stand side by side where they may.

    room : width [pt]
    """
    flowables: list[Flowable] = []
    for drawn, group in groupby(document, key=lambda block: isinstance(block, blocks.Figure | blocks.Legend)):
        if drawn:
            flowables.append(Drawn(list(group), room, units))
        else:
            flowables += (one for block in group for one in _flow(block, room, units))
    return flowables


def framed(document: blocks.Document, room: float, units: Units) -> Flowable:
    """Blocks in a frame."""
    padding = 6.0
    style = [*_PLAIN, ("BOX", (0, 0), (-1, -1), RULE, black)]
    style += [(f"{side}PADDING", (0, 0), (-1, -1), padding) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]
    return _Grid([[flow(document, room - 2.0 * padding, units)]], [room], style=style)


def _flow(block: blocks.Block, room: float, units: Units) -> Iterator[Flowable]:
    match block:
        case blocks.Title():
            yield _words(block.text, _TITLES[block.level], units)
        case blocks.Paragraph():
            yield _words(block.text, {"note": _NOTE, "strong": _STRONG}.get(block.style, _BODY), units)
        case blocks.Points():
            mark = "\N{EN DASH}" if block.mark == "-" else block.mark
            yield from (_words(item, _POINT, units, mark) for item in block.items)
        case blocks.Findings():
            yield from (
                _words(found, _POINT, units, "!" if mark == "!" else "\N{EN DASH}") for mark, found in block.marked
            )
        case blocks.Steps():
            yield from (_words(item, _STEP, units, str(n)) for n, item in enumerate(block.items, block.first))
        case blocks.Ticks():
            yield from (_words(item, _POINT, units, "\N{WHITE SQUARE}") for item in block.items)
        case blocks.Facts():
            yield _facts(block, room, units)
        case blocks.Table():
            yield from (_table(block, room, units), Spacer(0, 3))
        case blocks.Beside():
            left = (room - GAP) * block.share
            cells = [flow(block.left, left, units), "", flow(block.right, room - GAP - left, units)]
            yield _Grid([cells], [left, GAP, room - GAP - left], style=_PLAIN)
        case blocks.Space():
            yield Spacer(0, 5)
        case blocks.Figure() | blocks.Legend():
            yield Drawn([block], room, units)


class _Once:
    """Lays a flowable out once for a width, however often the pages ask."""

    _fitted = (-1.0, (0.0, 0.0))

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        if self._fitted[0] != wide:
            self._fitted = wide, super().wrap(wide, high)  # type: ignore[misc]  # of the flowable beside it
        return self._fitted[1]


class _Grid(_Once, Table):  # type: ignore[misc]  # reportlab is untyped
    """A table."""


class _Text(_Once, Paragraph):  # type: ignore[misc]
    """Runs of words, each with its face: they go round reportlab's markup, which would have to be escaped."""

    def __init__(self, runs: Iterable[tuple[str, str]], style: ParagraphStyle, bullet: str | None) -> None:
        frags = [
            ParaFrag(
                fontName=face,
                fontSize=style.fontSize,
                textColor=style.textColor,
                rise=0,
                text=text,
                us_lines=[],
                link=[],
            )
            for face, text in runs
        ]
        super().__init__("", style, bulletText=bullet, frags=frags)


def _words(text: blocks.Text, style: ParagraphStyle, units: Units, bullet: str | None = None) -> Flowable:
    """Words in the typeface that has their letters, a label before them in bold."""
    parts: list[tuple[blocks.Text, bool]] = [(text, False)]
    if isinstance(text, blocks.Labelled):
        parts = [(blocks.Run((text.label, " ")), True), (text.text, False)]
    runs = []
    for part, label in parts:
        shown, typeface, _ = printable(written(part, units))
        runs.append((font_name(typeface, bold=label or style.fontName == BOLD), shown))
    return _Text(runs, style, bullet)


def _facts(facts: blocks.Facts, room: float, units: Units) -> Flowable:
    across = 4
    told = [(written(name, units), _words(value, _BODY, units)) for name, value in facts.rows]
    lines = [[*told[first : first + across]] for first in range(0, len(told), across)]
    rows = [[*(fact[part] for fact in line), *[""] * (across - len(line))] for line in lines for part in (0, 1)]
    style = [*_PLAIN, ("LINEABOVE", (0, 0), (-1, 0), RULE, black), ("RIGHTPADDING", (0, 0), (-2, -1), 6)]
    for row in range(0, len(rows), 2):
        style += [
            ("FONT", (0, row), (-1, row), REGULAR, _NOTE.fontSize, _NOTE.leading),
            ("TEXTCOLOR", (0, row), (-1, row), _NOTE.textColor),
            ("TOPPADDING", (0, row), (-1, row), 4),
        ]
    return _Grid(rows, [room / across] * across, style=style)


def _table(table: blocks.Table, room: float, units: Units) -> Flowable:
    """A table: numbers flush right, boxes to tick, places to write in; words take what the numbers leave."""
    columns, heads, rows = written_table(table, units)
    widths = column_widths(columns, heads, rows, room, lambda text: width(text, _BODY.fontSize) + 5.0, _FILLED)
    stretched = [column.kind != "tick" for column in columns]
    spare = max(0.0, room - sum(widths)) / sum(stretched)
    widths = [wide + spare * grows for wide, grows in zip(widths, stretched, strict=True)]
    cells = [[_fitting(*given, _NOTE) for given in zip(heads, widths, columns, strict=True)]]
    cells += [[_fitting(*given, _BODY) for given in zip(row, widths, columns, strict=True)] for row in rows]
    style = [*_PLAIN, *_RULED]
    for n, column in enumerate(columns):
        style += [("ALIGN", (n, 0), (n, -1), "RIGHT")] if column.flush_right else []
        style += [("LINEBEFORE", (n, 1), (n, -1), HAIR, black)] if column.kind == "write" else []
        style += [("FONT", (n, 1), (n, -1), BOLD, _BODY.fontSize, _BODY.leading)] if column.strong else []
    turns = enumerate(pairwise(column.flush_right for column in columns))
    style += [("RIGHTPADDING", (n, 0), (n, -1), 12) for n, pair in turns if pair == (True, False)]
    return _Grid(cells, widths, style=style, repeatRows=1)


def _fitting(text: str, room: float, column: blocks.Column, style: ParagraphStyle) -> Any:
    """A cell: words as they are where one line holds them, which is much faster to lay out."""
    if column.kind == "tick" and style is _BODY:
        return Box(6.5)
    shown, typeface, _ = printable(text) if text else ("", "Vera", "")
    if "\n" in text:
        return text
    if typeface == "Vera" and width(shown, style.fontSize) <= room - 4.0:
        return shown
    style = _style(style.name, style.fontSize, textColor=style.textColor, alignment=TA_RIGHT * column.flush_right)
    return _Text([(font_name(typeface, bold=False), shown)], style, None)
