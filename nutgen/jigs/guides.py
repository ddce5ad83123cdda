"""The maker's tools as they are: which jig can guide each, how its width sits in the notch, else why not."""

from collections.abc import Sequence
from dataclasses import dataclass

from nutgen.bench.tools import ToolStep
from nutgen.finding import Finding, Subject, note, step
from nutgen.jigs.jig import Check, Setting
from nutgen.jigs.notches import Notch
from nutgen.jigs.plates import long_of
from nutgen.jigs.rails import Rails, rails
from nutgen.jigs.shapes.fits import SET
from nutgen.jigs.task import KINDS, Task
from nutgen.nut.slot import Slot

GRIP = 3.0
"""A shoe holds a file by so much of its sides; under a saw's back it has room as a whole [mm]."""

STROKE, SHOE = 45.0, (6.0, 5.0)
"""A shoe stays on all pins for so long a stroke; least thickness and height of its strips [mm]."""

SMOOTH = 10.0
"""Of a pin, at its inner end, where the shoe rides [mm]."""


@dataclass(frozen=True, slots=True)
class Guided:
    """A tool that cuts slots of this nut.

    tool    : its kind
    width   : of it [mm]
    strings : whose slots it cuts
    notch   : of the comb, where it begins a slot; 0 where it does not [mm]
    stop    : whether steel stops it, else why not
    """

    tool: str
    width: float
    strings: tuple[Subject, ...]
    notch: float
    stop: Finding


@dataclass(frozen=True, slots=True, eq=False)
class Stop:
    """What it takes to stop the tools of some strings on the rails, and what that holds."""

    hardware: tuple[Finding, ...]
    steps: tuple[Finding, ...]
    promise: tuple[Finding, ...]
    check: Check
    settings: tuple[Setting, ...]


def guided(task: Task) -> tuple[Guided, ...]:
    """Every tool of the plans, in the order of kind and width."""
    first, later = rails(task, "comb"), rails(task, "depth")
    used: dict[tuple[str, float], dict[Slot, None]] = {}  # a tool may do two steps in one slot
    whys: dict[tuple[str, float], Finding] = {}
    begins: set[tuple[str, float]] = set()
    for slot, plan in task.pairs:
        for place, one in enumerate(plan.steps):
            tool = one.tool, one.tool_width
            used.setdefault(tool, {})[slot] = None
            if why := why_not(task, later if place else first, slot, one):
                whys[tool] = max(whys.get(tool, why), why, key=_least)  # of all its strings the height that serves
            if not place:
                begins.add(tool)
    return tuple(
        Guided(
            tool=tool[0],
            width=tool[1],
            strings=tuple(slot.who for slot in used[tool]),
            notch=task.fit.notch(tool[1]) if tool in begins else 0.0,
            stop=whys.get(tool, note("jig.blade-stopped")),
        )
        for tool in sorted(used)
    )


def _least(why: Finding) -> float:
    """Height that a tool must have, where it is too low [mm]."""
    least = dict(why.values).get("least")
    return least if isinstance(least, float) else 0.0


def stopped(task: Task, steel: Rails, slot: Slot, tool: ToolStep) -> bool:
    """Whether steel can stop a tool in a slot."""
    return why_not(task, steel, slot, tool) is None


def why_not(task: Task, steel: Rails, slot: Slot, tool: ToolStep) -> Finding | None:
    """Why steel cannot stop a tool: a shoe needs smooth sides that run along the edge, and high enough."""
    blade = task.blade(tool)
    if tool.tool not in KINDS:
        return note("jig.blade-round")
    if blade is None:
        return note("jig.blade-unknown")
    need = steel.shoe(slot) + (SHOE[1] if blade.tool == "saw" else GRIP)
    if blade.taper:
        return note("jig.blade-tapers", taper=blade.taper)
    if blade.sides != "smooth":
        return note("jig.blade-toothed")
    if blade.height < need:
        return note("jig.blade-low", high=blade.height, least=need)
    return None


def setting(task: Task, steel: Rails, held: Sequence[Notch]) -> Stop:
    """The pins, the shoe and its settings for the notches whose tools are stopped; empty but for a check where none."""
    if not held:
        return Stop((), (), (), Check(note("jig.check-length"), long_of(task)), ())
    front, back = (top - steel.base for top in steel.tops)
    long = steel.rows[1] - steel.rows[0] + STROKE
    wide, high = SHOE
    return Stop(
        hardware=(
            note("jig.pins", count=4, pin=steel.pin, smooth=SMOOTH),
            note("jig.shoe", long=long, wide=wide, high=high),
        ),
        steps=(step("jig.shoe-set"), step("jig.shoe-ride", stroke=STROKE)),
        promise=(note("jig.depth-holds", over=steel.over, within=2.0 * SET),),
        check=Check(note("jig.check-pins", back=back), front),
        settings=tuple(Setting(one.slot.who, steel.shoe(one.slot), max(one.widths)) for one in held),
    )
