"""The lowest of several lines and arcs over a stretch: a top with slots cut into it."""

import math
from collections.abc import Sequence
from dataclasses import replace

from nutgen.geometry.lines import HAIR, Arc, Line, Part


def lowest(base: Sequence[Part], cuts: Sequence[Part]) -> tuple[Part, ...]:
    """Run along a base from left to right and dive into every cut that lies lower.

    Parameters
    ----------
    base : sequence of Part
        From left to right, each of them running left to right, touching.
    cuts : sequence of Part
        Running left to right; what is above a cut is taken away.

    Returns
    -------
    tuple of Part
        One chain from the base's first to its last place across, vertical lines where it jumps.

    Notes
    -----
    Every part is a function of the place across: a line that is not vertical, or an arc that stays in
    the upper or the lower half of its circle.
    """
    parts = [*base, *cuts]
    left, right = base[0].start[0], base[-1].end[0]
    places = {left, right}
    for index, part in enumerate(parts):
        places |= {part.start[0], part.end[0]}
        for other in parts[index + 1 :]:
            places |= set(_crossings(part, other))
    stretches: list[tuple[Part, float, float]] = []
    cursor = left
    for place in sorted(place for place in places if left < place <= right):
        if place - cursor < HAIR:
            if stretches and place == right:
                stretches[-1] = *stretches[-1][:2], place
            continue
        part = _lowest_at(parts, (cursor + place) / 2.0)
        if stretches and stretches[-1][0] is part:
            stretches[-1] = part, stretches[-1][1], place
        else:
            stretches.append((part, cursor, place))
        cursor = place
    return _chained(stretches)


def _crossings(a: Part, b: Part) -> list[float]:
    """Places across where two parts meet [mm]."""
    left, right = max(a.start[0], b.start[0]), min(a.end[0], b.end[0])
    if right - left < HAIR:
        return []
    return [x for x in _meets(a, b) if left <= x <= right and abs(a.up_at(x) - b.up_at(x)) < 1e-7]


def _lowest_at(parts: Sequence[Part], across: float) -> Part:
    there = [part for part in parts if part.start[0] <= across <= part.end[0]]
    return min(there, key=lambda part: part.up_at(across))


def _chained(stretches: Sequence[tuple[Part, float, float]]) -> tuple[Part, ...]:
    chain: list[Part] = []
    for part, left, right in stretches:
        piece = part.between(left, right)
        if chain and abs(chain[-1].end[1] - piece.start[1]) > HAIR:
            chain.append(Line(chain[-1].end, piece.start))
        elif chain:
            piece = replace(piece, start=chain[-1].end)
        chain.append(piece)
    return tuple(chain)


def _meets(a: Part, b: Part) -> list[float]:
    """Places across where the whole lines or circles meet."""
    if isinstance(a, Line):
        return _line_meets_line(a, b) if isinstance(b, Line) else _line_meets_circle(a, b)
    return _line_meets_circle(b, a) if isinstance(b, Line) else _circle_meets_circle(a, b)


def _line_meets_line(a: Line, b: Line) -> list[float]:
    slopes = [(line.end[1] - line.start[1]) / (line.end[0] - line.start[0]) for line in (a, b)]
    if slopes[0] == slopes[1]:
        return []
    at_zero = [line.start[1] - slope * line.start[0] for line, slope in zip((a, b), slopes, strict=True)]
    return [(at_zero[1] - at_zero[0]) / (slopes[0] - slopes[1])]


def _line_meets_circle(line: Line, arc: Arc) -> list[float]:
    along = line.direction
    offset = arc.centre[0] - line.start[0], arc.centre[1] - line.start[1]
    foot = offset[0] * along[0] + offset[1] * along[1]
    aside = offset[0] * along[1] - offset[1] * along[0]
    half = arc.radius**2 - aside**2
    if half < 0.0:
        return []
    return [line.start[0] + (foot + sign * math.sqrt(half)) * along[0] for sign in (-1.0, 1.0)]


def _circle_meets_circle(a: Arc, b: Arc) -> list[float]:
    apart = math.dist(a.centre, b.centre)
    if apart < HAIR:
        return []
    foot = (apart + (a.radius - b.radius) * (a.radius + b.radius) / apart) / 2.0
    half = a.radius**2 - foot**2
    if half < 0.0:
        return []
    along = (b.centre[0] - a.centre[0]) / apart, (b.centre[1] - a.centre[1]) / apart
    return [a.centre[0] + foot * along[0] - sign * math.sqrt(half) * along[1] for sign in (-1.0, 1.0)]
