"""The paper template, page by page: one layout, which PDF and SVG both paint."""

from functools import lru_cache

from nutgen.documents.paint.heading import foot, heading
from nutgen.documents.paint.page import GAP, MARGIN, SMALL, Page, stacked
from nutgen.documents.paint.papers import paper_size
from nutgen.documents.template.figures import spare_views, views
from nutgen.documents.template.words import notes, sizes, table
from nutgen.formats.stamp import Stamp
from nutgen.model.drawing import draw
from nutgen.nut.part import Nut


@lru_cache(maxsize=4)  # PDF and SVG show the same pages
def template_pages(nut: Nut, stamp: Stamp, *, paper: str) -> tuple[Page, ...]:
    """Lay out the template of a nut.

    nut     : as solved; it is drawn at its final sizes
    stamp   : stands on every page
    paper   : "a4" or "letter"
    returns : pages, every drawing on them at 1:1
    raises  : ValueError for another paper, CannotBeMade where the front face falls apart
    """
    wide, high = paper_size(paper)
    room = wide - 2.0 * MARGIN
    drawing = draw(nut)
    head = heading(stamp, f"Nut template, scale 1:1, final sizes, strung {nut.strung}-handed", room)
    blocks = [*views(nut, drawing, room), table(nut, room), sizes(nut, room), notes(room)]
    blocks += spare_views(drawing, room)
    sheets = stacked(blocks, top=head.height + GAP, bottom=high - 2.0 * MARGIN - 2.0 * SMALL, gap=GAP)
    pages = []
    for number, items in enumerate(sheets, start=1):
        last = foot(stamp, room, high - 2.0 * MARGIN, f"page {number} of {len(sheets)}")
        pages.append(Page(wide, high, tuple(item.moved(MARGIN, MARGIN) for item in (*head.items, *items, *last))))
    return tuple(pages)
