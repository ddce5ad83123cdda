"""Spec in, Nut out: positions, heights, slots, top and blank."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, assumption, note, of_key, of_string, refusal, warning
from nutgen.nut.aim import aimed, guide_drops
from nutgen.nut.doubts import doubts
from nutgen.nut.edges import blank_of, eased_radius
from nutgen.nut.heights import Readings, crowns_of, floors_behind, heights, lowest_floors
from nutgen.nut.part import Allowances, Nut, Part
from nutgen.nut.places import Places, kind_of, places_of, string_courses
from nutgen.nut.remarks import crowns_told, raised, refusals, remarks
from nutgen.nut.seat import SeatHeights, Underside
from nutgen.nut.setback import shelves_of
from nutgen.nut.slot import OnZeroFret, Slot
from nutgen.nut.strung import Strung, strung
from nutgen.nut.swing import Swing, swing_of
from nutgen.nut.unmeasured import unmeasured
from nutgen.spec.tables import Spec
from nutgen.spec.values import Across
from nutgen.theory.crown import Crown, fit_crown
from nutgen.theory.heights import StringLine

LEAST_BURIED = 1.0 / 3.0
"""Least share of a gauge below the top, whatever the crown does. Common practice, no source."""


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
    part, lines = _part(spec)
    reasons = raised(part) or refusals(part) or refusals(part.rough())
    if reasons:
        raise CannotBeMade(reasons)
    found = (
        *unmeasured(spec, part, lambda other: _part(other)[0]),
        *_lying(lines, part.slots, part.frets),
        *remarks(part, spec.slots.buried),
        *crowns_told(crowns_of(spec), spec.setup),
        *doubts(spec, part),
        *_assumed(spec, part),
        *(way.told(plane_at_three=len(part.seat.fret_plane or ()) == 3) for way in spec.ways),
    )
    made = part.mirrored() if part.strung == "left" else part
    known = {field.name: getattr(made, field.name) for field in fields(made)}
    return _rounded(Nut(**known | {"edge_radius": eased_radius(part)}, blank=blank_of(part), findings=found))


def _part(spec: Spec) -> tuple[Part, StringLine]:
    """The part as if strung right-handed, whether or not it can be made, and its open strings."""
    places, strings = places_of(spec), strung(spec)
    seat, swing = _seat(spec, places), swing_of(spec, strings)
    lines = heights(_readings(spec, places, seat, swing))[1]
    begun = list(_begun(spec, places, seat, lines))
    crown = _crown(spec, begun, math.inf if spec.lap else float(np.asarray(seat.board_radius)))
    drops = guide_drops(spec, begun, places.slant_deg)
    slots = tuple(_under(crown, aimed(spec, slot, places, drops)) for slot in begun)
    floor = spec.fretboard.radius if spec.seat.kind == "surface" else spec.seat.floor
    allowances = Allowances(spec.body.top, spec.body.back, spec.body.ends, spec.body.floors)
    part = Part(
        title=spec.title,
        strung=spec.instrument.strung,
        kind=kind_of(spec),
        material=spec.material,
        scale_length=(spec.instrument.scale_length.bass, spec.instrument.scale_length.treble),
        frets=spec.instrument.frets,
        relief=spec.setup.relief,
        crowns=lines.neck.uneven,
        tops=spec.lap.tops if spec.lap else None,
        seat=seat,
        slant_deg=places.slant_deg,
        left=places.left,
        right=places.right,
        thickness=spec.seat.thickness,
        crown=crown,
        underside=Underside(float(seat.floor_z(0.0)), 1.0 / floor, -places.slant_deg),
        land=spec.body.land,
        bevel_deg=spec.body.bevel_deg,
        edge_radius=spec.body.edge_radius,
        slots=slots,
        strings=strings,
        swing=swing,
        allowances=allowances,
        shelves=shelves_of(slots, float(np.asarray(seat.board_radius))),
    )
    return part, lines


def _seat(spec: Spec, places: Places) -> SeatHeights:
    """The seat as the nut sees it; a slanted nut crosses the board at a larger radius."""
    squeeze, read = math.cos(math.radians(places.slant_deg)) ** 2, spec.seat
    board_radius = spec.fretboard.radius / squeeze
    return SeatHeights(
        kind=read.kind,
        edges=(places.left.x, places.right.x),
        slant_deg=places.slant_deg,
        board_radius=board_radius,
        depth=read.depth,
        floor_radius=board_radius if read.kind == "surface" else read.floor / squeeze,
        fret_height=spec.fretboard.fret_height,
        fret_plane=None if read.fret_plane is None else tuple(read.fret_plane.values),
    )


def _readings(spec: Spec, places: Places, seat: SeatHeights, swing: Swing) -> Readings:
    """What the file asks for, shape (strings, 1)."""
    share, setup = places.shares, spec.setup

    def column(value: Across) -> Any:
        return np.array([value.at(share)]).T

    wanted, said = setup.first_fret_clearance, spec.zero_fret.crown if spec.zero_fret else setup.floor_height
    readings = Readings(
        scale_length=np.array([places.scale_length]).T,
        frets=spec.instrument.frets,
        relief=setup.relief,
        action=column(setup.action),
        start=column(spec.slots.setback),  # of a zero fret none: it is where the scale begins
        x=np.array([places.x]).T,
        seat=seat,
        first_fret_clearance=column(wanted) if isinstance(wanted, Across) else None,
        floor_height=None if said is None else column(said),
        crowns=crowns_of(spec).over_arc,
    )
    if spec.lap is not None:
        under = -np.array([[string.gauge] for string in spec.strings]) - seat.fret_plane_z(readings.x)
        return replace(readings.at_floor(spec.lap.tops + under), action=spec.lap.tops_at_12 + under)
    if wanted != "lowest":
        return readings
    lowest = lowest_floors(readings, swing)
    reasons = [
        refusal(
            "string.no-floor-clears",
            of_string(len(places.x) - i, spec.strings[i].note),
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


def _assumed(spec: Spec, nut: Part) -> Iterator[Finding]:
    """What the heights and the slant rest on that the file does not say."""
    fret = spec.instrument.perpendicular_fret
    if nut.scale_length[0] != nut.scale_length[1] and "instrument.perpendicular_fret" in spec.assumed:
        yield assumption("slant.square-fret-assumed", square_fret=fret, slant_deg=abs(nut.slant_deg))
    if spec.clamped is not None:
        yield note("clamped.filler", length=nut.length, thickness=nut.thickness, height=nut.height)
    if spec.setup.first_fret_clearance == "lowest" and nut.swing.assumed:
        yield assumption("lowest.pluck-assumed", of_key("pluck"), assumed=nut.swing.assumed)


def _begun(spec: Spec, places: Places, seat: SeatHeights, lines: StringLine) -> Iterator[Slot]:
    """The slots as far as their strings' starts decide them: they run on along the string, aimed at nothing."""
    line = np.array([places.line_deg]).T
    start, floors, bend = np.asarray(lines.neck.start), lines.floor_height, np.zeros((1, 1))
    on: list[OnZeroFret | None] = [None] * len(places.x)
    if spec.zero_fret is not None:
        ahead, floors, bend = floors_behind(spec.zero_fret, lines, places.shares, line)
        on = [OnZeroFret(*numbers) for numbers in np.hstack([ahead, lines.floor_height, bend]).tolist()]
    columns = {
        "scale_length": lines.neck.scale_length,
        "x": np.array([places.x]).T - start * np.sin(np.radians(line)),
        "start_y": -start * np.cos(np.radians(line)),
        "floor_height": floors,
        "fret_plane_z": seat.fret_plane_z(np.array([places.x]).T),
        "fan_deg": line,
        "incline_deg": lines.incline_deg + bend,
        "first_fret_clearance": lines.clearance(1),
        "action": lines.clearance(12),
        "action_now": np.array([_actions_now(spec, places, lines)]).T,
    }
    undecided: dict[str, Any] = dict.fromkeys(("tilt_deg", "break_angle_deg", "bend_deg", "buried", "depth"), 0.0)
    rows = np.hstack(np.broadcast_arrays(*columns.values())).tolist()
    for index, (string, course, row) in enumerate(zip(spec.strings, string_courses(spec), rows, strict=True)):
        known: dict[str, Any] = dict(zip(columns, row, strict=True))
        yield Slot(
            number=len(rows) - index,
            note=string.note,
            gauge=string.gauge,
            wound=string.wound,
            course=course,
            width=string.gauge + spec.slots.clearance.of(wound=string.wound),
            floor_z=known["fret_plane_z"] + known["floor_height"],
            roll_radius=math.inf,
            zero_fret=on[index],
            **known,
            **undecided,
        )


def _actions_now(spec: Spec, places: Places, lines: StringLine) -> list[float]:
    """Action as it was read, one a string; what was read with a capo, as the open string over the new floors has it."""
    now = spec.setup.action_now
    if spec.lap is not None:
        return [float(one) for one in lines.clearance(12)[:, 0]]
    if now is None or spec.setup.action_read == "open":
        return (now or spec.setup.action).at(places.shares)
    neck, start = lines.neck, np.asarray(lines.neck.start)
    capo = neck.barred_string(np.array([now.at(places.shares)]).T)
    saddle = neck.scale_length, capo.height(neck.scale_length)
    return [float(one) for one in neck.action_between((start, lines.height(start)), saddle)[:, 0]]


def _under(crown: Crown, slot: Slot) -> Slot:
    """A slot under the top."""
    depth = float(crown.z(slot.x)) - slot.floor_z
    return replace(slot, depth=depth, buried=depth / slot.gauge)


def _crown(spec: Spec, slots: Sequence[Slot], board_radius: float) -> Crown:
    """The top, laid over what is to be buried of each string."""
    shares = [spec.slots.buried.of(wound=slot.wound) for slot in slots]
    wanted, least = (
        [slot.floor_z + share * slot.gauge for slot, share in zip(slots, wanted, strict=True)]
        for wanted in (shares, [min(share, LEAST_BURIED) for share in shares])
    )
    return fit_crown([slot.x for slot in slots], wanted, least, radius=board_radius)


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
