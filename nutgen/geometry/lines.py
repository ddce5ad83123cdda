"""Straight lines and circular arcs, chained: all that a drawing of ours is made of.

Points are pairs (across, up) in the plane of a view [mm].
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

Point = tuple[float, float]
Box = tuple[float, float, float, float]

HAIR = 1e-6
"""Shorter than this is nothing: rounding, not geometry; drawn, it would trip a router's program [mm]."""


@dataclass(frozen=True, slots=True)
class Line:
    """From start to end."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Start to end [mm]."""
        return math.dist(self.start, self.end)

    @property
    def middle(self) -> Point:
        """Half way along."""
        return (self.start[0] + self.end[0]) / 2.0, (self.start[1] + self.end[1]) / 2.0

    @property
    def box(self) -> Box:
        """Least across, least up, greatest across, greatest up [mm]."""
        return _box([self.start, self.end])

    @property
    def direction(self) -> Point:
        """From start to end, a unit long."""
        return (self.end[0] - self.start[0]) / self.length, (self.end[1] - self.start[1]) / self.length

    def moved(self, across: float, up: float) -> "Line":
        """The same line elsewhere."""
        return Line(_moved(self.start, across, up), _moved(self.end, across, up))

    def reversed(self) -> "Line":
        """From end to start."""
        return Line(self.end, self.start)

    def up_at(self, across: float) -> float:
        """Height at a place across; the line is not vertical [mm]."""
        share = (across - self.start[0]) / (self.end[0] - self.start[0])
        return self.start[1] + share * (self.end[1] - self.start[1])

    def between(self, left: float, right: float) -> "Line":
        """The part between two places across, from the first to the second."""
        return Line((left, self.up_at(left)), (right, self.up_at(right)))


@dataclass(frozen=True, slots=True)
class Arc:
    """Along a circle from start to end, less than a full turn.

    centre  : of the circle [mm]
    turning : +1 counterclockwise, -1 clockwise
    """

    start: Point
    end: Point
    centre: Point
    turning: int

    @property
    def radius(self) -> float:
        """Of the circle [mm]."""
        return math.dist(self.centre, self.start)

    @property
    def start_deg(self) -> float:
        """Direction from the centre to the start, from -180 to 180 [deg]."""
        return _direction_deg(self.centre, self.start)

    @property
    def end_deg(self) -> float:
        """Direction from the centre to the end, from -180 to 180 [deg]."""
        return _direction_deg(self.centre, self.end)

    @property
    def sweep_deg(self) -> float:
        """Turn from start to end, positive counterclockwise [deg]."""
        return self.turning * ((self.turning * (self.end_deg - self.start_deg)) % 360.0)

    @property
    def bulge(self) -> float:
        """Tangent of a quarter of the sweep: how DXF writes an arc between two corners."""
        return math.tan(math.radians(self.sweep_deg) / 4.0)

    @property
    def length(self) -> float:
        """Along the arc [mm]."""
        return self.radius * math.radians(abs(self.sweep_deg))

    @property
    def middle(self) -> Point:
        """Half way along."""
        return self.at_deg(self.start_deg + self.sweep_deg / 2.0)

    @property
    def box(self) -> Box:
        """Least across, least up, greatest across, greatest up [mm]."""
        first, sweep, points = self.start_deg, abs(self.sweep_deg), [self.start, self.end]
        for quarter in (-180.0, -90.0, 0.0, 90.0):
            if (self.turning * (quarter - first)) % 360.0 <= sweep:
                points.append(self.at_deg(quarter))
        return _box(points)

    def at_deg(self, direction_deg: float) -> Point:
        """The point of the circle in a direction from the centre."""
        turn = math.radians(direction_deg)
        return self.centre[0] + self.radius * math.cos(turn), self.centre[1] + self.radius * math.sin(turn)

    def moved(self, across: float, up: float) -> "Arc":
        """The same arc elsewhere."""
        ends = _moved(self.start, across, up), _moved(self.end, across, up)
        return Arc(*ends, _moved(self.centre, across, up), self.turning)

    def reversed(self) -> "Arc":
        """From end to start."""
        return Arc(self.end, self.start, self.centre, -self.turning)

    def up_at(self, across: float) -> float:
        """Height at a place across; the arc lies in the upper or in the lower half of its circle [mm]."""
        rise = math.sqrt(max(0.0, self.radius**2 - (across - self.centre[0]) ** 2))
        upper = (self.turning < 0) == (self.start[0] < self.end[0])
        return self.centre[1] + (rise if upper else -rise)

    def between(self, left: float, right: float) -> "Arc":
        """The part between two places across, from the first to the second."""
        return replace(self, start=(left, self.up_at(left)), end=(right, self.up_at(right)))


Part = Line | Arc


@dataclass(frozen=True, slots=True)
class Chain:
    """Parts that follow each other, on one layer; a contour where the last ends at the first."""

    layer: str
    parts: tuple[Part, ...]

    @property
    def closed(self) -> bool:
        """Whether the chain is a contour."""
        return self.parts[0].start == self.parts[-1].end

    @property
    def box(self) -> Box:
        """Least across, least up, greatest across, greatest up [mm]."""
        return joined([part.box for part in self.parts])

    @property
    def area(self) -> float:
        """Enclosed by a contour, positive where it runs counterclockwise [mm2]."""
        return sum(_swept(part) for part in self.parts)

    def moved(self, across: float, up: float) -> "Chain":
        """The same chain elsewhere."""
        return Chain(self.layer, tuple(part.moved(across, up) for part in self.parts))


def joined(boxes: Iterable[Box]) -> Box:
    """The box around boxes [mm]."""
    left, low, right, high = zip(*boxes, strict=True)
    return min(left), min(low), max(right), max(high)


def polygon(corners: Sequence[Point]) -> tuple[Line, ...]:
    """Lines from corner to corner and back to the first."""
    return tuple(Line(a, b) for a, b in pairwise([*corners, corners[0]]))


def rectangle(left: float, low: float, right: float, high: float) -> tuple[Line, ...]:
    """The four sides, counterclockwise."""
    return polygon([(left, low), (right, low), (right, high), (left, high)])


def _swept(part: Part) -> float:
    """Area between a part and the origin; an arc adds the segment outside its chord."""
    (x0, y0), (x1, y1) = part.start, part.end
    triangle = (x0 * y1 - x1 * y0) / 2.0
    if isinstance(part, Line):
        return triangle
    sweep = math.radians(part.sweep_deg)
    return triangle + part.radius**2 * (sweep - math.sin(sweep)) / 2.0


def _moved(point: Point, across: float, up: float) -> Point:
    return point[0] + across, point[1] + up


def _direction_deg(centre: Point, point: Point) -> float:
    return math.degrees(math.atan2(point[1] - centre[1], point[0] - centre[0]))


def _box(points: Sequence[Point]) -> Box:
    across, up = zip(*points, strict=True)
    return min(across), min(up), max(across), max(up)
