"""The rails of comb and depth carrier: steel pins on two plates, and how far a shoe stands from a tool's edge.

    seen from the side     ==[     shoe      ]==     two strips clamped on the sides of the tool, its edge below them
                             o |  blank  | o         pins in a groove along either plate, both sides of the tool
                            |_||_________||_|        the plates, with a notch for the tool

The floor's line and what is left over it tell how far the edge may hang below a line over both pins. A shoe that rests
on both lies nowhere lower between them; where it slips off, the notches end between that line and the floor.
"""

import math
from dataclasses import dataclass

from nutgen.jigs.foot import FOOT_HIGH
from nutgen.jigs.shapes.fits import MARK_HIGH, SET
from nutgen.jigs.task import Task
from nutgen.nut.slot import Slot

LEAST_OVER = 0.25
"""A stop is no nearer to the final floor, nor by less than a layer, so that a notch ends between them [mm]."""

PINS, USUAL = (2.4, 4.2), 3.0
"""Steel pins: shanks of drills between these; as thick as most drawers have them [mm]."""

LIP, PROUD = 2.0, 1.2
"""Of plastic on either side of a groove; of a pin over its plate, to a layer [mm]."""

GUIDES = {"comb": 1.0, "depth": 0.0}
"""Plates over the blank: the comb leads a tool, in the carrier the groove does that was begun [mm]."""

CLEAR = 0.4
"""A shoe at its stop is so far over blank and blocks [mm]."""

BELOW = 0.02
"""A notch ends so far below the edge of a tool at its stop, so that teeth stay off plastic [mm]."""

LEAST_FLOOR = 0.8
"""Of a floor that a low blank stands on [mm]."""

BLOCK = 6.0
"""Of a block over what the blank stands on: it covers the end screw [mm]."""

PLACES = 9
"""Along a floor, where its height is compared."""


@dataclass(frozen=True, slots=True)
class Rails:
    """Where the pins lie, in the nut's frame.

    pin    : diameter of the pins [mm]
    listed : whether the bench has such steel
    plates : y of the front plate's outer and inner face, of the back one's inner and outer face [mm]
    rows   : y of the front pins and of the back ones [mm]
    tops   : z of both [mm]
    high   : of both plates over the bed [mm]
    grooves : floors of both grooves over the bed [mm]
    base   : z of the bed [mm]
    lift   : what the blank stands on, over the bed; 0 where it stands on the table [mm]
    over   : left over a final floor [mm]
    """

    pin: float
    listed: bool
    plates: tuple[float, float, float, float]
    rows: tuple[float, float]
    tops: tuple[float, float]
    high: tuple[float, float]
    grooves: tuple[float, float]
    base: float
    lift: float
    over: float

    @property
    def slope(self) -> float:
        """How far a shoe on the pins falls for each mm toward the headstock."""
        return (self.tops[0] - self.tops[1]) / (self.rows[1] - self.rows[0])

    def line(self, y: float) -> float:
        """Underside of a shoe that rests on the pins, which are round [mm]."""
        lies = self.pin / 2.0 * (math.hypot(1.0, self.slope) - 1.0)
        return self.tops[0] + lies - (y - self.rows[0]) * self.slope

    def shoe(self, slot: Slot) -> float:
        """From a tool's edge to its shoe, square to both, for a string [mm]."""
        step = (self.plates[2] - slot.start_y) / (PLACES - 1)
        places = [slot.start_y + n * step for n in range(PLACES)]
        hangs = min(self.line(y) - float(slot.floor_at(y)) for y in places) - self.over
        return hangs / math.hypot(1.0, self.slope)

    def edge(self, slot: Slot, y: float) -> float:
        """Edge of a tool whose shoe rests on the pins [mm]."""
        return self.line(y) - self.shoe(slot) * math.hypot(1.0, self.slope)


def rails(task: Task, name: str) -> Rails:
    """The rails of a nut for comb or carrier, by name."""
    nut, fit = task.nut, task.fit
    shanks = [one for one in task.tools.drill_shanks if PINS[0] <= one <= PINS[1]]
    pin = min(shanks, key=lambda shank: abs(shank - USUAL), default=USUAL)
    front, back = nut.foremost - fit.slide / 2.0, nut.thickness + task.back_over + fit.slide / 2.0
    half = LIP + (pin + fit.slide) / 2.0
    rows = front - half, back + half
    flattest = min(math.tan(math.radians(slot.tilt_deg)) / math.cos(math.radians(slot.fan_deg)) for slot in nut.slots)
    layer = task.printer.layer_height
    drop = max(0, math.floor(flattest * (rows[1] - rows[0]) / layer + 1e-6)) * layer
    lowest = min(float(slot.floor_at(back)) - half * math.tan(math.radians(slot.tilt_at(back))) for slot in nut.slots)
    short = FOOT_HIGH + MARK_HIGH - (lowest - nut.lowest_z)  # no tool may meet the foot or its letters past its notch
    lift = fit.layers(max(short, LEAST_FLOOR)) if short > 0.0 else 0.0
    falls = half * drop / (rows[1] - rows[0])
    groove = fit.layers(pin - PROUD)
    least = task.highest + CLEAR - pin - falls, task.highest + GUIDES[name] - groove, BLOCK + CLEAR - pin
    deep = fit.layers(lift + max(least))
    base = nut.lowest_z - lift
    grooves = deep + drop, deep
    return Rails(
        pin=pin,
        listed=bool(shanks),
        plates=(front - 2.0 * half, front, back, back + 2.0 * half),
        rows=rows,
        tops=(base + grooves[0] + pin, base + grooves[1] + pin),
        high=(grooves[0] + groove, grooves[1] + groove),
        grooves=grooves,
        base=base,
        lift=lift,
        over=max(LEAST_OVER, task.plane_error + 2.0 * SET, layer + 2.0 * BELOW),
    )
