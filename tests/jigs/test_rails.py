"""Comb and depth carrier at work: tools on the rails of the mesh that a printer gets, as far as its guides let them.

Pins lie in the grooves that are in the mesh; where a shoe and an edge are follows from round pins alone, never from a
number that the jig was drawn from.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from nutgen.jigs.guides import SHOE, STROKE
from nutgen.jigs.jig import Jig
from nutgen.jigs.rails import PROUD
from nutgen.jigs.task import Task
from nutgen.nut.slot import Slot
from tests.jigs.blades import TOUCH, Array, Place, bar, farthest, gaps
from tests.jigs.jigs_of import KINDS, MANY, finished, heights, made, printed, solid, values

RAILS = ("comb", "depth")


@dataclass(frozen=True)
class Laid:
    """Pins in the grooves of a mesh: middles of both rows (y, z), and their radius."""

    rows: tuple[tuple[float, float], tuple[float, float]]
    radius: float

    def line(self, y: Any, off: Any = (0.0, 0.0)) -> Any:
        """Underside of a shoe on both rows, which may be off in height."""
        (ya, za), (yb, zb) = self.rows
        slope = (zb + off[1] - za - off[0]) / (yb - ya)
        return za + off[0] + self.radius * np.hypot(1.0, slope) + (np.asarray(y) - ya) * slope


def pins_of(task: Task, jig: Jig, body: Any) -> Laid:
    """Where the pins lie: the floors of the grooves, by rays from above between two notches."""
    pin = next(dict(one.values)["pin"] for one in jig.hardware if one.code == "jig.pins")
    mesh = printed(body)
    x = task.nut.reach[0] - task.end_over - 6.0
    y = np.arange(task.nut.foremost - 9.0, mesh.vertices[:, 1].max(), 0.02)  # behind the letters
    over = heights(mesh, np.column_stack([np.full(len(y), x), y]))
    steps = np.flatnonzero(np.abs(np.diff(over)) > 0.3)
    found = []
    for a, b in pairwise(steps):
        wide, floor = y[b] - y[a], float(over[a + 1])
        if pin - 0.4 <= wide < pin + 0.5 and floor < over[a] and floor < over[b + 1]:
            found.append((float(y[a] + y[b]) / 2.0 + 0.01, floor + pin / 2.0))
    assert len(found) == 2
    assert all(floor + pin - over.max() > -1.0 for _, floor in found)
    return Laid((found[0], found[1]), pin / 2.0)


def on_pins(pins: Laid, slot: Slot, shoe: float, x: float = 0.0) -> tuple[Place, Place]:
    """Both places over the rows through which an edge runs whose shoe rests on the pins."""
    slope = (pins.line(1.0) - pins.line(0.0)) * math.cos(math.radians(slot.fan_deg))
    ends = [(float(slot.x_at(y)) + x, y, float(pins.line(y)) - shoe * math.hypot(1.0, slope)) for y, _ in pins.rows]
    return ends[0], ends[1]


def places(slot: Slot, task: Task) -> Array:
    return np.linspace(slot.start_y, task.nut.thickness, 41)


def through(task: Task, jig: Jig) -> dict[Slot, tuple[float, ...]]:
    """Which tools go through whose notch: of the comb the first, of the carrier the listed ones after it."""
    held = {one.string for one in jig.settings}
    first = {slot: [(*plan.rough, *plan.final)[0]] for slot, plan in task.pairs}
    later = {
        slot: [one for one in (*plan.rough, *plan.final)[1:] if task.blade(one)]
        for slot, plan in task.pairs
        if slot.who in held
    }
    chosen = first if jig.name == "comb" else later
    return {slot: tuple(one.tool_width for one in tools) for slot, tools in chosen.items()}


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", RAILS)
def test_floors(kind: str, name: Any) -> None:
    task, jig, (part,) = made(kind, name)
    body, pins = solid(part), pins_of(task, jig, part)
    told = values(jig, "jig.depth-holds")
    slots = {slot.who: slot for slot in task.nut.slots}
    front, back = pins.rows
    foot = printed(part).vertices[:, 2].min()
    check = jig.check
    assert check is not None
    assert front[1] + pins.radius - foot == pytest.approx(check.size, abs=0.001)
    assert back[1] + pins.radius - foot == pytest.approx(dict(check.what.values)["back"], abs=0.001)
    for one in jig.settings:
        slot, y = slots[one.string], places(slots[one.string], task)
        ends = on_pins(pins, slot, one.shoe)
        left = np.interp(y, [front[0], back[0]], [ends[0][2], ends[1][2]]) - slot.floor_at(y)
        assert left.min() == pytest.approx(told["over"], abs=0.02)
        widest = max(through(task, jig)[slot])
        blade = bar(*ends, widest, 60.0, past=60.0)
        assert (blade ^ body).volume() < 1e-3  # a blade of any height and length
        for side in (-1.0, 1.0):
            x = side * (widest / 2.0 + SHOE[0] / 2.0 + 0.02)
            strip = bar(*on_pins(pins, slot, -0.001, x), SHOE[0], SHOE[1], past=STROKE)
            assert (strip ^ body).volume() == 0.0
            assert (strip ^ whole(task)).volume() == 0.0
            assert (rod(pins, 0, float(slot.x_at(front[0])) + side * widest, side) ^ body).volume() < 0.05
            assert (rod(pins, 1, float(slot.x_at(back[0])) + side * widest, side) ^ body).volume() < 0.05


def whole(task: Task) -> Any:
    """The room of the blank when its slots are cut."""
    from tests.jigs.jigs_of import blank

    nut = task.nut
    over, back = task.end_over, nut.thickness + task.back_over
    return blank(task, nut.lowest_z, nut.lowest_z + task.highest, over=over, back=back)


def rod(pins: Laid, row: int, x: float, side: float) -> Any:
    """A pin from a place on, outward."""
    from manifold3d import Manifold

    y, z = pins.rows[row]
    lying = Manifold.cylinder(80.0, pins.radius, circular_segments=64).rotate((0.0, 90.0 * side, 0.0))
    return lying.translate((x, y, z))


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS if MANY else KINDS[1:])
@pytest.mark.parametrize("name", RAILS)
def test_no_pose_cuts_the_finished_nut(kind: str, name: Any) -> None:
    """Askew, a tool pushed until it touches cuts no more than its play beside a slot; off its pins, no deeper."""
    task, jig, (part,) = made(kind, name)
    body, nut, pins = solid(part), finished(task), pins_of(task, jig, part)
    shoes = {one.string: one.shoe for one in jig.settings}
    for slot, widths in through(task, jig).items():
        wide = max(widths)  # narrower ones follow the groove that was begun
        spare = max(0.0, task.fit.notch(wide) - slot.width) + 0.04  # what is promised of its place, and a touch
        shoe = shoes.get(slot.who, pins.line(0.0) - slot.floor_z - 0.5)
        for ways in ((0, 0), (1, 1), (-1, -1), (1, -1), (-1, 1)):
            ends = pushed(body, on_pins(pins, slot, shoe), wide, ways)
            if slot.who in shoes:
                rounded = wide not in task.tools.saws
                assert (bar(*ends, max(0.02, wide - spare), 9.0, rounded=rounded) ^ nut).volume() < 1e-3
            for way in (1.0, -1.0) if ways == (0, 0) and slot.who in shoes else ():
                tool = bar(*ends, max(0.02, wide - spare), 9.0, lean=leant(body, ends, wide, way), rounded=rounded)
                assert (tool ^ nut).volume() < 1e-3
            for posed in dived(body, ends, wide) if MANY or ways == (0, 0) else ():
                assert (bar(*posed, 0.02, 9.0) ^ nut).volume() < 1e-3


def pushed(body: Any, ends: tuple[Place, Place], wide: float, ways: tuple[int, int]) -> tuple[Place, Place]:
    """Both ends of a tool pushed in its notch from the middle until it touches."""

    def at(far: float) -> tuple[Place, Place]:
        (a, b), (u, v) = ends, ways
        return (a[0] + u * far, *a[1:]), (b[0] + v * far, *b[1:])

    assert (bar(*at(0.0), wide, 9.0) ^ body).volume() <= TOUCH, "the tool does not go into its notch"
    far = farthest(lambda by: (bar(*at(by), wide, 9.0) ^ body).volume() > TOUCH, 1.0) if any(ways) else 0.0
    return at(far)


def leant(body: Any, ends: tuple[Place, Place], wide: float, way: float) -> float:
    """How far a tool leans, aside for each mm up, until it touches its notch."""
    return way * farthest(lambda by: (bar(*ends, wide, 9.0, lean=way * by) ^ body).volume() > TOUCH, 0.5)


def dived(body: Any, ends: tuple[Place, Place], wide: float) -> list[tuple[Place, Place]]:
    """A tool whose shoe is off: level, its front end and its back end down until it touches the notch."""
    found = []
    for u, v in ((1.0, 1.0), (1.0, 0.0), (0.0, 1.0), (1.0, 0.3), (0.3, 1.0)):

        def at(by: float, u: float = u, v: float = v) -> tuple[Place, Place]:
            (a, b) = ends
            return (*a[:2], a[2] - u * by), (*b[:2], b[2] - v * by)

        found.append(at(farthest(lambda by: (bar(*at(by), wide, 9.0) ^ body).volume() > TOUCH * wide, 3.0)))
    return found


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", RAILS)
def test_with_errors(kind: str, name: Any) -> None:
    """95 of 100 floors are as promised: grooves printed within 0.10, told by caliper; shoe and caliper within 0.05."""
    task, jig, (part,) = made(kind, name)
    pins, told = pins_of(task, jig, part), values(jig, "jig.depth-holds")
    random = np.random.default_rng(2)
    slots = {slot.who: slot for slot in task.nut.slots}
    for one in jig.settings:
        slot, y = slots[one.string], places(slots[one.string], task)
        off = []
        for draw in random.normal(0.0, 1.0 / 1.96, (1000, 6)):
            rows, read, shoe = 0.10 * draw[:2], 0.05 * draw[2:4], 0.05 * draw[4:]
            more = float(np.mean(rows + read))
            ends = np.array([end[2] for end in on_pins(pins, slot, one.shoe + more)]) + rows + shoe
            edge = np.interp(y, [row[0] for row in pins.rows], ends)
            off.append(float((edge - slot.floor_at(y)).min()) - told["over"])
        assert np.mean(np.abs(off) <= told["within"]) >= 0.95


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_places_with_errors(kind: str) -> None:
    """95 of 100 starts stand where the comb promises, every wall of it printed within 0.10, the tool anywhere in it."""
    task, jig, (part,) = made(kind, "comb")
    body, pins = solid(part), pins_of(task, jig, part)
    holds = values(jig, "jig.comb-holds")
    random = np.random.default_rng(3)
    side = -task.nut.bass_first
    rows = [y - way * (pins.radius + 0.8) for (y, _), way in zip(pins.rows, (1.0, -1.0), strict=True)]
    walls = [gaps(body, y, z + pins.radius - PROUD - 0.15) for y, (_, z) in zip(rows, pins.rows, strict=True)]
    middle = task.nut.thickness / 2.0
    pocket = max(gaps(body, middle, task.nut.lowest_z + 1.0), key=lambda one: one[1] - one[0])
    stop = pocket[0 if side < 0 else 1]
    end = float(task.nut.end_x(side, middle)) + side * task.end_over
    assert stop == pytest.approx(end, abs=0.02)
    for slot, widths in through(task, jig).items():
        edges = [
            min(found, key=lambda one, y=y: abs(sum(one) / 2.0 - float(slot.x_at(y))))
            for y, found in zip(rows, walls, strict=True)
        ]
        turned = math.cos(math.radians(slot.fan_deg))
        off, askew = [], []
        for draw in random.normal(0.0, 0.10 / 1.96 / math.sqrt(2.0), (1000, 5)):
            walls_off = draw[1:].reshape(2, 2) - draw[0]
            moved = [(a + p, b + q) for (a, b), (p, q) in zip(edges, walls_off, strict=True)]
            spare = [max(0.0, (b - a) - widths[0] / turned) for a, b in moved]
            at = [(a + b) / 2.0 + random.uniform(-0.5, 0.5) * s for (a, b), s in zip(moved, spare, strict=True)]
            x = np.interp(task.nut.foremost, rows, at)
            off.append(abs(x - float(slot.x_at(task.nut.foremost))))
            askew.append(abs(at[1] - at[0] - float(slot.x_at(rows[1]) - slot.x_at(rows[0]))))
        assert np.mean(np.array(off) <= holds["placed"] + holds["play"]) >= 0.95
        turn = np.degrees(np.arctan(np.array(askew) / (rows[1] - rows[0])))
        assert np.mean(turn <= holds["turn_deg"] + 1.0) >= 0.95
