"""Strips cut to the width of the page, and lines of the skin as they lie on them."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from nutgen.geometry.mesh import Array
from nutgen.geometry.runs import runs
from nutgen.geometry.slices import Plane
from nutgen.stock.cut.unroll import Strip
from nutgen.stock.piece import square_to_straightedge

Ways = tuple[Array, float, tuple[Array, Array]]
"""How far round each ruling of a strip is, half way between its edges [mm]; the whole; and the motion once around."""

DENSE = 1.0
"""Between points of a line that is laid on paper, at most [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class StripPart:
    """What lies between two rulings of a strip, turned until it is level; zero at its far left corner of the box.

    strip       : of which it is a part
    ways        : around that strip
    first, last : the rulings
    turn, shift : (2, 2) and (2,), from the strip's paper to this part's [mm]
    """

    strip: Strip
    ways: "Ways"
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

    def lines(self, lines: Sequence[Array]) -> list[Array]:
        """Lines on the skin as they come to lie on this part, cut where the part ends: (n, 2) each [mm].

        lines : (n, 3) each in the piece's frame, in order [mm]
        """
        edges = square_to_straightedge(self.strip.near), square_to_straightedge(self.strip.far).turned_over()
        runs = [dense(run) for run in clipped(lines, edges)]
        if not runs:
            return []
        places, rulings = self.strip.to_paper(np.vstack(runs))
        ends = np.cumsum([len(run) for run in runs])[:-1]
        pairs = zip(np.split(places, ends), np.split(rulings, ends), strict=True)
        return [line for run in pairs for line in self._run(*run)]

    def _run(self, places: Array, rulings: Array) -> list[Array]:
        """A line on the paper, part by part where it leaves this one and comes back.

        places  : (n, 2) on the strip's paper [mm]
        rulings : (n,) as `Strip.to_paper` says
        """
        way, around, over = self.ways
        ways = np.interp(rulings, np.arange(len(way)), way)
        low, high = float(way[self.first]), float(way[self.last])
        if np.abs(np.diff(ways)).max() <= around / 2.0 and low <= ways.min() and ways.max() <= high:
            return [self._placed(places)]
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
    ways = _ways(strip)
    way, around, _ = ways
    count = max(1, int(np.ceil(around / widest)))
    while True:
        edges = np.abs(way[None] - np.linspace(0.0, around, count + 1)[:, None]).argmin(axis=1)
        found = tuple(_part(strip, ways, int(a), int(b)) for a, b in pairwise(edges))
        if max(part.size[0] for part in found) <= widest or count >= 12:
            return found
        count += 1


def dense(points: Array) -> Array:
    """A line with points in between, so that none is farther than `DENSE` from the next: (n, 3)."""
    steps = np.diff(points, axis=0)
    counts = np.maximum(1, np.ceil(np.linalg.norm(steps, axis=1) / DENSE)).astype(int)
    side, number = runs(counts)
    return np.vstack([points[:1], points[side] + steps[side] * ((number + 1) / counts[side])[:, None]])


def clipped(lines: Sequence[Array], bounds: tuple[Plane, ...]) -> list[Array]:
    """The stretches of lines below all planes, in order: (n, 3) each [mm].

    Source: Y.-D. Liang and B. A. Barsky, A new concept and method for line clipping, ACM TOG 3 (1984).
    """
    if not lines:
        return []
    points = np.vstack(lines)
    start, stop = np.zeros(len(points) - 1), np.ones(len(points) - 1)
    for plane in bounds:
        above = plane.above(points)
        here, there = above[:-1], above[1:]
        share = here / np.where((here > 0.0) == (there > 0.0), 1.0, here - there)
        start = np.where((here > 0.0) & (there <= 0.0), np.maximum(start, share), start)
        stop = np.where((here <= 0.0) & (there > 0.0), np.minimum(stop, share), stop)
        start[(here > 0.0) & (there > 0.0)] = 2.0
    ends = np.cumsum([len(line) for line in lines])
    start[ends[:-1] - 1] = 2.0  # from one line to the next there is nothing
    sides = np.flatnonzero(start < stop)
    if not len(sides):
        return []
    steps = np.diff(points, axis=0)[sides]
    first, last = (points[sides] + share[sides, None] * steps for share in (start, stop))
    of_line = np.searchsorted(ends, sides, side="right")
    parted = (np.abs(first[1:] - last[:-1]).max(axis=1) > 1e-9) | (of_line[1:] != of_line[:-1])
    breaks = np.flatnonzero(parted) + 1
    return [
        np.vstack([starts[:1], stops])
        for starts, stops in zip(np.split(first, breaks), np.split(last, breaks), strict=True)
    ]


def _part(strip: Strip, ways: Ways, first: int, last: int) -> StripPart:
    ends = strip.on_paper[:, [first, last]].mean(axis=0)
    x, y = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    turn = np.array([[x, -y], [y, x]])
    corners = strip.on_paper[:, first : last + 1].reshape(-1, 2) @ turn
    return StripPart(strip, ways, first, last, turn, -corners.min(axis=0))


def _ways(strip: Strip) -> Ways:
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
