"""Strips cut to the width of the page, and lines of the skin as they lie on them."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from nutgen.stock.piece import Array
from nutgen.stock.sections import Plane, square_to_straightedge
from nutgen.stock.unroll import Strip

DENSE = 1.0
"""Between points of a line that is laid on paper, at most [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class StripPart:
    """What lies between two rulings of a strip, turned until it is level; zero at its far left corner of the box.

    strip       : of which it is a part
    first, last : the rulings
    turn, shift : (2, 2) and (2,), from the strip's paper to this part's [mm]
    """

    strip: Strip
    first: int
    last: int
    turn: Array
    shift: Array

    @property
    def near_edge(self) -> Array:
        """Of the paper, toward the first end: (k, 2) [mm]."""
        return self._placed(self.strip.on_paper[0, self.first : self.last + 1])

    @property
    def far_edge(self) -> Array:
        """Of the paper, toward the last end: (k, 2) [mm]."""
        return self._placed(self.strip.on_paper[1, self.first : self.last + 1])

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the paper, without a tab [mm]."""
        corners = np.vstack([self.near_edge, self.far_edge])
        wide, high = np.ptp(corners, axis=0)
        return float(wide), float(high)

    def lines(self, points: Array) -> list[Array]:
        """A line on the skin as it comes to lie on this part, cut where the part ends: (n, 2) each [mm].

        points : (n, 3) in the piece's frame, in order [mm]
        """
        edges = square_to_straightedge(self.strip.near), square_to_straightedge(self.strip.far).turned_over()
        return [line for run in clipped(points, edges) for line in self._run(run)]

    def _run(self, points: Array) -> list[Array]:
        points = dense(points)
        way, around, over = _ways(self.strip)
        places, rulings = self.strip.to_paper(points)
        ways = np.interp(rulings, np.arange(len(way)), way)
        low, high = float(way[self.first]), float(way[self.last])
        lines: list[list[Array]] = [[]]
        for (here, w), (there, v) in pairwise(zip(places, ways, strict=True)):
            pieces = [(here, w, there, v)]
            if v - w > around / 2.0:
                pieces = [(here, w, _back(there, over), v - around), (_on(here, over), w + around, there, v)]
            elif w - v > around / 2.0:
                pieces = [(here, w, _on(there, over), v + around), (_back(here, over), w - around, there, v)]
            for a, start, b, stop in pieces:
                cut = _between(a, start, b, stop, low, high)
                if cut is None:
                    continue
                if not lines[-1] or np.abs(lines[-1][-1] - cut[0]).max() > 1e-6:
                    lines.append([cut[0]])
                lines[-1].append(cut[1])
        lines = [line for line in lines if len(line) > 1]
        if len(lines) > 1 and np.abs(lines[0][0] - lines[-1][-1]).max() < 1e-6:  # a ring that began half way
            lines = [[*lines[-1], *lines[0][1:]], *lines[1:-1]]
        return [self._placed(np.array(line)) for line in lines]

    def _placed(self, paper: Array) -> Array:
        return paper @ self.turn + self.shift


def parts(strip: Strip, widest: float) -> tuple[StripPart, ...]:
    """The strip in as few parts as are no wider than the page's room [mm]."""
    way, around, _ = _ways(strip)
    count = max(1, int(np.ceil(around / widest)))
    while True:
        edges = np.abs(way[None] - np.linspace(0.0, around, count + 1)[:, None]).argmin(axis=1)
        found = tuple(_part(strip, int(a), int(b)) for a, b in pairwise(edges))
        if max(part.size[0] for part in found) <= widest or count >= 12:
            return found
        count += 1


def dense(points: Array) -> Array:
    """A line with points in between, so that none is farther than `DENSE` from the next: (n, 3)."""
    rows = [points[:1]]
    for here, there in pairwise(points):
        count = max(1, int(np.ceil(np.linalg.norm(there - here) / DENSE)))
        rows.append(here + (there - here) * (np.arange(1, count + 1) / count)[:, None])
    return np.vstack(rows)


def clipped(points: Array, bounds: tuple[Plane, ...]) -> list[Array]:
    """The stretches of a line below all planes: (n, 3) each [mm].

    Source: Y.-D. Liang and B. A. Barsky, A new concept and method for line clipping, ACM TOG 3 (1984).
    """
    above = np.array([plane.above(points) for plane in bounds])
    lines: list[list[Array]] = [[]]
    for k, (here, there) in enumerate(pairwise(points)):
        start, stop = 0.0, 1.0
        for a, b in above[:, k : k + 2]:
            if a > 0.0 and b > 0.0:
                start = 2.0
            elif a > 0.0 >= b:
                start = max(start, a / (a - b))
            elif b > 0.0 >= a:
                stop = min(stop, a / (a - b))
        if start >= stop:
            continue
        first = here + start * (there - here)
        if not lines[-1] or np.abs(lines[-1][-1] - first).max() > 1e-9:
            lines.append([first])
        lines[-1].append(here + stop * (there - here))
    return [np.array(line) for line in lines if len(line) > 1]


def _part(strip: Strip, first: int, last: int) -> StripPart:
    ends = strip.on_paper[:, [first, last]].mean(axis=0)
    x, y = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    turn = np.array([[x, -y], [y, x]])
    corners = strip.on_paper[:, first : last + 1].reshape(-1, 2) @ turn
    return StripPart(strip, first, last, turn, -corners.min(axis=0))


def _ways(strip: Strip) -> tuple[Array, float, tuple[Array, Array]]:
    """How far round each ruling is, half way between the edges [mm]; the whole; and the motion once around."""
    middle = strip.on_piece.mean(axis=0)
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(middle, axis=0), axis=1))])
    start, end = strip.on_paper[:, 0], strip.on_paper[:, -1]
    (a, b), (c, d) = start[0] - start[1], end[0] - end[1]
    cos, sin = (a * c + b * d) / (a * a + b * b), (a * d - b * c) / (a * a + b * b)
    turn = np.array([[cos, sin], [-sin, cos]])
    return way, float(way[-1]), (turn, end[0] - start[0] @ turn)


def _on(place: Array, over: tuple[Array, Array]) -> Array:
    """A place of the paper as it would be once around the piece."""
    return place @ over[0] + over[1]


def _back(place: Array, over: tuple[Array, Array]) -> Array:
    return (place - over[1]) @ over[0].T


def _between(a: Array, start: float, b: Array, stop: float, low: float, high: float) -> tuple[Array, Array] | None:
    """The part of a short line whose way round lies between two."""
    if start == stop:
        return (a, b) if low <= start <= high else None
    shares = sorted(((low - start) / (stop - start), (high - start) / (stop - start)))
    first, last = max(0.0, shares[0]), min(1.0, shares[1])
    return (a + first * (b - a), a + last * (b - a)) if first < last else None
