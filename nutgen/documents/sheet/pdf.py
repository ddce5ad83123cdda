"""The sheet for the wall as PDF: the job, the drawing at 1:1, the strings, the stages, room to write."""

from collections.abc import Iterator
from itertools import zip_longest

from reportlab.platypus import Flowable, KeepTogether, Spacer

from nutgen.documents.blocks import Beside, Document, Paragraph, Points, Run, Space, Title
from nutgen.documents.paint.flow import flow, flow_pdf, framed, room_of
from nutgen.documents.paint.flowables import Ruled, TickHead
from nutgen.documents.sheet.sheet import Sheet, StageSheet
from nutgen.documents.sheet.words import SIZES_READ


def sheet_pdf(words: Sheet, *, paper: str) -> bytes:
    """A sheet as a PDF file.

    paper   : "a4" or "letter"
    returns : the file, its drawing true to size; the same sheet and paper give the same bytes
    raises  : ValueError for another paper
    """
    return flow_pdf(list(_flow(words, room_of(paper))), words.stamp, paper=paper)


def _flow(words: Sheet, room: float) -> Iterator[Flowable]:
    def kept(title: str, *document: Document) -> KeepTogether:
        blocks = tuple(block for part in document for block in part)
        return KeepTogether(flow((Title(title, 2), *blocks), room, words.units))

    stamp, half = words.stamp, -(-len(words.material.items) // 2)
    about = Paragraph(f"{words.about}. {stamp.spec_hash}, {stamp.program}", "note")
    yield from flow((Title(stamp.title), about, words.facts, Space(), words.findings), room, words.units)
    yield framed((Title("Before you start, take care", 3), *words.care), room, words.units)
    yield from flow((Title("Drawing, 1:1", 2), *words.drawn), room, words.units)
    yield kept("Strings, bass to treble", words.strings)
    yield kept("In the neck", words.neck)
    left, right = Points(words.material.items[:half]), Points(words.material.items[half:])
    yield kept(f"Working {words.material_name}", (Beside((left,), (right,)),))
    yield from _stages(words, room)
    pairs = [Beside(left, right) for left, right in zip_longest(words.tools[::2], words.tools[1::2], fillvalue=())]
    yield kept("Tools, slot by slot", (pairs[0], Space()))
    for pair in pairs[1:]:
        yield KeepTogether(flow((pair, Space()), room, words.units))
    yield kept("Stop stacks", words.stops)
    yield kept("At the dry fit", words.readings)
    yield KeepTogether([*flow((Title("Notes", 2),), room, words.units), Ruled(room)])


def _stages(words: Sheet, room: float) -> Iterator[Flowable]:
    intro = Paragraph(Run((SIZES_READ, "Tick a stage, and each size, when it is reached."), " "), "note")
    head = flow((Title("Stages", 2), intro), room, words.units)
    for stage in words.stages:
        yield KeepTogether([*head, Spacer(0, 7), *_stage(words, stage, room)])
        head = []


def _stage(words: Sheet, stage: StageSheet, room: float) -> Iterator[Flowable]:
    yield TickHead(f"{stage.number} {stage.name}", room)
    yield from flow((Beside((*stage.do, *stage.back), stage.sizes),), room, words.units)
