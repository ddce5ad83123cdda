"""The sheet for the wall as PDF: the job, the drawing at 1:1, the strings, the stages, room to write."""

import io
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    KeepTogether,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
)
from reportlab.platypus.paraparser import ParaFrag

from nutgen.bench.materials import Note
from nutgen.export.dimensions import SKETCH_STROKES, TYPE, Label, Sketch, legend
from nutgen.export.font import font_name, printable, width
from nutgen.export.sheet import Sheet
from nutgen.export.sheet_words import SIZES_READ, StageWords, source_of
from nutgen.export.sheet_words import Table as Words
from nutgen.export.template import PAPERS
from nutgen.model.lines import Arc, Box, Chain

MM = 72.0 / 25.4
REGULAR, BOLD = (font_name("Vera", bold=bold) for bold in (False, True))
MARGIN, FOOT = 12.0 * MM, 6.0 * MM
GREY = 0.35  # of what is read last: dark enough for any printer


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

_HAIR, _RULE = 0.35, 0.8
Run = tuple[str, float, str]
"""Face, size and words."""

_GAP = 5.0 * MM
_PLAIN = [
    ("FONT", (0, 0), (-1, -1), REGULAR, BODY.fontSize, BODY.leading),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
]
_RULED = [
    ("FONT", (0, 0), (-1, 0), REGULAR, SMALL.fontSize, SMALL.leading),
    ("TEXTCOLOR", (0, 0), (-1, 0), SMALL.textColor),
    ("LINEBELOW", (0, 0), (-1, 0), _RULE, black),
    ("LINEBELOW", (0, 1), (-1, -1), _HAIR, black),
    ("RIGHTPADDING", (0, 0), (-1, -1), 4),
    ("TOPPADDING", (0, 1), (-1, -1), 1.6),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.8),
]


def sheet_pdf(words: Sheet, *, paper: str) -> bytes:
    """A sheet as a PDF file.

    paper   : "a4" or "letter"
    returns : the file, its drawing true to size; the same sheet and paper give the same bytes
    raises  : ValueError for another paper
    """
    if paper not in PAPERS:
        raise ValueError(f'paper "{paper}" is not known; allowed are {", ".join(PAPERS)}')
    wide, high = (side * MM for side in PAPERS[paper])
    file = io.BytesIO()
    room = wide - 2.0 * MARGIN
    frame = Frame(MARGIN, MARGIN + FOOT, room, high - 2.0 * MARGIN - FOOT, *[0.0] * 4, id="body")
    line = f"{words.title} | {words.spec_hash} | {words.program}"
    document = BaseDocTemplate(
        file,
        pagesize=(wide, high),
        pageTemplates=[PageTemplate("sheet", [frame])],
        title=words.title.encode(errors="replace").decode(),
        subject=line.encode(errors="replace").decode(),
        author=words.program,
        creator=words.program,
        lang="en",
        invariant=1,
        initialFontName=REGULAR,
        initialFontSize=BODY.fontSize,
    )
    story = list(_story(words, room))
    document.build(story, canvasmaker=lambda *given, **more: _Numbered(line, *given, **more))
    return file.getvalue()


class _Numbered(Canvas):  # type: ignore[misc]  # reportlab is untyped
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


def _story(words: Sheet, room: float) -> Iterator[Flowable]:
    yield _given(words.title, TITLE, bold=True)
    yield _text(f"{words.about}. {words.spec_hash}, {words.program}", SMALL)
    yield Spacer(0, 5)
    yield _facts(words, room)
    for warning in words.warnings:
        yield _given(warning, CAUTION, bullet="!")
    yield from _care(words, room)
    yield _text("Drawing, 1:1", HEAD)
    yield _Drawing(words.drawn, room)
    yield KeepTogether([_text("Strings, bass to treble", HEAD), _table(words.strings, room), *_remark(words.strings)])
    yield from _material(words, room)
    yield from _stages(words, room)
    yield from _tools(words, room)
    yield from _to_write(words, room)


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
    """Runs of words, each with its face and size.

    They go round reportlab's markup, which would have to be escaped and parsed again.
    """

    def __init__(self, runs: list[Run], style: ParagraphStyle, bullet: str | None = None) -> None:
        frags = [
            ParaFrag(fontName=face, fontSize=size, textColor=style.textColor, rise=0, text=text, us_lines=[], link=[])
            for face, size, text in runs
        ]
        super().__init__("", style, bulletText=bullet, frags=frags)


def _text(text: str, style: ParagraphStyle = BODY, bullet: str | None = None) -> Paragraph:
    return _Text([(style.fontName, style.fontSize, text)], style, bullet)


def _given(text: str, style: ParagraphStyle, *, bold: bool = False, bullet: str | None = None) -> Paragraph:
    """Words that come from the file, and may need a typeface with more letters."""
    shown, typeface, _ = printable(text)
    return _Text([(font_name(typeface, bold=bold), style.fontSize, shown)], style, bullet)


def _labelled(label: str, text: str, style: ParagraphStyle = BODY) -> Paragraph:
    return _Text([(BOLD, style.fontSize, f"{label} "), (REGULAR, style.fontSize, text)], style)


def _remark(table: Words) -> tuple[Flowable, Flowable]:
    return Spacer(0, 3), _text(table.remark, SMALL)


def _facts(words: Sheet, room: float) -> Table:
    across = 4
    facts = [*words.facts, *[("", "")] * (-len(words.facts) % across)]
    lines = [facts[first : first + across] for first in range(0, len(facts), across)]
    rows = [[fact[part] for fact in line] for line in lines for part in (0, 1)]
    style = [*_PLAIN, ("LINEABOVE", (0, 0), (-1, 0), _RULE, black)]
    for row in range(0, len(rows), 2):
        style += [
            ("FONT", (0, row), (-1, row), REGULAR, SMALL.fontSize, SMALL.leading),
            ("TEXTCOLOR", (0, row), (-1, row), SMALL.textColor),
            ("TOPPADDING", (0, row), (-1, row), 4),
        ]
    return _Grid(rows, [room / across] * across, style=style)


def _care(words: Sheet, room: float) -> Iterator[Flowable]:
    """Cautions of the material and of the stages, side by side and framed."""
    left = [_text(f"Take care: {words.material_name}", STAGE), Spacer(0, 2), *_notes(words.cautions, "!")]
    right = [_text("Take care: at the bench", STAGE), Spacer(0, 2), *_notes(words.hazards, "!")]
    style = [
        *_PLAIN,
        ("BOX", (0, 0), (-1, -1), _RULE, black),
        ("SPAN", (0, 1), (-1, 1)),
        *((side, (0, 0), (-1, -1), 6) for side in ("TOPPADDING", "BOTTOMPADDING", "LEFTPADDING", "RIGHTPADDING")),
        ("TOPPADDING", (0, 1), (-1, 1), 0),
    ]
    local = _Text([(BOLD, BODY.fontSize, words.local)], BODY)
    yield Spacer(0, 7)
    yield _Grid([[left, right], [local, ""]], [0.5 * room, 0.5 * room], style=style)


def _notes(notes: tuple[Note, ...], bullet: str) -> list[Flowable]:
    return [_Text(_sourced(note), CAUTION, bullet) for note in notes]


def _sourced(note: Note) -> list[Run]:
    runs, source = [(REGULAR, BODY.fontSize, note.text)], source_of(note)
    return [*runs, (REGULAR, FINE, f" [{source}]")] if source else runs


def _material(words: Sheet, room: float) -> Iterator[Flowable]:
    notes = _notes(words.material, "–")
    half = (len(notes) + 1) // 2
    body = _side_by_side(notes[:half], notes[half:], room)
    yield KeepTogether([_text(f"Working {words.material_name}", HEAD), body])


def _side_by_side(left: list[Flowable], right: list[Flowable], room: float) -> Table:
    half = (room - _GAP) / 2.0
    return _Grid([[left, "", right]], [half, _GAP, half], style=_PLAIN)


def _table(words: Words, room: float, *, wide: tuple[float, ...] = ()) -> Table:
    """A table under heads of one line or two; numbers flush right."""
    two = any(second for _, second in words.heads)
    heads = [f"{first}\n{second}" if two else first for first, second in words.heads]
    shares = wide or (1.0,) * len(heads)
    widths = [room * share / sum(shares) for share in shares]
    right = [("ALIGN", (n, 0), (n, -1), "RIGHT") for n, number in enumerate(words.right) if number]
    apart = [
        ("RIGHTPADDING", (n, 0), (n, -1), 14) for n, pair in enumerate(pairwise(words.right)) if pair == (True, False)
    ]
    rows = [[_fitting(cell, wide - 6.0) for cell, wide in zip(row, widths, strict=True)] for row in words.rows]
    return _Grid([heads, *rows], widths, style=[*_PLAIN, *_RULED, *right, *apart], repeatRows=1)


def _fitting(text: str, room: float) -> str | Paragraph:
    """Words as they are where one line holds them, which is much faster to lay out."""
    return text if width(text, BODY.fontSize) <= room else _text(text)


def _stages(words: Sheet, room: float) -> Iterator[Flowable]:
    intro = f"{SIZES_READ} Tick a stage, and each size, when it is reached."
    first = [_text("Stages", HEAD), _text(intro, SMALL), *_stage(words.stages[0], room)]
    yield KeepTogether(first)
    for stage in words.stages[1:]:
        yield KeepTogether(_stage(stage, room))


def _stage(stage: StageWords, room: float) -> list[Flowable]:
    left: list[Flowable] = [_text(stage.do)]
    if stage.papers:
        left.append(_labelled("Papers:", stage.papers))
    if stage.sizes:
        left.append(_labelled("Measure:", stage.measure))
    left += [_labelled(f"{_capital(sizes)} past the limit:", words, SMALL) for sizes, words in stage.under]
    left.append(_labelled("Take care:", " ".join(stage.cautions), SMALL))
    right = [_sizes(stage, (room - _GAP) / 2.0)] if stage.sizes else [_text("No size on this nut.", SMALL)]
    head = _Head(f"{stage.number}  {_capital(stage.name)}", room)
    return [Spacer(0, 7), head, _side_by_side(left, right, room)]


def _sizes(stage: StageWords, room: float) -> Table:
    """A line a size, with a box to tick and a place to write what was measured."""
    number, box = 36.0, 11.0
    name = room - box - 4.0 * number
    rows: list[list[Any]] = [["", "", "stop at", "reach", "limit", "measured"]]
    headings = []
    for group in stage.sizes:
        if group.heading:
            headings.append(len(rows))
            rows.append([[_then(_capital(group.heading), group.then)]])
        for size in group.lines:
            words = _then(size.short, size.then_short) if size.then_short else _fitting(size.short, name)
            rows.append([_Box(6.5), words, size.stop, size.reach, size.limit, ""])
    style = [
        *_PLAIN,
        *_RULED,
        ("ALIGN", (2, 0), (-1, -1), "RIGHT"),
        ("FONT", (3, 1), (3, -1), BOLD, BODY.fontSize, BODY.leading),
        ("LINEBEFORE", (-1, 1), (-1, -1), _HAIR, black),
        ("RIGHTPADDING", (-1, 0), (-1, 0), 0),
        *(
            command
            for row in headings
            for command in (("SPAN", (0, row), (-1, row)), ("TOPPADDING", (0, row), (-1, row), 5))
        ),
    ]
    return _Grid(rows, [box, name, *[number] * 4], style=style, repeatRows=1)


def _then(name: str, then: str) -> Paragraph:
    return _Text([(REGULAR, BODY.fontSize, name), (REGULAR, FINE, f"  then {then}" if then else "")], BODY)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _tools(words: Sheet, room: float) -> Iterator[Flowable]:
    cuts = []
    for cut in words.cuts:
        steps = [_text(step, STEP, str(n)) for n, step in enumerate(cut.steps, start=1)]
        cuts.append([_labelled(f"String {cut.string}:", cut.verdict), *steps, Spacer(0, 4)])
    pairs = [_side_by_side(left, right, room) for left, right in zip(cuts[::2], [*cuts[1::2], []], strict=False)]
    yield KeepTogether([_text("Tools, slot by slot", HEAD), pairs[0]])
    yield from pairs[1:]
    table = _table(words.stops, room, wide=(0.9, 0.8, 1.1, 2.2, 1.7, 2.2, 1.7))
    yield KeepTogether([_text("Stop stacks", HEAD), _text(words.stops.remark, SMALL), Spacer(0, 3), table])


def _to_write(words: Sheet, room: float) -> Iterator[Flowable]:
    table = _table(words.readings, room, wide=(0.8, 0.8, *[1.2] * (len(words.readings.heads) - 2)))
    yield KeepTogether([_text("At the dry fit", HEAD), _text(words.readings.remark, SMALL), Spacer(0, 3), table])
    yield KeepTogether([_text("Notes", HEAD), _Ruled(room)])


class _Head(Flowable):  # type: ignore[misc]
    """A stage's name under a rule, behind a box to tick."""

    BOX = 9.0

    def __init__(self, words: str, long: float) -> None:
        super().__init__()
        self.words, self.long = words, long

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.long, self.BOX + 8.0

    def draw(self) -> None:
        self.canv.setLineWidth(_RULE)
        self.canv.line(0, self.BOX + 8.0, self.long, self.BOX + 8.0)
        self.canv.rect(0, 3.5, self.BOX, self.BOX)
        self.canv.setFont(BOLD, STAGE.fontSize)
        self.canv.drawString(self.BOX + 6.0, 5.0, self.words)


class _Box(Flowable):  # type: ignore[misc]  # reportlab is untyped
    """A box to tick."""

    def __init__(self, size: float) -> None:
        super().__init__()
        self.size = size

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.size, self.size

    def draw(self) -> None:
        self.canv.setLineWidth(0.7)
        self.canv.rect(0, -1.2, self.size, self.size)


class _Ruled(Flowable):  # type: ignore[misc]
    """Lines to write on, down to the foot of the page."""

    STEP, LEAST, MOST = 8.0 * MM, 40.0 * MM, 120.0 * MM

    def __init__(self, long: float) -> None:
        super().__init__()
        self.long, self.high = long, self.LEAST

    def wrap(self, _: float, high: float) -> tuple[float, float]:
        self.high = min(self.MOST, max(self.LEAST, high - 1.0))
        return self.long, self.high

    def draw(self) -> None:
        self.canv.setLineWidth(_HAIR)
        for line in range(1, int(self.high // self.STEP) + 1):
            y = self.high - line * self.STEP
            self.canv.line(0, y, self.long, y)


class _Drawing(Flowable):  # type: ignore[misc]
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
