"""The nut as one closed solid: its body, all slots cut out at once, checked.

shelf : the body begins at the front of the farthest shelf; what is before and below the shelves is cut off
slot  : a U drawn along the floor: round at the bottom, walls upright; straight or rolled
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from nutgen.errors import CannotBeMade, KernelError
from nutgen.finding import refusal
from nutgen.geometry import kernel
from nutgen.geometry.kernel import Face, SharedEdges, Solid, making
from nutgen.model.body import nut_body
from nutgen.model.removed import merged_slots, removed_volume, roll_span
from nutgen.nut.part import Nut
from nutgen.nut.setback import set_back
from nutgen.nut.slot import Slot
from nutgen.theory import Array

_BEYOND = 0.25  # mm; tools reach this far out of the body


def nut_solid(nut: Nut) -> Solid:
    """The nut as one closed, valid solid.

    nut     : solved; `nut.rough()` gives the part with its allowances on
    returns : a cadquery Solid in the nut's frame [mm]
    raises  : CannotBeMade where slots run into each other; KernelError saying what could not be made

    The eased edges keep to `largest_edge_radius`. Walls between slots, or between a slot and an
    end, that are thinner than NEAR are left out. What the slots take away is worked out another
    way (`removed_volume`) and must agree; where the kernel lost a slot or tripped, it is asked
    again in other ways (_ATTEMPTS), which give the same solid.
    """
    if not nut.slots:  # to print: every slot may be left to the file
        return shelved_body(nut)
    nut = replace(nut, slots=tuple(merged_slots(nut)))
    spots = [spot for slot in nut.slots for spot in _in_slot(nut, slot)]
    for way in _ATTEMPTS:
        body = shelved_body(nut, freeform=way.freeform)
        with making("the slots"):
            tools = [_tool(nut, slot, way.deeper) for slot in nut.slots]
        left = _without(body, tools, at_once=way.at_once)
        if left is not None and _lacks(body, left, nut) and not kernel.inside(left, spots) and left.isValid():
            return left
    raise CannotBeMade([refusal("solid.slots-not-cut")])


def shelved_body(nut: Nut, *, freeform: bool = False) -> Solid:
    """The nut without its slots, its shelves standing before the front face.

    raises : KernelError
    """
    front = nut.shelves.front
    body = nut_body(nut, freeform=freeform, front=front)
    if front == 0.0:
        return body
    with making("the shelves of the setback"):
        for tool in (_before(nut), _below(nut)):
            left = kernel.cut(body, [tool])
            if len(left) != 1:
                raise KernelError("the shelves of the setback", "they are not one with the nut")
            body = left[0]
    return body


def _before(nut: Nut) -> Solid:
    """What is taken away before the shelves and the bare front face, from below to above."""
    (left, right), low = _beyond(nut), nut.lowest_z - _BEYOND
    far = nut.shelves.front - _BEYOND
    steps = nut.steps
    (_, first), *along, (_, last) = [(x, step.front) for step in steps for x in (step.left, step.right)]
    corners = [np.array([x, y, low]) for x, y in [(left, far), (left, first), *along, (right, last), (right, far)]]
    edges = SharedEdges()
    loop = [edges.line(a, b) for a, b in pairwise([*corners, corners[0]]) if np.abs(a - b).max() > 1e-9]
    high = nut.crown.highest(*_room(nut)) + _BEYOND
    outline = kernel.face(kernel.plane(corners[0], (0.0, 0.0, -1.0)), loop)
    return kernel.prism(outline, (0.0, 0.0, high - low))


def _beyond(nut: Nut) -> tuple[float, float]:
    """Past either end [mm]."""
    left, right = _room(nut)
    return left - _BEYOND, right + _BEYOND


def _room(nut: Nut) -> tuple[float, float]:
    """From end to end before anything is cut away in front."""
    return nut.reach_of(nut.foremost, nut.thickness)


def _below(nut: Nut) -> Solid:
    """What is taken away below the shelves, back to the front face."""
    far = nut.shelves.front - _BEYOND
    left, right = (np.array([x, far, float(nut.shelves.under(x))]) for x in _room(nut))
    low = min(nut.lowest_z, left[2], right[2]) - _BEYOND  # a board may fall below the seat at its edges
    outer = [p + np.array([side * _BEYOND, 0.0, 0.0]) for side, p in ((1.0, right), (-1.0, left))]
    feet = [np.array([p[0], far, low]) for p in outer]
    edges, radius = SharedEdges(), nut.board_radius + nut.shelves.clear
    if math.isinf(radius):
        arc = edges.line(left, right)
    else:
        arc = edges.arc(left, right, centre=(0.0, far, nut.shelves.clear - radius), axis=(0.0, 1.0, 0.0), radius=radius)
    path = [right, outer[0], feet[0], feet[1], outer[1], left]
    loop = [arc, *(edges.line(a, b) for a, b in pairwise(path))]
    outline = kernel.face(kernel.plane(left, (0.0, -1.0, 0.0)), loop, clockwise=True)
    return kernel.prism(outline, (0.0, -far, 0.0))


@dataclass(frozen=True, slots=True)
class _Attempt:
    """A way to ask the kernel for the same solid.

    at_once  : all slots in one operation, which is twice as fast as one by one
    freeform : the top as Bezier patches, see nut_body
    deeper   : slots deeper by this, where surfaces all but touch [mm]
    """

    at_once: bool
    freeform: bool
    deeper: float = 0.0


_ATTEMPTS = (
    _Attempt(at_once=True, freeform=False),
    _Attempt(at_once=True, freeform=True),
    *(_Attempt(at_once=False, freeform=free, deeper=d) for d in (0.0, 0.002, -0.003, 0.005) for free in (False, True)),
)


def _lacks(body: Solid, left: Solid, cut_out: Nut) -> bool:
    """Whether as much is gone from the body as its slots must take; integrated with care where a quick look says no."""

    def agrees(gone: float, wanted: float) -> bool:
        return abs(gone - wanted) <= 0.003 * wanted + 0.01

    if agrees(body.Volume() - left.Volume(), removed_volume(cut_out)):
        return True
    return agrees(kernel.volume(body) - kernel.volume(left), removed_volume(cut_out, panels=8))


def _in_slot(nut: Nut, slot: Slot) -> list[tuple[float, float, float]]:
    """Points between a slot's floor and the top, on the land and on the shelf."""
    places = [min(nut.land, nut.thickness) / 2.0, *([slot.start_y / 2.0] if set_back(slot) else [])]
    spots = []
    for y in places:
        x, floor = float(slot.x_at(y)), float(slot.floor_at(y))
        spots.append((x, y, floor + min(0.02, (float(nut.top_z(x, y)) - floor) / 2.0)))
    return spots


def _without(body: Solid, tools: Sequence[Solid], *, at_once: bool) -> Solid | None:
    """The body without the tools; None where it falls apart."""
    for some in [tools] if at_once else [[tool] for tool in tools]:
        left = kernel.cut(body, some)
        if len(left) != 1:
            return None
        body = left[0]
    return body


def _tool(nut: Nut, slot: Slot, nudge: float) -> Solid:
    """What is taken away for one slot, reaching out of the body at the front, the back and the top."""
    fan, tilt, r = math.radians(slot.fan_deg), math.radians(slot.tilt_deg), slot.width / 2.0
    along, side = np.array([math.sin(fan), math.cos(fan), 0.0]), np.array([math.cos(fan), -math.sin(fan), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    start = np.array([slot.x, slot.start_y, slot.floor_z - nudge])
    front = nut.shelves.front
    top = nut.crown.highest(*_room(nut)) + _BEYOND
    spread = r * abs(math.tan(fan)) + _BEYOND / math.cos(fan)
    before, after = spread - slot.run(front), spread + slot.run(nut.thickness)
    if not slot.rolled:
        down, normal = math.cos(tilt) * along - math.sin(tilt) * up, math.sin(tilt) * along + math.cos(tilt) * up
        axis = start + r * normal
        ahead = (after + r * math.sin(tilt)) / math.cos(tilt)
        height = (top - axis[2] + ahead * math.sin(tilt)) / math.cos(tilt)
        behind = (before + height * math.sin(tilt)) / math.cos(tilt)
        return kernel.prism(_u(axis - behind * down, side, normal, radius=r, height=height), (ahead + behind) * down)
    roll = slot.roll_radius  # turned about an axis below the floor
    centre = start - roll * (math.sin(tilt) * along + math.cos(tilt) * up)
    first, last, height = roll_span(slot, before=before, after=after, rise=top - centre[2])
    normal = math.sin(first) * along + math.cos(first) * up
    outline = _u(centre + (roll + r) * normal, side, normal, radius=r, height=height - r)
    return kernel.revolved(outline, centre=centre, axis=-side, angle=last - first)


def _u(axis: Array, side: Array, up: Array, *, radius: float, height: float) -> Face:
    """The outline of a slot across its axis: half a circle below, walls up to a height above the axis."""
    edges = SharedEdges()
    left, right = axis - radius * side, axis + radius * side
    loop = [
        edges.arc(left, right, centre=axis, axis=np.cross(side, up), radius=radius),
        edges.line(right, right + height * up),
        edges.line(right + height * up, left + height * up),
        edges.line(left + height * up, left),
    ]
    return kernel.face(kernel.plane(axis, np.cross(side, up)), loop)
