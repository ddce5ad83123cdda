"""The front face: its outline with every slot cut where its string starts, as exact lines and arcs.

corner   crown arc      slot          z up, x across, seen from the bridge
  .--------------|_  _|-------.
  |                \\/         |      end
  |___________________________|
           underside
"""

import math
from collections.abc import Sequence

from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.geometry.envelope import lowest
from nutgen.geometry.fit import fitted
from nutgen.geometry.lines import HAIR, Arc, Line, Part, Point
from nutgen.model.section import corner
from nutgen.nut.edges import eased_radius
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.theory.heights import crown_drop


def front_outline(nut: Nut) -> tuple[Part, ...]:
    """The closed outline of the front face, counterclockwise from the underside's left corner.

    raises : CannotBeMade where a slot cuts the nut in two
    """
    bottom, upper = underside(nut), slotted_top(nut)
    _check_whole(nut, upper)
    chain: list[Part] = [*bottom, Line(bottom[-1].end, upper[-1].end)]
    chain += [part.reversed() for part in reversed(upper)]
    return (*chain, Line(upper[0].start, bottom[0].start))


def slotted_top(nut: Nut) -> tuple[Part, ...]:
    """The top of the front face from the left end to the right one, every slot cut; a shelf carries it forward."""
    return lowest(top_of_section(nut), [part for slot in nut.slots for part in slot_trace(slot)])


def underside(nut: Nut) -> tuple[Part, ...]:
    """The underside from the left end to the right one."""
    radius = 1.0 / nut.underside.curvature if nut.underside.curvature else math.inf
    return _arched(nut, nut.underside.z0, radius)


def top_of_section(nut: Nut, y: float = 0.0, inset: float = 0.0) -> tuple[Part, ...]:
    """The top from the left end to the right one before slots, its corners eased.

    y     : of the section [mm]
    inset : how far its top lies inside the crown; 0 at the front face [mm]
    """
    radius = eased_radius(nut)
    left, right = (_corner(nut, y, inset, side, radius) for side in (-1, 1))
    middle: Part = Line(left.start, right.start)
    if nut.crown.curvature:
        middle = Arc(left.start, right.start, nut.crown.centre, -1)
    return (left.reversed(), middle, right) if radius else (middle,)


def _corner(nut: Nut, y: float, inset: float, side: int, radius: float) -> Arc:
    """The eased corner at an end, from the top down to the end line; a point where it stays sharp."""
    place = corner(nut, y, inset, side=float(side), edge_radius=radius)
    (touch_x, touch_z), (end_x, end_z) = place.touch[0], place.end[0]
    centre = nut.end_x(side, y) - side * radius, float(end_z)
    return Arc((float(touch_x), float(touch_z)), (float(end_x), float(end_z)), centre, -side)


def slot_trace(slot: Slot) -> tuple[Part, ...]:
    """A slot's round floor from wall to wall in the plane where its string starts, running left to right.

    Exact, and one arc, where the slot neither fans nor falls there; else within 1e-4 mm, and exact at the
    walls and at the floor's lowest line.
    """
    half, radius = math.pi / 2.0, slot.width / 2.0
    (start, _), (foot, _), (end, _) = (trace_point(slot, turn) for turn in (-half, 0.0, half))
    sides = end[0] - foot[0], foot[0] - start[0], end[1] - foot[1], start[1] - foot[1]
    if all(abs(side - radius) < HAIR for side in sides):
        return (Arc(start, end, (foot[0], start[1]), 1),)
    return tuple(part for a, b in ((-half, 0.0), (0.0, half)) for part in fitted(lambda t: trace_point(slot, t), a, b))


def trace_point(slot: Slot, turn: float) -> tuple[Point, Point]:
    """Where a line of the slot's round floor meets the plane of its start, and the trace's direction there.

    turn    : around the slot's axis, -pi/2 at the left wall, 0 at the floor, pi/2 at the right wall [rad]
    returns : (x, z) [mm] and (dx, dz) per turn

    With r half the width, k the floor's curvature, t and f its tilt and fan: the floor at this turn
    is c = r (1 - cos turn) above the bottom line and r sin turn aside of it, which on y = start_y
    is X = r sin turn / cos f from the centre line and q = X sin f along the slot. A floor that
    rolls about a centre 1/k below has there

        (z - z_centre)^2 = (1/k + c)^2 - (q + sin t / k)^2

    written from the start of the floor and without 1/k, so that k = 0 is the straight cylinder,
    whose trace is an ellipse.
    """
    r, k = slot.width / 2.0, 1.0 / slot.roll_radius
    tilt, fan = math.radians(slot.tilt_deg), math.radians(slot.fan_deg)
    sine, cosine = math.sin(turn), math.cos(turn)
    x = r * sine / math.cos(fan)
    c, q = r * (1.0 - cosine), x * math.sin(fan)
    high, along = 1.0 + k * c, math.sin(tilt) + k * q
    rise = math.sqrt(high**2 - along**2)
    z = slot.floor_z + (c * (2.0 + k * c) - q * (k * q + 2.0 * math.sin(tilt))) / (rise + math.cos(tilt))
    dz = (high * r * sine - along * r * cosine * math.tan(fan)) / rise
    return (slot.x + x, z), (r * cosine / math.cos(fan), dz)


def fret_plane(nut: Nut) -> tuple[Part, ...]:
    """The crowns of frets 1 and 2 carried on to the front face, from end to end.

    Known at the slots; between and beyond them it follows the board, tilted to meet the outer two.
    """
    first, last = nut.slots[0], nut.slots[-1]
    above = [slot.fret_plane_z - float(nut.seat.board_z(slot.face_x)) for slot in (first, last)]
    tilt = (above[1] - above[0]) / (last.face_x - first.face_x) if last.x != first.x else 0.0
    height = above[0] - tilt * first.face_x
    return along_board(nut, height, tilt if abs(tilt) * nut.length > HAIR else 0.0)


def along_board(nut: Nut, height: float, tilt: float = 0.0) -> tuple[Part, ...]:
    """A curve that keeps a height above the board, or one that grows evenly across, from end to end."""
    return _arched(nut, height, nut.board_radius * math.cos(math.radians(nut.slant_deg)) ** 2, tilt)


def _arched(nut: Nut, height: float, radius: float, tilt: float = 0.0) -> tuple[Part, ...]:
    """What a cylinder along the neck is in the plane of the front face: an arc, an ellipse where the nut slants.

    height : on the centre line [mm]
    radius : of the cylinder [mm]
    tilt   : added, per mm to the right
    """
    turn = math.cos(math.radians(nut.slant_deg))

    def point(x: float) -> tuple[Point, Point]:
        across = turn * x
        slope = tilt - (turn * across / math.sqrt(radius**2 - across**2) if math.isfinite(radius) else 0.0)
        return (x, height + tilt * x - float(crown_drop(across, radius=radius))), (1.0, slope)

    start, end = point(nut.left.x)[0], point(nut.right.x)[0]
    if math.isinf(radius):
        return (Line(start, end),)
    if tilt == 0.0 and nut.slant_deg == 0.0:
        return (Arc(start, end, (0.0, height - radius), -1),)
    return fitted(point, nut.left.x, nut.right.x)


def _check_whole(nut: Nut, upper: Sequence[Part]) -> None:
    for part in upper:
        left, right = part.start[0], part.end[0]
        places = (left + (right - left) * share for share in (0.25, 0.5, 0.75))
        if left < right and any(part.up_at(x) <= float(nut.underside.z(x)) for x in places):
            raise CannotBeMade([refusal("solid.cut-in-two")])
