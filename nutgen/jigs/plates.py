"""The body of comb and depth carrier: two plates with notches and grooves, joined past the ends of the blank.

seen from above     ___________________________
                   |====|==|=|=|=|=|=====|=====|   back plate, its groove
                   |end |_______________ |screw|   blank
                   |====|==|=|=|=|=|=====|=====|   front plate, its groove
                    numbers, names
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from nutgen.geometry.lines import Point
from nutgen.geometry.pose import Pose
from nutgen.jigs.foot import FOOT_HIGH, strip, wide
from nutgen.jigs.jig import Part
from nutgen.jigs.notches import Notch
from nutgen.jigs.rails import BLOCK, Rails
from nutgen.jigs.shapes.fasteners import M3, length_for
from nutgen.jigs.shapes.form import ALONG_X, Form, trap
from nutgen.jigs.task import Task

END = 12.0
"""Of the block at either end, which holds the screw [mm]."""

OPEN = 1.2
"""Between the blank and the block that the screw comes from [mm]."""

AXIS = 3.6
"""Of that screw over what the blank stands on: its nut stands on a floor of plastic [mm]."""

END_SCREW = length_for(END + OPEN + 1.0)
"""Length of that screw [mm]."""


def plates(task: Task, steel: Rails, name: str, cut: Sequence[Notch]) -> Part:
    """The part as it lies and is used: the blank goes in from above."""
    form, fit = Form(), task.fit
    left, right = reach(task)
    across = left - END, right + END
    front, near, far, back = steel.plates
    for (low, high), top in zip(((front, near), (far, back)), steel.high, strict=True):
        form.box((across[0], low, 0.0), (across[1], high, top))
    form.box((across[0], near - 1.0, 0.0), (across[1], far + 1.0, fit.layers(steel.lift + BLOCK)))
    strip(form, task, name.upper(), across, front, fit.layers(FOOT_HIGH))
    form.prism(pocket(task), steel.lift or -1.0, 200.0, off=True)
    half = (steel.pin + fit.slide) / 2.0 - fit.grown
    for y, floor in zip(steel.rows, steel.grooves, strict=True):
        form.box((across[0] - 1.0, y - half, floor), (across[1] + 1.0, y + half, 200.0), off=True)
    middle = (near + far) / 2.0
    for one in cut:
        for (start, stop), bottom in zip(((front - 1.0, middle), (middle, back + 1.0)), one.bottoms, strict=True):
            form.prism(one.plan(start, stop, fit.grown), bottom, 200.0, off=True)
    _end_screw(form, task, across, steel.lift)
    return Part(name, form.solid(f"the plates of {name}"), Pose(origin=(0.0, 0.0, steel.base)), apart=(0.0, 0.0, 25.0))


def reach(task: Task) -> tuple[float, float]:
    """From end to end of the blank, as it stands when the slots are cut [mm]."""
    left, right = task.nut.reach
    return left - task.end_over, right + task.end_over


def long_of(task: Task) -> float:
    """Length of the foot, as it should come out [mm]."""
    left, right = reach(task)
    low, high = wide((left - END, right + END))
    return high - low - 2.0 * task.fit.grown


def pocket(task: Task) -> list[Point]:
    """The room of the blank seen from above: it touches at the bass end and slides elsewhere; counterclockwise.

    The rooms of shelves that stand close are one.
    """
    nut, grown, half = task.nut, task.fit.grown, task.fit.slide / 2.0
    bass = -nut.bass_first
    rooms = {side: task.end_over - grown + (0.0 if side == bass else OPEN) for side in (-1, 1)}
    back = nut.thickness + task.back_over + half - grown
    shift = half - grown
    stretches = replace(nut, shelves=nut.shelves.grown(shift)).steps
    fronts = [one.front - shift for one in stretches]
    for n, one in enumerate(stretches[1:-1], start=1):
        if one.right - one.left < task.fit.least_wall:  # too thin to be printed between the rooms of two shelves
            fronts[n] = min(fronts[n], max(fronts[n - 1], fronts[n + 1]))
    points: list[Point] = [(float(nut.end_x(-1, back)) - rooms[-1], back)]
    points.append((float(nut.end_x(-1, fronts[0])) - rooms[-1], fronts[0]))
    for one, (here, there) in zip(stretches, pairwise(fronts), strict=False):
        if here != there:
            points += [(one.right, here), (one.right, there)]
    points.append((float(nut.end_x(1, fronts[-1])) + rooms[1], fronts[-1]))
    points.append((float(nut.end_x(1, back)) + rooms[1], back))
    return points


def _end_screw(form: Form, task: Task, across: tuple[float, float], base: float) -> None:
    """The screw in the block at the treble end, which presses the blank against the bass end.

    across : of the jig, least and greatest x [mm]
    base   : of what the blank stands on [mm]
    """
    treble = task.nut.bass_first
    x, y = (across[1] if treble > 0 else across[0]), (task.nut.thickness + task.nut.foremost) / 2.0
    inner, middle = x - treble * END, base + AXIS
    form.rod((min(x, inner) - 2.0, y, middle), M3.hole / 2.0 - task.fit.grown, END + 4.0, frame=ALONG_X)
    play = task.fit.press - 2.0 * task.fit.grown
    trap(form, M3, (x - treble * END / 2.0, y, middle), play=play, up=200.0)
