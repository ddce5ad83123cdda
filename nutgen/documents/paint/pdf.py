"""Pages as PDF, true to size."""

import io
import math
from collections.abc import Iterator, Sequence

from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject
from reportlab.pdfgen.pdfgeom import bezierArc

from nutgen.documents.font import font_name
from nutgen.documents.lettering import Words
from nutgen.documents.paint.look import PAGE_STROKES
from nutgen.documents.paint.page import Item, Linework, Page
from nutgen.formats.stamp import Stamp
from nutgen.geometry.lines import Arc, Chain

POINT = 25.4 / 72.0  # mm
_BUTT, _ROUND = 0, 1  # ends of lines; round ones keep dots from fading in print
_MOST_TURN_DEG = 45.0  # of one cubic: off by 4e-6 of its radius


def pages_pdf(pages: Sequence[Page], stamp: Stamp) -> bytes:
    """Paint pages into a PDF file."""
    file = io.BytesIO()
    face = font_name("Vera", bold=False)
    canvas = Canvas(file, pageCompression=1, invariant=1, lang="en", initialFontName=face)
    canvas.setTitle(stamp.title.encode(errors="replace").decode())
    canvas.setSubject(stamp.line.encode(errors="replace").decode())
    canvas.setCreator(stamp.program)
    canvas.setAuthor(stamp.program)
    for page in pages:
        canvas.setPageSize((page.width / POINT, page.height / POINT))
        canvas.scale(1.0 / POINT, 1.0 / POINT)
        for item in page.items:
            paint(canvas, item, page.height)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def paint(canvas: Canvas, item: Item, height: float) -> None:
    """Paint words or lines on a page of a height, in the canvas's own unit."""
    if isinstance(item, Words):
        _words(canvas, item, height)
    else:
        _lines(canvas, item, height)


def _words(canvas: Canvas, words: Words, height: float) -> None:
    canvas.setFont(font_name(words.typeface, bold=words.bold), words.size)
    canvas.setFillGray(words.shade)
    start = -{"left": 0.0, "centre": 0.5, "right": 1.0}[words.align] * words.length
    if not words.turned:
        canvas.drawString(words.x + start, height - words.y, words.text)
        return
    canvas.saveState()
    canvas.translate(words.x, height - words.y)
    canvas.rotate(90)
    canvas.drawString(start, 0.0, words.text)
    canvas.restoreState()


def _lines(canvas: Canvas, drawn: Linework, height: float) -> None:
    canvas.setLineJoin(_ROUND)
    for chain in drawn.chains:
        stroke = PAGE_STROKES[chain.layer]
        canvas.setLineCap(_ROUND if stroke.pattern else _BUTT)
        canvas.setLineWidth(stroke.width)
        canvas.setDash(list(stroke.pattern))
        path = canvas.beginPath()
        _trace(path, chain.moved(drawn.x, height - drawn.y))
        canvas.drawPath(path)


def _trace(path: PDFPathObject, chain: Chain) -> None:
    path.moveTo(*chain.parts[0].start)
    for part in chain.parts:
        if isinstance(part, Arc):
            for curve in _cubics(part):
                path.curveTo(*curve[2:])
        else:
            path.lineTo(*part.end)
    if chain.closed:
        path.close()


def _cubics(arc: Arc) -> Iterator[tuple[float, ...]]:
    """An arc as cubic curves."""
    (x, y), radius = arc.centre, arc.radius
    count = max(1, math.ceil(abs(arc.sweep_deg) / _MOST_TURN_DEG))
    turn = arc.sweep_deg / count
    for index in range(count):
        box = x - radius, y - radius, x + radius, y + radius
        yield from bezierArc(*box, arc.start_deg + index * turn, turn)
