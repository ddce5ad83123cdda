"""The notches of comb and depth carrier: how wide each is, and where it ends."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from nutgen.finding import refusal
from nutgen.geometry.lines import Point
from nutgen.jigs.jig import NoJigError
from nutgen.jigs.rails import BELOW, Rails
from nutgen.jigs.task import Task
from nutgen.nut.slot import Slot


@dataclass(frozen=True, slots=True)
class Notch:
    """The notch of one string.

    slot    : that is cut through it
    widths  : of the tools that go through it [mm]
    width   : of the notch as it should come out, square to the slot [mm]
    bottoms : over the bed, in the front plate and in the back one [mm]
    """

    slot: Slot
    widths: tuple[float, ...]
    width: float
    bottoms: tuple[float, float]

    @property
    def play(self) -> float:
        """Of its narrowest tool, in all [mm]."""
        return self.width - min(self.widths)

    def plan(self, front: float, back: float, grown: float) -> list[Point]:
        """Its room from above, drawn narrower by what a printer adds to its sides [mm]."""
        half = (self.width / 2.0 - grown) / math.cos(math.radians(self.slot.fan_deg))
        near, far = float(self.slot.x_at(front)), float(self.slot.x_at(back))
        return [(near - half, front), (near + half, front), (far + half, back), (far - half, back)]


def notches(task: Task, steel: Rails, tools: Sequence[tuple[Slot, tuple[float, ...]]]) -> list[Notch]:
    """A notch for the widths that go into each slot; raises NoJigError where two notches meet."""
    made = [_notch(task, steel, slot, widths) for slot, widths in tools]
    least, (front, _, _, back) = task.fit.least_wall, steel.plates
    close = []
    for a, b in pairwise(sorted(made, key=lambda one: one.slot.x)):
        apart = min(float(b.slot.x_at(y) - a.slot.x_at(y)) for y in (front, back))
        wall = apart - (a.width + b.width) / 2.0
        if wall < least:
            close.append(refusal("jig.comb-too-close", a.slot.who, b.slot.who, wall=max(0.0, wall), least=least))
    if close:
        raise NoJigError(*close)
    return made


def _notch(task: Task, steel: Rails, slot: Slot, widths: tuple[float, ...]) -> Notch:
    """Its bottoms are whole layers under the edge of a tool at its stop, and less than that over the floor."""
    layer = task.printer.layer_height
    ends = [steel.edge(slot, y) - BELOW - steel.base for y in (steel.plates[1], steel.plates[3])]
    front, back = (math.floor(end / layer + 1e-6) * layer for end in ends)
    return Notch(slot, widths, task.fit.notch(max(widths)), (front, back))
