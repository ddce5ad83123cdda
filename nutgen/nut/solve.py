"""Spec in, Nut out: positions, heights, slots, top and blank."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, assumption, of_key, of_string, refusal, warning
from nutgen.geometry.pose import Pose
from nutgen.nut.aim import Start, aim_of
from nutgen.nut.clear import lowest_floors
from nutgen.nut.heights import Readings, heights
from nutgen.nut.part import Allowances, Blank, Nut, Slot, Underside
from nutgen.nut.places import kind_of, string_courses, string_positions, string_shares
from nutgen.nut.remarks import refusals, remarks
from nutgen.nut.seat import SeatHeights
from nutgen.nut.strung import Strung, strung
from nutgen.nut.swing import Swing, swing_of
from nutgen.spec.tables import Spec
from nutgen.spec.values import Across
from nutgen.theory.crown import Crown, fit_crown
from nutgen.theory.frets import nut_slant_deg
from nutgen.theory.heights import StringLine

LEAST_BURIED = 1.0 / 3.0
"""Least share of a gauge below the top, whatever the crown does. Common practice, no source."""

SAWING = Allowances(top=1.0, back=0.4, ends=1.0)
"""What a squared blank has over the finished nut, at least. Common practice, no source."""


def solve(spec: Spec) -> Nut:
    """Work out the nut that a file asks for.

    Parameters
    ----------
    spec : Spec
        A file through the door.

    Returns
    -------
    Nut
        Lengths in mm, to 1e-9; with its findings.

    Raises
    ------
    CannotBeMade
        With every reason.

    Notes
    -----
    The work is done as if strung right-handed and mirrored at the end where it is not.
    """
    x = string_positions(spec)
    slant, strings = _slant(spec, x), strung(spec)
    seat, swing = _seat(spec, slant), swing_of(spec, strings)
    lines = heights(_readings(spec, x, seat, swing))[1]
    starts = list(_starts(spec, x, seat, lines, slant))
    crown = _crown(spec, starts, float(np.asarray(seat.board_radius)))
    slots = tuple(_slot(spec, start, crown, slant) for start in starts)
    underside = Underside(float(seat.floor_z(0.0)), 1.0 / float(np.asarray(seat.floor_radius)))
    allowances = Allowances(spec.body.top, spec.body.back, spec.body.ends, spec.body.floors)
    nut = Nut(
        title=spec.title,
        strung=spec.instrument.strung,
        kind=kind_of(spec),
        material=spec.material,
        scale_length=(spec.instrument.scale_length.bass, spec.instrument.scale_length.treble),
        frets=spec.instrument.frets,
        relief=spec.setup.relief,
        seat=seat,
        in_neck=Pose(),
        slant_deg=slant,
        length=spec.fretboard.width,
        thickness=spec.seat.thickness,
        crown=crown,
        underside=underside,
        land=spec.body.land,
        bevel_deg=spec.body.bevel_deg,
        edge_radius=spec.body.edge_radius,
        slots=slots,
        strings=strings,
        swing=swing,
        allowances=allowances,
        blank=_blank(spec, slots, crown, underside, allowances),
    )
    reasons = refusals(nut) or refusals(nut.rough())
    if reasons:
        raise CannotBeMade(reasons)
    found = (*_lying(lines, slots, nut.frets), *remarks(nut), *_assumed(spec, nut))
    return _rounded(replace(_mirrored(nut) if nut.strung == "left" else nut, findings=found))


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


def _seat(spec: Spec, slant_deg: float) -> SeatHeights:
    """The seat as the nut sees it; a slanted nut crosses the board at a larger radius."""
    squeeze, read = math.cos(math.radians(slant_deg)) ** 2, spec.seat
    board_radius = spec.fretboard.radius / squeeze
    surface = read.kind == "surface"
    return SeatHeights(
        kind=read.kind,
        half_width=spec.fretboard.width / 2.0,
        board_radius=board_radius,
        depth=0.0 if surface else read.depth,
        floor_radius=board_radius if surface else read.floor / squeeze,
        fret_height=spec.fretboard.fret_height,
        fret_plane=None if read.fret_plane is None else tuple(read.fret_plane.values),
    )


def _readings(spec: Spec, x: list[float], seat: SeatHeights, swing: Swing) -> Readings:
    """What the file asks for, shape (strings, 1)."""
    share, setup = string_shares(x), spec.setup

    def column(value: Across) -> Any:
        return np.array([value.at(share)]).T

    wanted = setup.first_fret_clearance
    readings = Readings(
        scale_length=column(spec.instrument.scale_length),
        frets=spec.instrument.frets,
        relief=setup.relief,
        action=column(setup.action),
        start=column(spec.slots.setback),
        x=np.array([x]).T,
        seat=seat,
        first_fret_clearance=column(wanted) if isinstance(wanted, Across) else None,
        floor_height=None if setup.floor_height is None else column(setup.floor_height),
    )
    if wanted != "lowest":
        return readings
    lowest = lowest_floors(readings, swing)
    reasons = [
        refusal(
            "string.no-floor-clears",
            of_string(len(x) - i, spec.strings[i].note),
            fret=int(lowest.fret[i]),
            missing=float(lowest.missing[i]),
        )
        for i in np.flatnonzero(~np.isfinite(lowest.floor_height)).tolist()
    ]
    if reasons:
        raise CannotBeMade(reasons)
    return readings.at_floor(lowest.floor_height[:, np.newaxis])


def _lying(lines: StringLine, slots: Sequence[Slot], last_fret: int) -> Iterator[Finding]:
    """Open strings that lie on a fret, at the fret that lifts them most."""
    clearance = lines.clearance(np.arange(1, last_fret + 1))
    for slot, over in zip(slots, clearance, strict=True):
        fret = int(np.argmin(over))
        if over[fret] < 0.0:
            yield warning("string.lies-on-fret", slot.who, fret=fret + 1, by=-float(over[fret]))


def _assumed(spec: Spec, nut: Nut) -> Iterator[Finding]:
    """What the heights and the slant rest on that the file does not say."""
    fret = spec.instrument.perpendicular_fret
    if nut.scale_length[0] != nut.scale_length[1] and "instrument.perpendicular_fret" in spec.assumed:
        yield assumption("slant.square-fret-assumed", square_fret=fret, slant_deg=abs(nut.slant_deg))
    if spec.setup.first_fret_clearance == "lowest" and nut.swing.assumed:
        yield assumption("lowest.pluck-assumed", of_key("pluck"), assumed=nut.swing.assumed)


def _starts(spec: Spec, x: list[float], seat: SeatHeights, lines: StringLine, slant_deg: float) -> Iterator[Start]:
    each = np.broadcast_arrays(
        lines.neck.scale_length,
        -np.asarray(lines.neck.start),
        seat.fret_plane_z(np.array([x]).T),
        lines.floor_height,
        lines.incline_deg,
        -slant_deg,
        lines.clearance(1),
        lines.clearance(12),
    )
    for index, (at, share, numbers) in enumerate(zip(x, string_shares(x), np.hstack(each).tolist(), strict=True)):
        scale, *rest = numbers
        yield Start(index, share, spec.strings[index], scale, at, *rest)


def _slot(spec: Spec, start: Start, crown: Crown, slant_deg: float) -> Slot:
    """The groove of one string."""
    string, aim = start.string, aim_of(spec, start)
    depth = float(crown.z(start.x)) - start.z
    return Slot(
        number=len(spec.strings) - start.index,
        note=string.note,
        gauge=string.gauge,
        wound=string.wound,
        course=string_courses(spec)[start.index],
        scale_length=start.scale_length,
        x=start.x,
        start_y=start.y,
        width=string.gauge + spec.slots.clearance.of(wound=string.wound),
        floor_z=start.z,
        floor_height=start.floor_height,
        fret_plane_z=start.fret_plane_z,
        tilt_deg=aim.tilt_deg,
        roll_radius=aim.roll_radius,
        fan_deg=aim.fan_deg,
        incline_deg=start.incline_deg,
        break_angle_deg=aim.break_angle_deg,
        bend_deg=aim.fan_deg + slant_deg,
        buried=depth / string.gauge,
        depth=depth,
        first_fret_clearance=start.clearance,
        action=start.action,
    )


def _crown(spec: Spec, starts: Sequence[Start], board_radius: float) -> Crown:
    """The top, laid over what is to be buried of each string."""
    shares = [spec.slots.buried.of(wound=start.string.wound) for start in starts]
    wanted, least = (
        [start.z + share * start.string.gauge for start, share in zip(starts, wanted, strict=True)]
        for wanted in (shares, [min(share, LEAST_BURIED) for share in shares])
    )
    return fit_crown([start.x for start in starts], wanted, least, radius=board_radius)


def _blank(spec: Spec, slots: Sequence[Slot], crown: Crown, underside: Underside, allowances: Allowances) -> Blank:
    """What must be squared to make it."""

    def height(half_length: float, top: float) -> float:
        return crown.highest(half_length) + top - float(underside.z(half_length))

    half, a = spec.fretboard.width / 2.0, allowances
    return Blank(
        length=2.0 * (half + max(a.ends, SAWING.ends)),
        thickness=spec.seat.thickness + max(-slot.start_y for slot in slots) + max(a.back, SAWING.back),
        height=max(height(half, max(a.top, SAWING.top)), height(half + a.ends, a.top)),
    )


def _rounded(value: Any) -> Any:
    """A nut, or a part of it, with every length and angle to 1e-9: far below what anyone can make, above what
    libraries of mathematics differ by in the last digit, so that a file gives the same nut everywhere.

    A curvature is kept: it is a quotient of what was read, and a rounded one would move its radius. So are masses
    and pulls, which are no lengths.
    """
    if isinstance(value, float):
        return round(float(value), 9) + 0.0
    if isinstance(value, tuple):
        return tuple(map(_rounded, value))
    if is_dataclass(value) and not isinstance(value, type | Strung | Swing):
        changed = {f.name: _rounded(getattr(value, f.name)) for f in fields(value) if f.name != "curvature"}
        return replace(value, **changed)
    return value


def _mirrored(nut: Nut) -> Nut:
    slots = tuple(replace(s, x=-s.x, fan_deg=-s.fan_deg, bend_deg=-s.bend_deg) for s in nut.slots)
    return replace(nut, slots=slots, crown=nut.crown.mirrored(), seat=nut.seat.mirrored(), slant_deg=-nut.slant_deg)
