"""The end cradle: two saw cuts guided to the length of the nut, square or along the edges of the board."""

import math

from nutgen.finding import note, refusal, step
from nutgen.geometry.lines import Point
from nutgen.geometry.pose import Pose
from nutgen.jigs.cradle import cradle
from nutgen.jigs.jig import Check, Jig, NoJigError, Part
from nutgen.jigs.shapes.fits import PLACED, TURNED_DEG
from nutgen.jigs.shapes.form import Form
from nutgen.jigs.task import Task

TO_SAND = 0.15
"""Left on each end for a flat stick [mm]."""

BEYOND = 14.0
"""Of the channel past each cut, so that the offcut rests [mm]."""

GUIDES = 4.0
"""The walls stand up so far over the blank [mm]."""

INTO_FOOT = 0.6
"""The saw goes so far into the foot, and the blank is through [mm]."""


def ends(task: Task) -> Jig:
    """The cradle of a nut; raises NoJigError where no saw is listed."""
    nut, fit = task.nut, task.fit
    if not task.tools.saws:
        raise NoJigError(refusal("jig.ends-no-saw"))
    kerf, form = min(task.tools.saws), Form()
    left, right = nut.reach
    room = nut.foremost, nut.foremost + task.size("thickness", "fit to seat")
    across = left - BEYOND, right + BEYOND
    made = cradle(form, task, "ENDS", room, across, task.size("height", "fit to seat") + GUIDES)
    for side in (-1, 1):
        form.prism(_cut(task, side, fit.notch(kerf)), made.base - INTO_FOOT, 200.0, off=True)
    part = Part("ends", form.solid("the end cradle"), Pose(origin=(0.0, 0.0, nut.lowest_z - made.base)))
    sawn = nut.length + 2.0 * (task.end_over + TO_SAND)
    lean = max(abs(deg) for deg in nut.outward_deg)
    return Jig(
        name="ends",
        stages=("ends",),
        parts=(part,),
        hardware=(note("jig.screws-and-nuts", thread="M3", long=made.screw, count=2, nuts=2),),
        steps=(
            step("jig.ends-load"),
            step("jig.ends-saw", kerf=kerf),
            step("jig.ends-sand", left=TO_SAND, length=sawn - 2.0 * TO_SAND),
        ),
        promise=(note("jig.ends-hold", length=sawn, within=PLACED, turn_deg=TURNED_DEG, lean_deg=lean),),
        check=Check(note("jig.check-length"), made.long - 2.0 * fit.grown),
    )


def _cut(task: Task, side: int, wide: float) -> list[Point]:
    """The room of the saw from above: its inner side is where the end is left, leaning as the end does."""
    nut, grown = task.nut, task.fit.grown
    slope = nut.end(side).per_y
    across = math.hypot(1.0, slope)
    inner, outer = (task.end_over + TO_SAND + grown) * across, (task.end_over + TO_SAND + wide - grown) * across
    lines = [[(float(nut.end_x(side, y)) + side * off, y) for y in (-40.0, 40.0)] for off in (inner, outer)]
    (a, b), (c, d) = lines if side > 0 else lines[::-1]
    return [a, c, d, b]
