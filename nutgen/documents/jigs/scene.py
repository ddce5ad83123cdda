"""A jig step by step: its parts in their places, the blank in it, the steel that stops, and the tool at its stop."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from nutgen.documents.jigs.view import ABOVE_DEG, Body
from nutgen.geometry.lines import Point
from nutgen.geometry.mesh import Array, Mesh, mesh_of_manifold
from nutgen.geometry.pose import Pose
from nutgen.jigs.choose import Made
from nutgen.jigs.ends import TO_SAND
from nutgen.jigs.guides import SHOE, STROKE
from nutgen.jigs.plates import AXIS, END_SCREW
from nutgen.jigs.rails import Rails, rails
from nutgen.jigs.shapes.fasteners import M3
from nutgen.jigs.task import Task
from nutgen.jigs.thickness import IN, LEFT, PAD
from nutgen.jigs.top import CHEEK, FIRST_OVER, PAST, crowns, wear_of
from nutgen.nut.slot import Slot
from nutgen.theory.crown import Crown

REACH, BLADE = 30.0, 14.0
"""A tool is drawn so far before and behind the nut, and so high [mm]."""

GLASS = 3.0
"""Thickness of the glass [mm]."""

SIDES = 16
"""Of what is round, as it is drawn; a crown has as many pieces."""

UPSIDE_DOWN = Pose(((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0)))


@dataclass(frozen=True, slots=True)
class Scene:
    """A picture.

    words  : what it shows, after the numbers of its steps
    bodies : in the nut's frame
    lies   : the frame that it is seen in, z up; that of the jig on the bed where there is none
    above_deg : how far from above it is seen
    """

    words: str
    bodies: tuple[Body, ...]
    lies: Pose | None = None
    above_deg: float = ABOVE_DEG


def scenes(task: Task, made: Made) -> tuple[Scene, ...]:
    """The pictures of a jig: its parts apart, then each step where something meets."""
    apart = tuple(Body("jig", one.moved) for one in made.parts)
    at_work = _AT_WORK.get(made.jig.name)
    return (Scene("printed", apart), *(at_work(task, made) if at_work else ()))


def _parts(made: Made, *leave: str) -> list[Body]:
    return [Body("jig", one.used) for one in made.parts if not any(word in one.part.name for word in leave)]


def _thickness(task: Task, made: Made) -> tuple[Scene, ...]:
    nut, (carrier, _) = task.nut, made.parts
    size, long, high = (task.size(kind, "square") for kind in ("thickness", "length", "height"))
    middle = sum(nut.reach) / 2.0
    face, low = nut.foremost, nut.lowest_z
    blank = _block((middle - long / 2.0, face, low), (middle + long / 2.0, face + size, low + high))
    (left, tall, down), (right, _, up) = (
        getattr(carrier.used.vertices, end)(axis=0).tolist() for end in ("min", "max")
    )
    heads = face + task.size("thickness", "fit to seat") + LEFT + task.tools.sanding_paper
    screws: list[Body] = []
    for x in (left + PAD / 2.0, right - PAD / 2.0):
        for z in (down + IN, up - IN):
            shank = _rod((x, tall - 3.0, z), (x, heads, z), M3.diameter / 2.0)
            head = _rod((x, heads - M3.head_high, z), (x, heads, z), M3.head / 2.0)
            screws += [Body("steel", shank), Body("steel", head, "M3 head")]
    loaded = (*_parts(made), Body("blank", blank, "blank"), *screws)
    paper = task.tools.sanding_paper
    sheet = (middle - long / 2.0 - 1.0, heads - paper, down - 6.0), (middle + long / 2.0 + 1.0, heads, up + 6.0)
    worn = _block((middle - long / 2.0, face, low), (middle + long / 2.0, heads - paper, low + high))
    glass = _block((left - 8.0, heads, down - 8.0), (right + 8.0, heads + GLASS, up + 8.0))
    under = (Body("blank", worn, "blank"), Body("tool", _block(*sheet), "paper"), Body("steel", glass, "glass"))
    turned = carrier.part.used.compose(UPSIDE_DOWN)
    return (
        Scene("1, 2  screws set, blank and wedge in", loaded),
        Scene("3  over paper on glass", (*_parts(made), *under, *screws), turned, 5.0),
    )


def _ends(task: Task, made: Made) -> tuple[Scene, ...]:
    nut = task.nut
    blank = _outlined(task, 8.0, nut.lowest_z, nut.lowest_z + task.size("height", "fit to seat"))
    cut = [float(nut.end_x(1, y)) + task.end_over + TO_SAND for y in (-REACH, nut.thickness + REACH)]
    low = nut.lowest_z - 0.3
    saw = _standing(
        list(zip(cut, (-REACH, nut.thickness + REACH), strict=True)), min(task.tools.saws), low, low + BLADE
    )
    held = (*_parts(made), Body("blank", blank, "blank"))
    return (Scene("1, 2  sawn to length", (*held, Body("tool", saw, "saw")), above_deg=55.0),)


def _top(task: Task, made: Made) -> tuple[Scene, ...]:
    nut = task.nut
    front, back = nut.foremost, nut.thickness + task.back_over
    crown = nut.crown.raised(task.top_over)
    blank = Body("blank", _under(crown, task, front, back), "blank")
    shim = _shim(task, 1)
    high = float(crown.z(0.0))
    flat = _block((-8.0, -REACH, high), (8.0, back + REACH, high + 4.0))
    strips = {name: Body("steel", _strip(crown, task, name), "metal strip") for name, crown in crowns(task).items()}
    land = [one for name, one in strips.items() if "land" in name]
    found = [Scene("1, 2  crown", (*_parts(made, "bevel"), *land, blank, shim, Body("tool", flat, "file")))]
    if "bevel" in made.jig.stages:
        fall = math.tan(math.radians(nut.bevel_deg))
        up = np.array([0.0, 0.0, FIRST_OVER])
        leant = up + flat.vertices - [0.0, 0.0, 1.0] * ((flat.vertices[:, 1:2] - nut.land) * fall)
        file = Body("tool", Mesh(leant, flat.triangles), "file")
        bevel = [one for name, one in strips.items() if "bevel" in name]
        lifted = Body("blank", Mesh(blank.mesh.vertices + up, blank.mesh.triangles), "blank")
        found.append(Scene("3  bevel", (*_parts(made, "land"), *bevel, lifted, _shim(task, 2), file)))
    return tuple(found)


def _shim(task: Task, count: int) -> Body:
    """What lies under the blank between the cheeks, so many times as thick as they are drawn for."""
    (left, right), low, back = task.nut.reach, task.nut.lowest_z - FIRST_OVER, task.nut.thickness + task.back_over
    sheet = _block((left + 1.0, task.nut.foremost, low), (right - 1.0, back, low + count * FIRST_OVER))
    return Body("steel", sheet, "shim")


def _rails(task: Task, made: Made) -> tuple[Scene, ...]:
    steel, nut = rails(task, made.jig.name), task.nut
    held = {one.string: one.width for one in made.jig.settings}
    slot = min((one for one in nut.slots if one.who in held or not held), key=_off_middle)
    plan = next(plan for one, plan in task.pairs if one == slot)
    blank = Body("blank", _outlined(task, task.end_over, nut.lowest_z, nut.lowest_z + task.highest), "blank")
    end, middle, treble = nut.end_x(nut.bass_first, 0.0), (nut.thickness + nut.foremost) / 2.0, nut.bass_first
    x, z = float(end) + treble * task.end_over, nut.lowest_z + AXIS
    out, head_out = (x + treble * (END_SCREW + more) for more in (0.0, M3.head_high))
    screw = Body("steel", _rod((x, middle, z), (out, middle, z), M3.diameter / 2.0), "M3 screw")
    head = Body("steel", _rod((out, middle, z), (head_out, middle, z), M3.head / 2.0))
    loaded = (*_parts(made), blank, screw, head)
    half = held.get(slot.who, plan.steps[0].tool_width) / 2.0
    ends = (-REACH, nut.thickness + REACH)
    hangs = steel.shoe(slot) if held else steel.line(0.0) - slot.floor_z - steel.over
    blade = Body("tool", _leaning(steel, slot, (-half, half), ends, (hangs, -BLADE)), "tool")
    found = [Scene("1  blank in", loaded)]
    if not held:
        return (*found, Scene("2, 3  by hand", (*loaded, blade)))
    along = steel.rows[0] - STROKE / 2.0, steel.rows[1] + STROKE / 2.0
    strips = [
        Body("tool", _leaning(steel, slot, span, along, (0.0, -SHOE[1])), label)
        for span, label in (((-half - SHOE[0], -half), ""), ((half, half + SHOE[0]), "shoe"))
    ]
    gauged = _leaning(steel, slot, (-half - 1.5, -half), (along[0], along[0] + 1.5), (hangs, 0.0))
    set_by = Body("steel", gauged, "edge to shoe")
    found.append(Scene("2  shoe on the tool", (blade, *strips, set_by), above_deg=10.0))
    return (*found, Scene("3, 4  at its stop", (*loaded, *_pins(task, steel, slot, half), blade, *strips)))


def _gauges(task: Task, made: Made) -> tuple[Scene, ...]:
    top = next(one for one in made.parts if one.part.name == "gauge-top")
    lifted = Mesh(top.used.vertices + np.array([0.0, 2.0, 3.0]), top.used.triangles)
    pair = (Body("blank", task.finished, "nut"), Body("jig", lifted, "gauge"))
    return (Scene("1  against the nut", pair, Pose()),)


def _seat(task: Task, made: Made) -> tuple[Scene, ...]:
    return (Scene("1  the nut in it", (*_parts(made), Body("blank", task.finished, "nut"))),)


_AT_WORK: dict[str, Callable[[Task, Made], tuple[Scene, ...]]] = {
    "thickness": _thickness,
    "ends": _ends,
    "top": _top,
    "comb": _rails,
    "depth": _rails,
    "gauges": _gauges,
    "seat": _seat,
}


def _off_middle(slot: Slot) -> float:
    return abs(slot.x)


def _pins(task: Task, steel: Rails, slot: Slot, half: float) -> list[Body]:
    left, right = task.nut.reach
    found: list[Body] = []
    for y, top in zip(steel.rows, steel.tops, strict=True):
        middle, z = float(slot.x_at(y)), top - steel.pin / 2.0
        for start, stop in ((left - REACH / 2.0, middle - half - 0.5), (right + REACH / 2.0, middle + half + 0.5)):
            found.append(Body("steel", _rod((start, y, z), (stop, y, z), steel.pin / 2.0)))
    found[-1] = Body("steel", found[-1].mesh, "pins")
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


def _outlined(task: Task, over: float, low: float, high: float) -> Mesh:
    """The blank between two heights, so much longer at either end."""
    nut = task.nut
    ends = ((nut.foremost, -1), (nut.foremost, 1), (nut.thickness + task.back_over, 1))
    corners = [(float(nut.end_x(side, y)) + side * over, y) for y, side in (*ends, (ends[2][0], -1))]
    return _prism(corners, low, high)


def _under(crown: Crown, task: Task, front: float, back: float) -> Mesh:
    """The blank once its crown is filed."""
    left, right = task.nut.reach
    xs = np.linspace(right + task.end_over, left - task.end_over, SIDES)
    low = [(float(xs[-1]), task.nut.lowest_z), (float(xs[0]), task.nut.lowest_z)]
    return _across([*low, *((float(x), float(crown.z(x))) for x in xs)], front, back)


def _strip(crown: Crown, task: Task, name: str) -> Mesh:
    """A wear strip on the edge of a cheek."""
    nut, wear = task.nut, wear_of(task)
    start = nut.foremost - CHEEK if name.endswith("front") else nut.thickness + task.back_over
    xs = np.linspace(nut.reach[0] - PAST, nut.reach[1] + PAST, SIDES)
    over = [(float(x), float(z)) for x, z in zip(xs, crown.z(xs), strict=True)]
    return _across([*((x, z - wear) for x, z in over), *reversed(over)], start, start + CHEEK)


def _standing(line: Sequence[Point], wide: float, low: float, high: float) -> Mesh:
    """A blade upright on a line in plan."""
    (x0, y0), (x1, y1) = line
    return _prism([(x0, y0), (x0 + wide, y0), (x1 + wide, y1), (x1, y1)], low, high)


def _block(low: Sequence[float], high: Sequence[float]) -> Mesh:
    (x0, y0, z0), (x1, y1, z1) = low, high
    return _prism([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], z0, z1)


def _rod(start: Sequence[float], stop: Sequence[float], radius: float) -> Mesh:
    """A cylinder between two places on its axis."""
    a, b = np.asarray(start, float), np.asarray(stop, float)
    way: Array = (b - a) / np.linalg.norm(b - a)
    u = np.cross(way, [0.0, 0.0, 1.0] if abs(way[2]) < 0.9 else [1.0, 0.0, 0.0])
    u /= np.linalg.norm(u)
    turns = np.arange(SIDES) * 2.0 * np.pi / SIDES
    upright = _prism(
        [(radius * math.cos(one), radius * math.sin(one)) for one in turns], 0.0, float(np.linalg.norm(b - a))
    )
    return Mesh(a + upright.vertices @ np.stack([u, np.cross(way, u), way]), upright.triangles)


def _across(corners: Sequence[Point], front: float, back: float) -> Mesh:
    """A body on an outline in (x, z), counterclockwise, from one y to another."""
    flat = _prism(corners, -back, -front)
    return Mesh(flat.vertices[:, [0, 2, 1]] * [1.0, -1.0, 1.0], flat.triangles)


def _prism(corners: Sequence[Point], low: float, high: float) -> Mesh:
    """A body on an outline, counterclockwise."""
    from manifold3d import CrossSection, Manifold

    return mesh_of_manifold(Manifold.extrude(CrossSection([corners]), high - low).translate((0.0, 0.0, low)))
