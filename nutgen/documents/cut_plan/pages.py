"""The cut plan of a piece, page by page: one layout, which PDF and SVG both paint.

First the answer, the whole piece and the steps; then strips and end views at 1:1, to glue on the piece.
"""

from collections.abc import Sequence

from nutgen.documents.blocks import Beside, Document
from nutgen.documents.cut_plan.blocks import LEGEND, answer_blocks, caution_blocks, step_blocks
from nutgen.documents.cut_plan.ends import end_blocks
from nutgen.documents.cut_plan.strips import strip_blocks
from nutgen.documents.cut_plan.tables import mark_tables, sand_table
from nutgen.documents.cut_plan.whole import column_of, whole_piece
from nutgen.documents.paint.compose import below, beside, composed, fits
from nutgen.documents.paint.heading import printed
from nutgen.documents.paint.look import GAP
from nutgen.documents.paint.page import Group, Item, Page
from nutgen.documents.paint.svg import page_svg
from nutgen.documents.words.quantities import Units
from nutgen.formats.stamp import Stamp
from nutgen.stock.cut.cuts import CutPlan
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece

FULL = 105.0
"""Tables beside the views may be this high in all; longer ones go below, page by page [mm]."""


def cut_plan_svg(pages: Sequence[Page], stamp: Stamp) -> bytes:
    """The pages of a cut plan as one SVG file, below each other."""
    items: list[Item] = []
    for number, page in enumerate(pages):
        items += [item.moved(0.0, number * page.height) for item in page.items]
    pile = Page(pages[0].width, pages[0].height * len(pages), tuple(items))
    return page_svg(pile, stamp, about="cut plan; strips and end views at 1:1")


def cut_plan_pages(
    piece: Piece, answer: Answer, plan: CutPlan, stamp: Stamp, *, nut_title: str, paper: str, units: Units = "mm"
) -> tuple[Page, ...]:
    """Lay the cut plan out, strips and end views at 1:1.

    stamp     : title, hash and version stand on every page
    nut_title : of the instrument
    paper     : "a4" or "letter"
    units     : of the reader
    raises    : ValueError for another paper
    """

    def sheaves(room: float) -> Sequence[tuple[Sequence[Group], float]]:
        parts: tuple[Document, ...] = (
            (LEGEND,),
            *strip_blocks(piece, plan, room, units),
            *end_blocks(piece, plan, room),
        )
        told = [
            *composed(answer_blocks(piece, answer, nut_title), room, units),
            *_decided(piece, answer, plan, room, units),
            *composed(step_blocks(piece, answer, plan), room, units),
        ]
        return (told, 2.0), ([below(composed(part, room, units), 0.0) for part in parts], GAP)

    return printed(stamp, "Cut plan: strips and end views at scale 1:1, the whole piece reduced", paper, sheaves)


def _decided(piece: Piece, answer: Answer, plan: CutPlan, room: float, units: Units) -> list[Group]:
    """The whole piece with the tables of marks beside it as far as they go, then what to sand and the cautions."""
    column = column_of(piece, plan, room)
    wide = room - column - GAP
    right: list[Group] = []
    under: list[Group] = []
    for table in mark_tables(plan):
        narrow = below(composed(table, wide, units), 0.0) if fits(table, wide, units) else None
        if narrow and not under and below([*right, narrow], 3.0).height <= FULL:
            right.append(narrow)
        else:
            under += composed(table, room, units)
    views = whole_piece(piece, answer, plan, room, units)
    care = (Beside(sand_table(answer.block), caution_blocks(piece), 0.45),)
    return [beside(views, below(right, 3.0), column) if right else views, *composed(care, room, units), *under]
