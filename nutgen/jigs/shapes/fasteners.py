"""Screws and nuts by their standards, and the holes and traps that take them.

Cap screws with a hexagon socket: ISO 4762. Hexagon nuts: ISO 4032. Both from memory.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Screw:
    """A metric cap screw and its nut.

    diameter : of the thread [mm]
    pitch    : up in one turn, coarse thread [mm]
    head     : greatest diameter of the head, ISO 4762 [mm]
    head_high : height of the head [mm]
    flats    : across the flats of the nut, greatest, ISO 4032 [mm]
    nut_high : height of the nut, greatest [mm]
    """

    diameter: float
    pitch: float
    head: float
    head_high: float
    flats: float
    nut_high: float

    @property
    def hole(self) -> float:
        """Diameter of the hole that it passes: the middle series of ISO 273 [mm]."""
        return self.diameter + (0.4 if self.diameter <= 3.0 else 0.5)


M3 = Screw(3.0, 0.5, 5.5, 3.0, 5.5, 2.4)
M4 = Screw(4.0, 0.7, 7.0, 4.0, 7.0, 3.2)

LENGTHS = (5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80)
"""Lengths that ISO 4762 lists [mm]."""


def length_for(reach: float) -> int:
    """The shortest listed screw that reaches so far; the longest where none does [mm]."""
    return next((long for long in LENGTHS if long >= reach), LENGTHS[-1])
