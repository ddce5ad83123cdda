"""The notches of the comb: which tool begins which slot, how wide its notch is, where it stops."""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from nutgen.bench.tools import ToolStep
from nutgen.finding import refusal
from nutgen.geometry.lines import Point
from nutgen.jigs.jig import NoJigError
from nutgen.jigs.task import Task
from nutgen.nut.slot import Slot

OVER = 0.25
"""A slot is begun no deeper than this over its final floor [mm]."""

LEAST_CUT = 0.10
"""A start shallower than this guides no file [mm]."""

BELOW = 0.8
"""A notch is open so far below the cut, so that teeth stay off plastic [mm]."""

GUIDES = 5.0
"""The plates stand up so far over the blank where no stop sets their height [mm]."""


@dataclass(frozen=True, slots=True)
class Notch:
    """The notch of one string.

    slot       : that it begins
    tool_width : of the saw or the file [mm]
    width      : of the notch as it should come out, square to the slot [mm]
    cut        : bottom of the cut where a stop ends it [mm]
    bottom     : of the notch [mm]
    top        : of the plates there [mm]
    stop       : height of the steel that the back meets; None where the hand decides [mm]
    deep       : of the cut in the blank at the stop [mm]
    """

    slot: Slot
    tool_width: float
    width: float
    cut: float
    bottom: float
    top: float
    stop: float | None
    deep: float

    def plan(self, front: float, back: float, grown: float) -> list[Point]:
        """Its room from above, drawn narrower by what a printer adds to its sides [mm]."""
        half = (self.width / 2.0 - grown) / math.cos(math.radians(self.slot.fan_deg))
        near, far = float(self.slot.x_at(front)), float(self.slot.x_at(back))
        return [(near - half, front), (near + half, front), (far + half, back), (far - half, back)]


def notches(task: Task) -> list[Notch]:
    """All of them, bass to treble; raises NoJigError where no tool fits or two notches meet."""
    bare = [slot.who for slot, plan in task.pairs if not (plan.rough or plan.final)]
    if bare:
        raise NoJigError(refusal("jig.comb-no-tool", *bare))
    made = [_notch(task, slot, plan.rough[0] if plan.rough else plan.final[0]) for slot, plan in task.pairs]
    least, front, back = task.fit.least_wall, task.nut.foremost, task.nut.thickness
    close = []
    for a, b in pairwise(sorted(made, key=lambda one: one.slot.x)):
        apart = min(float(b.slot.x_at(y) - a.slot.x_at(y)) for y in (front, back))
        wall = apart - (a.width + b.width) / 2.0
        if wall < least:
            close.append(refusal("jig.comb-too-close", a.slot.who, b.slot.who, wall=max(0.0, wall), least=least))
    if close:
        raise NoJigError(*close)
    return made


def _notch(task: Task, slot: Slot, tool: ToolStep) -> Notch:
    width = tool.tool_width
    y = np.linspace(task.nut.foremost, task.nut.thickness, 9)
    cut = float(slot.floor_at(y).max()) + OVER
    blade = task.blade(tool)
    base, top = task.nut.lowest_z, task.nut.lowest_z + task.highest
    stop: float | None = None
    high = top + GUIDES
    if blade is not None and blade.sides == "smooth" and task.tools.steel:
        strip = task.tools.steel[0]
        high = base + task.fit.layers(cut + blade.height - strip - base)
        stop = high + strip
        cut = stop - blade.height
    deep = slot.floor_z + slot.depth + task.top_over - cut
    return Notch(slot, width, task.fit.notch(width), cut, cut - BELOW, high, stop, deep)
