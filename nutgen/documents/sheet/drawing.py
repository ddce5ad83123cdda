"""The sketches on a page of the sheet, painted at true size."""

from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject
from reportlab.platypus import Flowable

from nutgen.documents.paint.font import width
from nutgen.documents.sheet.dimensions import SKETCH_STROKES, TYPE, Label, Sketch, legend
from nutgen.documents.sheet.parts import BOLD, GREY, MM, REGULAR
from nutgen.geometry.lines import Arc, Box, Chain


class Drawn(Flowable):  # type: ignore[misc]  # reportlab is untyped
    """The sketches at true size and the legend side by side, below each other where they are too wide."""

    GAP, WORDS, LEGEND, ROW = 9.0, 4.5, 54.0, 5.0  # mm

    def __init__(self, drawn: tuple[Sketch, ...], room: float) -> None:
        super().__init__()
        self.drawn, self.room, self.deep = drawn, room / MM, 0.0
        self.places: list[tuple[float, float]] = []

    def wrap(self, *_: float) -> tuple[float, float]:
        x, y, deepest = 0.0, 0.0, 0.0
        self.places = []
        sizes = [(max(box[2] - box[0], width(title, TYPE)), box[3] - box[1]) for title, box in self._titled()]
        for wide, high in (*sizes, (self.LEGEND, self.ROW * len(legend()))):
            if x > 0.0 and x + wide > self.room:
                x, y = 0.0, deepest
            self.places.append((x, y + self.WORDS))
            deepest = max(deepest, y + self.WORDS + high)
            x += wide + self.GAP
        self.deep = deepest
        return self.room * MM, self.deep * MM

    def draw(self) -> None:
        canvas = self.canv
        canvas.saveState()
        canvas.scale(MM, MM)
        for sketch, (title, box), (x, y) in zip(self.drawn, self._titled(), self.places, strict=False):
            self._say(x, y - 1.5, title, GREY)
            paint(canvas, sketch, x - box[0], self.deep - y - box[3])
        x, y = self.places[-1]
        for row, (layer, words) in enumerate(legend()):
            below = y + row * self.ROW
            _stroke(canvas, layer)
            canvas.line(x, self.deep - below, x + 10.0, self.deep - below)
            self._say(x + 12.0, below + 0.36 * TYPE, words, 0.0)
        canvas.restoreState()

    def _titled(self) -> list[tuple[str, Box]]:
        scales = ("" if sketch.scale == 1 else f", {sketch.scale}:1" for sketch in self.drawn)
        return [(f"{sketch.title}{scale}", sketch.box) for sketch, scale in zip(self.drawn, scales, strict=True)]

    def _say(self, x: float, y: float, words: str, shade: float) -> None:
        self.canv.setFillGray(shade)
        self.canv.setFont(REGULAR, TYPE)
        self.canv.drawString(x, self.deep - y, words)


def paint(canvas: Canvas, sketch: Sketch, x: float, y: float) -> None:
    """Paint a sketch with its zero at a place, in the canvas's own unit."""
    canvas.setLineJoin(1)
    canvas.setFillGray(0.0)
    for chain in sketch.chains:
        _stroke(canvas, chain.layer)
        path = canvas.beginPath()
        _trace(path, chain.moved(x, y))
        canvas.drawPath(path)
    for label in sketch.labels:
        _words(canvas, label, x, y)


def _stroke(canvas: Canvas, layer: str) -> None:
    stroke = SKETCH_STROKES[layer]
    canvas.setLineCap(1 if stroke.pattern else 0)
    canvas.setLineWidth(stroke.width)
    canvas.setDash(list(stroke.pattern))


def _words(canvas: Canvas, label: Label, x: float, y: float) -> None:
    canvas.saveState()
    canvas.setFont(BOLD if label.bold else REGULAR, TYPE)
    canvas.translate(x + label.x, y + label.y)
    if label.turned:
        canvas.rotate(90)
    draw_at = {"left": canvas.drawString, "centre": canvas.drawCentredString, "right": canvas.drawRightString}
    draw_at[label.align](0, 0, label.text)
    canvas.restoreState()


def _trace(path: PDFPathObject, chain: Chain) -> None:
    path.moveTo(*chain.parts[0].start)
    for part in chain.parts:
        if isinstance(part, Arc):
            (x, y), r = part.centre, part.radius
            path.arcTo(x - r, y - r, x + r, y + r, part.start_deg, part.sweep_deg)
        else:
            path.lineTo(*part.end)
    if chain.closed:
        path.close()
