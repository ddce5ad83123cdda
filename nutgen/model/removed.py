"""What the slots take out of the body: which walls go with them, and how much material that is.

Worked out from the numbers of the nut alone, column by column, so that it can vouch for the solid.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np

from nutgen.model.section import profile
from nutgen.model.surface import STEEPEST, floor_surface, top_surface
from nutgen.nut.edges import eased_radius
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.theory import Array

NEAR = 0.01
"""A wall thinner than this counts as none: the slot is widened to break through [mm]."""


def roll_span(slot: Slot, *, before: float, after: float, rise: float) -> tuple[float, float, float]:
    """How far a rolled floor is turned, and how high its walls are drawn, to clear the nut on all sides.

    before, after : in plan, ahead of the slot's start and behind it [mm]
    rise          : from the roll's axis up to what the walls must reach [mm]
    returns       : first and last angle to the vertical [rad]; height of the walls above the floor [mm]

    Only a part with an allowance at the back gets steeper than STEEPEST.
    """
    roll, sine = slot.roll_radius, math.sin(math.radians(slot.tilt_deg))
    last = math.asin(min(STEEPEST, sine + after / roll))
    height = rise / math.cos(last) - roll
    first = math.asin(max(-STEEPEST, sine - (before + max(0.0, height * sine)) / roll))
    return first, last, max(height, rise / math.cos(first) - roll)


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)
_NODES, _WEIGHTS = (_NODES + 1.0) / 2.0, _WEIGHTS / 2.0


def merged_slots(nut: Nut) -> list[Slot]:
    """The slots, each widened a little where the wall to a neighbour or to an end is no wall."""
    slots = list(nut.slots)
    for y in (nut.shelves.front, 0.0, nut.thickness):
        spans = [(float(s.x_at(y)) - s.half_width_along_x, float(s.x_at(y)) + s.half_width_along_x) for s in slots]
        left, right = nut.end_x(-1, y), nut.end_x(1, y)
        order = sorted(range(len(slots)), key=lambda i: spans[i][0])
        thin = {i for i, (low, high) in enumerate(spans) if min(abs(high - right), abs(low - left)) <= NEAR}
        thin |= {i for pair in pairwise(order) for i in pair if abs(spans[pair[1]][0] - spans[pair[0]][1]) <= NEAR}
        slots = [replace(s, width=s.width + 4.0 * NEAR) if i in thin else s for i, s in enumerate(slots)]
    return slots


def removed_volume(nut: Nut, *, panels: int = 1) -> float:
    """Material that the slots take out of the eased body [mm3].

    panels : into which each piece of the profile and each span across is split. With 1 the result
             is within about a hundredth where the bevel cuts through floors, and far closer as a
             rule; 8 bring it within a thousandth

    Columns stand at Gauss points along each piece of the profile and, across, between each two
    walls that stand next to one another there; before the front face, between the planes where shelves begin.
    """
    nodes = ((np.arange(panels)[:, None] + _NODES) / panels).ravel()
    weights = np.tile(_WEIGHTS / panels, panels)
    total = 0.0
    for piece in profile(nut, edge_radius=eased_radius(nut)):
        y, _ = piece.at(nodes)
        pace = (piece.at(nodes + 1e-6)[0] - piece.at(nodes - 1e-6)[0]) / 2e-6
        total += float(_areas(nut, y, nut.reach, nut.underside.z, nodes, weights) @ (pace * weights))
    standing = nut.standing
    for near, far in pairwise(sorted({0.0, *(shelf.front for shelf in standing)})):
        y = near + (far - near) * nodes
        for shelf in standing:
            if shelf.front <= near:
                span, under = (shelf.left, shelf.right), lambda x, _y: nut.shelves.under(x)
                total += float(_areas(nut, y, span, under, nodes, weights) @ weights) * (far - near)
    return total


def _areas(
    nut: Nut, y: Array, span: tuple[float, float], under: Callable[[Array, Array], Array], nodes: Array, weights: Array
) -> Array:
    """What the slots take out of sections y (n,), from one place across to another, above an underside: (n,) [mm2]."""
    sides = [slot.x_at(y) + side * slot.half_width_along_x for slot in nut.slots for side in (-1.0, 1.0)]
    ends = np.maximum(span[0], nut.end_x(-1, y)), np.minimum(span[1], nut.end_x(1, y))
    walls = np.clip(np.sort(np.stack(sides, axis=1), axis=1), ends[0][:, None], ends[1][:, None])
    wide = np.diff(walls, axis=1)[:, :, None]
    x = (walls[:, :-1, None] + wide * nodes).reshape(len(y), -1)
    floor = np.min([floor_surface(slot, x, y[:, None]) for slot in nut.slots], axis=0)
    height = np.maximum(top_surface(nut, x, y[:, None]) - np.maximum(floor, under(x, y[:, None])), 0.0)
    return (height.reshape(len(y), -1, len(nodes)) * wide * weights).sum(axis=(1, 2))
