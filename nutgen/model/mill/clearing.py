"""Feature by feature: the largest cutter that makes it, and what the cutters at hand leave for the file.

Each slot is looked at in a frame of its own, u across and s along, on a grid whose columns lie on its
centre line and on the cutter's rim: so a cutter exactly as wide as the slot is seen to enter, and one
a little wider is seen not to.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nutgen.finding import Finding, note, step
from nutgen.geometry.lines import Chain, polygon
from nutgen.model.mill.dogbones import inside_corners
from nutgen.model.mill.reach import reached
from nutgen.model.mill.relief import height_above, within
from nutgen.model.shelf import plan_corners
from nutgen.model.surface import top_surface
from nutgen.nut.part import Nut, Slot
from nutgen.nut.shelf import shelves, under_shelf
from nutgen.spec.forming import Cutter

Array = NDArray[np.float64]

COLUMNS = 10
"""Grid columns to a cutter's radius."""

ROWS = 16
"""Grid rows from the front face to the back, at least."""

NOTHING = 0.01
"""Less than this is nothing to file [mm]."""

_ACROSS, _ALONG = 33, 9  # probes in a slot


@dataclass(frozen=True, slots=True)
class Clearing:
    """What is said of one feature.

    feature    : what is cut
    largest    : diameter of the largest cutter that makes it; inf where any does, 0 where none [mm]
    end        : the end that it must have; "any" where both do
    cutter     : the cutter at hand that comes nearest; none where no one is any use
    floor_left : what stays above the floor, or above the surface [mm]
    walls_left : what stays on each wall [mm]
    pitch      : of the grid: the figures hold to this [mm]
    then       : what is to be done
    """

    feature: Finding
    largest: float
    end: str
    cutter: Cutter | None
    floor_left: float
    walls_left: float
    pitch: float
    then: Finding


def clearings(nut: Nut, cutters: Sequence[Cutter]) -> tuple[Clearing, ...]:
    """Every feature of a nut that is milled from above, standing on its underside.

    nut     : as it is to be milled, `nut.rough()` with its allowances on
    cutters : those at hand
    """
    slots = (slot_clearing(nut, slot, cutters) for slot in nut.slots)
    return (top_clearing(nut, cutters), *_around(nut, cutters), _underside(nut), *slots)


def slot_clearing(nut: Nut, slot: Slot, cutters: Sequence[Cutter]) -> Clearing:
    """What the cutters leave in one slot."""
    probes = _Probes.of(nut, slot)
    excess = np.full((_ALONG, _ACROSS), np.inf)
    best: Cutter | None = None
    least, pitch = math.inf, 0.0
    for cutter in sorted(cutters, key=lambda c: (c.diameter > slot.width, -c.diameter, c.end)):
        if cutter.diameter > slot.width and best is not None and best.diameter <= slot.width:
            break  # one that does not enter adds nothing to one that does
        stands = probes.excess(cutter)
        left = probes.left(stands)[0]
        if left < least - 1e-9:
            best, least, pitch = cutter, left, cutter.radius / COLUMNS
        excess = np.minimum(excess, stands)
        floor_left, walls_left = probes.left(excess)
        if floor_left < NOTHING / 4.0 and walls_left <= pitch:
            break
    floor_left, walls_left = probes.left(excess)
    untouched = walls_left >= slot.width / 2.0
    return Clearing(
        feature=note("mill.slot", slot.who, number=slot.number, name=slot.note),
        largest=slot.width,
        end="ball",
        cutter=None if untouched else best,
        floor_left=floor_left,
        walls_left=walls_left if untouched or walls_left > pitch else 0.0,
        pitch=min(cutter.radius for cutter in cutters) / COLUMNS if untouched else pitch,
        then=_slot_step(floor_left, walls_left, pitch, untouched),
    )


def _slot_step(floor_left: float, walls_left: float, pitch: float, untouched: bool) -> Finding:
    if untouched:
        return step("mill.no-cutter-enters")
    whole = floor_left < NOTHING and walls_left <= max(pitch, NOTHING)
    return step("mill.milled-whole" if whole else "mill.file-the-rest")


@dataclass(frozen=True, slots=True, eq=False)
class _Probes:
    """Places in one slot where what a cutter leaves is read off."""

    nut: Nut
    slot: Slot
    u: Array
    s: Array
    room: Array  # from the floor to the top around it, (along, across)

    @classmethod
    def of(cls, nut: Nut, slot: Slot) -> "_Probes":
        u = np.linspace(-slot.width / 2.0, slot.width / 2.0, _ACROSS)
        s = np.linspace(0.0, slot.run(nut.thickness), _ALONG + 2)[1:-1]
        x, y = _plan(slot, u[None, :], s[:, None])
        room = top_surface(nut, x, np.clip(y, 0.0, nut.thickness)) - height_above(nut, x, y)
        return cls(nut, slot, u, s, np.maximum(room, 0.0))

    def excess(self, cutter: Cutter) -> Array:
        """How far the surface that a cutter leaves stands above the wanted one, at every probe [mm]."""
        slot, r = self.slot, cutter.radius
        run = slot.run(self.nut.thickness)
        step_u, step_s = r / COLUMNS, max(r / 3.0, run / ROWS)
        columns = math.ceil((slot.width / 2.0 + 2.0 * r) / step_u)
        spread = columns * step_u * abs(math.tan(math.radians(slot.fan_deg)))
        before, after = math.ceil(spread / step_s), math.ceil((run + spread) / step_s)
        u, s = np.arange(-columns, columns + 1) * step_u, np.arange(-before, after + 1) * step_s
        wanted = height_above(self.nut, *_plan(slot, u[None, :], s[:, None]))
        stands = reached(wanted, cutter, pitch=(step_s, step_u), beside=self.nut.lowest_z) - wanted
        column = columns + np.sign(self.u) * np.floor(np.abs(self.u) / step_u + 1e-9)
        row = before + np.rint(self.s / step_s)
        return stands[row.astype(int)[:, None], column.astype(int)[None, :]]

    def left(self, excess: Array) -> tuple[float, float]:
        """The most that stays above the floor's bottom line, and on each wall half way up [mm]."""
        floor = float(excess[:, _ACROSS // 2].max())
        clear = excess <= np.maximum(self.room[:, [_ACROSS // 2]] / 2.0, 1e-9)
        wall = 0.0
        half = self.slot.width / 2.0
        for row in clear:
            cut = np.abs(self.u[row])
            wall = max(wall, half if not row[_ACROSS // 2] else half - float(cut.max()))
        return floor, wall


def _plan(slot: Slot, u: ArrayLike, s: ArrayLike) -> tuple[Array, Array]:
    """Places in plan from a slot's own: u across, s along [mm]."""
    fan = math.radians(slot.fan_deg)
    u, s = np.asarray(u, float), np.asarray(s, float)
    x = slot.x + u * math.cos(fan) + s * math.sin(fan)
    y = slot.start_y - u * math.sin(fan) + s * math.cos(fan)
    return x, y


def top_clearing(nut: Nut, cutters: Sequence[Cutter]) -> Clearing:
    """Land, bevel and eased edges before the slots are cut: one grid, the largest cutter."""
    cutter = max(cutters, key=lambda c: c.diameter)
    apart = max(cutter.radius / 6.0, 0.1)
    x = _steps(*nut.reach, apart)
    y = _steps(0.0, nut.thickness, min(apart, nut.thickness / ROWS))
    pitch = (float(y[1] - y[0]), float(x[1] - x[0]))
    stands = (x >= nut.end_x(-1, y[:, None])) & (x <= nut.end_x(1, y[:, None]))
    wanted = np.where(stands, top_surface(nut, x[None, :], y[:, None]), nut.lowest_z)
    left = float((reached(wanted, cutter, pitch=pitch, beside=nut.lowest_z) - wanted)[stands].max())
    then = step("mill.smooth-the-steps" if left < NOTHING else "mill.file-the-rest")
    return Clearing(note("mill.top"), math.inf, "any", cutter, left, 0.0, max(pitch), then)


def _steps(low: float, high: float, step: float) -> Array:
    return np.linspace(low, high, max(3, math.ceil((high - low) / step) + 1))


def _around(nut: Nut, cutters: Sequence[Cutter]) -> Iterator[Clearing]:
    """The outline, and where shelves stand before the front face, its inside corners and what is under them."""
    yield Clearing(note("mill.outline"), math.inf, "flat", None, 0.0, 0.0, 0.0, step("mill.by-the-side"))
    corners = inside_corners(Chain("", polygon(plan_corners(nut, nut.thickness))))
    if not corners:
        return
    cutter = min(cutters, key=lambda c: c.diameter)
    pitch = cutter.radius / COLUMNS
    left = max(corner_left(nut, corner, cutter, pitch=pitch) for corner in corners)
    then = step("mill.square-the-corners" if left > pitch else "mill.milled-whole")
    yield Clearing(note("mill.inside-corners"), 0.0, "flat", cutter, 0.0, left, pitch, then)
    under = max(float(under_shelf(nut, x)) for shelf in shelves(nut) for x in (shelf.left, shelf.right))
    hollow, then = under - nut.lowest_z, step("mill.not-from-above")
    yield Clearing(note("mill.under-shelves"), 0.0, "any", None, hollow, 0.0, 0.0, then)


def corner_left(nut: Nut, corner: tuple[float, float], cutter: Cutter, *, pitch: float) -> float:
    """How far the point of an inside corner of the outline stays from where a cutter gets to [mm].

    A window around the corner, seen from above: material or none.
    """
    reach = math.ceil(4.0 * cutter.radius / pitch)
    steps = (np.arange(-reach, reach) + 0.5) * pitch  # no place on an edge itself
    x, y = np.meshgrid(corner[0] + steps, corner[1] + steps)
    stands = within(nut, x, y)
    after = reached(stands.astype(float), cutter_flat(cutter), pitch=(pitch, pitch), beside=1.0) > 0.5
    inner = np.abs(steps) <= 2.0 * cutter.radius
    free = ~after[np.ix_(inner, inner)]
    if not free.any():
        return cutter.radius
    away = np.hypot(x[np.ix_(inner, inner)] - corner[0], y[np.ix_(inner, inner)] - corner[1])
    return float(away[free].min())


def cutter_flat(cutter: Cutter) -> Cutter:
    """The cutter as its side cuts: in plan the end makes no difference."""
    return Cutter(cutter.diameter, "flat")


def _underside(nut: Nut) -> Clearing:
    hollow = nut.underside.z0 - nut.lowest_z
    then = step("mill.as-the-stock" if hollow < NOTHING else "mill.arched-underside")
    largest = 2.0 / nut.underside.curvature if nut.underside.curvature else math.inf
    return Clearing(note("mill.underside"), largest, "any", None, hollow, 0.0, 0.0, then)
