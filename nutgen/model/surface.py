"""The nut seen from above: its eased top and the floors of its slots, exact, and without the kernel."""

import math

import numpy as np
from numpy.typing import ArrayLike

from nutgen.model.section import ProfilePart, corner, profile
from nutgen.nut.edges import eased_radius
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.theory import Array, Flags

STEEPEST = 0.95
"""Sine of the tilt at which a rolled floor ends. Only where an allowance at the back carries it on so far."""


def floor_surface(slot: Slot, x: ArrayLike, y: ArrayLike) -> Array:
    """Height of a slot's round floor at a place in plan; inf beyond its walls [mm]."""
    fan, tilt, r = math.radians(slot.fan_deg), math.radians(slot.tilt_deg), slot.width / 2.0
    x, y = np.asarray(x, float), np.asarray(y, float)
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
    return np.where(np.abs(aside) <= r * (1.0 + 1e-12), z, np.inf)


def top_surface(nut: Nut, x: ArrayLike, y: ArrayLike) -> Array:
    """The top before its slots are cut, its edges eased; meaningless beside the nut [mm]."""
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    radius = eased_radius(nut)
    inset = _inset(profile(nut, edge_radius=radius), np.maximum(y, 0.0))  # a shelf carries the front on, level
    if nut.crown.curvature == 0.0:
        z = nut.crown.z(x) - inset / math.cos(math.radians(nut.crown.slope_deg))
    else:
        xc, zc = nut.crown.centre
        z = zc + np.sqrt(np.maximum(0.0, (nut.top_radius - inset) ** 2 - (x - xc) ** 2))
    return _eased_ends(nut, x, y, z, inset, radius) if radius else z


def within(nut: Nut, x: ArrayLike, y: ArrayLike) -> Flags:
    """Whether the nut, its shelves included, stands at a place in plan."""
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    steps = nut.steps
    fronts = np.array([step.front for step in steps])
    step = np.searchsorted([step.right for step in steps[:-1]], x, side="left")
    across = (x >= nut.end_x(-1, y)) & (x <= nut.end_x(1, y))
    return across & (y >= fronts[step]) & (y <= nut.thickness)


def _inset(pieces: tuple[ProfilePart, ...], y: Array) -> Array:
    """How far the top lies inside the crown, at each y [mm]."""
    inset = np.zeros_like(y)
    for piece in pieces:
        (y0, f0), (y1, f1) = piece.start, piece.stop
        there = y >= y0
        if piece.centre is None:
            value = f0 + (f1 - f0) * (y - y0) / (y1 - y0)
        else:
            yc, fc = piece.centre
            value = fc - np.sqrt(np.maximum(0.0, piece.radius**2 - (y - yc) ** 2))
        inset = np.where(there, value, inset)
    return inset


def _eased_ends(nut: Nut, x: Array, y: Array, z: Array, inset: Array, radius: float) -> Array:
    for side in (-1.0, 1.0):
        round_off = corner(nut, y.ravel(), inset.ravel(), side=side, edge_radius=radius)
        touch = round_off.touch[:, 0].reshape(x.shape)
        height = round_off.end[:, 1].reshape(x.shape)
        beyond = side * (x - nut.end_x(side, y)) + radius
        arc = height + np.sqrt(np.maximum(0.0, radius * radius - beyond * beyond))
        z = np.where(side * x > side * touch, arc, z)
    return z
