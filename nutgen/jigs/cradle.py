"""The cradle: a foot with a channel between two walls, and screws through the back one that press what stands in it."""

from dataclasses import dataclass

from nutgen.jigs.foot import FOOT_HIGH, strip, wide
from nutgen.jigs.shapes.fasteners import M3, length_for
from nutgen.jigs.shapes.form import ALONG_Y, Form, trap
from nutgen.jigs.task import Task

BACK = 9.0
"""Of the back wall, which holds a nut for each screw [mm]."""

AXIS = 3.4
"""Of the screws over the foot: the nut clears it [mm]."""

LABEL_HIGH = 1.8
"""Of the strip with the letters: they stay under a saw that goes into the foot [mm]."""

OPEN = 1.0
"""Between what stands in the channel and the back wall, for the screws to take up [mm]."""


@dataclass(frozen=True, slots=True)
class Cradle:
    """What its maker needs of a cradle.

    base   : top of the foot [mm]
    long   : of the foot, its one size to check [mm]
    screw  : length of its two screws [mm]
    """

    base: float
    long: float
    screw: int


def cradle(
    form: Form, task: Task, name: str, room: tuple[float, float], across: tuple[float, float], high: float
) -> Cradle:
    """Build a cradle into a form.

    room   : of what stands in the channel, least and greatest y [mm]
    across : least and greatest x [mm]
    high   : of the walls over the foot [mm]
    """
    fit = task.fit
    base, top = fit.layers(FOOT_HIGH), fit.layers(FOOT_HIGH) + fit.layers(high)
    near, far = room[0] - fit.slide / 2.0, room[1] + fit.slide / 2.0 + OPEN
    outer, behind = near - fit.wall, far + BACK
    form.box((across[0], outer, 0.0), (across[1], behind, top))
    strip(form, task, name, across, outer, fit.layers(LABEL_HIGH))
    form.box((across[0] - 1.0, near + fit.grown, base), (across[1] + 1.0, far - fit.grown, 200.0), off=True)
    quarter = (across[1] - across[0]) / 4.0
    for x in (across[0] + 1.35 * quarter, across[1] - 1.35 * quarter):
        form.rod((x, behind + 1.0, base + AXIS), M3.hole / 2.0 - fit.grown, BACK + 2.0, frame=ALONG_Y)
        at = (x, far + BACK / 2.0, base + AXIS)
        trap(form, M3, at, play=fit.press - 2.0 * fit.grown, up=200.0, along="y")
    left, right = wide(across)
    return Cradle(base, right - left, length_for(BACK + OPEN + 3.0))
