"""The depth carrier: it holds the blank on its underside, two steel pins before and behind stop each tool.

    seen from the side       ___________________  edge of the shoe, or a saw's back
                            o|_________________|o pins: each on two screws that set it, string by string
                       _____|  |   blank  |  |____

The floor's line carried on, what is left over it and the tool's height from its edge to the shoe is where a pin's
top stands. A straight edge that rests on both pins lies nowhere lower between them.
"""

import math
from dataclasses import dataclass

import numpy as np

from nutgen.bench.tools import SlotPlan
from nutgen.finding import Finding, note, refusal, step
from nutgen.geometry.pose import Pose
from nutgen.jigs.comb import END, END_SCREW, end_screw, pocket, reach
from nutgen.jigs.foot import strip
from nutgen.jigs.guides import CLEAR, blade_room, stop_of
from nutgen.jigs.jig import Check, Jig, NoJigError, Part, Setting
from nutgen.jigs.shapes.fasteners import LENGTHS, M3
from nutgen.jigs.shapes.fits import SET
from nutgen.jigs.shapes.form import Form
from nutgen.jigs.task import Task
from nutgen.nut.slot import Slot
from nutgen.play.spread import nut_spread
from nutgen.spec.workshop import Blade
from nutgen.theory.uncertainty import WITHIN_95

LEAST_OVER = 0.25
"""A stop is no nearer to the final floor [mm]."""

MEASURED = 0.02
"""From a tool's edge to its shoe, by caliper [mm]."""

BENDS = 0.03
"""A pin of 3 between towers 75 apart under 5 N: F l^3 / 48 E I, steel of 210 GPa [mm]."""

PINS = (2.4, 4.2)
"""Steel pins: shanks of drills between these [mm]."""

FOOT, CHAMBER = 4.0, 3.0
"""Of the foot; of the floor of a chamber over it, which holds the nut [mm]."""

GUIDE, ROOM = 4.0, 9.0
"""Along a tower: what guides the pin, and the chamber of its screw [mm]."""

HALF = 7.0
"""Half of a tower's depth [mm]."""

BELOW, LEAST_WALL = 1.0, 1.5
"""The walls stay below every floor by this; lower than this they hold nothing [mm]."""

DRAWS = 4000


@dataclass(frozen=True, slots=True)
class _Stopped:
    """A string whose tool a stop can end."""

    slot: Slot
    blade: Blade


def depth(task: Task) -> Jig:
    """The carrier of a nut; raises NoJigError where no tool can be stopped."""
    pin, rows = rows_of(task)
    found = [_stopped(task, slot, plan) for slot, plan in task.pairs]
    held = [one for one in found if isinstance(one, _Stopped)]
    why = tuple(one for one in found if isinstance(one, Finding))
    if not held:
        raise NoJigError(*why)
    over = max(LEAST_OVER, plane_error(task) + SET + MEASURED + BENDS)
    settings = tuple(_setting(task, one, rows, pin, over) for one in held)
    body, screw, long = _body(task, pin, rows, settings)
    part = Part("depth", body.solid("the depth carrier"), Pose(origin=(0.0, 0.0, task.nut.lowest_z - _base(task))))
    return Jig(
        name="depth",
        stages=("rough slots",),
        parts=(part,),
        hardware=(
            note("jig.screw-and-nut", thread="M3", long=END_SCREW, count=1),
            note("jig.screws-and-nuts", thread="M3", long=screw, count=4, nuts=4),
            note("jig.pins", count=2, pin=pin),
        ),
        steps=(step("jig.depth-load"), step("jig.depth-set", eighth=M3.pitch / 8.0), step("jig.depth-file", over=over)),
        promise=(note("jig.depth-holds", over=over, within=SET + MEASURED + BENDS),),
        check=Check(note("jig.check-foot"), long),
        told=why,
        settings=settings,
    )


def rows_of(task: Task) -> tuple[float, tuple[float, float]]:
    """Diameter of the pins, and where they are, y of front and back one; NoJigError without pins [mm]."""
    pin = min((one for one in task.tools.drill_shanks if PINS[0] <= one <= PINS[1]), key=_off_three, default=None)
    if pin is None:
        raise NoJigError(refusal("jig.depth-no-pins"))
    return pin, _rows(task, pin)


def plane_error(task: Task) -> float:
    """How far a floor may be from its height over the true fret plane, from what was read of the neck [mm]."""
    spread = nut_spread(task.nut, task.errors, draws=DRAWS)
    return WITHIN_95 * float(np.max(spread.floor_height.sd))


def _off_three(shank: float) -> float:
    return abs(shank - 3.0)


def _stopped(task: Task, slot: Slot, plan: SlotPlan) -> _Stopped | Finding:
    """The blade of a string, or why none can be stopped."""
    verdicts = []
    for blade in map(task.blade, (*plan.rough[::-1], *plan.final)):
        verdict = stop_of(blade, blade_room(task))
        if blade is not None and verdict.code == "jig.blade-stopped":
            return _Stopped(slot, blade)
        verdicts.append((blade is None, verdict))
    why = min(verdicts, key=lambda one: one[0])[1] if verdicts else stop_of(None, 0.0)
    return note("jig.depth-not-stopped", slot.who, why=why)


def _base(task: Task) -> float:
    return task.fit.layers(FOOT)


def _rows(task: Task, pin: float) -> tuple[float, float]:
    """Where the pins are, y of the front one and of the back one [mm]."""
    fit, nut = task.fit, task.nut
    front = nut.foremost - fit.slide / 2.0 - fit.wall
    back = nut.thickness + task.back_over + fit.slide / 2.0 + fit.wall
    return front - CLEAR - pin / 2.0, back + CLEAR + pin / 2.0


def line_at(slot: Slot, y: float) -> float:
    """The floor's line at its start, carried on straight: no part of a rolled floor lies over it [mm]."""
    return slot.floor_z - slot.run(y) * math.tan(math.radians(slot.tilt_deg))


def _setting(task: Task, one: _Stopped, rows: tuple[float, float], pin: float, over: float) -> Setting:
    """Heights of both pins' tops over the underside of the foot.

    A tool that lies aslant stands higher, upright, than it is by caliper, and meets a round pin past its top.
    """
    upright = 1.0 / math.cos(math.radians(one.slot.tilt_deg))
    lies = one.blade.height * upright - pin / 2.0 * (upright - 1.0)
    base = task.nut.lowest_z - _base(task)
    front, back = (line_at(one.slot, y) + over + lies - base for y in rows)
    return Setting(one.slot.who, one.blade.width, one.blade.height, front, back)


def _body(task: Task, pin: float, rows: tuple[float, float], settings: tuple[Setting, ...]) -> tuple[Form, int, float]:
    """The carrier as it lies, the length of its setting screws, the thickness of its foot."""
    form, fit, base = Form(), task.fit, _base(task)
    left, right = reach(task)
    inner, outer = (left - END, right + END), (left - END - GUIDE - ROOM, right + END + GUIDE + ROOM)
    front, back = rows[0] + CLEAR + pin / 2.0, rows[1] - CLEAR - pin / 2.0
    form.box((outer[0], rows[0] - HALF, 0.0), (outer[1], rows[1] + HALF, base))
    strip(form, task, "DEPTH", outer, rows[0] - HALF, base)
    wall = min(line_at(slot, y) for slot in task.nut.slots for y in (front, back)) - task.nut.lowest_z - BELOW
    if wall < LEAST_WALL:
        raise NoJigError(refusal("jig.depth-too-low", wall=max(0.0, wall)))
    form.box((inner[0], front, 0.0), (inner[1], back, base + wall))
    form.prism(pocket(task), base, 200.0, off=True)
    end_screw(form, task, inner, (front, back), base, 7.0)
    tops = [height for one in settings for height in (one.front, one.back)]
    heads = [height - pin - M3.head_high for height in tops]
    long = max((size for size in LENGTHS if size <= min(heads)), default=0)
    floor = max(base + CHAMBER, fit.layers(max(heads) - long + M3.nut_high + 0.4))  # the nut holds it at its highest
    if not long or min(heads) < floor:
        raise NoJigError(refusal("jig.depth-out-of-reach", lowest=min(tops), highest=max(tops)))
    for x, away in ((inner[0], outer[0]), (inner[1], outer[1])):
        for y in rows:
            _tower(form, task, (x, away), y, pin, floor, fit.layers(max(tops)))
    return form, long, base


def _tower(form: Form, task: Task, span: tuple[float, float], y: float, pin: float, floor: float, high: float) -> None:
    """A guide for an end of a pin, and beyond it the chamber with the screw that it lies on.

    span : from its inner to its outer side, x [mm]
    """
    fit, way = task.fit, math.copysign(1.0, span[1] - span[0])
    play = fit.press - 2.0 * fit.grown
    form.box((min(span), y - HALF, 0.0), (max(span), y + HALF, high))
    half = (pin + fit.slide) / 2.0 - fit.grown
    form.box((min(span) - 1.0, y - half, floor), (max(span) + 1.0, y + half, 200.0), off=True)
    near = span[0] + way * GUIDE
    wide = M3.flats / math.sqrt(3.0) + 0.3 - fit.grown  # the nut goes in past it
    form.box((min(near, span[1] + way), y - wide, floor), (max(near, span[1] + way), y + wide, 200.0), off=True)
    middle = near + way * ROOM / 2.0
    form.rod((middle, y, -1.0), M3.diameter / 2.0 - 0.1 - fit.grown, 99.0)
    form.hexagon((middle, y, floor - M3.nut_high - 0.1), M3.flats + play, 99.0)
