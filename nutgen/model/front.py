"""The front face: its outline at y = 0 with every slot cut, as exact lines and arcs.

corner   crown arc      slot          z up, x across, seen from the bridge
  .--------------|_  _|-------.
  |                \\/         |      end
  |___________________________|
           underside
"""

import math
from collections.abc import Sequence

import numpy as np

from nutgen.model.envelope import crossings, lowest
from nutgen.model.fit import fitted
from nutgen.model.lines import HAIR, Arc, Line, Part, Point
from nutgen.nut.part import CannotBeMade, Nut, Slot


def front_outline(nut: Nut) -> tuple[Part, ...]:
    """The closed outline of the front face, counterclockwise from the underside's left corner.

    raises : CannotBeMade where a slot cuts the nut in two
    """
    bottom = underside(nut)
    top = _above(top_profile(nut), bottom)
    slots = [part for slot in nut.slots for part in slot_trace(slot)]
    upper = lowest(top, slots)
    _check_whole(upper, bottom)
    left, right = upper[0].start, upper[-1].end
    lower = bottom.between(left[0], right[0])
    chain: list[Part] = [lower]
    if right[1] - lower.end[1] > HAIR:
        chain.append(Line(lower.end, right))
    chain += [part.reversed() for part in reversed(upper)]
    if left[1] - lower.start[1] > HAIR:
        chain.append(Line(left, lower.start))
    return _closed(chain)


def underside(nut: Nut) -> Part:
    """The underside from the left end to the right one."""
    half = nut.half_length
    start, end = ((x, float(nut.underside.z(x))) for x in (-half, half))
    if nut.underside.curvature == 0.0:
        return Line(start, end)
    return Arc(start, end, (0.0, nut.underside.z0 - 1.0 / nut.underside.curvature), -1)


def top_profile(nut: Nut) -> tuple[Part, ...]:
    """The top at the front face before slots, from the left end to the right one, its corners eased."""
    half = nut.half_length
    if nut.edge_radius == 0.0:
        start, end = ((x, float(nut.crown.z(x))) for x in (-half, half))
        return (crown_part(nut, start, end),)
    left, right = corner(nut, -1), corner(nut, 1)
    middle = crown_part(nut, left.start, right.start)
    return left.reversed(), middle, right


def corner(nut: Nut, side: int) -> Arc:
    """The eased corner at an end, from the crown down to the end line, side -1 left, +1 right.

    An arc tangent to the crown and to the end: its centre is one edge radius inside both.
    """
    r, inside = nut.edge_radius, side * (nut.half_length - nut.edge_radius)
    if nut.crown.curvature == 0.0:
        slope = math.radians(nut.crown.slope_deg)
        centre = inside, float(nut.crown.z(inside)) - r / math.cos(slope)
        touch = centre[0] - r * math.sin(slope), centre[1] + r * math.cos(slope)
    else:
        xc, zc = nut.crown.centre
        reach = nut.top_radius - r
        centre = inside, zc + math.sqrt(reach**2 - (inside - xc) ** 2)
        share = r / reach
        touch = centre[0] + (centre[0] - xc) * share, centre[1] + (centre[1] - zc) * share
    return Arc(touch, (side * nut.half_length, centre[1]), centre, -side)


def crown_part(nut: Nut, start: Point, end: Point, *, fall: float = 0.0) -> Part:
    """The crown, or an edge concentric with it, between two of its points."""
    if nut.crown.curvature == 0.0:
        return Line(start, end)
    return Arc(start, end, nut.crown.centre, -1 if start[0] < end[0] else 1)


def slot_trace(slot: Slot) -> tuple[Part, ...]:
    """A slot's round floor on the front face from wall to wall, running left to right.

    Exact, and one arc, where the slot neither fans nor falls there; else within 1e-4 mm.
    """
    half = math.pi / 2.0
    (start, _), (foot, _), (end, _) = (trace_point(slot, turn) for turn in (-half, 0.0, half))
    if slot.width / 2.0 == abs(end[1] - foot[1]) == abs(start[1] - foot[1]):
        return (Arc(start, end, (foot[0], start[1]), 1),)
    return fitted(lambda turn: trace_point(slot, turn), -half, half)


def trace_point(slot: Slot, turn: float) -> tuple[Point, Point]:
    """Where a line of the slot's round floor meets the front face, and the trace's direction there.

    turn    : around the slot's axis, -pi/2 at the left wall, 0 at the floor, pi/2 at the right wall [rad]
    returns : (x, z) [mm] and (dx, dz) per turn

    With r half the width, k the floor's curvature, t and f its tilt and fan: the floor at this turn
    is c = r (1 - cos turn) above the bottom line and r sin turn aside of it, which on y = 0
    is X = r sin turn / cos f from the centre line and q = run + X sin f along the slot. A floor that
    rolls about a centre 1/k below has there

        (z - z_centre)^2 = (1/k + c)^2 - (q + sin t / k)^2

    written from the start of the floor and without 1/k, so that k = 0 is the straight cylinder,
    whose trace is an ellipse.
    """
    r, k = slot.width / 2.0, 1.0 / slot.roll_radius
    tilt, fan = math.radians(slot.tilt_deg), math.radians(slot.fan_deg)
    sine, cosine = math.sin(turn), math.cos(turn)
    x = r * sine / math.cos(fan)
    c, q = r * (1.0 - cosine), slot.run(0.0) + x * math.sin(fan)
    high, along = 1.0 + k * c, math.sin(tilt) + k * q
    rise = math.sqrt(high**2 - along**2)
    z = slot.floor_z + (c * (2.0 + k * c) - q * (k * q + 2.0 * math.sin(tilt))) / (rise + math.cos(tilt))
    dz = (high * r * sine - along * r * cosine * math.tan(fan)) / rise
    return (float(slot.x_at(0.0)) + x, z), (r * cosine / math.cos(fan), dz)


def fret_plane(nut: Nut) -> tuple[Part, ...]:
    """The crowns of frets 1 and 2 carried on to the front face, from end to end.

    Known at the slots; between and beyond them it follows the board, tilted to meet the outer two.
    """
    first, last = nut.slots[0], nut.slots[-1]
    above = [slot.fret_plane_z - float(nut.board_z(slot.x)) for slot in (first, last)]
    tilt = (above[1] - above[0]) / (last.x - first.x) if last.x != first.x else 0.0
    height = above[0] - tilt * first.x
    return along_board(nut, height, tilt if abs(tilt) * nut.length > HAIR else 0.0)


def along_board(nut: Nut, height: float, tilt: float = 0.0) -> tuple[Part, ...]:
    """A curve that keeps a height above the board, or one that grows evenly across, from end to end."""
    half, radius = nut.half_length, nut.board_radius

    def point(x: float) -> tuple[Point, Point]:
        slope = tilt - (x / math.sqrt(radius**2 - x**2) if math.isfinite(radius) else 0.0)
        return (x, height + tilt * x + float(nut.board_z(x))), (1.0, slope)

    start, end = point(-half)[0], point(half)[0]
    if math.isinf(radius):
        return (Line(start, end),)
    if tilt == 0.0:
        return (Arc(start, end, (0.0, height - radius), -1),)
    return fitted(point, -half, half)


def _above(top: tuple[Part, ...], bottom: Part) -> tuple[Part, ...]:
    """The top without what an eased corner takes away below the underside, where the end is that low."""
    first, last = top[0], top[-1]
    if first.start[1] < bottom.start[1]:
        meets = min(crossings(first, bottom), default=first.end[0])
        top = (first.between(meets, first.end[0]), *top[1:])
    if last.end[1] < bottom.end[1]:
        meets = max(crossings(last, bottom), default=last.start[0])
        top = (*top[:-1], last.between(last.start[0], meets))
    return top


def _check_whole(upper: Sequence[Part], bottom: Part) -> None:
    for part in upper:
        places = np.linspace(part.start[0], part.end[0], 5)[1:-1]
        if part.start[0] < part.end[0] and any(part.up_at(x) <= bottom.up_at(x) for x in places):
            raise CannotBeMade(["a slot cuts through the underside at the front face; use less fan, or a deeper seat"])


def _closed(chain: list[Part]) -> tuple[Part, ...]:
    """The chain with its last point exactly on its first."""
    last, first = chain[-1], chain[0].start
    ended = Line(last.start, first) if isinstance(last, Line) else Arc(last.start, first, last.centre, last.turning)
    return (*chain[:-1], ended)
