"""Lines and labels that the drawings of a cut plan share."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from nutgen.documents.lettering import Words
from nutgen.documents.paint.look import SMALL
from nutgen.geometry.lines import HAIR, Box, Chain, Line, Point, polygon
from nutgen.geometry.runs import runs
from nutgen.theory import Array

Spot = Point | Array
"""A place on the paper, (2,) [mm]."""

FINEST = 0.08
"""Points of a line on paper are no closer than this, but at its ends [mm]."""

AIR = 0.5
"""Around a label [mm]."""

SMALLER = 0.8
"""Type of a label that finds no room at its size."""


def open_lines(layer: str, *lines: Array) -> list[Chain]:
    """Lines through points (n, 2) each, but for those that have no length."""
    thin = [_thinned(points) for points in lines]
    return [Chain(layer, tuple(Line(a, b) for a, b in pairwise(one))) for one in thin if len(one) > 1]


def closed_line(layer: str, points: Array) -> Chain:
    """A contour through points (n, 2), at least three."""
    thin = _thinned(points)
    if len(thin) > 3 and np.hypot(thin[-1][0] - thin[0][0], thin[-1][1] - thin[0][1]) < FINEST:
        thin = thin[:-1]
    return Chain(layer, polygon(thin))


def segment(layer: str, start: Spot, end: Spot) -> Chain:
    """A straight line."""
    return Chain(layer, (Line((float(start[0]), float(start[1])), (float(end[0]), float(end[1]))),))


def distinct(chains: Sequence[Chain]) -> tuple[Chain, ...]:
    """Each line once, none without length: blocks behind one another show one outline, cuts that meet one stroke."""
    return tuple(dict.fromkeys(chain for chain in chains if any(part.length > HAIR for part in chain.parts)))


def _thinned(points: Array) -> list[Point]:
    kept = [points[0]]
    for point in points[1:-1]:
        if float(np.abs(point - kept[-1]).max()) >= FINEST:
            kept.append(point)
    if len(points) > 1 and float(np.abs(points[-1] - kept[-1]).max()) > HAIR:
        kept.append(points[-1])
    return [(float(x), float(y)) for x, y in kept]


class Room:
    """Where there is still room for a label; frames run up, as figures do."""

    def __init__(self, chains: Sequence[Chain], *, within: Array | None = None) -> None:
        """within : contour that labels must stay in, (n, 2) [mm]."""
        self._points = _sampled(chains)
        self._taken: list[Box] = []
        self._within = within

    def clear(self, box: Box) -> bool:
        """Whether no line and no label is in a box."""
        left, low, right, high = box[0] - AIR, box[1] - AIR, box[2] + AIR, box[3] + AIR
        x, y = self._points.T
        if bool(((x > left) & (x < right) & (y > low) & (y < high)).any()):
            return False
        corners = ((left, low), (right, low), (right, high), (left, high))
        if self._within is not None and not all(_inside(corner, self._within) for corner in corners):
            return False
        return all(right < b[0] or b[2] < left or high < b[1] or b[3] < low for b in self._taken)

    def crosses_a_label(self, start: Spot, end: Spot) -> bool:
        """Whether a straight line goes through words that stand already."""
        places = np.linspace(start, end, 40)
        inside = ((places > np.array(b[:2]) - AIR) & (places < np.array(b[2:]) + AIR) for b in self._taken)
        return any(bool(both.all(axis=1).any()) for both in inside)

    def place(self, text: str, spots: Sequence[Spot], *, size: float = SMALL, bold: bool = False) -> Words:
        """The words at the first of the spots that is clear, if need be in smaller type; else at the first.

        spots   : each is the middle of the words [mm]
        returns : x, y in the frame that runs up; see `on_page`
        """
        found = self.placed(text, spots, size=size, bold=bold)
        found = found or self.placed(text, spots, size=SMALLER * size, bold=bold)
        if found is None:
            found = _middled(text, spots[0], size, bold)
            self._taken.append(found.box_up)
        return found

    def placed(self, text: str, spots: Sequence[Spot], *, size: float = SMALL, bold: bool = False) -> Words | None:
        """The same, or nothing where no spot is clear."""
        for spot in spots:
            words = _middled(text, spot, size, bold)
            if self.clear(words.box_up):
                self._taken.append(words.box_up)
                return words
        return None


def _inside(point: Point, contour: Array) -> bool:
    """Whether a point lies in a contour: a ray from it crosses the contour an odd number of times."""
    x, y = contour.T
    next_x, next_y = np.roll(x, -1), np.roll(y, -1)
    passes = (y > point[1]) != (next_y > point[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = x + (point[1] - y) / (next_y - y) * (next_x - x)
    return bool(np.count_nonzero(passes & (at > point[0])) % 2)


def _middled(text: str, spot: Spot, size: float, bold: bool) -> Words:
    x, y = float(spot[0]), float(spot[1])
    return Words(x, y - (0.76 - 0.24) * size / 2.0, text, size, bold=bold, align="centre")


def _sampled(chains: Sequence[Chain]) -> Array:
    """Points along chains, close enough that none slips between the letters: (n, 2)."""
    ends = np.array([(*part.start, *part.end) for chain in chains for part in chain.parts]).reshape(-1, 4)
    lengths = np.array([part.length for chain in chains for part in chain.parts])
    counts = np.maximum(2, (lengths / 0.4).astype(int) + 2)
    part, number = runs(counts)
    share = (number / (counts[part] - 1))[:, None]
    return ends[part, :2] * (1.0 - share) + ends[part, 2:] * share


def hatched(keep: tuple[Array, Array], kerf: float, outward: Array) -> list[Chain]:
    """The kerf beyond a straight line: its far side, and oblique strokes between.

    keep    : ends of the line to keep, (2,) each [mm]
    outward : (2,) unit vector to the waste side
    """
    start, end = keep
    long = float(np.linalg.norm(end - start))
    if long < 1e-6:
        return []
    way = (end - start) / long
    lines = [segment("kerf", start + kerf * outward, end + kerf * outward)]
    for at in np.arange(0.6, long - kerf, 1.4):
        lines.append(segment("kerf", start + way * at, start + way * (at + kerf) + kerf * outward))
    return lines
