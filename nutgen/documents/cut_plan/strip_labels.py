"""Where the labels of a strip go: on the paper, clear of its lines and of each other."""

import numpy as np

from nutgen.documents.cut_plan.lines import Room, segment
from nutgen.documents.font import width
from nutgen.documents.lettering import Words
from nutgen.documents.paint.look import GREY, SMALL
from nutgen.documents.paint.written import written
from nutgen.documents.texts import Cell
from nutgen.documents.words.quantities import Units
from nutgen.geometry.lines import Chain
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import Stretch
from nutgen.stock.cut.strip_parts import StripPart

TAB = 8.0
"""Width of the tab [mm]."""

_JOINTS = "ABCDEFGHJKLM"


def edge_labels(part: StripPart, stretch: Stretch, room: Room, units: Units) -> list[Words]:
    """Where the upper edge goes, on the paper itself: it is all that is left once it is cut out."""
    wide = part.size[0]
    edge = part.near_edge[np.lexsort(part.near_edge.T[::-1])]
    near = part.strip.near if part.strip.near >= 0.15 else 0.0
    tops = []  # of the paper around each place: its lowest, so that no letter stands over the edge
    for x in np.linspace(0.06, 0.94, 45) * wide:
        around = edge[np.abs(edge[:, 0] - x) < 10.0]
        tops.append((float(x), float(around[:, 1].min() if len(around) else edge[0, 1])))
    spots = [(x, top - down) for down in (2.2, 3.2, 6.5, 10.0, 14.0, 18.0, 22.0, 26.0) for x, top in tops]
    place = written(Cell(near, "stock"), units)
    edge_at = room.placed(f"edge at {place}", spots) or room.place(f"at {place}", spots)
    return [edge_at, room.place(f"stretch {stretch.number}", spots)]


def longest(chains: list[Chain]) -> list[Chain]:
    """The longest of some lines; none where there are none."""
    return [max(chains, key=lambda chain: sum(part.length for part in chain.parts))] if chains else []


def arrow_to_first_end(part: StripPart, room: Room) -> tuple[list[Chain], list[Words]]:
    """Toward the first end, with its words beside it where there is room for both."""
    wide, high = part.size
    text = "first end"
    long = width(text, SMALL)
    shares = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.15, 0.85, 0.08, 0.46, 0.54, 0.38, 0.62, 0.3, 0.7)
    shapes = ((7.0, long + 2.0), (4.0, long + 2.0), (7.0, 1.5), (4.0, 1.5))
    spots = [(s * wide, up * high, *shape) for shape in shapes for up in (0.5, 0.35, 0.65) for s in shares]
    clear = (s for s in spots if room.clear((s[0] - 1.5, s[1] - s[2], s[0] + s[3], s[1] + s[2])))
    x, y, half, reach = next(clear, spots[-1])
    lines = [
        segment("sizes", (x, y - half), (x, y + half)),
        segment("sizes", (x, y + half), (x - 1.2, y + half - 3.0)),
        segment("sizes", (x, y + half), (x + 1.2, y + half - 3.0)),
    ]
    words = Words(x + 1.6 + long / 2.0, y - half + 1.5, text, SMALL)
    return lines, [words] if reach > long else []


def rip_label(room: Room, number: int, chain: Chain) -> Words:
    """The name of a rip cut beside the upper end of its line, or above it; its number alone where room is scarce."""
    ends = (chain.parts[0].start, chain.parts[-1].end)
    x, top = max(ends, key=lambda end: end[1])
    above = [(x + aside, top + up) for up in (2.8, 3.6, 4.6) for aside in (0.0, 1.5, -1.5)]
    texts = (f"cut {number}", f"{number}")
    spots = {text: [*_beside(x, top, width(text, SMALL, bold=True) / 2.0), *above] for text in texts}
    found = (room.placed(text, spots[text], bold=True) for text in texts)
    return next((words for words in found if words), None) or room.place(texts[0], spots[texts[0]], bold=True)


def _beside(x: float, top: float, half: float) -> list[tuple[float, float]]:
    asides = [side * (half + away) for away in (1.4, 3.4) for side in (1.0, -1.0)]
    return [(x + aside, top - down) for down in (3.5, 8.0, 15.0, 22.0) for aside in asides]


def by_cross_cut(chain: Chain, cut: CrossCut) -> list[tuple[float, float]]:
    """Spots beside a cross cut's line, on the side that is kept, from the left on."""
    way = -1.0 if cut.toward == "first" else 1.0
    places = sorted([chain.parts[0].start, *(part.end for part in chain.parts)])
    picked = [places[round(share * (len(places) - 1))] for share in np.linspace(0.1, 0.9, 17)]
    return [(x, y + way * away) for away in (2.4, 3.4, 4.4, 6.5, 9.0, 12.0, 16.0) for x, y in picked]


def at_foot(chain: Chain) -> list[tuple[float, float]]:
    """Spots beside the lower end of a line that runs along the piece."""
    ends = (chain.parts[0].start, chain.parts[-1].end)
    x, foot = min(ends, key=lambda end: end[1])
    return [(x + aside, foot + up) for up in (2.0, 3.0, 12.0, 20.0) for aside in (6.5, -6.5, 4.5, -4.5)]


def joint_labels(part: StripPart, place: tuple[int, int], room: Room) -> list[Words]:
    """A letter at each joint; the same letter meets itself."""
    index, count = place
    labels = []
    for end, letter, way in ((0, _JOINTS[index - 1 if index else count - 1], 1.0), (-1, _JOINTS[index], -1.0)):
        top, foot = part.near_edge[end], part.far_edge[end]
        places = [(share, way * aside) for share in (0.5, 0.25, 0.75) for aside in (2.0, 3.0)]
        spots = [top + share * (foot - top) + (aside, 2.2) for share, aside in places]
        labels.append(room.place(letter, spots, bold=True))
    if count > 1 or index == 0:
        x, y = ((part.near_edge[-1] + part.far_edge[-1]) / 2.0).tolist()
        labels.append(Words(x + TAB / 2.0, y, "glue", SMALL, align="centre", shade=GREY))
    return labels
