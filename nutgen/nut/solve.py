"""Spec in, Nut out: positions, heights, slots, top and blank."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nutgen.nut.part import Allowances, Blank, CannotBeMade, Nut, Slot, Underside
from nutgen.nut.places import string_courses, string_positions, string_shares
from nutgen.nut.remarks import refusals, remarks
from nutgen.spec.tables import Spec, String
from nutgen.spec.values import Across
from nutgen.theory.crown import Crown, fit_crown
from nutgen.theory.frets import nut_slant_deg
from nutgen.theory.heights import Neck, StringLine, crown_drop

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
    x = string_positions(spec)
    share = string_shares(x)
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
    warnings = [*_lying(line, spec.strings, nut.frets), *remarks(nut, spec)]
    if spec.setup.first_fret_clearance == "lowest":
        from nutgen.nut.clear import lowest_words

        warnings += lowest_words(spec)
    nut = replace(nut, blank=_blank(nut), warnings=tuple(warnings))
    return _mirrored(nut) if nut.strung == "left" else nut


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
    scale, setback = spec.instrument.scale_length.at(share), spec.slots.setback.at(share)
    neck = Neck(scale, spec.instrument.frets, spec.setup.relief, start=setback)
    action = spec.setup.action.at(share)
    if spec.setup.floor_height is not None:
        return neck.string_by_floor(floor_height=spec.setup.floor_height.at(share), action=action)
    clearance = spec.setup.first_fret_clearance
    if clearance is None:
        raise ValueError("either a clearance or a floor height; the door sees to that")
    if clearance == "lowest":
        from nutgen.nut.clear import lowest_floor_height  # few files ask for it; the others need not wait

        floor_height = lowest_floor_height(spec, neck=neck, action=np.broadcast_to(action, share.shape))
        return neck.string_by_floor(floor_height=floor_height, action=action)
    return neck.string_by_targets(first_fret_clearance=clearance.at(share), action=action)


def _lying(line: StringLine, strings: Sequence[String], last_fret: int) -> Iterator[str]:
    """Open strings that lie on a fret, at the fret that lifts them most."""
    clearance = line.clearance(np.arange(1, last_fret + 1)[:, np.newaxis])
    for index, (fret, lowest) in enumerate(zip(clearance.argmin(axis=0), clearance.min(axis=0), strict=True)):
        if lowest < 0.0:
            yield (
                f"string {len(strings) - index} ({strings[index].note}): the open string lies on fret {fret + 1},"
                f" {-lowest:.2f} mm too low; more action, or another relief"
            )


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
    courses = string_courses(spec)
    scale, setback = spec.instrument.scale_length.at(share), spec.slots.setback.at(share)
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
            start_y=-float(setback[i]),
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
                start_y=-float(setback[i]),
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
    start_y: float,
    z: float,
    incline_deg: float,
    line_deg: float,
) -> _Aim:
    """Aim a slot at its tuner post, or along the given angles.

    x, start_y, z : where the string starts [mm]
    incline_deg : rise of the string toward the bridge [deg]
    line_deg    : the string's line over the board in plan, against y [deg]
    """
    rolled = spec.slots.floor == "rolled"
    post = string.post
    if post is not None:
        fan = math.degrees(math.atan2(post.x - x, post.y - start_y))
        down = math.degrees(math.atan2(z + post.drop, math.hypot(post.y - start_y, post.x - x)))
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
    run = (spec.seat.thickness - start_y) / math.cos(math.radians(fan))
    if post is not None:
        reach = math.hypot(post.y - start_y, post.x - x) - run
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
        thickness=nut.thickness + max(-slot.start_y for slot in nut.slots) + max(a.back, SAWING.back),
        height=nut.height + max(a.top, SAWING.top),
    )


def _mirrored(nut: Nut) -> Nut:
    slots = tuple(replace(s, x=-s.x, fan_deg=-s.fan_deg, bend_deg=-s.bend_deg) for s in nut.slots)
    return replace(nut, slots=slots, crown=nut.crown.mirrored(), slant_deg=-nut.slant_deg)
