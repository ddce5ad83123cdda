"""The maker's tools as they are: which jig can guide each, how its width sits in a notch, else why not."""

from dataclasses import dataclass

from nutgen.bench.tools import ToolStep
from nutgen.finding import Finding, Subject, note
from nutgen.jigs.task import Task
from nutgen.spec.workshop import Blade


@dataclass(frozen=True, slots=True)
class Guided:
    """A tool that cuts slots of this nut.

    tool    : its kind
    width   : of it [mm]
    strings : whose slots it cuts
    notch   : of the comb, where it begins a slot; 0 where it does not [mm]
    depth   : whether the depth carrier stops it, else why not
    """

    tool: str
    width: float
    strings: tuple[Subject, ...]
    notch: float
    depth: Finding


def guided(task: Task) -> tuple[Guided, ...]:
    """Every tool of the plans, in the order of kind and width."""
    steps: dict[tuple[str, float], list[tuple[Subject, ToolStep]]] = {}
    begins = set()
    for slot, plan in task.pairs:
        whole = (*plan.rough, *plan.final)
        begins |= {(one.tool, one.tool_width) for one in whole[:1]}
        for one in whole:
            steps.setdefault((one.tool, one.tool_width), []).append((slot.who, one))
    return tuple(
        Guided(
            tool=kind,
            width=width,
            strings=tuple(who for who, _ in used),
            notch=task.fit.notch(width) if (kind, width) in begins else 0.0,
            depth=stop_of(task.blade(used[0][1]), blade_room(task)),
        )
        for (kind, width), used in sorted(steps.items())
    )


CLEAR = 5.0
"""From the walls of the depth carrier to a pin [mm]."""

STROKE = 6.0
"""A stroke shorter than this files nothing [mm]."""


def blade_room(task: Task) -> float:
    """The longest blade that hangs from its shoe between both pins, and can be moved there [mm]."""
    fit, nut = task.fit, task.nut
    return nut.thickness + task.back_over - nut.foremost + fit.slide + 2.0 * (fit.wall + CLEAR) - STROKE


def stop_of(blade: Blade | None, room: float) -> Finding:
    """Whether steel can stop a tool: it needs a smooth part along its edge, and an edge that meets no pin.

    room : longest blade that goes between the pins [mm]
    """
    if blade is None:
        return note("jig.blade-unknown")
    if blade.taper:
        return note("jig.blade-tapers", taper=blade.taper)
    if blade.sides != "smooth":
        return note("jig.blade-toothed")
    if blade.length > room:
        return note("jig.blade-long", long=blade.length, room=room)
    return note("jig.blade-stopped", height=blade.height)
