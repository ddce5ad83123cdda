"""What a flow draws for itself: boxes to tick, room to write, figures at true size, numbered pages."""

from collections.abc import Iterator, Sequence
from typing import Any

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from nutgen.documents import blocks
from nutgen.documents.font import font_name, printable, width
from nutgen.documents.lettering import Words
from nutgen.documents.paint.page import Item, Linework
from nutgen.documents.paint.pdf import paint
from nutgen.documents.paint.written import written
from nutgen.documents.words.quantities import Units

MM = 72.0 / 25.4
MARGIN = 12.0 * MM
GREY = 0.35
"""Points a mm, room at the edges; the shade of what is read last: dark enough for any printer."""

HAIR, RULE = 0.35, 0.8
"""Widths of the lines under rows, and under heads [pt]."""

REGULAR, BOLD = (font_name("Vera", bold=bold) for bold in (False, True))
PART = 9.4
"""Size of the heads of parts [pt]."""

_FINE = 6.0


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


class TickHead(Flowable):  # type: ignore[misc]
    """A heading under a rule, behind a box to tick."""

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
        self.canv.setFont(BOLD, PART)
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


class Drawn(Flowable):  # type: ignore[misc]
    """Figures at true size and legends, side by side, below each other where they are too wide."""

    GAP, HEAD, LEGEND, ROW, TYPE = 9.0, 4.5, 54.0, 5.0, 2.4  # mm

    def __init__(self, drawn: Sequence[blocks.Block], room: float, units: Units) -> None:
        super().__init__()
        self.room, self.high = room / MM, 0.0
        self.items: list[Item] = []
        x = y = 0.0
        for block in drawn:
            if not isinstance(block, blocks.Figure | blocks.Legend):
                continue
            wide, high = self._size(block, units)
            if x > 0.0 and x + wide > self.room:
                x, y = 0.0, self.high
            self.items += self._placed(block, x, y + self.HEAD, units)
            self.high = max(self.high, y + self.HEAD + high)
            x += wide + self.GAP

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.room * MM, self.high * MM

    def draw(self) -> None:
        self.canv.saveState()
        self.canv.scale(MM, MM)
        for item in self.items:
            paint(self.canv, item, self.high)
        self.canv.restoreState()

    def _size(self, block: blocks.Figure | blocks.Legend, units: Units) -> tuple[float, float]:
        if isinstance(block, blocks.Legend):
            return self.LEGEND, self.ROW * len(block.rows)
        left, low, right, high = block.box
        return max(right - left, width(written(block.caption, units), self.TYPE)), high - low

    def _placed(self, block: blocks.Figure | blocks.Legend, x: float, y: float, units: Units) -> Iterator[Item]:
        if isinstance(block, blocks.Figure):
            yield Words(x, y - 1.5, written(block.caption, units), self.TYPE, shade=GREY)
            left, _, _, high = block.box
            yield Linework(block.name, x - left, y + high, block.chains)
            yield from (label.on_page(x - left, y + high) for label in block.labels)
            return
        for row, (chains, meaning) in enumerate(block.rows):
            yield Linework("sample", x, y + row * self.ROW, chains)
            yield Words(x + blocks.SAMPLE + 2.0, y + row * self.ROW + 0.36 * self.TYPE, meaning, self.TYPE)


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
            self.setFont(self._face, _FINE)
            self.drawString(MARGIN, MARGIN, self._line)
            self.setFont(REGULAR, _FINE)
            right = f"page {number} of {len(self._waiting)}"
            self.drawRightString(self._pagesize[0] - MARGIN, MARGIN, right)
            super().showPage()
        super().save()
