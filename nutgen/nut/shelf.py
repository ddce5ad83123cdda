"""The shelves of a nut setback: what stands forward of the front face where a string starts before it.

    y ^   ______________________ 0      front face        seen from above
      |        |__|      |  |__|
      |                  |__|           each as wide as its slot and a wall on either side;
      |                                 neighbours that meet become one

A shelf carries the top's section at the front face forward, level, to a flat front. Its underside
follows the board and stays clear of it.
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from numpy.typing import ArrayLike

from nutgen.theory import Array
from nutgen.theory.heights import crown_drop

OFF_THE_BOARD = 0.15
"""Under a shelf, so that the nut seats before a shelf touches the board. Common practice, no source [mm]."""

LEAST_STRETCH = 0.02
"""A stretch of the front narrower than this is none: no one can make or see it [mm]."""

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


@dataclass(frozen=True, slots=True)
class Shelves:
    """What stands before the front face.

    Parameters
    ----------
    alone : tuple of Shelf
        The shelf of each string that is set back, as if it were alone; it may reach past an end of the nut.
    clear : float
        Straight up from the board to their underside, on the centre line [mm].
    board_radius : float
        Of the board across the nut; inf where flat [mm].
    """

    alone: tuple[Shelf, ...] = ()
    clear: float = OFF_THE_BOARD
    board_radius: float = math.inf

    @property
    def front(self) -> float:
        """The foremost plane of the nut: the front face, or the front of the farthest shelf [mm]."""
        return min((shelf.front for shelf in self.alone), default=0.0)

    def under(self, x: ArrayLike) -> Array:
        """Height of the underside: an arc about the board's own axis [mm]."""
        return self.clear - crown_drop(x, radius=self.board_radius + self.clear)

    def steps(self, reach: tuple[float, float]) -> tuple[Shelf, ...]:
        """The front from end to end of a nut of this reach, shelves joined; stretches that touch differ."""
        start, stop = reach
        places = [start]
        for x in sorted(x for shelf in self.alone for x in (shelf.left, shelf.right)):
            if x - places[-1] >= LEAST_STRETCH and stop - x >= LEAST_STRETCH:
                places.append(x)
        found: list[Shelf] = []
        for left, right in pairwise([*places, stop]):
            middle = (left + right) / 2.0
            front = min((shelf.front for shelf in self.alone if shelf.left <= middle <= shelf.right), default=0.0)
            if found and abs(found[-1].front - front) < SAME_FRONT:
                last = found.pop()
                left, front = last.left, min(last.front, front)
            found.append(Shelf(left, right, front))
        return tuple(found)

    def foremost(self, left: float, right: float) -> float:
        """The foremost plane between two places across [mm]."""
        return min((shelf.front for shelf in self.alone if shelf.left < right and shelf.right > left), default=0.0)

    def mirrored(self) -> "Shelves":
        """The same with x reversed."""
        return replace(self, alone=tuple(Shelf(-one.right, -one.left, one.front) for one in reversed(self.alone)))

    def grown(self, by: float) -> "Shelves":
        """The same, sides and underside moved outward; inward where negative [mm]."""
        alone = tuple(Shelf(one.left - by, one.right + by, one.front) for one in self.alone)
        return replace(self, alone=alone, clear=self.clear - by)


NO_SHELVES = Shelves()
"""Of a nut whose strings all start at its front face."""
