"""Spec in, Nut out: positions, heights, slots, top and blank."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from nutgen.errors import CannotBeMade
from nutgen.findings import Finding, of_key, of_string, refusal, warning
from nutgen.nut.part import Allowances, Blank, Nut, Slot, Underside
from nutgen.nut.places import string_courses, string_positions, string_shares
from nutgen.nut.remarks import refusals, remarks
from nutgen.spec.tables import Spec, String
from nutgen.spec.values import Across
from nutgen.theory.crown import Crown, fit_crown
from nutgen.theory.frets import nut_slant_deg
from nutgen.theory.heights import Neck, StringLine, crown_drop

LEAST_BURIED = 1.0 / 3.0
"""Least share of a gauge below the top, whatever the crown does. Common practice, no source."""

LEAST_TILT_DEG = 3.0
"""A floor that falls less than this may touch the string behind its start. Common practice, no source."""

SAWING = Allowances(top=1.0, back=0.4, ends=1.0)
"""What a squared blank has over the finished nut, at least. Common practice, no source."""


def solve(spec: Spec) -> Nut:
    """Work out the nut that a file asks for.

    spec    : a file through the door
    returns : the nut in mm, with its findings
    raises  : CannotBeMade with every reason

    The work is done as if strung right-handed and mirrored at the end where it is not.
    """
    x = string_positions(spec)
    share = string_shares(x)
    slant = _slant(spec, x)
    seat = _Seat.of(spec, slant)
    lines = _string_lines(spec, share)
    slots = [_slot(spec, i, x=x[i], share=share[i], line=lines[i], seat=seat) for i in range(len(x))]
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
    found = [*_lying(lines, spec.strings, nut.frets), *remarks(nut, spec)]
    if spec.setup.first_fret_clearance == "lowest":
        from nutgen.nut.clear import assumed_for_lowest

        found += assumed_for_lowest(spec)
    nut = replace(nut, blank=_blank(nut), findings=tuple(found))
    return _rounded(_mirrored(nut) if nut.strung == "left" else nut)


def _slant(spec: Spec, x: list[float]) -> float:
    scale = spec.instrument.scale_length
    if scale.bass == scale.treble:
        return 0.0
    try:
        return nut_slant_deg(
            bass_scale=scale.bass,
            treble_scale=scale.treble,
            spread=x[-1] - x[0],
            perpendicular_fret=spec.instrument.perpendicular_fret,
        )
    except ValueError:
        about = of_key("instrument.scale_length")
        found = refusal("slant.scales-do-not-fit", about, difference=scale.bass - scale.treble, spread=x[-1] - x[0])
        raise CannotBeMade([found]) from None


def _string_lines(spec: Spec, share: list[float]) -> list[StringLine]:
    """The open strings over their necks, bass to treble."""
    necks = [
        Neck(scale, spec.instrument.frets, spec.setup.relief, start=setback)
        for scale, setback in zip(spec.instrument.scale_length.at(share), spec.slots.setback.at(share), strict=True)
    ]
    actions = spec.setup.action.at(share)
    clearance, floor = spec.setup.first_fret_clearance, spec.setup.floor_height
    if isinstance(clearance, Across):
        return [
            neck.string_by_targets(first_fret_clearance=wanted, action=action)
            for neck, wanted, action in zip(necks, clearance.at(share), actions, strict=True)
        ]
    if floor is not None:
        floors = floor.at(share)
    elif clearance == "lowest":
        from nutgen.nut.clear import lowest_floor_heights  # few files ask for it; the others need not wait

        floors = lowest_floor_heights(spec, actions=actions)
    else:
        raise ValueError("either a clearance or a floor height; the door sees to that")
    return [
        neck.string_by_floor(floor_height=height, action=action)
        for neck, height, action in zip(necks, floors, actions, strict=True)
    ]


def _lying(lines: Sequence[StringLine], strings: Sequence[String], last_fret: int) -> Iterator[Finding]:
    """Open strings that lie on a fret, at the fret that lifts them most."""
    for index, (line, string) in enumerate(zip(lines, strings, strict=True)):
        lowest, fret = min((float(line.clearance(fret)), fret) for fret in range(1, last_fret + 1))
        if lowest < 0.0:
            who = of_string(len(strings) - index, string.note)
            yield warning("string.lies-on-fret", who, fret=fret, by=-lowest)


@dataclass(frozen=True, slots=True)
class _Seat:
    """What the nut stands on and what lies in front of it."""

    slant_deg: float
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
        return cls(slant_deg, underside, board_radius, (height, tilt))

    def fret_plane_z(self, x: float) -> float:
        height, tilt = self.above_board
        return height + tilt * x - float(crown_drop(x, radius=self.board_radius))


def _slot(spec: Spec, index: int, *, x: float, share: float, line: StringLine, seat: _Seat) -> Slot:
    """The groove of one string; how deep it lies is not known before the top is."""
    string, incline = spec.strings[index], float(line.incline_deg)
    plane_z, floor_height, start_y = seat.fret_plane_z(x), float(line.floor_height), -float(line.neck.start)
    place = _Place(index, share, x, start_y, plane_z + floor_height, incline, -seat.slant_deg)
    aim = _aim(spec, string, place)
    return Slot(
        number=len(spec.strings) - index,
        note=string.note,
        gauge=string.gauge,
        wound=string.wound,
        course=string_courses(spec)[index],
        scale_length=float(line.neck.scale_length),
        x=x,
        start_y=start_y,
        width=string.gauge + spec.slots.clearance.of(wound=string.wound),
        floor_z=place.z,
        floor_height=floor_height,
        fret_plane_z=plane_z,
        tilt_deg=aim.tilt_deg,
        roll_radius=aim.roll_radius,
        fan_deg=aim.fan_deg,
        incline_deg=incline,
        break_angle_deg=aim.break_angle_deg,
        bend_deg=aim.fan_deg + seat.slant_deg,
        buried=0.0,
        depth=0.0,
        first_fret_clearance=float(line.clearance(1)),
        action=float(line.clearance(12)),
    )


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a string starts and how it comes in.

    x, start_y, z : the floor at its start [mm]
    incline_deg   : rise of the string toward the bridge [deg]
    line_deg      : the string's line over the board in plan, against y [deg]
    """

    index: int
    share: float
    x: float
    start_y: float
    z: float
    incline_deg: float
    line_deg: float


@dataclass(frozen=True, slots=True)
class _Aim:
    """Where a slot points."""

    fan_deg: float
    break_angle_deg: float
    tilt_deg: float
    roll_radius: float


def _aim(spec: Spec, string: String, place: _Place) -> _Aim:
    """Aim a slot at its tuner post, or along the given angles."""

    def given(value: Across | None) -> float:
        return 0.0 if value is None else value.values[place.index] if value.each else value.at([place.share])[0]

    post, behind = string.post, spec.seat.thickness - place.start_y
    if post is not None:
        aside, back, fall = post.x - place.x, post.y - place.start_y, place.z + post.drop
        fan = math.degrees(math.atan2(aside, back))
        down = math.degrees(math.atan2(fall, math.hypot(back, aside)))
        breaks = down - place.incline_deg
    else:
        fan = place.line_deg + given(spec.headstock.fan_deg)
        breaks = given(spec.headstock.break_angle_deg)
        down = breaks + place.incline_deg
    if spec.slots.floor == "straight":
        half = max(LEAST_TILT_DEG, breaks / 2.0)
        tilt = half if spec.slots.tilt_deg is None else given(spec.slots.tilt_deg)
        return _Aim(fan, breaks, tilt, math.inf)
    start = max(place.incline_deg, 0.0)
    run = behind / math.cos(math.radians(fan))
    if post is not None:
        down = _tangent_to_post(start, run=run, reach=math.hypot(back, aside) - run, fall=fall)
    bend = math.sin(math.radians(down)) - math.sin(math.radians(start))
    if bend <= 0.0:
        who = of_string(len(spec.strings) - place.index, string.note)
        raise CannotBeMade([refusal("slot.nothing-to-roll-to", who, falls_deg=down)])
    return _Aim(fan, breaks, start, run / bend)


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
    targets = [spec.slots.buried.of(wound=slot.wound) for slot in slots]
    wanted = [slot.floor_z + target * slot.gauge for slot, target in zip(slots, targets, strict=True)]
    least = [slot.floor_z + min(target, LEAST_BURIED) * slot.gauge for slot, target in zip(slots, targets, strict=True)]
    return fit_crown([slot.x for slot in slots], wanted, least, radius=board_radius)


def _against_top(slot: Slot, crown: Crown) -> Slot:
    depth = float(crown.z(slot.x)) - slot.floor_z
    return replace(slot, depth=depth, buried=depth / slot.gauge)


def _blank(nut: Nut) -> Blank:
    a = nut.allowances
    return Blank(
        length=nut.length + 2.0 * max(a.ends, SAWING.ends),
        thickness=nut.thickness + max(-slot.start_y for slot in nut.slots) + max(a.back, SAWING.back),
        height=max(nut.height + max(a.top, SAWING.top), nut.rough().height),
    )


def _rounded(value: Any) -> Any:
    """A nut, or a part of it, with every length and angle to 1e-9: far below what anyone can make, above what
    libraries of mathematics differ by in the last digit, so that a file gives the same nut everywhere.

    A curvature is kept: it is a quotient of what was read, and a rounded one would move its radius.
    """
    if isinstance(value, float):
        return round(float(value), 9) + 0.0
    if isinstance(value, tuple):
        return tuple(map(_rounded, value))
    if is_dataclass(value) and not isinstance(value, type):
        changed = {f.name: _rounded(getattr(value, f.name)) for f in fields(value) if f.name != "curvature"}
        return replace(value, **changed)
    return value


def _mirrored(nut: Nut) -> Nut:
    slots = tuple(replace(s, x=-s.x, fan_deg=-s.fan_deg, bend_deg=-s.bend_deg) for s in nut.slots)
    return replace(nut, slots=slots, crown=nut.crown.mirrored(), slant_deg=-nut.slant_deg)
