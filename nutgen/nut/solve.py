"""Spec in, Nut out: positions, heights, slots, top and blank."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nutgen.nut.part import Allowances, Blank, CannotBeMade, Nut, Slot, Underside
from nutgen.nut.remarks import refusals, remarks
from nutgen.spec.tables import Spec, String
from nutgen.spec.values import Across
from nutgen.theory.crown import Crown, fit_crown
from nutgen.theory.frets import nut_slant_deg
from nutgen.theory.heights import Neck, StringLine, crown_drop
from nutgen.theory.spacing import equal_centres, equal_gaps

Array = NDArray[np.float64]

LEAST_BURIED = 1.0 / 3.0
"""Least share of a gauge below the top, whatever the crown does. Common practice, no source."""

LEAST_TILT_DEG = 3.0
"""A floor that falls less than this may touch the string behind its start. Common practice, no source."""

SAWING = Allowances(top=1.0, back=0.4, ends=1.0)
"""What a squared blank has over the finished nut, at least. Common practice, no source."""


def solve(spec: Spec) -> Nut:
    """Work out the nut that a file asks for.

    spec    : a file through the door
    returns : the nut in mm, with its warnings
    raises  : CannotBeMade with every reason

    The work is done as if strung right-handed and mirrored at the end where it is not.
    """
    x = _positions(spec)
    share = _shares(x)
    slant = _slant(spec, x)
    seat = _Seat.of(spec, slant)
    line = _string_line(spec, share)
    plane_z = seat.fret_plane_z(x)
    floor_z = plane_z + line.floor_height
    slots = _slots(spec, x, share, line, floor_z, plane_z, slant)
    crown = _crown(spec, slots, seat.board_radius)
    slots = [_against_top(slot, crown) for slot in slots]
    nut = Nut(
        title=spec.title,
        strung=spec.instrument.strung,
        seat_kind=spec.seat.kind,
        length=spec.fretboard.width,
        thickness=spec.seat.thickness,
        board_radius=seat.board_radius,
        fret_height=spec.fretboard.fret_height,
        frets=spec.instrument.frets,
        relief=spec.setup.relief,
        slant_deg=slant,
        crown=crown,
        underside=seat.underside,
        land=spec.body.land,
        bevel_deg=spec.body.bevel_deg,
        edge_radius=spec.body.edge_radius,
        slots=tuple(slots),
        allowances=Allowances(spec.body.top, spec.body.back, spec.body.ends, spec.body.floors),
        blank=Blank(0.0, 0.0, 0.0),
    )
    reasons = refusals(nut) or refusals(nut.rough())
    if reasons:
        raise CannotBeMade(reasons)
    nut = replace(nut, blank=_blank(nut), warnings=tuple(remarks(nut, spec)))
    return _mirrored(nut) if nut.strung == "left" else nut


def _courses(spec: Spec) -> list[int]:
    """A label per string; neighbours with one label form a course, 1 is the treble-most."""
    n = len(spec.strings)
    given = [string.course for string in spec.strings if string.course is not None]
    if given:
        return given
    size = 2 if spec.spacing.course_gap is not None else 1
    return [(n - 1 - index) // size + 1 for index in range(n)]


def _positions(spec: Spec) -> Array:
    """Centres of the strings from the centre line, bass side negative [mm]."""
    width = spec.fretboard.width
    if spec.spacing.rule == "measured":
        return np.array(spec.spacing.measured) - width / 2.0
    rule = equal_gaps if spec.spacing.rule == "gaps" else equal_centres
    margin = spec.spacing.margin
    if margin is None:
        raise ValueError("a spacing by rule has margins; the door sees to that")
    try:
        centres = rule(
            [string.gauge for string in spec.strings],
            width=width,
            bass_margin=margin.bass,
            treble_margin=margin.treble,
            courses=_courses(spec),
            course_gap=spec.spacing.course_gap or 0.0,
        )
    except ValueError as error:
        raise CannotBeMade([f"spacing.margin: {error}; use smaller margins or fewer, thinner strings"]) from None
    return centres - width / 2.0


def _shares(x: Array) -> Array:
    """Share of the way from the bass-most to the treble-most string."""
    spread = x[-1] - x[0]
    return (x - x[0]) / spread if spread > 0.0 else np.zeros_like(x)


def _slant(spec: Spec, x: Array) -> float:
    scale = spec.instrument.scale_length
    if scale.bass == scale.treble:
        return 0.0
    try:
        return nut_slant_deg(
            bass_scale=scale.bass,
            treble_scale=scale.treble,
            spread=float(x[-1] - x[0]),
            perpendicular_fret=spec.instrument.perpendicular_fret,
        )
    except ValueError as error:
        raise CannotBeMade([f"instrument.scale_length: {error}"]) from None


def _string_line(spec: Spec, share: Array) -> StringLine:
    neck = Neck(spec.instrument.scale_length.at(share), spec.instrument.frets, spec.setup.relief)
    action = spec.setup.action.at(share)
    if spec.setup.floor_height is not None:
        return neck.string_by_floor(floor_height=spec.setup.floor_height.at(share), action=action)
    if spec.setup.first_fret_clearance is None:
        raise ValueError("either a clearance or a floor height; the door sees to that")
    clearance = spec.setup.first_fret_clearance.at(share)
    return neck.string_by_targets(first_fret_clearance=clearance, action=action)


@dataclass(frozen=True, slots=True)
class _Seat:
    """What the nut stands on and what lies in front of it."""

    underside: Underside
    board_radius: float  # across the nut: larger than the board's own where the nut is slanted
    above_board: tuple[float, float]  # fret plane over the board surface at x = 0, and its change per mm

    @classmethod
    def of(cls, spec: Spec, slant_deg: float) -> "_Seat":
        squeeze = math.cos(math.radians(slant_deg)) ** 2
        board_radius = spec.fretboard.radius / squeeze
        half = spec.fretboard.width / 2.0
        if spec.seat.kind == "surface":
            underside = Underside(0.0, 1.0 / board_radius)
        else:
            underside = Underside(-spec.seat.depth, 1.0 / (spec.seat.floor / squeeze))
        height, tilt = spec.fretboard.fret_height, 0.0
        if spec.seat.fret_plane is not None:
            edge = float(underside.z(half) + crown_drop(half, radius=board_radius))
            bass, treble = edge + spec.seat.fret_plane.bass, edge + spec.seat.fret_plane.treble
            height, tilt = (bass + treble) / 2.0, (treble - bass) / (2.0 * half)
        return cls(underside, board_radius, (height, tilt))

    def fret_plane_z(self, x: Array) -> Array:
        height, tilt = self.above_board
        return height + tilt * x - crown_drop(x, radius=self.board_radius)


def _slots(
    spec: Spec, x: Array, share: Array, line: StringLine, floor_z: Array, plane_z: Array, slant_deg: float
) -> list[Slot]:
    courses = _courses(spec)
    scale = spec.instrument.scale_length.at(share)
    floor_height = line.floor_height
    clearance, action, incline = line.clearance(1), line.clearance(12), line.incline_deg
    slots = []
    for i, string in enumerate(spec.strings):
        aim = _aim(
            spec,
            string,
            share=float(share[i]),
            index=i,
            x=float(x[i]),
            z=float(floor_z[i]),
            incline_deg=float(incline[i]),
            line_deg=-slant_deg,
        )
        slots.append(
            Slot(
                number=len(spec.strings) - i,
                note=string.note,
                gauge=string.gauge,
                wound=string.wound,
                course=courses[i],
                scale_length=float(scale[i]),
                x=float(x[i]),
                start_y=0.0,
                width=string.gauge + spec.slots.clearance.of(wound=string.wound),
                floor_z=float(floor_z[i]),
                floor_height=float(floor_height[i]),
                fret_plane_z=float(plane_z[i]),
                tilt_deg=aim.tilt_deg,
                roll_radius=aim.roll_radius,
                fan_deg=aim.fan_deg,
                incline_deg=float(incline[i]),
                break_angle_deg=aim.break_angle_deg,
                bend_deg=aim.fan_deg + slant_deg,
                buried=0.0,
                depth=0.0,
                first_fret_clearance=float(clearance[i]),
                action=float(action[i]),
            )
        )
    return slots


@dataclass(frozen=True, slots=True)
class _Aim:
    """Where a slot points."""

    fan_deg: float
    break_angle_deg: float
    tilt_deg: float
    roll_radius: float


def _aim(
    spec: Spec,
    string: String,
    *,
    share: float,
    index: int,
    x: float,
    z: float,
    incline_deg: float,
    line_deg: float,
) -> _Aim:
    """Aim a slot at its tuner post, or along the given angles.

    x, z        : the floor at the front face [mm]
    incline_deg : rise of the string toward the bridge [deg]
    line_deg    : the string's line over the board in plan, against y [deg]
    """
    rolled = spec.slots.floor == "rolled"
    post = string.post
    if post is not None:
        fan = math.degrees(math.atan2(post.x - x, post.y))
        down = math.degrees(math.atan2(z + post.drop, math.hypot(post.y, post.x - x)))
        breaks = down - incline_deg
    else:
        fan = line_deg + _given(spec.headstock.fan_deg, share, index)
        breaks = _given(spec.headstock.break_angle_deg, share, index)
        down = breaks + incline_deg
    if not rolled:
        half = max(LEAST_TILT_DEG, breaks / 2.0)
        tilt = half if spec.slots.tilt_deg is None else _given(spec.slots.tilt_deg, share, index)
        return _Aim(fan, breaks, tilt, math.inf)
    start = max(incline_deg, 0.0)
    run = spec.seat.thickness / math.cos(math.radians(fan))
    if post is not None:
        reach = math.hypot(post.y, post.x - x) - run
        down = _tangent_to_post(start, run=run, reach=reach, fall=z + post.drop)
    bend = math.sin(math.radians(down)) - math.sin(math.radians(start))
    if bend <= 0.0:
        raise CannotBeMade([f"string {string.note}: the tuner line does not fall behind the nut; nothing to roll to"])
    return _Aim(fan, breaks, start, run / bend)


def _given(value: Across | None, share: float, index: int) -> float:
    if value is None:
        return 0.0
    numbers = value.at(np.array([share]))
    return float(numbers[index] if value.each else numbers[0])


def _tangent_to_post(start_deg: float, *, run: float, reach: float, fall: float) -> float:
    """Fall of a rolled floor at the back, so that it points at the post [deg].

    run   : plan length of the floor [mm]
    reach : plan distance from the back face to the post [mm]
    fall  : from the floor's start down to the string at the post [mm]

    The arc from angle a to b over a run s falls s tan((a + b) / 2); what is left of the fall
    must be reach tan(b). Monotonic in b, so halving the bracket finds it.
    """
    low, high = -45.0, 60.0
    for _ in range(60):
        middle = (low + high) / 2.0
        dropped = run * math.tan(math.radians((start_deg + middle) / 2.0))
        short = dropped + reach * math.tan(math.radians(middle)) < fall
        low, high = (middle, high) if short else (low, middle)
    return (low + high) / 2.0


def _crown(spec: Spec, slots: list[Slot], board_radius: float) -> Crown:
    target = np.array([spec.slots.buried.of(wound=slot.wound) for slot in slots])
    floor, gauge = np.array([slot.floor_z for slot in slots]), np.array([slot.gauge for slot in slots])
    least = floor + np.minimum(target, LEAST_BURIED) * gauge
    return fit_crown([slot.x for slot in slots], floor + target * gauge, least, radius=board_radius)


def _against_top(slot: Slot, crown: Crown) -> Slot:
    depth = float(crown.z(slot.x)) - slot.floor_z
    return replace(slot, depth=depth, buried=depth / slot.gauge)


def _blank(nut: Nut) -> Blank:
    a = nut.allowances
    return Blank(
        length=nut.length + 2.0 * max(a.ends, SAWING.ends),
        thickness=nut.thickness + max(a.back, SAWING.back),
        height=nut.height + max(a.top, SAWING.top),
    )


def _mirrored(nut: Nut) -> Nut:
    slots = tuple(replace(s, x=-s.x, fan_deg=-s.fan_deg, bend_deg=-s.bend_deg) for s in nut.slots)
    return replace(nut, slots=slots, crown=nut.crown.mirrored(), slant_deg=-nut.slant_deg)
