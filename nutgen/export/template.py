"""The paper template, page by page: one layout, which PDF and SVG both paint."""

from functools import lru_cache

from nutgen.export.font import printable
from nutgen.export.page import (
    BODY,
    GAP,
    GREY,
    HEAD,
    MARGIN,
    SMALL,
    THIRD,
    TITLE,
    Block,
    Figure,
    Item,
    Page,
    Words,
    rule,
    stacked,
    wrapped,
)
from nutgen.export.papers import paper_size
from nutgen.export.stamp import Stamp
from nutgen.export.template_figures import spare_views, views
from nutgen.export.template_words import notes, sizes, table
from nutgen.model.drawing import draw
from nutgen.model.lines import Chain, Line
from nutgen.nut.part import Nut

INCH = 25.4


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
    head = _heading(nut, stamp, room)
    blocks = [*views(nut, drawing, room), table(nut, room), sizes(nut, room), notes(room)]
    blocks += spare_views(drawing, room)
    sheets = stacked(blocks, top=head.height + GAP, bottom=high - 2.0 * MARGIN - 2.0 * SMALL, gap=GAP)
    pages = []
    for number, items in enumerate(sheets, start=1):
        foot = _foot(stamp, room, high - 2.0 * MARGIN, f"page {number} of {len(sheets)}")
        pages.append(Page(wide, high, tuple(item.moved(MARGIN, MARGIN) for item in (*head.items, *items, *foot))))
    return tuple(pages)


def _heading(nut: Nut, stamp: Stamp, room: float) -> Block:
    """Title, scale, and the bars that show whether the print is true."""
    title, typeface, mark = printable(stamp.title)
    items: list[Item] = []
    y = 0.0
    for line in wrapped(title, TITLE, room, bold=True, typeface=typeface):
        y += TITLE * 1.1
        items.append(Words(0.0, y, line, TITLE, bold=True, typeface=typeface))
    if mark:
        y += SMALL * 1.6
        words = f"{mark}: the typeface lacks this letter; the file's properties give the title in full."
        items.append(Words(0.0, y, words, SMALL, shade=GREY, typeface=typeface))
    y += BODY * 1.9
    items.append(Words(0.0, y, f"Nut template, scale 1:1, final sizes, strung {nut.strung}-handed", BODY))
    items.append(Words(room, y, f"{stamp.spec_hash} · {stamp.program}", BODY, align="right", shade=GREY))
    y += 2.0
    items.append(rule("head", room, y))
    y += 8.0
    items += [_bar("bar-50-mm", 0.0, y, 50.0, 10.0), Words(0.0, y - 2.6, "50 mm", SMALL)]
    items += [_bar("bar-2-in", THIRD / 2.0, y, 2.0 * INCH, INCH / 4.0), Words(THIRD / 2.0, y - 2.6, "2 in", SMALL)]
    items.append(Words(THIRD, y - 2.0, "Print at 100 %, no fitting.", HEAD, bold=True))
    items.append(Words(THIRD, y + 1.9, "Measure both bars before you cut.", BODY))
    return Block(y + 3.0, tuple(items))


def _foot(stamp: Stamp, room: float, y: float, page: str) -> list[Item]:
    line, typeface, _ = printable(stamp.line)
    first = wrapped(line, SMALL, room - 25.0, typeface=typeface)[0]
    return [
        Words(0.0, y, first, SMALL, shade=GREY, typeface=typeface),
        Words(room, y, page, SMALL, align="right", shade=GREY),
    ]


def _bar(name: str, x: float, y: float, length: float, step: float) -> Figure:
    """A bar of a length, between two long ticks, with a short tick at every step."""
    count = round(length / step)
    ticks = [Line((length * i / count, -0.7), (length * i / count, 0.7)) for i in range(1, count)]
    ends = [Line((end, -1.6), (end, 1.6)) for end in (0.0, length)]
    lines = [Line((0.0, 0.0), (length, 0.0)), *ends, *ticks]
    return Figure(name, x, y, tuple(Chain("check-bar", (line,)) for line in lines))
