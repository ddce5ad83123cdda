"""The shelves of a nut setback: what grows forward of the front face where a string starts before it.

    y ^   ______________________ 0      front face        seen from above
      |        |__|      |  |__|
      |                  |__|           each as wide as its slot and a wall on either side;
      |                                 neighbours that meet become one

A shelf carries the top's section at the front face forward, level, to a flat front. Its underside
follows the board and stays clear of it.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nutgen.nut.part import Nut, Slot
from nutgen.theory.heights import crown_drop

Array = NDArray[np.float64]


SHELF_WALL = 0.8
"""Of a shelf, on either side of its slot: a wall that does not break. Common practice, no source [mm]."""

OFF_THE_BOARD = 0.05
"""Under a shelf, so that the nut seats before a shelf touches the board. Common practice, no source [mm]."""

LEAST_SETBACK = 0.02
"""A setback smaller than this makes no shelf: no one can make, see or hear it [mm]."""

SAME_FRONT = 1e-3
"""Neighbouring fronts closer than this are one plane, the foremost [mm]."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """A stretch of the nut from one side to the other that reaches forward to one flat front.

    Parameters
    ----------
    left, right : float
        Its sides [mm].
    front : float
        Below 0; 0 where no shelf stands [mm].
    """

    left: float
    right: float
    front: float

    @property
    def width(self) -> float:
        """From side to side [mm]."""
        return self.right - self.left


def set_back(slot: Slot) -> bool:
    """Whether a string starts so far before the front face that it takes a shelf."""
    return slot.start_y <= -LEAST_SETBACK


def front_of(nut: Nut) -> float:
    """The foremost plane of the nut: the front face, or the front of the farthest shelf [mm]."""
    return min((slot.start_y for slot in nut.slots if set_back(slot)), default=0.0)


def under_shelf(nut: Nut, x: ArrayLike) -> Array:
    """Height of the shelves' underside: an arc about the board's own axis [mm]."""
    return OFF_THE_BOARD - crown_drop(x, radius=nut.board_radius + OFF_THE_BOARD)


def shelf_of(nut: Nut, slot: Slot) -> Shelf:
    """The shelf that a string would have alone.

    Parameters
    ----------
    nut : Nut
        With all its slots.
    slot : Slot
        Of the string, set back.

    Returns
    -------
    Shelf
        Where a neighbour starts farther back, it ends half way through the wall to that slot at the latest, so that
        no other string runs over it.
    """
    low, high = _span(slot, slot.start_y)
    left, right = low - SHELF_WALL, high + SHELF_WALL
    for other in nut.slots:
        if other.start_y > slot.start_y:
            near, far = _span(other, slot.start_y)
            if other.x < slot.x:
                left = max(left, min((far + low) / 2.0, low))
            elif other.x > slot.x:
                right = min(right, max((near + high) / 2.0, high))
    start, stop = nut.reach
    return Shelf(max(left, start), min(right, stop), slot.start_y)


def front_steps(nut: Nut) -> tuple[Shelf, ...]:
    """The front from the left end to the right one, shelves joined; stretches that touch differ in front."""
    alone = [shelf_of(nut, slot) for slot in nut.slots if set_back(slot)]
    start, stop = nut.reach
    places = [start]
    for x in sorted(x for shelf in alone for x in (shelf.left, shelf.right)):
        if x - places[-1] >= LEAST_SETBACK and stop - x >= LEAST_SETBACK:
            places.append(x)
    found: list[Shelf] = []
    for left, right in pairwise([*places, stop]):
        middle = (left + right) / 2.0
        front = min((shelf.front for shelf in alone if shelf.left <= middle <= shelf.right), default=0.0)
        if found and abs(found[-1].front - front) < SAME_FRONT:
            last = found.pop()
            left, front = last.left, min(last.front, front)
        found.append(Shelf(left, right, front))
    return tuple(found)


def shelves(nut: Nut) -> tuple[Shelf, ...]:
    """What stands before the front face, left to right; stretches that touch differ in front."""
    return tuple(step for step in front_steps(nut) if step.front < 0.0)


def under_floor(nut: Nut, slot: Slot) -> float:
    """Least material between a slot's floor and the underside of its shelf; inf where it has none [mm]."""
    if not set_back(slot):
        return math.inf
    return min(float(slot.floor_at(y) - under_shelf(nut, _on(nut, float(slot.x_at(y))))) for y in (slot.start_y, 0.0))


def _span(slot: Slot, front: float) -> tuple[float, float]:
    """From wall to wall, anywhere between a plane before the front face and the face [mm]."""
    x = [float(slot.x_at(y)) for y in (front, 0.0)]
    return min(x) - slot.half_width_along_x, max(x) + slot.half_width_along_x


def _on(nut: Nut, x: float) -> float:
    left, right = nut.reach
    return min(max(x, left), right)
