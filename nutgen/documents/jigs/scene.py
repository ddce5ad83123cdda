"""A jig at work: its parts in their places, the blank in it, the steel that stops, and the tool where it is stopped."""

import numpy as np

from nutgen.geometry.lines import Point
from nutgen.geometry.mesh import Mesh
from nutgen.jigs.choose import Made
from nutgen.jigs.guides import SHOE, STROKE
from nutgen.jigs.rails import Rails, rails
from nutgen.jigs.task import Task
from nutgen.nut.slot import Slot

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
        case "top":
            left = nut.left.x
            over = nut.lowest_z + task.highest
            file = [(left, -REACH), (left + 20.0, -REACH), (left + 20.0, REACH), (left, REACH)]
            return [("tool", _prism(file, over, over + 4.0))]
        case "comb" | "depth":
            return _on_rails(task, made)
    return []


def _on_rails(task: Task, made: Made) -> list[Body]:
    """Four pins, and the tool of a string in the middle with its shoe on them."""
    steel = rails(task)
    held = {one.string for one in made.jig.settings}
    slots = [slot for slot in task.nut.slots if slot.who in held] or list(task.nut.slots)
    slot = min(slots, key=_off_middle)
    half = min(slot.width, 1.0) / 2.0
    around = [(slot, half)] if not held else [(slot, half), (slot, half + SHOE[0]), (slot, -half - SHOE[0])]
    ends = (-REACH, task.nut.thickness + REACH)
    blade = _leaning(steel, slot, (-half, half), ends, (steel.shoe(slot), -BLADE))
    if not around[1:]:
        return [("tool", blade)]
    shoe = (steel.rows[0] - STROKE / 2.0, steel.rows[1] + STROKE / 2.0)
    strips = [
        _leaning(steel, slot, span, shoe, (0.0, -SHOE[1]))
        for span in ((-half - SHOE[0], -half), (half, half + SHOE[0]))
    ]
    return [*_pins(task, steel, slot, half), ("tool", blade), *(("tool", one) for one in strips)]


def _off_middle(slot: Slot) -> float:
    return abs(slot.x)


def _pins(task: Task, steel: Rails, slot: Slot, half: float) -> list[Body]:
    left, right = task.nut.reach
    turns = np.arange(SIDES) * 2.0 * np.pi / SIDES
    found: list[Body] = []
    for y, top in zip(steel.rows, steel.tops, strict=True):
        middle, radius = float(slot.x_at(y)), steel.pin / 2.0
        circle = [(y + radius * float(np.cos(one)), top - radius + radius * float(np.sin(one))) for one in turns]
        for start, stop in ((left - REACH, middle - half - 0.5), (middle + half + 0.5, right + REACH)):
            lies = _prism(circle, start, stop)
            found.append(("steel", Mesh(lies.vertices[:, [2, 0, 1]], lies.triangles)))
    return found


def _leaning(
    steel: Rails, slot: Slot, span: tuple[float, float], ends: tuple[float, float], under: tuple[float, float]
) -> Mesh:
    """A bar along a slot, from one offset in x to another, that falls as a shoe on the pins does.

    under : its lower and its upper face below the line over the pins [mm]
    """
    xs = [float(slot.x_at(y)) for y in ends]
    corners = [(xs[0] + span[0], ends[0]), (xs[0] + span[1], ends[0]), (xs[1] + span[1], ends[1])]
    bar = _prism([*corners, (xs[1] + span[0], ends[1])], -under[0], -under[1])
    lifted = [steel.line(y) for y in bar.vertices[:, 1]]
    return Mesh(bar.vertices + np.column_stack([np.zeros((len(lifted), 2)), lifted]), bar.triangles)


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
