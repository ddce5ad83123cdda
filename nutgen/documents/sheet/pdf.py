"""The sheet for the wall as PDF: the job, the drawing at 1:1, the strings, the stages, room to write."""

import io
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from reportlab.lib.colors import black
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, KeepTogether, PageTemplate, Paragraph, Spacer

from nutgen.documents.paint.font import width
from nutgen.documents.paint.papers import paper_size
from nutgen.documents.sheet.drawing import Drawn
from nutgen.documents.sheet.parts import (
    BODY,
    BOLD,
    CAUTION,
    FINE,
    FOOT,
    GAP,
    HAIR,
    HEAD,
    MARGIN,
    MM,
    PLAIN,
    REGULAR,
    RULE,
    RULED,
    SMALL,
    STAGE,
    STEP,
    TITLE,
    Box,
    Grid,
    Numbered,
    Ruled,
    Run,
    StageHead,
    Text,
    given,
    labelled,
    text_of,
)
from nutgen.documents.sheet.sheet import Sheet
from nutgen.documents.sheet.words import SIZES_READ, Note, StageWords
from nutgen.documents.sheet.words import Table as Words


def sheet_pdf(words: Sheet, *, paper: str) -> bytes:
    """A sheet as a PDF file.

    paper   : "a4" or "letter"
    returns : the file, its drawing true to size; the same sheet and paper give the same bytes
    raises  : ValueError for another paper
    """
    wide, high = (side * MM for side in paper_size(paper))
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
    document.build(story, canvasmaker=lambda *given, **more: Numbered(line, *given, **more))
    return file.getvalue()


def _story(words: Sheet, room: float) -> Iterator[Flowable]:
    yield given(words.title, TITLE, bold=True)
    yield text_of(f"{words.about}. {words.spec_hash}, {words.program}", SMALL)
    yield Spacer(0, 5)
    yield _facts(words, room)
    for warning in words.warnings:
        yield given(warning, CAUTION, bullet="!")
    yield from _care(words, room)
    yield text_of("Drawing, 1:1", HEAD)
    yield Drawn(words.drawn, room)
    yield KeepTogether([text_of("Strings, bass to treble", HEAD), _table(words.strings, room), *_remark(words.strings)])
    yield from _material(words, room)
    yield from _stages(words, room)
    yield from _tools(words, room)
    yield from _to_write(words, room)


def _remark(table: Words) -> tuple[Flowable, Flowable]:
    return Spacer(0, 3), text_of(table.remark, SMALL)


def _facts(words: Sheet, room: float) -> Grid:
    across = 4
    facts = [*words.facts, *[("", "")] * (-len(words.facts) % across)]
    lines = [facts[first : first + across] for first in range(0, len(facts), across)]
    rows = [[fact[part] for fact in line] for line in lines for part in (0, 1)]
    style = [*PLAIN, ("LINEABOVE", (0, 0), (-1, 0), RULE, black)]
    for row in range(0, len(rows), 2):
        style += [
            ("FONT", (0, row), (-1, row), REGULAR, SMALL.fontSize, SMALL.leading),
            ("TEXTCOLOR", (0, row), (-1, row), SMALL.textColor),
            ("TOPPADDING", (0, row), (-1, row), 4),
        ]
    return Grid(rows, [room / across] * across, style=style)


def _care(words: Sheet, room: float) -> Iterator[Flowable]:
    """Cautions of the material and of the stages, side by side and framed."""
    left = [text_of(f"Take care: {words.material_name}", STAGE), Spacer(0, 2), *_notes(words.cautions, "!")]
    right = [text_of("Take care: at the bench", STAGE), Spacer(0, 2), *_notes(words.hazards, "!")]
    style = [
        *PLAIN,
        ("BOX", (0, 0), (-1, -1), RULE, black),
        ("SPAN", (0, 1), (-1, 1)),
        *((side, (0, 0), (-1, -1), 6) for side in ("TOPPADDING", "BOTTOMPADDING", "LEFTPADDING", "RIGHTPADDING")),
        ("TOPPADDING", (0, 1), (-1, 1), 0),
    ]
    local = Text([(BOLD, BODY.fontSize, words.local)], BODY)
    yield Spacer(0, 7)
    yield Grid([[left, right], [local, ""]], [0.5 * room, 0.5 * room], style=style)


def _notes(notes: tuple[Note, ...], bullet: str) -> list[Flowable]:
    return [Text(_sourced(note), CAUTION, bullet) for note in notes]


def _sourced(note: Note) -> list[Run]:
    runs = [(REGULAR, BODY.fontSize, note.text)]
    return [*runs, (REGULAR, FINE, f" [{note.source}]")] if note.source else runs


def _material(words: Sheet, room: float) -> Iterator[Flowable]:
    notes = _notes(words.material, "–")
    half = (len(notes) + 1) // 2
    body = _side_by_side(notes[:half], notes[half:], room)
    yield KeepTogether([text_of(f"Working {words.material_name}", HEAD), body])


def _side_by_side(left: list[Flowable], right: list[Flowable], room: float) -> Grid:
    half = (room - GAP) / 2.0
    return Grid([[left, "", right]], [half, GAP, half], style=PLAIN)


def _table(words: Words, room: float, *, wide: tuple[float, ...] = ()) -> Grid:
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
    return Grid([heads, *rows], widths, style=[*PLAIN, *RULED, *right, *apart], repeatRows=1)


def _fitting(text: str, room: float) -> str | Paragraph:
    """Words as they are where one line holds them, which is much faster to lay out."""
    return text if width(text, BODY.fontSize) <= room else text_of(text)


def _stages(words: Sheet, room: float) -> Iterator[Flowable]:
    intro = f"{SIZES_READ} Tick a stage, and each size, when it is reached."
    first = [text_of("Stages", HEAD), text_of(intro, SMALL), *_stage(words.stages[0], room)]
    yield KeepTogether(first)
    for stage in words.stages[1:]:
        yield KeepTogether(_stage(stage, room))


def _stage(stage: StageWords, room: float) -> list[Flowable]:
    left: list[Flowable] = [text_of(stage.do)]
    if stage.papers:
        left.append(labelled("Papers:", stage.papers))
    if stage.sizes:
        left.append(labelled("Measure:", stage.measure))
    left += [labelled(f"{_capital(sizes)} past the limit:", words, SMALL) for sizes, words in stage.under]
    left.append(labelled("Take care:", " ".join(stage.cautions), SMALL))
    right = [_sizes(stage, (room - GAP) / 2.0)] if stage.sizes else [text_of("No size on this nut.", SMALL)]
    head = StageHead(f"{stage.number}  {_capital(stage.name)}", room)
    return [Spacer(0, 7), head, _side_by_side(left, right, room)]


def _sizes(stage: StageWords, room: float) -> Grid:
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
            rows.append([Box(6.5), words, size.stop, size.reach, size.limit, ""])
    style = [
        *PLAIN,
        *RULED,
        ("ALIGN", (2, 0), (-1, -1), "RIGHT"),
        ("FONT", (3, 1), (3, -1), BOLD, BODY.fontSize, BODY.leading),
        ("LINEBEFORE", (-1, 1), (-1, -1), HAIR, black),
        ("RIGHTPADDING", (-1, 0), (-1, 0), 0),
        *(
            command
            for row in headings
            for command in (("SPAN", (0, row), (-1, row)), ("TOPPADDING", (0, row), (-1, row), 5))
        ),
    ]
    return Grid(rows, [box, name, *[number] * 4], style=style, repeatRows=1)


def _then(name: str, then: str) -> Paragraph:
    return Text([(REGULAR, BODY.fontSize, name), (REGULAR, FINE, f"  then {then}" if then else "")], BODY)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _tools(words: Sheet, room: float) -> Iterator[Flowable]:
    cuts = []
    for cut in words.cuts:
        steps = [text_of(step, STEP, str(n)) for n, step in enumerate(cut.steps, start=1)]
        cuts.append([labelled(f"String {cut.string}:", cut.verdict), *steps, Spacer(0, 4)])
    pairs = [_side_by_side(left, right, room) for left, right in zip(cuts[::2], [*cuts[1::2], []], strict=False)]
    yield KeepTogether([text_of("Tools, slot by slot", HEAD), pairs[0]])
    yield from pairs[1:]
    table = _table(words.stops, room, wide=(0.9, 0.8, 1.1, 2.2, 1.7, 2.2, 1.7))
    yield KeepTogether([text_of("Stop stacks", HEAD), text_of(words.stops.remark, SMALL), Spacer(0, 3), table])


def _to_write(words: Sheet, room: float) -> Iterator[Flowable]:
    table = _table(words.readings, room, wide=(0.8, 0.8, *[1.2] * (len(words.readings.heads) - 2)))
    yield KeepTogether([text_of("At the dry fit", HEAD), text_of(words.readings.remark, SMALL), Spacer(0, 3), table])
    yield KeepTogether([text_of("Notes", HEAD), Ruled(room)])
