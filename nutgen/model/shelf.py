"""The shelves of a nut setback in the three views, from the numbers of `nut.shelves`.

front: sides and undersides      plan: a staircase        end: around the farthest

      | |   |  |                 .------------.               .--------
      '-'   '--'                 '-.__.--.__.-'            .__|
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from nutgen.geometry.lines import HAIR, Arc, Line, Part, Point
from nutgen.nut.part import Nut
from nutgen.nut.shelf import Shelf

Span = tuple[float, float]


def plan_corners(nut: Nut, back: float) -> list[Point]:
    """The nut from above, from its shelves' fronts to a plane behind, counterclockwise from the left end."""
    steps = nut.steps
    inner = [(x, step.front) for step in steps for x in (step.left, step.right)][1:-1]
    (first, last), (behind, beyond) = (steps[0].front, steps[-1].front), nut.reach_of(back)
    return [(nut.end_x(-1, first), first), *inner, (nut.end_x(1, last), last), (beyond, back), (behind, back)]


def shelf_edges(nut: Nut, upper: Sequence[Part]) -> Iterator[tuple[Part, ...]]:
    """Edges of the shelves seen from the bridge: sides and undersides of each row, then the steps in it.

    upper : the front outline's top with slots cut, left to right, where the sides end
    """
    for row in _rows(nut):
        left, right = max(row[0].left, nut.left.x), min(row[-1].right, nut.right.x)
        chain: list[Part] = []
        if left > nut.left.x:
            chain.append(Line((left, up_at(upper, left)), (left, _under(nut, left))))
        chain.append(underside_of_shelf(nut, left, right))
        if right < nut.right.x:
            chain.append(Line(chain[-1].end, (right, up_at(upper, right))))
        yield tuple(chain)
        for step in row[1:]:
            yield (Line((step.left, _under(nut, step.left)), (step.left, up_at(upper, step.left))),)


def underside_of_shelf(nut: Nut, left: float, right: float) -> Part:
    """The shelves' underside from one place across to another."""
    start, end = (left, _under(nut, left)), (right, _under(nut, right))
    if math.isinf(nut.board_radius):
        return Line(start, end)
    return Arc(start, end, (0.0, -nut.board_radius), -1)


def between(chain: Sequence[Part], left: float, right: float) -> list[Part]:
    """The part of a chain from one place across to another; vertical lines within it are kept."""
    found: list[Part] = []
    for part in chain:
        a, b = max(part.start[0], left), min(part.end[0], right)
        if b - a > HAIR:
            found.append(part.between(a, b))
        elif part.end[0] - part.start[0] <= HAIR and left < part.start[0] < right:
            found.append(part)
    return found


def up_at(chain: Sequence[Part], across: float) -> float:
    """Height of a chain that runs left to right, at a place across; beyond it, that of its end [mm]."""
    across = min(max(across, chain[0].start[0]), chain[-1].end[0])
    there = [part for part in chain if part.end[0] - part.start[0] > HAIR]
    there = [part for part in there if part.start[0] - HAIR <= across <= part.end[0] + HAIR]
    return min(part.up_at(min(max(across, part.start[0]), part.end[0])) for part in there)


def end_contour(nut: Nut, top: Sequence[Part], lowest: float, roof: float) -> list[Point]:
    """The end view's front from its foot to the roof's beginning, around the shelves.

    top          : of the section at the front face, left to right
    lowest, roof : heights that the front face reaches from, and to, in that view [mm]
    """
    standing = nut.standing
    below: list[Point] = [(0.0, lowest)]
    above: list[Point] = [(0.0, roof)]
    behind = 0.0
    for front in sorted({shelf.front for shelf in standing}, reverse=True):
        boxes = [_box(nut, top, shelf) for shelf in standing if shelf.front <= front]
        bottom, ceiling = min(low for low, _ in boxes), max(high for _, high in boxes)
        below += [(behind, bottom), (front, bottom)]
        above += [(behind, ceiling), (front, ceiling)]
        behind = front
    corners = [*below, *reversed(above)]
    return [corner for i, corner in enumerate(corners) if i == 0 or math.dist(corner, corners[i - 1]) > HAIR]


def end_edges(nut: Nut, top: Sequence[Part]) -> Iterator[Line]:
    """Sides of shelves that face the +x end, as far as no nearer shelf stands before them."""
    steps = nut.steps
    for i in range(len(steps) - 1, -1, -1):
        step, beside = steps[i], steps[i + 1].front if i + 1 < len(steps) else 0.0
        if step.front >= beside:
            continue
        low, high = _under(nut, step.right), up_at(top, step.right)
        nearer = [(one.front, _box(nut, top, one)) for one in steps[i + 1 :] if one.front < 0.0]
        hidden = [box for front, box in nearer if front <= step.front]
        for a, b in _without((low, high), hidden):
            yield Line((step.front, a), (step.front, b))
        for z in (low, high):
            over = [(front, 0.0) for front, (bottom, ceiling) in nearer if bottom - HAIR <= z <= ceiling + HAIR]
            for a, b in _without((step.front, beside), over):
                yield Line((a, z), (b, z))


def _rows(nut: Nut) -> Iterator[list[Shelf]]:
    """Shelves that touch, together."""
    row: list[Shelf] = []
    for shelf in nut.standing:
        if row and shelf.left > row[-1].right:
            yield row
            row = []
        row.append(shelf)
    if row:
        yield row


def _under(nut: Nut, x: float) -> float:
    return float(nut.shelves.under(x))


def _box(nut: Nut, top: Sequence[Part], shelf: Shelf) -> Span:
    """Least and greatest height of a shelf before its slots [mm]."""
    boxes = [part.box for part in between(top, shelf.left, shelf.right)]
    return min(_under(nut, shelf.left), _under(nut, shelf.right)), max(box[3] for box in boxes)


def _without(span: Span, hidden: Sequence[Span]) -> list[Span]:
    """What is left of a stretch where others are taken out."""
    left = [span]
    for low, high in hidden:
        left = [piece for a, b in left for piece in ((a, min(b, low)), (max(a, high), b)) if piece[1] - piece[0] > HAIR]
    return left


def joined_lines(corners: Sequence[Point]) -> tuple[Line, ...]:
    """Lines from corner to corner."""
    return tuple(Line(a, b) for a, b in pairwise(corners))
