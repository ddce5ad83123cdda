"""The nut seen from above: how high it stands at any place in plan, edges eased and slots cut.

Exact, and without the kernel: what a cutter that comes from above has to spare.
"""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nutgen.model.section import ProfilePart, corner, eased_radius, profile
from nutgen.nut.part import Nut, Slot
from nutgen.nut.shelf import front_steps

Array = NDArray[np.float64]


def height_above(nut: Nut, x: ArrayLike, y: ArrayLike) -> Array:
    """Height of the nut's upper surface at places in plan [mm].

    nut     : as it is to be made; `nut.rough()` with its allowances on
    x, y    : places, any shapes that go together [mm]
    returns : z of the surface; `nut.lowest_z`, the floor it stands on, beside the nut
    """
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    z = unslotted_height(nut, x, y)
    for slot in nut.slots:
        z = np.minimum(z, slot_height(slot, x, y))
    return np.where(within(nut, x, y), np.maximum(z, nut.lowest_z), nut.lowest_z)


def within(nut: Nut, x: ArrayLike, y: ArrayLike) -> NDArray[np.bool_]:
    """Whether the nut, its shelves included, stands at a place in plan."""
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    steps = front_steps(nut)
    fronts = np.array([step.front for step in steps])
    step = np.searchsorted([step.right for step in steps[:-1]], x, side="left")
    return (np.abs(x) <= nut.half_length) & (y >= fronts[step]) & (y <= nut.thickness)


def unslotted_height(nut: Nut, x: ArrayLike, y: ArrayLike) -> Array:
    """The top before its slots are cut, its edges eased; meaningless beside the nut [mm]."""
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    radius = eased_radius(nut)
    inset = _inset(profile(nut, edge_radius=radius), np.maximum(y, 0.0))  # a shelf carries the front on, level
    if nut.crown.curvature == 0.0:
        z = nut.crown.z(x) - inset / math.cos(math.radians(nut.crown.slope_deg))
    else:
        xc, zc = nut.crown.centre
        z = zc + np.sqrt(np.maximum(0.0, (nut.top_radius - inset) ** 2 - (x - xc) ** 2))
    return _eased_ends(nut, x, z, inset, radius) if radius else z


def slot_height(slot: Slot, x: ArrayLike, y: ArrayLike) -> Array:
    """The floor of a slot, round across; inf beside the slot [mm].

    With u the distance aside of the slot's centre line and r half its width, the floor there is the
    bottom line moved by c = r - sqrt(r^2 - u^2) square to itself, toward the top.
    """
    fan, tilt, r = math.radians(slot.fan_deg), math.radians(slot.tilt_deg), slot.width / 2.0
    across, along = np.asarray(x, float) - slot.x, np.asarray(y, float) - slot.start_y
    aside = across * math.cos(fan) - along * math.sin(fan)
    run = across * math.sin(fan) + along * math.cos(fan)
    near = np.abs(aside) <= r * (1.0 + 1e-12)
    c = r - np.sqrt(np.maximum(0.0, r * r - aside * aside))
    k = 1.0 / slot.roll_radius
    high, lean = 1.0 + k * c, math.sin(tilt) + k * run
    rise = np.sqrt(np.maximum(1e-12, high * high - lean * lean))
    floor = slot.floor_z + (c * (2.0 + k * c) - run * (k * run + 2.0 * math.sin(tilt))) / (rise + math.cos(tilt))
    return np.where(near, floor, np.inf)


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


def _eased_ends(nut: Nut, x: Array, z: Array, inset: Array, radius: float) -> Array:
    for side in (-1.0, 1.0):
        round_off = corner(nut, inset.ravel(), side=side, edge_radius=radius)
        touch = round_off.touch[:, 0].reshape(x.shape)
        height = round_off.end[:, 1].reshape(x.shape)
        beyond = side * x - (nut.half_length - radius)
        arc = height + np.sqrt(np.maximum(0.0, radius * radius - beyond * beyond))
        z = np.where(side * x > side * touch, arc, z)
    return z
