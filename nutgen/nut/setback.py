"""Which strings start before the front face, and the shelf that each one wants."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from nutgen.nut.part import Part
from nutgen.nut.shelf import LEAST_STRETCH, Shelf, Shelves
from nutgen.nut.slot import Slot

SHELF_WALL = 0.8
"""Of a shelf, on either side of its slot: a wall that does not break. Common practice, no source [mm]."""

LEAST_SHELF = {"brass": 0.5, "hardwood": 1.5, "printed plastic": 1.5}
LEAST_SHELF_ELSE = 1.0
"""Under a slot, from its floor to the underside of its shelf, so that the shelf does not break off: in bone, antler,
horn and phenolic 1.0, half of that in metal, half more across the grain of wood and the layers of a print. Common
practice, no source [mm]."""

LEAST_SETBACK = 0.02
"""A setback smaller than this makes no shelf: no one can make, see or hear it [mm]."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of the nut's front, as it is marked out.

    Parameters
    ----------
    start, end : float
        From the bass end of the board [mm].
    ahead : float
        Before the front face; 0 where no shelf stands [mm].
    strings : tuple of int
        Those that start there, bass to treble.
    """

    start: float
    end: float
    ahead: float
    strings: tuple[int, ...]


def set_back(slot: Slot) -> bool:
    """Whether a string starts so far before the front face that it takes a shelf."""
    return slot.start_y <= -LEAST_SETBACK


def shelves_of(slots: Sequence[Slot], board_radius: float) -> Shelves:
    """The shelves that a set of slots wants.

    Parameters
    ----------
    slots : sequence of Slot
        Of all strings, to their final sizes.
    board_radius : float
        Of the board across the nut; inf where flat [mm].

    Returns
    -------
    Shelves
        Where a neighbour starts farther back, a shelf ends half way through the wall to that slot at the latest,
        so that no other string runs over it; never flush with its own slot, where the two would only touch.
    """
    alone = tuple(_shelf_of(slot, slots) for slot in slots if set_back(slot))
    return Shelves(alone, board_radius=board_radius)


def _shelf_of(slot: Slot, slots: Sequence[Slot]) -> Shelf:
    low, high = _span(slot, slot.start_y)
    left, right = low - SHELF_WALL, high + SHELF_WALL
    for other in slots:
        if other.start_y > slot.start_y:
            near, far = _span(other, slot.start_y)
            if other.x < slot.x:
                left = max(left, min((far + low) / 2.0, low - LEAST_STRETCH))
            elif other.x > slot.x:
                right = min(right, max((near + high) / 2.0, high + LEAST_STRETCH))
    return Shelf(left, right, slot.start_y)


def least_shelf(material: str) -> float:
    """Least material under the slot of a shelf [mm]."""
    return LEAST_SHELF.get(material, LEAST_SHELF_ELSE)


def shortened_board(nut: Part) -> float:
    """What comes off the end of the board where the nut itself is to stand where the strings start [mm].

    Parameters
    ----------
    nut : Part
        With shelves.

    Returns
    -------
    float
        The mean of all setbacks, since strings that start at a nut's front face start alike.
    """
    return round(sum(-slot.start_y for slot in nut.slots) / len(nut.slots), 2)


def under_floor(nut: Part, slot: Slot) -> float:
    """Least material between a slot's floor and the underside of its shelf; inf where it has none [mm]."""
    if not set_back(slot):
        return math.inf
    left, right = nut.reach
    return min(
        float(slot.floor_at(y) - nut.shelves.under(min(max(float(slot.x_at(y)), left), right)))
        for y in (slot.start_y, 0.0)
    )


def below_seat(nut: Part, slot: Slot) -> float:
    """How far the underside of a slot's shelf would lie below the seat's floor, over a board that falls so far; 0 as a
    rule [mm]."""
    if not set_back(slot):
        return 0.0
    left, right = nut.reach
    places = (min(max(x, left), right) for x in _span(slot, slot.start_y))
    return max(0.0, *(float(nut.underside.z(x, 0.0) - nut.shelves.under(x)) for x in places))


def fronts(nut: Part) -> tuple[Stretch, ...]:
    """The front from the bass end to the treble end, stretch by stretch."""
    steps = nut.steps if nut.strung == "right" else nut.steps[::-1]
    joints = [step.right - nut.left.x for step in nut.steps[:-1]]
    if nut.strung == "left":
        joints = [nut.length - joint for joint in reversed(joints)]
    return tuple(
        Stretch(
            start=start,
            end=end,
            ahead=-step.front,
            strings=tuple(slot.number for slot in nut.slots if step.left < slot.x < step.right),
        )
        for step, (start, end) in zip(steps, pairwise([0.0, *joints, nut.length]), strict=True)
    )


def rebate(nut: Part) -> float:
    """Height of what is open below the shelf, from the underside to the lowest place of the shelf [mm]."""
    left, right = nut.reach
    sides = (min(max(x, left), right) for step in nut.standing for x in (step.left, step.right))
    return max(0.0, min(float(nut.shelves.under(x)) for x in sides) - nut.lowest_z)


def _span(slot: Slot, front: float) -> tuple[float, float]:
    """From wall to wall, anywhere between a plane before the front face and the face [mm]."""
    x = [float(slot.x_at(y)) for y in (front, 0.0)]
    return min(x) - slot.half_width_along_x, max(x) + slot.half_width_along_x
