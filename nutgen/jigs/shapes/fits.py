"""What a printed part holds: clearances, walls, whole layers.

All common practice, no source, unless said.
"""

import math
from dataclasses import dataclass

from nutgen.model.print.printing import LEAST_VOID
from nutgen.spec.forming import Print

PRINTED = 0.10
"""A size as it comes off the printer is within this, once the coupon was read [mm]."""

SET = 0.05
"""A height that is set by screw and caliper is within this [mm]."""

PLACED = 0.15
"""A place along a jig is within this [mm]."""

TURNED_DEG = 1.0
"""A direction is within this."""

WALL_LINES = 3.0
"""A wall that holds or guides has three printed lines."""

SLIDES = {"PLA": 0.20, "PETG": 0.25, "ABS": 0.25, "nylon": 0.30, "resin": 0.10}
"""Between a blank and a pocket that it slides into, in all [mm]."""

PRESSED = {"PLA": 0.05, "PETG": 0.08, "ABS": 0.08, "nylon": 0.10, "resin": 0.03}
"""Between a nut or a pin and the trap that it is pressed into, in all [mm]."""

TOOL_PLAY = 0.05
"""A notch is wider than its tool by this [mm]."""

MARK_HIGH = 0.6
"""Raised letters stand up so far [mm]."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The fits of one printer.

    table : the printer
    """

    table: Print

    @property
    def grown(self) -> float:
        """What is added to every side in the plane of the layers [mm]."""
        return self.table.added_per_side

    @property
    def slide(self) -> float:
        """Play of what slides, in all [mm]."""
        return SLIDES[self.table.material]

    @property
    def press(self) -> float:
        """Play of what is pressed in, in all [mm]."""
        return PRESSED[self.table.material]

    @property
    def wall(self) -> float:
        """Of a plate that holds: 3, and three lines at least [mm]."""
        return max(3.0, WALL_LINES * self.table.line)

    @property
    def least_wall(self) -> float:
        """Between two notches [mm]."""
        return WALL_LINES * self.table.line

    @property
    def least_gap(self) -> float:
        """Narrowest notch that this nozzle leaves open [mm]."""
        return LEAST_VOID * self.table.nozzle

    def notch(self, width: float) -> float:
        """Width of a notch for a tool of a width, as it should come out [mm]."""
        return max(width + TOOL_PLAY, self.least_gap)

    def layers(self, height: float) -> float:
        """A height in whole layers, no lower [mm]."""
        return math.ceil(height / self.table.layer_height - 1e-6) * self.table.layer_height
