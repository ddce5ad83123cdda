"""A jig at work: its parts in their places, the blank in it, the steel that stops, and the tool where it is stopped."""

import numpy as np

from nutgen.geometry.lines import Point
from nutgen.geometry.mesh import Mesh
from nutgen.jigs.choose import Made
from nutgen.jigs.depth import rows_of
from nutgen.jigs.notches import notches
from nutgen.jigs.task import Task

Body = tuple[str, Mesh]

REACH, BLADE = 30.0, 14.0
"""A tool is drawn so far before and behind the nut, and so high [mm]."""

SIDES = 16
"""Of a pin as it is drawn."""


def at_work(task: Task, made: Made) -> list[Body]:
    """Bodies in the nut's frame, each on its layer; of a jig that holds no blank its parts alone."""
    parts = [("jig", one.used) for one in made.parts if "bevel" not in one.part.name]
    name = made.jig.name
    if name not in ("thickness", "ends", "top", "comb", "depth"):
        return parts
    size = task.size("height", "square") if name == "thickness" else task.highest
    return [*parts, ("blank", _blank(task, size)), *_tools(task, made)]


def _blank(task: Task, high: float) -> Mesh:
    nut = task.nut
    front, back = nut.foremost, nut.thickness + task.back_over
    corners = [
        (float(nut.end_x(side, y)) + side * task.end_over, y)
        for y, side in ((front, -1), (front, 1), (back, 1), (back, -1))
    ]
    return _prism(corners, nut.lowest_z, nut.lowest_z + high)


def _tools(task: Task, made: Made) -> list[Body]:
    nut = task.nut
    match made.jig.name:
        case "ends":
            return [("tool", _plate(task, float(nut.end_x(1)) + task.end_over, nut.end(1).per_y, 0.6, nut.lowest_z))]
        case "comb":
            one = min(notches(task), key=lambda notch: abs(notch.slot.x))
            slope = float(one.slot.x_at(1.0) - one.slot.x_at(0.0))
            return [("tool", _plate(task, float(one.slot.x_at(0.0)), slope, one.tool_width, one.cut))]
        case "top":
            left = nut.left.x
            over = nut.lowest_z + task.highest
            file = [(left, -REACH), (left + 20.0, -REACH), (left + 20.0, REACH), (left, REACH)]
            return [("tool", _prism(file, over, over + 4.0))]
        case "depth":
            return _over_pins(task, made)
    return []


def _over_pins(task: Task, made: Made) -> list[Body]:
    """Both pins as they are set for the first string, and its tool on them."""
    one, (pin, rows) = made.jig.settings[0], rows_of(task)
    slot = next(slot for slot in task.nut.slots if slot.who == one.string)
    carrier = made.parts[0].used.vertices
    foot, (left, right) = carrier[:, 2].min(), (carrier[:, 0].min(), carrier[:, 0].max())
    turns = np.arange(SIDES) * 2.0 * np.pi / SIDES
    circle = [(float(np.cos(turn)) * pin / 2.0, float(np.sin(turn)) * pin / 2.0) for turn in turns]
    found: list[Body] = []
    for y, top in zip(rows, (one.front, one.back), strict=True):
        lies = _prism([(y + u, float(foot) + top - pin / 2.0 + v) for u, v in circle], left, right)
        found.append(("steel", Mesh(lies.vertices[:, [2, 0, 1]], lies.triangles)))
    low = float(foot) + max(one.front, one.back)
    slope = float(slot.x_at(1.0) - slot.x_at(0.0))
    return [*found, ("tool", _plate(task, float(slot.x_at(0.0)), slope, one.tool_width + 4.0, low))]


def _plate(task: Task, x: float, slope: float, wide: float, low: float) -> Mesh:
    """A blade on a line across the nut, its edge at a height."""
    half, ends = wide / 2.0, (-REACH, task.nut.thickness + REACH)
    near, far = (x + slope * y for y in ends)
    corners = [(near - half, ends[0]), (near + half, ends[0]), (far + half, ends[1]), (far - half, ends[1])]
    return _prism(corners, low, low + BLADE)


def _prism(corners: list[Point], low: float, high: float) -> Mesh:
    """A body on a convex outline, counterclockwise."""
    n = len(corners)
    around = [(k, (k + 1) % n) for k in range(n)]
    sides = [face for a, b in around for face in ((a, b, b + n), (a, b + n, a + n))]
    lids = [face for k in range(1, n - 1) for face in ((0, k + 1, k), (n, n + k, n + k + 1))]
    places = [(*corner, z) for z in (low, high) for corner in corners]
    return Mesh(np.array(places, np.float64), np.array([*sides, *lids], np.int64))
