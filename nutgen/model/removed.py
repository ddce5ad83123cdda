"""What the slots take out of the body: which walls go with them, and how much material that is.

Worked out from the numbers of the nut alone, column by column, so that it can vouch for the solid.
"""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from nutgen.model.section import corner, eased_radius, profile
from nutgen.nut.part import Nut, Slot
from nutgen.nut.shelf import front_of, shelves, under_shelf

Array = NDArray[np.float64]

NEAR = 0.01
"""A wall thinner than this counts as none: the slot is widened to break through [mm]."""

STEEPEST = 0.95
"""Sine of the tilt at which a rolled floor ends. Only where an allowance at the back carries it on so far."""


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
    slots, half = list(nut.slots), nut.half_length
    for y in (front_of(nut), 0.0, nut.thickness):
        spans = [(float(s.x_at(y)) - s.half_width_along_x, float(s.x_at(y)) + s.half_width_along_x) for s in slots]
        order = sorted(range(len(slots)), key=lambda i: spans[i][0])
        thin = {i for i, (low, high) in enumerate(spans) if min(abs(high - half), abs(low + half)) <= NEAR}
        thin |= {i for pair in pairwise(order) for i in pair if abs(spans[pair[1]][0] - spans[pair[0]][1]) <= NEAR}
        slots = [replace(s, width=s.width + 4.0 * NEAR) if i in thin else s for i, s in enumerate(slots)]
    return slots


def removed_volume(nut: Nut, *, panels: int = 1) -> float:
    """Material that the slots take out of the eased body [mm3].

    panels : into which each piece of the profile and each span across is split. With 1 the result
             is within about a hundredth where the bevel cuts through floors, and far closer as a
             rule; 8 bring it within a thousandth

    Columns stand at Gauss points along each piece of the profile and, across, between each two
    walls that stand next to one another there.
    """
    radius, half = eased_radius(nut), nut.half_length
    nodes = ((np.arange(panels)[:, None] + _NODES) / panels).ravel()
    weights = np.tile(_WEIGHTS / panels, panels)
    total = 0.0
    for piece in profile(nut, edge_radius=radius):
        y, inset = piece.at(nodes)
        pace = (piece.at(nodes + 1e-6)[0] - piece.at(nodes - 1e-6)[0]) / 2e-6
        sides = [slot.x_at(y) + side * slot.half_width_along_x for slot in nut.slots for side in (-1.0, 1.0)]
        walls = np.clip(np.sort(np.stack(sides, axis=1), axis=1), -half, half)
        wide = np.diff(walls, axis=1)[:, :, None]
        x = (walls[:, :-1, None] + wide * nodes).reshape(len(y), -1)
        floor = np.min([floor_surface(slot, x, y[:, None]) for slot in nut.slots], axis=0)
        height = np.maximum(top_surface(nut, x, inset, radius) - np.maximum(floor, nut.underside.z(x)), 0.0)
        area = (height.reshape(len(y), -1, len(nodes)) * wide * weights).sum(axis=(1, 2))
        total += float(area @ (pace * weights))
    return total + _out_of_shelves(nut, radius, nodes, weights)


def _out_of_shelves(nut: Nut, radius: float, nodes: Array, weights: Array) -> float:
    """The same before the front face: between the planes where shelves begin, over what stands there [mm3]."""
    total = 0.0
    standing = shelves(nut)
    fronts = sorted({shelf.front for shelf in standing})
    for near, far in pairwise([*fronts, 0.0] if fronts else []):
        y = near + (far - near) * nodes
        there = [shelf for shelf in standing if shelf.front <= near]
        sides = [slot.x_at(y) + side * slot.half_width_along_x for slot in nut.slots for side in (-1.0, 1.0)]
        for shelf in there:
            walls = np.clip(np.sort(np.stack(sides, axis=1), axis=1), shelf.left, shelf.right)
            wide = np.diff(walls, axis=1)[:, :, None]
            x = (walls[:, :-1, None] + wide * nodes).reshape(len(y), -1)
            floor = np.min([floor_surface(slot, x, y[:, None]) for slot in nut.slots], axis=0)
            top = top_surface(nut, x, np.zeros_like(y), radius)
            height = np.maximum(top - np.maximum(floor, under_shelf(nut, x)), 0.0)
            area = (height.reshape(len(y), -1, len(nodes)) * wide * weights).sum(axis=(1, 2))
            total += float(area @ weights) * (far - near)
    return total


def floor_surface(slot: Slot, x: Array, y: Array) -> Array:
    """Height of a slot's round floor at a place in plan; inf beyond its walls [mm]."""
    fan, tilt, r = math.radians(slot.fan_deg), math.radians(slot.tilt_deg), slot.width / 2.0
    along = (x - slot.x) * math.sin(fan) + (y - slot.start_y) * math.cos(fan)
    aside = (x - slot.x) * math.cos(fan) - (y - slot.start_y) * math.sin(fan)
    up = r - np.sqrt(np.maximum(r * r - aside * aside, 0.0))
    if slot.rolled:
        centre = slot.floor_z - slot.roll_radius * math.cos(tilt)
        lean = along + slot.roll_radius * math.sin(tilt)
        radius = np.maximum(slot.roll_radius + up, lean / STEEPEST)
        z = centre + np.sqrt(np.maximum(radius * radius - lean * lean, 0.0))
    else:
        z = slot.floor_z - along * math.tan(tilt) + up / math.cos(tilt)
    return np.where(np.abs(aside) < r, z, np.inf)


def top_surface(nut: Nut, x: Array, inset: Array, edge_radius: float) -> Array:
    """Height of the eased top at x (n, k) in sections of given inset (n,) [mm]."""
    if nut.crown.curvature == 0.0:
        z = nut.crown.z(x) - inset[:, None] / math.cos(math.radians(nut.crown.slope_deg))
    else:
        xc, zc = nut.crown.centre
        z = zc + np.sqrt(np.maximum((nut.top_radius - inset[:, None]) ** 2 - (x - xc) ** 2, 0.0))
    if edge_radius > 0.0:
        inner = nut.half_length - edge_radius
        for side in (-1.0, 1.0):
            one = corner(nut, inset, side=side, edge_radius=edge_radius)
            arc = np.sqrt(np.maximum(edge_radius**2 - (side * x - inner) ** 2, 0.0))
            z = np.where(side * x > side * one.touch[:, :1], one.end[:, 1:] + arc, z)
    return z
