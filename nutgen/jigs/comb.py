"""The starting comb: two plates with a notch for every string, set on the bass end of the blank.

seen from above     ___________________________
                   |end |  | | | | |     |screw|   back plate
                   |    |_______________ |  o==|   blank
                   |____|__|_|_|_|_|_____|_____|   front plate
                    numbers, names
"""

import math
from itertools import pairwise

from nutgen.finding import Finding, note, step, warning
from nutgen.geometry.lines import Point
from nutgen.geometry.pose import Pose
from nutgen.jigs.foot import FOOT_HIGH, strip, wide
from nutgen.jigs.jig import Check, Jig, Part
from nutgen.jigs.notches import LEAST_CUT, Notch, notches
from nutgen.jigs.shapes.fasteners import M3, length_for
from nutgen.jigs.shapes.fits import MARK_HIGH, PLACED, TOOL_PLAY
from nutgen.jigs.shapes.form import ALONG_X, Form, trap
from nutgen.jigs.task import Task

END = 12.0
"""Of the block at either end, which holds the screw [mm]."""

OPEN = 1.2
"""Between the blank and the block that the screw comes from [mm]."""

END_AXIS = 3.6
"""Of that screw over what the blank stands on, at least: its nut stands on a floor of plastic [mm]."""

LEAST_FLOOR = 0.8
"""Of a floor that a blank stands on [mm]."""

END_SCREW = length_for(END + OPEN + 1.0)
"""Length of that screw [mm]."""


def comb(task: Task) -> Jig:
    """The comb of a nut; raises NoJigError where it cannot guide."""
    cut = notches(task)
    form, nut, fit = Form(), task.nut, task.fit
    lift = _lift(task, min(one.bottom for one in cut) - nut.lowest_z)
    base = nut.lowest_z - lift
    left, right = reach(task)
    front, back = nut.foremost - fit.slide / 2.0 - fit.wall, nut.thickness + task.back_over + fit.slide / 2.0 + fit.wall
    across = left - END, right + END
    high = fit.layers(task.highest)
    for (start, stop), top in _tops(cut, across):
        form.box((start, front, 0.0), (stop, back, fit.layers(top - base)))
    strip(form, task, "COMB", across, front, fit.layers(FOOT_HIGH))
    form.prism(pocket(task), lift or -1.0, 200.0, off=True)
    for one in cut:
        form.prism(one.plan(front - 1.0, back + 1.0, fit.grown), one.bottom - base, 200.0, off=True)
    end_screw(form, task, across, (front, back), lift, high)
    span = wide(across)
    part = Part("comb", form.solid("the comb"), Pose(origin=(0.0, 0.0, base)), apart=(0.0, 0.0, 25.0))
    play = max(one.width - one.tool_width for one in cut)
    stopped = all(one.stop is not None for one in cut)
    steps = (
        step("jig.comb-set", screw=END_SCREW),
        step("jig.comb-cut"),
        *((step("jig.comb-stops", strip=task.tools.steel[0]),) if stopped else (step("jig.comb-by-hand"),)),
    )
    turned = math.degrees(math.atan2(play, back - front))
    return Jig(
        name="comb",
        stages=("rough slots",),
        parts=(part,),
        hardware=(note("jig.screw-and-nut", thread="M3", long=END_SCREW, count=1),),
        steps=steps,
        promise=(note("jig.comb-holds", placed=PLACED, play=play / 2.0, turn_deg=turned),),
        check=Check(note("jig.check-length"), span[1] - span[0] - 2.0 * fit.grown),
        told=tuple(_told(cut)),
    )


def _lift(task: Task, lowest: float) -> float:
    """Of a floor under a low blank, so that no tool meets the foot or its letters beyond its notch [mm].

    lowest : bottom of a notch over the underside of the blank [mm]
    """
    short = FOOT_HIGH + MARK_HIGH - lowest
    return task.fit.layers(max(short, LEAST_FLOOR)) if short > 0.0 else 0.0


def reach(task: Task) -> tuple[float, float]:
    """From end to end of the blank, as it stands when the slots are cut [mm]."""
    left, right = task.nut.reach
    return left - task.end_over, right + task.end_over


def pocket(task: Task, *, open_by: float = OPEN) -> list[Point]:
    """The room of the blank seen from above: it touches at the bass end and slides elsewhere; counterclockwise.

    open_by : at the treble end [mm]
    """
    nut, grown, half = task.nut, task.fit.grown, task.fit.slide / 2.0
    bass = -nut.bass_first
    rooms = {side: task.end_over - grown + (0.0 if side == bass else open_by) for side in (-1, 1)}
    back = nut.thickness + task.back_over + half - grown
    shift = half - grown
    stretches = nut.steps
    points: list[Point] = [(float(nut.end_x(-1, back)) - rooms[-1], back)]
    fronts = [one.front - shift for one in stretches]
    points.append((float(nut.end_x(-1, fronts[0])) - rooms[-1], fronts[0]))
    for one, (here, there) in zip(stretches, pairwise(fronts), strict=False):
        x = one.right + math.copysign(shift, there - here)
        points += [(x, here), (x, there)]
    points.append((float(nut.end_x(1, fronts[-1])) + rooms[1], fronts[-1]))
    points.append((float(nut.end_x(1, back)) + rooms[1], back))
    return points


def _tops(cut: list[Notch], across: tuple[float, float]) -> list[tuple[tuple[float, float], float]]:
    """Height of both plates, stretch by stretch from end to end [mm]."""
    order = sorted(cut, key=lambda one: one.slot.x)
    joints = [(a.slot.x + b.slot.x) / 2.0 for a, b in pairwise(order)]
    spans = list(pairwise([across[0], *joints, across[1]]))
    return [(span, one.top) for span, one in zip(spans, order, strict=True)]


def end_screw(
    form: Form, task: Task, across: tuple[float, float], deep: tuple[float, float], base: float, high: float
) -> None:
    """The block at the treble end with the screw that presses the blank against the bass end.

    across, deep : of the jig, least and greatest x and y [mm]
    base, high   : of what the blank stands on; of the block over it [mm]
    """
    treble = task.nut.bass_first
    x, y = (across[1] if treble > 0 else across[0]), (task.nut.thickness + task.nut.foremost) / 2.0
    inner, axis = x - treble * END, max(END_AXIS, min(high / 2.0, 5.0))
    middle, high = base + axis, max(high, axis + END_AXIS)
    widen = max(M3.flats + 4.0, deep[1] - deep[0]) / 2.0
    form.box((min(x, inner + treble * 3.0), y - widen, 0.0), (max(x, inner + treble * 3.0), y + widen, base + high))
    form.rod((min(x, inner) - 2.0, y, middle), M3.hole / 2.0 - task.fit.grown, END + 4.0, frame=ALONG_X)
    play = task.fit.press - 2.0 * task.fit.grown
    trap(form, M3, (x - treble * END / 2.0, y, middle), play=play, up=200.0)


def _told(cut: list[Notch]) -> list[Finding]:
    """Slots whose tool has no stop, or has room to wander."""
    loose = [one for one in cut if one.width - one.tool_width > TOOL_PLAY + 0.03]
    found = [warning("jig.comb-notch-wide", one.slot.who, notch=one.width, tool_width=one.tool_width) for one in loose]
    found += [warning("jig.comb-shallow", one.slot.who, deep=max(0.0, one.deep)) for one in cut if one.deep < LEAST_CUT]
    return [*found, *(note("jig.comb-no-stop", one.slot.who) for one in cut if one.stop is None)]
