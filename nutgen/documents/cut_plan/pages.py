"""The cut plan of a piece, page by page: one layout, which PDF and SVG both paint.

First the answer, the whole piece and the steps; then strips and end views at 1:1, to glue on the piece.
"""

from functools import lru_cache

from nutgen.documents.cut_plan.ends import end_blocks
from nutgen.documents.cut_plan.strips import strip_blocks
from nutgen.documents.cut_plan.whole import TABLE, column_of, whole_block
from nutgen.documents.cut_plan.words import (
    answer_block,
    below,
    beside,
    cautions_block,
    legend_block,
    listing_block,
    listing_blocks,
    step_blocks,
)
from nutgen.documents.paint.heading import foot, heading
from nutgen.documents.paint.page import GAP, MARGIN, SMALL, Group, Item, Page, stacked
from nutgen.documents.paint.papers import paper_size
from nutgen.documents.paint.pdf import pages_pdf
from nutgen.documents.paint.svg import page_svg
from nutgen.formats.stamp import Stamp
from nutgen.stock.cut.cuts import CutPlan, cut_plan
from nutgen.stock.cut.words import steps
from nutgen.stock.cut.work import marks, sand
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece

FULL = 105.0
"""Tables beside the views may be this high in all; longer ones go below, page by page [mm]."""

_ABOUT = "cut plan; strips and end views at 1:1, mm"


def cut_plan_pdf(piece: Piece, answer: Answer, stamp: Stamp, *, nut_title: str, paper: str) -> bytes:
    """The cut plan as a PDF file, strips and end views at 1:1.

    stamp     : title, hash and version stand on every page
    nut_title : of the instrument
    paper     : "a4" or "letter"
    returns   : the file; the same values give the same bytes
    raises    : ValueError for another paper, for an answer that is no, or where `cut_plan` refuses
    """
    return pages_pdf(cut_plan_pages(piece, answer, stamp, nut_title=nut_title, paper=paper), stamp)


def cut_plan_svg(piece: Piece, answer: Answer, stamp: Stamp, *, nut_title: str, paper: str) -> bytes:
    """The same pages as one SVG file, below each other; see `cut_plan_pdf`."""
    pages = cut_plan_pages(piece, answer, stamp, nut_title=nut_title, paper=paper)
    items: list[Item] = []
    for number, page in enumerate(pages):
        items += [item.moved(0.0, number * page.height) for item in page.items]
    pile = Page(pages[0].width, pages[0].height * len(pages), tuple(items))
    return page_svg(pile, stamp, about=_ABOUT)


@lru_cache(maxsize=2)  # PDF and SVG show the same pages
def cut_plan_pages(piece: Piece, answer: Answer, stamp: Stamp, *, nut_title: str, paper: str) -> tuple[Page, ...]:
    """Lay the plan out; see `cut_plan_pdf`."""
    wide, high = paper_size(paper)
    if not answer.fits:
        raise ValueError("the piece does not yield the nut: a plan to saw it would only waste it")
    room = wide - 2.0 * MARGIN
    plan = cut_plan(piece, answer)
    head = heading(stamp, "Cut plan: strips and end views at scale 1:1, the whole piece reduced", room)
    top, bottom = head.height + GAP, high - 2.0 * MARGIN - 2.0 * SMALL
    sheets = [
        *stacked(_first(piece, answer, plan, nut_title, room), top=top, bottom=bottom, gap=3.0),
        *stacked(
            [legend_block(room), *strip_blocks(piece, plan, room), *end_blocks(piece, plan, room)],
            top=top,
            bottom=bottom,
            gap=GAP,
        ),
    ]
    pages = []
    for number, items in enumerate(sheets, start=1):
        last = foot(stamp, room, high - 2.0 * MARGIN, f"page {number} of {len(sheets)}")
        shown = (*head.items, *items, *last)
        pages.append(Page(wide, high, tuple(item.moved(MARGIN, MARGIN) for item in shown)))
    return tuple(pages)


def _first(piece: Piece, answer: Answer, plan: CutPlan, nut_title: str, room: float) -> list[Group]:
    """What stands before the parts to cut out."""
    views, column = whole_block(piece, answer, plan, room), column_of(piece, plan, room)
    half = (room - GAP) * 0.45
    care = beside(listing_block(sand(answer.block), "table-sand", half), cautions_block(room - half - GAP), half)
    wide = room - column - GAP
    right: list[Group] = []
    under: list[Group] = []
    for number, listing in enumerate(marks(plan), start=1):
        narrow = listing_block(listing, f"table-{number}", wide) if wide >= TABLE else None
        if narrow and not under and below([*right, narrow], 3.0).height <= FULL:
            right.append(narrow)
        else:
            under += listing_blocks(listing, f"table-{number}", room)
    top = beside(views, below(right, 3.0), column) if right else views
    told = step_blocks(steps(piece, answer, plan), room)
    return [answer_block(piece, answer, nut_title, room), top, care, *under, *told]
