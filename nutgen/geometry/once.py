"""Lines drawn once: what one chain has already drawn is left out of those after it.

A plotter or a laser that runs all layers goes over every line; one that lies on another is cut twice.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from nutgen.geometry.lines import HAIR, Arc, Chain, Line, Part

SAME = 10.0 * HAIR
"""Lines and circles nearer than this to each other are one [mm]."""

REST = 1e-3
"""What is left of a part that others draw is left out where it is shorter [mm]."""

Span = tuple[float, float]


def drawn_once(chains: Iterable[Chain]) -> Iterator[Chain]:
    """Chains without what an earlier one draws; one that loses a part comes as what is left of it."""
    drawn: list[Part] = []
    for chain in chains:
        left = [_rest(part, drawn) for part in chain.parts]
        if all(rest == [part] for rest, part in zip(left, chain.parts, strict=True)):
            yield chain
        else:
            yield from (Chain(chain.layer, run) for run in _runs([part for rest in left for part in rest]))
        drawn += chain.parts


def _runs(parts: Sequence[Part]) -> list[tuple[Part, ...]]:
    """Parts that follow each other, together; of a contour also the last with the first."""
    runs: list[tuple[Part, ...]] = []
    for part in parts:
        if runs and runs[-1][-1].end == part.start:
            runs[-1] = *runs[-1], part
        else:
            runs.append((part,))
    if len(runs) > 1 and runs[-1][-1].end == runs[0][0].start:
        runs[0] = runs.pop() + runs[0]
    return runs


def _rest(part: Part, drawn: Sequence[Part]) -> list[Part]:
    """What is left of a part where others lie on it."""
    taken = [span for other in drawn if (span := _shared(part, other)) and span[1] - span[0] > REST]
    if not taken:
        return [part]
    left, at = [], 0.0
    for start, stop in sorted([*taken, (part.length, part.length)]):
        if start - at > REST:
            left.append(_piece(part, at, start))
        at = max(at, stop)
    return left


def _shared(part: Part, other: Part) -> Span | None:
    """The stretch of a part, by length from its start, that another one of its kind covers."""
    if isinstance(part, Line) and isinstance(other, Line):
        (x, y), (dx, dy) = part.start, part.direction
        ends = [((px - x) * dx + (py - y) * dy, (py - y) * dx - (px - x) * dy) for px, py in (other.start, other.end)]
        if max(abs(aside) for _, aside in ends) > SAME:
            return None
        low, high = sorted(along for along, _ in ends)
    elif isinstance(part, Arc) and isinstance(other, Arc):
        if math.dist(part.centre, other.centre) > SAME or abs(part.radius - other.radius) > SAME:
            return None
        one = other if other.turning == part.turning else other.reversed()
        turn = (part.turning * (one.start_deg - part.start_deg) + 180.0) % 360.0 - 180.0
        low, high = (part.radius * math.radians(deg) for deg in (turn, turn + abs(one.sweep_deg)))
    else:
        return None
    return max(low, 0.0), min(high, part.length)


def _piece(part: Part, start: float, stop: float) -> Part:
    """A stretch of a part, by length from its start; its own ends stay as they are."""
    return replace(part, start=_at(part, start), end=_at(part, stop))


def _at(part: Part, along: float) -> tuple[float, float]:
    if along in (0.0, part.length):
        return part.start if along == 0.0 else part.end
    if isinstance(part, Arc):
        return part.at_deg(part.start_deg + part.turning * math.degrees(along / part.radius))
    dx, dy = part.direction
    return part.start[0] + along * dx, part.start[1] + along * dy
