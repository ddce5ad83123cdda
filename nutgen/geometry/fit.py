"""Curves that are neither straight nor round, laid out as arcs that meet without a kink.

A pair of arcs (a biarc) joins two points in two given directions. Source: K. M. Bolton, Biarc
curves, Computer-Aided Design 7 (1975), 89-92 (from memory). The pair with equal tangent lengths d is
the one used here:

    p ---d---> q   the arcs meet half way between q and r,
                \\  and both are tangent to q r there
                 r ---d---> s
"""

import math
from collections.abc import Callable, Iterator

from nutgen.geometry.lines import Arc, Line, Part, Point

TOLERANCE = 1e-4
"""Greatest distance between a curve and the arcs that stand for it [mm]."""

Curve = Callable[[float], tuple[Point, Point]]
"""A parameter gives a point of the curve and the direction there, of any length but 0."""

STRAIGHT = 1e-6
"""A curve that rises less than this over its chord is drawn as the chord: its radius would be of no use [mm]."""

_LOOKS = 12
_MOST_SPANS = 200


def fitted(curve: Curve, first: float, last: float, *, tolerance: float = TOLERANCE) -> tuple[Part, ...]:
    """Arcs along a smooth curve, tangent to it at both ends and to each other.

    Parameters
    ----------
    curve : Curve
        A parameter gives a point and the direction there.
    first, last : float
        Parameters of the two ends.
    tolerance : float
        Greatest distance from the curve [mm].

    Returns
    -------
    tuple of Part
        Arcs, or a line where the curve is straight; both ends lie exactly on the curve.

    Raises
    ------
    ValueError
        Where 200 pairs of arcs do not come close enough.

    Notes
    -----
    The parameter is cut into 1, 2, 3 ... equal spans until every span is near enough. Within
    a span the distance has one peak on either arc and falls with the third power of the
    span, so twelve looks see the peak to a few per cent; half the tolerance is asked there,
    which makes the whole hold.
    """
    chord = Line(curve(first)[0], curve(last)[0])
    if all(_distance(chord, point) < STRAIGHT for point in _looks(curve, first, last)):
        return (chord,)
    for spans in range(1, _MOST_SPANS + 1):
        parts = _in_spans(curve, first, last, spans, tolerance / 2.0)
        if parts:
            return parts
    raise ValueError(f"no chain of arcs comes within {tolerance} mm of the curve")


def _in_spans(curve: Curve, first: float, last: float, spans: int, near: float) -> tuple[Part, ...]:
    """Arcs in equal spans; none where one of them is not near."""
    step = (last - first) / spans
    parts: list[Part] = []
    for index in range(spans):
        a, b = first + index * step, first + (index + 1) * step if index < spans - 1 else last
        pair = _biarc(*curve(a), *curve(b))
        if any(min(_distance(part, point) for part in pair) > near for point in _looks(curve, a, b)):
            return ()
        parts += pair
    return tuple(parts)


def _looks(curve: Curve, first: float, last: float) -> Iterator[Point]:
    """Points between two parameters."""
    return (curve(first + (last - first) * (look + 0.5) / _LOOKS)[0] for look in range(_LOOKS))


def _biarc(p: Point, along_p: Point, s: Point, along_s: Point) -> tuple[Part, ...]:
    """Two arcs from p to s that leave and arrive in the given directions."""
    (px, py), (sx, sy) = _unit(along_p), _unit(along_s)
    vx, vy = s[0] - p[0], s[1] - p[1]
    forward = vx * (px + sx) + vy * (py + sy)
    square = vx * vx + vy * vy
    turned = 1.0 - (px * sx + py * sy)
    d = square / (forward + math.sqrt(forward**2 + 2.0 * turned * square))
    joint = (p[0] + s[0] + d * (px - sx)) / 2.0, (p[1] + s[1] + d * (py - sy)) / 2.0
    return _arc(p, (px, py), joint), _arc(s, (-sx, -sy), joint).reversed()


def _arc(start: Point, along: Point, end: Point) -> Part:
    """The arc that leaves start in a direction and reaches end."""
    chord_x, chord_y = end[0] - start[0], end[1] - start[1]
    aside = along[0] * chord_y - along[1] * chord_x
    square = chord_x**2 + chord_y**2
    if abs(aside) < 4.0 * STRAIGHT:  # the rise over the chord is a quarter of it
        return Line(start, end)
    reach = square / (2.0 * aside)
    centre = start[0] - along[1] * reach, start[1] + along[0] * reach
    return Arc(start, end, centre, 1 if aside > 0.0 else -1)


def _distance(part: Part, point: Point) -> float:
    """From a point to the circle or the line that a part lies on [mm]."""
    if isinstance(part, Arc):
        return abs(math.dist(part.centre, point) - part.radius)
    (x0, y0), (x1, y1) = part.start, part.end
    return abs((x1 - x0) * (point[1] - y0) - (y1 - y0) * (point[0] - x0)) / part.length


def _unit(vector: Point) -> Point:
    length = math.hypot(*vector)
    return vector[0] / length, vector[1] / length
