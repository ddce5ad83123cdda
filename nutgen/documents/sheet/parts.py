"""What the sheet's pages are set from: styles, words, tables, boxes to tick, lines to write on."""

from typing import Any

from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, Table
from reportlab.platypus.paraparser import ParaFrag

from nutgen.documents.paint.font import font_name, printable

MM = 72.0 / 25.4
REGULAR, BOLD = (font_name("Vera", bold=bold) for bold in (False, True))
MARGIN, FOOT = 12.0 * MM, 6.0 * MM
GREY = 0.35
"""Points a mm, faces, room at the edges and for the foot, and the shade of what is read last: dark enough
for any printer."""


def _style(name: str, size: float, **more: Any) -> ParagraphStyle:
    face = {"fontName": REGULAR, "fontSize": size, "leading": 1.38 * size}
    return ParagraphStyle(name, **face, bulletFontName=REGULAR, bulletFontSize=size, **more)


BODY = _style("body", 7.4)
FINE = 6.0
SMALL = _style("small", 6.6, textColor=(GREY, GREY, GREY))
CAUTION = _style("caution", 7.4, leftIndent=9.0, bulletIndent=1.0, spaceAfter=1.4)
STEP = _style("step", 7.0, leftIndent=11.0, bulletIndent=1.0)
TITLE = ParagraphStyle("title", fontName=BOLD, fontSize=17.0, leading=21.0)
HEAD = ParagraphStyle("head", fontName=BOLD, fontSize=11.0, leading=14.0, spaceBefore=11.0, spaceAfter=4.0)
STAGE = ParagraphStyle("stage", fontName=BOLD, fontSize=9.4, leading=12.0)

HAIR, RULE = 0.35, 0.8
"""Widths of the lines under rows, and under heads [pt]."""

GAP = 5.0 * MM
"""Between two columns of text."""

Run = tuple[str, float, str]
"""Face, size [pt] and words."""

PLAIN = [
    ("FONT", (0, 0), (-1, -1), REGULAR, BODY.fontSize, BODY.leading),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
]
RULED = [
    ("FONT", (0, 0), (-1, 0), REGULAR, SMALL.fontSize, SMALL.leading),
    ("TEXTCOLOR", (0, 0), (-1, 0), SMALL.textColor),
    ("LINEBELOW", (0, 0), (-1, 0), RULE, black),
    ("LINEBELOW", (0, 1), (-1, -1), HAIR, black),
    ("RIGHTPADDING", (0, 0), (-1, -1), 4),
    ("TOPPADDING", (0, 1), (-1, -1), 1.6),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.8),
]


class _Once:
    """Lays a flowable out once for a width, however often the pages ask."""

    _fitted = (-1.0, (0.0, 0.0))

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        if self._fitted[0] != wide:
            self._fitted = wide, super().wrap(wide, high)  # type: ignore[misc]  # of the flowable beside it
        return self._fitted[1]


class Grid(_Once, Table):  # type: ignore[misc]  # reportlab is untyped
    """A table."""


class Text(_Once, Paragraph):  # type: ignore[misc]
    """Runs of words, each with its face and size.

    They go round reportlab's markup, which would have to be escaped and parsed again.
    """

    def __init__(self, runs: list[Run], style: ParagraphStyle, bullet: str | None = None) -> None:
        frags = [
            ParaFrag(fontName=face, fontSize=size, textColor=style.textColor, rise=0, text=text, us_lines=[], link=[])
            for face, size, text in runs
        ]
        super().__init__("", style, bulletText=bullet, frags=frags)


def text_of(text: str, style: ParagraphStyle = BODY, bullet: str | None = None) -> Paragraph:
    """Words in one style."""
    return Text([(style.fontName, style.fontSize, text)], style, bullet)


def given(text: str, style: ParagraphStyle, *, bold: bool = False, bullet: str | None = None) -> Paragraph:
    """Words that come from the file, and may need a typeface with more letters."""
    shown, typeface, _ = printable(text)
    return Text([(font_name(typeface, bold=bold), style.fontSize, shown)], style, bullet)


def labelled(label: str, text: str, style: ParagraphStyle = BODY) -> Paragraph:
    """Words after a bold label."""
    return Text([(BOLD, style.fontSize, f"{label} "), (REGULAR, style.fontSize, text)], style)


class Box(Flowable):  # type: ignore[misc]  # reportlab is untyped
    """A box to tick."""

    def __init__(self, size: float) -> None:
        super().__init__()
        self.size = size

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.size, self.size

    def draw(self) -> None:
        self.canv.setLineWidth(0.7)
        self.canv.rect(0, -1.2, self.size, self.size)


class StageHead(Flowable):  # type: ignore[misc]
    """A stage's name under a rule, behind a box to tick."""

    BOX = 9.0

    def __init__(self, words: str, long: float) -> None:
        super().__init__()
        self.words, self.long = words, long

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.long, self.BOX + 8.0

    def draw(self) -> None:
        self.canv.setLineWidth(RULE)
        self.canv.line(0, self.BOX + 8.0, self.long, self.BOX + 8.0)
        self.canv.rect(0, 3.5, self.BOX, self.BOX)
        self.canv.setFont(BOLD, STAGE.fontSize)
        self.canv.drawString(self.BOX + 6.0, 5.0, self.words)


class Ruled(Flowable):  # type: ignore[misc]
    """Lines to write on, down to the foot of the page."""

    STEP, LEAST, MOST = 8.0 * MM, 40.0 * MM, 120.0 * MM

    def __init__(self, long: float) -> None:
        super().__init__()
        self.long, self.high = long, self.LEAST

    def wrap(self, _: float, high: float) -> tuple[float, float]:
        self.high = min(self.MOST, max(self.LEAST, high - 1.0))
        return self.long, self.high

    def draw(self) -> None:
        self.canv.setLineWidth(HAIR)
        for line in range(1, int(self.high // self.STEP) + 1):
            y = self.high - line * self.STEP
            self.canv.line(0, y, self.long, y)


class Numbered(Canvas):  # type: ignore[misc]  # reportlab is untyped
    """A canvas that writes "page 2 of 5": pages wait until all are known."""

    def __init__(self, line: str, *given: Any, **more: Any) -> None:
        super().__init__(*given, **more)
        self._line, typeface, _ = printable(line)
        self._face = font_name(typeface, bold=False)
        self._waiting: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802  # reportlab's name
        self._waiting.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        for number, page in enumerate(self._waiting, start=1):
            self.__dict__.update(page)
            self.setFillGray(GREY)
            self.setFont(self._face, FINE)
            self.drawString(MARGIN, MARGIN, self._line)
            self.setFont(REGULAR, FINE)
            right = f"page {number} of {len(self._waiting)}"
            self.drawRightString(self._pagesize[0] - MARGIN, MARGIN, right)
            super().showPage()
        super().save()
