"""What stands on every page: a foot; on those that are printed true to size title and check bars too."""

from collections.abc import Callable, Sequence

from nutgen.documents.font import printable
from nutgen.documents.lettering import Words
from nutgen.documents.paint.look import BODY, GAP, GREY, HEAD, MARGIN, SMALL, THIRD, TITLE, paper_size
from nutgen.documents.paint.page import Group, Item, Linework, Page, rule, stacked, wrapped
from nutgen.documents.words.quantities import MM_PER_INCH
from nutgen.formats.stamp import Stamp
from nutgen.geometry.lines import Chain, Line


def printed(
    stamp: Stamp, subtitle: str, paper: str, sheaves: Callable[[float], Sequence[tuple[Sequence[Group], float]]]
) -> tuple[Page, ...]:
    """Pages with a head and a foot each.

    subtitle : what the pages are; without one they have no head
    paper    : "a4" or "letter"; ValueError for another
    sheaves  : from the width between the margins to groups that begin on a new page, each with the gap between them
    """
    wide, high = paper_size(paper)
    room, foot_at = wide - 2.0 * MARGIN, high - 2.0 * MARGIN
    head = heading(stamp, subtitle, room) if subtitle else Group(-GAP, ())
    top, bottom = head.height + GAP, foot_at - 2.0 * SMALL
    sheets = [s for groups, gap in sheaves(room) for s in stacked(groups, top=top, bottom=bottom, gap=gap)]
    pages = []
    for number, items in enumerate(sheets, start=1):
        shown = (*head.items, *items, *foot(stamp, room, foot_at, f"page {number} of {len(sheets)}"))
        pages.append(Page(wide, high, tuple(item.moved(MARGIN, MARGIN) for item in shown)))
    return tuple(pages)


def heading(stamp: Stamp, subtitle: str, room: float) -> Group:
    """Title, scale, and the bars that show whether the print is true.

    subtitle : what the page is, and its scale
    room     : width of the page between its margins [mm]
    """
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
    items.append(Words(0.0, y, subtitle, BODY))
    items.append(Words(room, y, f"{stamp.spec_hash} · {stamp.program}", BODY, align="right", shade=GREY))
    y += 2.0
    items.append(rule("head", room, y))
    y += 8.0
    items += [bar("bar-50-mm", 0.0, y, 50.0, 10.0), Words(0.0, y - 2.6, "50 mm", SMALL)]
    items += [
        bar("bar-2-in", THIRD / 2.0, y, 2.0 * MM_PER_INCH, MM_PER_INCH / 4.0),
        Words(THIRD / 2.0, y - 2.6, "2 in", SMALL),
    ]
    items.append(Words(THIRD, y - 2.0, "Print at 100 %, no fitting.", HEAD, bold=True))
    items.append(Words(THIRD, y + 1.9, "Measure both bars before you cut.", BODY))
    return Group(y + 3.0, tuple(items))


def foot(stamp: Stamp, room: float, y: float, page: str) -> list[Item]:
    """What the page came from, and which page it is."""
    line, typeface, _ = printable(stamp.line)
    first = wrapped(line, SMALL, room - 25.0, typeface=typeface)[0]
    return [
        Words(0.0, y, first, SMALL, shade=GREY, typeface=typeface),
        Words(room, y, page, SMALL, align="right", shade=GREY),
    ]


def bar(name: str, x: float, y: float, length: float, step: float) -> Linework:
    """A bar of a length, between two long ticks, with a short tick at every step."""
    count = round(length / step)
    ticks = [Line((length * i / count, -0.7), (length * i / count, 0.7)) for i in range(1, count)]
    ends = [Line((end, -1.6), (end, 1.6)) for end in (0.0, length)]
    lines = [Line((0.0, 0.0), (length, 0.0)), *ends, *ticks]
    return Linework(name, x, y, tuple(Chain("check-bar", (line,)) for line in lines))
