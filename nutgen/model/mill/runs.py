"""Slots on the router: along which lines a cutter runs, how high its tip, and what it leaves; exact, not on a grid.

Seen along a slot, whose floor is round and may fall and roll, a ball stands higher than the floor's bottom line
by what it needs to touch nothing; one wider than the slot follows its two edges instead, over land and bevel:

      lift   = greatest of (lowest safe tip - line that it follows), station by station
      level  = greatest lowest safe tip: for a program that knows no z along a line

Where the tip may go is the dilation of the wanted surface by the cutter's end. Source: J. Serra, Image Analysis and
Mathematical Morphology, 1982 (from memory).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nutgen.finding import Finding, step
from nutgen.model.mill.milling import Clamped, Point3, cleared, passes
from nutgen.model.surface import STEEPEST, floor_surface, top_surface, within
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.forming import Cutter
from nutgen.theory import Array

WALL_ROOM = 0.02
"""Left on each wall: a cutter that runs out of true by less spoils no slot. Common practice, no source [mm]."""

SKIN = 0.01
"""Left all over a slot for the file that finishes it: more than the facets of nut.stl are off its floors [mm]."""

LEAST_MARK = 0.03
"""A cutter that dips in by less leaves no mark to file along [mm]."""

NOTHING = 0.01
"""Less than this beside the skin is nothing to file [mm]."""

CHORD = 0.001
"""Greatest distance between a rolled floor and the straight lines that stand for it [mm]."""

PAST = 1.0
"""A line runs past either face by the cutter's radius and this [mm]."""

AWAY = 0.5
"""From one line of a slot to the next, in radii of the cutter: a ball then leaves ridges of 0.03 radii on a flat."""

TYPED = 1e-3
"""Heights are told in whole steps of this, rounded up [mm]."""

_ACROSS, _AROUND, _RIMS, _ALONG, _APART, _DENSE = 25, 21, 24, 81, 0.1, 0.02  # probes; stations along a line [mm]


@dataclass(frozen=True, slots=True)
class Run:
    """One line that a cutter runs along, in the frame of the stock; z is that of its tip.

    layer       : of the file for the router; the floor's own, or one for a line on either hand of it
    points      : past both faces, along the floor [mm]
    front, back : where a straight run passes the two faces: above the floor where that is rolled, level where the
                  cutter is wider than the slot [mm]
    level       : z of a level run, one for a layer [mm]
    passes      : in depth
    """

    layer: str
    points: tuple[Point3, ...]
    front: Point3
    back: Point3
    level: float
    passes: int


@dataclass(frozen=True, slots=True)
class SlotCut:
    """How one slot is milled.

    slot       : of the part, its allowances on
    largest    : diameter of the largest ball that enters it [mm]
    cutter     : the one at hand that gets lowest; none where no one dips in
    runs       : along the floor, then along either wall where the cutter is narrower than the slot
    floor_left : the most that stays above the bottom line after the runs in space [mm]
    level_left : the same after level runs [mm]
    walls_left : what stays on each wall; inf where no cutter enters [mm]
    then       : what is to be done
    """

    slot: Slot
    largest: float
    cutter: Cutter | None
    runs: tuple[Run, ...]
    floor_left: float
    level_left: float
    walls_left: float
    then: Finding


def slot_cuts(work: Clamped, cutters: Sequence[Cutter]) -> tuple[SlotCut, ...]:
    """Every slot, bass to treble."""
    return tuple(_slot_cut(work, slot, cutters) for slot in work.nut.slots)


def _slot_cut(work: Clamped, slot: Slot, cutters: Sequence[Cutter]) -> SlotCut:
    largest, depth = _largest(slot), _depth(work.nut, slot)
    lines = [_Line(work.nut, slot, cutter, 0.0) for cutter in _candidates(cutters, largest)]
    best = max(lines, key=lambda line: (round(_dip(line), 3), line.cutter.diameter), default=None)
    deepest = float(depth.max())
    if best is None or _dip(best) < LEAST_MARK:
        return SlotCut(slot, largest, None, (), deepest, deepest, math.inf, step("mill.no-cutter-enters"))
    aside = largest / 2.0 - best.cutter.radius
    sides = [_Line(work.nut, slot, best.cutter, u) for u in _beside(aside, best.cutter)]
    for one, other in zip(sides[::2], sides[1::2], strict=True):
        one.level = other.level = max(one.level, other.level)  # a layer of the file has one
    left, level = (float(np.minimum(depth, stands).max()) for stands in _stands(best, sides))
    whole = "mill.milled-whole" if left < SKIN + NOTHING else "mill.file-the-rest"
    return SlotCut(
        slot,
        largest,
        best.cutter,
        (_run(work, best), *(_run(work, line, f"-{i // 2 + 1}") for i, line in enumerate(sides))),
        left,
        level,
        math.inf if aside < 0.0 else WALL_ROOM if sides else WALL_ROOM + aside,
        step("mill.marked" if aside < 0.0 else whole),
    )


def _largest(slot: Slot) -> float:
    """Diameter of the widest ball that enters [mm]."""
    return slot.width - 2.0 * WALL_ROOM


def _candidates(cutters: Sequence[Cutter], largest: float) -> list[Cutter]:
    """The largest ball that enters gets to the floor; without one, the smallest ball or what enters gets lowest."""
    balls = sorted((cutter for cutter in cutters if cutter.end == "ball"), key=lambda ball: ball.diameter)
    entering = [ball for ball in balls if ball.diameter <= largest]
    if entering:
        return entering[-1:]
    return balls[:1] + [cutter for cutter in cutters if cutter.end == "flat" and cutter.diameter <= largest]


def _beside(aside: float, cutter: Cutter) -> Array:
    """Lines beside the middle one, as far as the walls: none farther from the next than AWAY [mm]."""
    if aside < NOTHING:
        return np.empty(0)
    count = math.ceil(aside / (AWAY * cutter.radius))
    outward = aside * np.arange(1, count + 1) / count
    return np.stack([-outward, outward], axis=-1).ravel()


class _Line:
    """A cutter along a slot, `aside` of its centre line; s runs along the slot from the string's start [mm]."""

    def __init__(self, nut: Nut, slot: Slot, cutter: Cutter, aside: float) -> None:
        self.nut, self.slot, self.cutter, self.aside = nut, slot, cutter, aside
        self.run, self.enters = slot.run(nut.thickness), cutter.diameter <= _largest(slot)
        fan = math.radians(slot.fan_deg)
        out = PAST + cutter.radius + (abs(aside) + cutter.radius) * abs(math.tan(fan))
        self.stations = np.linspace(-out, self.run + out, math.ceil((self.run + 2.0 * out) / _APART) + 1)
        safe = self._safe()
        self.s, self.z = self._along_floor() if self.enters else self._on_edges(safe)
        self.lift = rounded_up(float((safe - self.base(self.stations)).max()))
        self.level = float(safe.max())

    def _along_floor(self) -> tuple[Array, Array]:
        """Along the bottom line, so that a ball's middle runs beside it; straight on past both faces."""
        inner = np.array(_stations(self.slot, self.run))
        heights, falls = _beside_floor(
            self.slot, inner, self.cutter.radius + SKIN if self.cutter.end == "ball" else 0.0
        )
        bends = slice(None) if self.slot.rolled else slice(0)
        before, after = self.stations[0], self.stations[-1] - self.run
        ends = heights[0] - before * falls[0], heights[-1] - after * falls[-1]
        return (np.array([before, *inner[bends], self.stations[-1]]), np.array([ends[0], *heights[bends], ends[1]]))

    def _on_edges(self, safe: Array) -> tuple[Array, Array]:
        """Over the land and down the bevel, on the two edges of a slot that is too narrow; level past both faces."""
        land = min(self.slot.run(self.nut.land), self.run)
        places = np.unique([0.0, land, self.run])
        on = np.isfinite(safe)
        heights = np.interp(places, self.stations[on], safe[on])
        return (np.array([self.stations[0], *places, self.stations[-1]]), np.array([heights[0], *heights, heights[-1]]))

    def base(self, s: Array) -> Array:
        """What the tip follows, before it is lifted to be safe everywhere."""
        return np.interp(s, self.s, self.z)

    def _safe(self) -> Array:
        """How low the tip may go at every station; -inf where the cutter is off the part."""
        nut, slot, room = self.nut, self.slot, SKIN if self.enters else WALL_ROOM
        thick = Cutter(self.cutter.diameter + 2.0 * room, self.cutter.end)
        r = thick.radius
        u = self.aside + r * np.sin(np.linspace(-math.pi / 2.0, math.pi / 2.0, _ACROSS)) * (1.0 - 1e-9)
        between = self.cutter.end == "ball" and abs(self.aside) + r < slot.width / 2.0
        if not between:
            rims = _rims(nut, slot)
            u = np.unique(np.append(u, rims[np.abs(rims - self.aside) < r]))
        half = np.sqrt(np.maximum(r * r - (u - self.aside) ** 2, 0.0))
        s = self.stations[:, None, None] + half[:, None] * np.linspace(-1.0, 1.0, _AROUND)
        faces = [self.face(u, y)[:, None] for y in (slot.start_y, 0.0, nut.thickness)]
        edges = [np.clip(face, s.min(axis=-1, keepdims=True), s.max(axis=-1, keepdims=True)) for face in faces]
        s = np.concatenate([s, *edges], axis=-1)
        x, y = plan(slot, u[:, None], s)
        inside = (y > nut.shelves.front - 1e-9) & (y < nut.thickness + 1e-9)
        y = np.clip(y, nut.shelves.front, nut.thickness)
        wanted = floor_surface(slot, x, y)  # carried on above the top, where the slot is shallow: a ball fits it
        if not between:
            wanted = np.minimum(top_surface(nut, x, y), wanted)
        away = np.hypot(u[:, None] - self.aside, s - self.stations[:, None, None])
        tip = np.where(inside & within(nut, x, y), wanted - rise(thick, away) + room, -np.inf)
        lowest: Array = tip.max(axis=(1, 2))
        return lowest

    def face(self, u: Array, y: float) -> Array:
        """Where the plane of a face cuts the lines beside the centre line, along the slot."""
        fan = math.radians(self.slot.fan_deg)
        return (y - self.slot.start_y + u * math.sin(fan)) / math.cos(fan)


def _bottom(nut: Nut, slot: Slot) -> tuple[Array, Array]:
    """Places on the bottom line from the string's start to where it leaves the nut, along the slot, and its height."""
    s = np.linspace(0.0, slot.run(nut.thickness), _ALONG)
    x, y = plan(slot, np.zeros_like(s), s)
    s = s[within(nut, x, np.minimum(y, nut.thickness))]
    return s, slot.floor_at(slot.start_y + s * math.cos(math.radians(slot.fan_deg)))


def _depth(nut: Nut, slot: Slot) -> Array:
    """From the bottom line to the top around it [mm]."""
    s, floor = _bottom(nut, slot)
    depth: Array = top_surface(nut, *plan(slot, np.zeros_like(s), s)) - floor
    return depth


def _dip(line: _Line) -> float:
    """How deep the tip goes below the top around the slot, where it goes deepest [mm]."""
    s, floor = _bottom(line.nut, line.slot)
    return float((floor + _depth(line.nut, line.slot) - line.base(s)).max()) - line.lift


def _stands(best: _Line, sides: Sequence[_Line]) -> Iterator[Array]:
    """What runs in space, then what level ones, leave above the bottom line [mm]."""
    s, floor = _bottom(best.nut, best.slot)
    lines = [best, *sides]
    along = np.linspace(best.s[0], best.s[-1], math.ceil((best.s[-1] - best.s[0]) / _DENSE))
    tips = [line.base(along) + line.lift for line in lines]
    for heights in (tips, [np.full_like(along, line.level) for line in lines]):
        swept = []
        for line, tip in zip(lines, heights, strict=True):
            away = np.hypot(line.aside, s[:, None] - along)
            reach = np.where(away <= line.cutter.radius, tip + rise(line.cutter, away), np.inf)
            swept.append(reach.min(axis=1))
        yield np.min(swept, axis=0) - floor


def _run(work: Clamped, line: _Line, suffix: str = "") -> Run:
    """A line in the stock's frame."""
    faces = [line.face(np.array([line.aside]), y)[0] for y in (line.slot.start_y, work.nut.thickness)]
    ends = line.base(np.array(faces))
    within_faces = np.clip(line.s, *faces)
    over = float((line.base(within_faces) - np.interp(within_faces, faces, ends)).max())

    def placed(s: Array, z: Array) -> tuple[Point3, ...]:
        shifted = np.stack([*plan(line.slot, np.full_like(s, line.aside), s), z + line.lift], axis=-1) + work.shift
        return tuple((float(px), float(py), float(pz)) for px, py, pz in shifted)

    points = placed(line.s, line.z)
    level = rounded_up(line.level + work.shift[2])
    front, back = ((x, y, rounded_up(z) if line.enters else level) for x, y, z in placed(np.array(faces), ends + over))
    deep = cleared(work) - min(z for _, _, z in points)
    return Run(f"slot-{line.slot.number}{suffix}", points, front, back, level, passes(deep, line.cutter))


def rise(cutter: Cutter, distance: Array) -> Array:
    """Height of a cutter's end above its tip, at a distance from its axis [mm]."""
    if cutter.end == "flat":
        return np.zeros_like(distance)
    return cutter.radius - np.sqrt(np.maximum(0.0, cutter.radius**2 - distance**2))


def _rims(nut: Nut, slot: Slot) -> Array:
    """Where a slot breaks through the top, beside its centre line: at its walls, within where shallow [mm]."""
    r, depth = slot.width / 2.0, float(_depth(nut, slot).min())
    innermost = r if depth >= r else 0.9 * math.sqrt(max(0.0, r * r - (r - depth) ** 2))
    rims = np.linspace(innermost, r, _RIMS) * (1.0 + 1e-9)
    return np.unique(np.concatenate([-rims, rims]))


def _beside_floor(slot: Slot, s: Array, r: float) -> tuple[Array, Array]:
    """Height of a ball's tip, and how steeply it falls, when its middle runs beside the bottom line at its radius."""
    tilt = math.radians(slot.tilt_deg)
    if not slot.rolled:
        even = math.tan(tilt)
        return slot.floor_z - s * even + r * (1.0 / math.cos(tilt) - 1.0), np.full_like(s, even)
    lean = s + slot.roll_radius * math.sin(tilt)
    up: Array = np.sqrt(np.maximum(slot.roll_radius + r, lean / STEEPEST) ** 2 - lean**2)
    ended = lean > STEEPEST * (slot.roll_radius + r)  # past its end the floor rises
    fall: Array = np.where(ended, -up / lean, lean / up)
    return slot.floor_z - slot.roll_radius * math.cos(tilt) + up - r, fall


def plan(slot: Slot, u: Array, s: Array) -> tuple[Array, Array]:
    """Places in plan from a slot's own: u across, s along [mm]."""
    fan = math.radians(slot.fan_deg)
    x = slot.x + u * math.cos(fan) + s * math.sin(fan)
    y = slot.start_y - u * math.sin(fan) + s * math.cos(fan)
    return x, y


def rounded_up(height: float) -> float:
    """A height as it is told [mm]."""
    return math.ceil(height / TYPED - 1e-6) * TYPED


def _stations(slot: Slot, run: float) -> list[float]:
    """Where the straight lines along a floor end, along the slot from its start to the back face [mm].

    A chord c on a radius R stands off by c^2 / (8 R); equal turns make equal chords.
    """
    if not slot.rolled:
        return [0.0, run]
    first = math.radians(slot.tilt_deg)
    last = math.asin(min(1.0, run / slot.roll_radius + math.sin(first)))
    count = max(1, math.ceil((last - first) * math.sqrt(slot.roll_radius / (8.0 * CHORD))))
    turns = [first + (last - first) * i / count for i in range(count)]
    return [slot.roll_radius * (math.sin(turn) - math.sin(first)) for turn in turns] + [run]
