"""The sheet for the wall as PDF: the job, the drawing at 1:1, the strings, the stages, room to write."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import zip_longest

from nutgen.documents.blocks import Beside, Block, Paragraph, Points, Title
from nutgen.documents.lettering import Words
from nutgen.documents.paint.compose import below, composed, framed
from nutgen.documents.paint.heading import printed
from nutgen.documents.paint.look import HEAD, MARGIN, SMALL
from nutgen.documents.paint.page import Group, Page, box, rule
from nutgen.documents.paint.pdf import pages_pdf
from nutgen.documents.sheet.sheet import Sheet, StageSheet
from nutgen.documents.sheet.words import SIZES_READ
from nutgen.documents.texts import Run

TICK = 3.2
"""Side of the box before a stage [mm]."""

NOTES, APART = 120.0, 8.0
"""Height of the lines to write on at most, and between two of them [mm]."""


def sheet_pdf(words: Sheet, *, paper: str) -> bytes:
    """A sheet as a PDF file.

    paper   : "a4" or "letter"
    returns : the file, its drawing true to size; the same sheet and paper give the same bytes
    raises  : ValueError for another paper
    """
    *pages, last = printed(words.stamp, "", paper, lambda room: [(list(_groups(words, room)), 3.0)])
    return pages_pdf((*pages, _lined(last)), words.stamp)


def _groups(words: Sheet, room: float) -> Iterator[Group]:
    def kept(title: str, *blocks: Block) -> Group:
        return below(composed((Title(title, 2), *blocks), room, words.units), 1.0)

    stamp, half = words.stamp, -(-len(words.material.items) // 2)
    about = Paragraph(f"{words.about}. {stamp.spec_hash}, {stamp.program}", "note")
    yield from composed((Title(stamp.title), about, words.facts, words.findings), room, words.units)
    yield framed((Title("Before you start, take care", 3), *words.care), room, words.units)
    yield kept("Drawing, 1:1", *words.drawn)
    yield kept("Strings, bass to treble", *words.strings)
    yield kept("In the neck", *words.neck)
    left, right = Points(words.material.items[:half]), Points(words.material.items[half:])
    yield kept(f"Working {words.material_name}", Beside((left,), (right,)))
    intro = Paragraph(Run((SIZES_READ, "Tick a stage, and each size, when it is reached."), " "), "note")
    first, *others = (_stage(words, stage, room) for stage in words.stages)
    yield from (below([kept("Stages", intro), first], 3.0), *others)
    pairs = [Beside(left, right) for left, right in zip_longest(words.tools[::2], words.tools[1::2], fillvalue=())]
    yield kept("Tools, slot by slot", pairs[0])
    yield from composed(tuple(pairs[1:]), room, words.units)
    yield kept("Stop stacks", *words.stops)
    yield kept("At the dry fit", *words.readings)
    lines = [Group(0.0, (rule(f"notes-{number}", room, APART),)) for number in range(5)]
    yield below([kept("Notes"), *lines, Group(0.0, ())], APART)


def _stage(words: Sheet, stage: StageSheet, room: float) -> Group:
    name = f"{stage.number} {stage.name}"
    head = (
        rule(f"stage-{stage.number}", room, 0.0),
        box(f"stage-{stage.number}-tick", 0.0, 1.6, TICK, TICK),
        Words(TICK + 2.0, 1.6 + 0.85 * TICK, name, 1.1 * HEAD, bold=True),
    )
    told = composed((Beside((*stage.do, *stage.back), stage.sizes),), room, words.units)
    return below([Group(TICK + 2.4, head), *told], 0.6)


def _lined(page: Page) -> Page:
    """The last page, its lines to write on carried on to its foot."""
    lines = [item for item in page.items if getattr(item, "name", "").startswith("rule-notes")]
    top, y = min(line.y for line in lines) - APART, max(line.y for line in lines)
    foot = min(page.height - MARGIN - 3.0 * SMALL, top + NOTES)
    more = (replace(lines[0], y=y + APART * number) for number in range(1, int((foot - y) / APART) + 1))
    return replace(page, items=(*page.items, *more))
