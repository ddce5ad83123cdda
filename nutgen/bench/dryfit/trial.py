"""What a printed trial nut measures, played on its neck: the fret plane over the seat, and the floors of the next nut.

    caliper over a wire in the slot, less the wire    floor over the underside
    clearance at fret 1, action, relief               floor over the fret plane
    one less the other                                fret plane over the seat floor, at that string

Whatever was misread of the seat, the board or the frets falls out: trial nut and next nut sit in the same seat.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from nutgen.bench.dryfit.belief import FEEL
from nutgen.bench.dryfit.fret_plane import UNLIKELY, PlaneFit, PlaneRead, fitted
from nutgen.bench.dryfit.neck_first import RELIEF_FAR
from nutgen.bench.dryfit.readings import at_strings, may_be_off, next_stack
from nutgen.bench.materials import STRINGS_WHIP
from nutgen.bench.remedies import TOLERANCE
from nutgen.finding import Finding, caution, note, warning
from nutgen.nut.heights import heights, readings_of
from nutgen.nut.part import Nut
from nutgen.spec.playing import Errors, Trial
from nutgen.spec.values import Across
from nutgen.spec.workshop import Tools
from nutgen.theory import Array
from nutgen.theory.heights import height_over_arch
from nutgen.theory.uncertainty import WITHIN_95

WIRE = 0.02
"""Wire, seat of the jaws and hand may shift a reading over a wire by this, besides the caliper itself. Common practice,
no source; a half-width that holds 95 % [mm]."""

FAR = 0.4
"""Fret plane against the file's, from which a slip is likelier than a misread seat. Common practice, no source [mm]."""

NUDGE = 1e-4  # mm, for slopes
PLACES = {1: ("",), 2: ("bass", "treble"), 3: ("bass", "middle", "treble")}


@dataclass(frozen=True, slots=True)
class TrialString:
    """One string of the trial; what could not be read of it is None. Lengths in mm.

    floor_read   : of the trial nut, over its underside
    clearance    : over fret 1, in the middle of what the readings leave open
    floor_height : of the trial nut over the fret plane
    plane_read   : fret plane over the seat floor, by this string alone
    off_fit      : that over the plane through all strings
    floor_was    : over the underside, as the file has it now
    floor        : the same by the trial
    within       : how far that may be off, in 95 of 100 cases
    """

    number: int
    note: str
    floor_read: float | None
    clearance: float | None
    floor_height: float | None
    plane_read: float | None
    off_fit: float | None
    floor_was: float
    floor: float
    within: float


@dataclass(frozen=True, slots=True)
class TrialFit:
    """What a trial says.

    plane_was : seat.fret_plane as the file has it, empty where it has none
    plane     : as the trial has it, least squares: at the edges and on the centre line, from the bass [mm]
    error_was : errors.fret_plane as the file has it, or its default
    error     : how far each of those heights may be off, so that floors are off by what is told of them [mm]
    strings   : bass to treble
    doubted   : numbers of the strings of which one was misread
    findings  : what is told besides
    """

    plane_was: tuple[float, ...]
    plane: tuple[float, ...]
    error_was: float
    error: float
    strings: tuple[TrialString, ...]
    doubted: tuple[int, ...]
    findings: tuple[Finding, ...]


def trial_fit(
    nut: Nut,
    trial: Trial,
    *,
    tools: Tools,
    errors: Errors,
    relief_error: float | None,
    remade: Callable[[tuple[float, ...]], Nut],
) -> TrialFit:
    """Work out the fret plane, and the next nut's floors, from a trial.

    trial        : the readings, one string at least with both
    errors       : of the readings that the nut was made from
    relief_error : of the trial's relief, where its way of reading has one of its own [mm]
    remade       : the nut on another fret plane: one height, or two or three from the bass [mm]
    raises       : whatever `remade` does where no nut can be made on that plane
    """
    read = _read(nut, trial, tools, errors, relief_error)
    fit = fitted(nut, read.told, radius_error=errors.radius)
    written = tuple(round(height, 3) for height in fit.plane[:: nut.bass_first])
    made, was = remade(written), (nut.seat.fret_plane or ())[:: nut.bass_first]
    return TrialFit(
        plane_was=tuple(float(np.asarray(height)) for height in was),
        plane=written,
        error_was=errors.fret_plane,
        error=math.ceil(1e3 * fit.error) / 1e3,
        strings=tuple(_strings(nut, made, read, fit)),
        doubted=tuple(nut.slots[index].number for index in fit.doubted),
        findings=tuple(_findings(nut, made, trial, read.told, fit)),
    )


@dataclass(frozen=True, slots=True)
class _Read:
    """Readings carried to the fret plane, one entry a string; nan where there is none [mm]."""

    floor: Array
    clearance: Array
    height: Array
    told: PlaneRead


def _read(nut: Nut, trial: Trial, tools: Tools, errors: Errors, relief_error: float | None) -> _Read:
    passes, drags = (_numbers(row, nut) for row in (trial.clearances, trial.drags or ()))
    drags = np.array([
        next_stack(low, tools) if math.isnan(high) and low > 0.0 else high
        for low, high in zip(passes, drags, strict=True)
    ])  # fmt: skip
    clearance = np.where(passes > 0.0, (passes + drags) / 2.0, np.nan)
    floor = _floors(nut, trial)
    action = np.array(at_strings(trial.action, nut))
    height = _heights(nut, clearance, action, trial.relief)
    tells = np.isfinite(floor + height)

    def slope(clearance_by: float, action_by: ArrayLike, relief_by: float) -> Array:
        by = NUDGE * np.asarray(action_by)
        moved = _heights(nut, clearance + NUDGE * clearance_by, action + by, trial.relief + NUDGE * relief_by)
        return np.asarray((moved - height)[tells] / NUDGE)

    caliper = math.hypot(tools.caliper, WIRE) / WITHIN_95
    loose = np.array([may_be_off(gap, tools) for gap in passes[tells].tolist()]) / WITHIN_95
    leaf = np.hypot((drags - passes)[tells] / 2.0 / math.sqrt(3.0), np.maximum(loose, FEEL))
    alone = np.hypot(caliper, slope(1.0, 0.0, 0.0) * leaf)
    by_action = [slope(0.0, share, 0.0) * errors.action for share in _parts(trial.action, nut)]
    off = max(errors.relief, may_be_off(trial.relief, tools)) if relief_error is None else relief_error
    shared = np.array([*by_action, slope(0.0, 0.0, 1.0) * min(off, trial.relief)]) / WITHIN_95
    spread: Array = np.add(np.diag(alone**2), shared.T @ shared)
    return _Read(floor, clearance, height, PlaneRead(floor - height, spread, alone))


def _numbers(row: Sequence[float | str], nut: Nut) -> Array:
    """A list of the file, nan where it says that a string was not read, or where there is none."""
    return np.array([math.nan if isinstance(one, str) else one for one in row or ("none",) * len(nut.slots)])


def _parts(value: Across, nut: Nut) -> Iterator[Array]:
    """How much of each of its values a value across the nut takes, string by string."""
    for place in range(len(value.values)):
        one = tuple(float(place == other) for other in range(len(value.values)))
        yield np.array(at_strings(replace(value, values=one), nut))


def _floors(nut: Nut, trial: Trial) -> Array:
    """Floors over the seat floor where each string crosses the face [mm].

    The jaws lie square to the underside, so that on an arched one they read along its radius; a wire in a slot that
    falls to the back stands over its floor by its gauge over the cosine, at the front.
    """
    under = nut.underside
    radius = 1.0 / under.curvature if under.curvature else math.inf
    found = []
    for slot, over, wire in zip(nut.slots, _numbers(trial.over_wires, nut), at_strings(trial.wires, nut), strict=True):
        half = wire / 2.0 / math.cos(math.radians(slot.tilt_deg))
        middle = height_over_arch(over - half, offset=under.across(slot.face_x), radius=radius)
        found.append(float(middle) - half)
    return np.array(found)


def _heights(nut: Nut, clearance: Array, action: Array, relief: float) -> Array:
    """Floors over the fret plane that leave these clearances [mm]."""
    wanted = replace(
        readings_of(nut),
        relief=relief,
        action=action[:, np.newaxis],
        first_fret_clearance=clearance[:, np.newaxis],
        floor_height=None,
    )
    return heights(wanted)[0][:, 0]


def _strings(nut: Nut, made: Nut, read: _Read, fit: PlaneFit) -> Iterator[TrialString]:
    def known(values: Array, place: int) -> float | None:
        return float(values[place]) if math.isfinite(values[place]) else None

    for place, (was, then) in enumerate(zip(nut.slots, made.slots, strict=True)):
        yield TrialString(
            number=was.number,
            note=was.note,
            floor_read=known(read.floor, place),
            clearance=known(read.clearance, place),
            floor_height=known(read.height, place),
            plane_read=known(read.told.plane, place),
            off_fit=known(fit.off, place),
            floor_was=nut.floor_over_seat(was),
            floor=made.floor_over_seat(then),
            within=float(fit.within[place]),
        )


def _findings(nut: Nut, made: Nut, trial: Trial, read: PlaneRead, fit: PlaneFit) -> Iterator[Finding]:
    if fit.doubted:
        farthest = float(np.max(np.abs(fit.off[list(fit.doubted)])))
        yield warning("trial.off-the-fit", *(nut.slots[place].who for place in fit.doubted), by=farthest)
    if abs(fit.unlike) > UNLIKELY:
        yield warning("trial.arch-unlike-board", nut.slots[0].who, nut.slots[-1].who, by=fit.arched)
    wires = at_strings(trial.wires, nut)
    yield from _wires(nut, wires, read)
    if abs(trial.relief - nut.relief) > RELIEF_FAR:
        yield warning("trial.relief-off", relief=trial.relief, wanted=nut.relief)
    yield from _far(nut, made, wires)
    told = {finding.code for finding in nut.findings if finding.code != "seat.readings-disagree"}
    for one in made.findings:
        if one.code == "seat.readings-disagree":
            yield note("trial.others-misread", apart=one.value("apart"), slips=one.value("slips"))
        elif one.severity == "warning" and one.code not in told:
            yield one
    wide = [slot.who for slot, within in zip(nut.slots, fit.within, strict=True) if within > TOLERANCE]
    if wide:
        yield warning("trial.too-coarse", *wide, within=float(np.max(fit.within)), wanted=TOLERANCE)
    silent = [slot.who for slot, tells in zip(nut.slots, read.tells, strict=True) if not tells]
    if silent:
        yield note("trial.no-clearance", *silent)
    if len(fit.plane) < min(3, len(nut.slots)):
        yield warning("trial.few-strings", strings=len(fit.plane))
    yield note("trial.within", within=float(np.max(fit.within)))
    yield caution("trial.same-day")
    yield STRINGS_WHIP


def _wires(nut: Nut, wires: Sequence[float], read: PlaneRead) -> Iterator[Finding]:
    """Wires that do not lie on the floor, or whose top no jaw reaches."""
    for slot, wire, tells in zip(nut.slots, wires, read.tells, strict=True):
        if tells and wire > slot.width:
            yield warning("trial.wire-over-slot", slot.who, wire=wire, width=slot.width)
        elif tells and wire <= slot.depth:
            yield warning("trial.wire-under-top", slot.who, wire=wire, depth=slot.depth)


def _far(nut: Nut, made: Nut, wires: Sequence[float]) -> Iterator[Finding]:
    """A plane that is farther from the file's than a seat is misread."""
    moved = np.array([
        made.floor_over_seat(then) - nut.floor_over_seat(was)
        for was, then in zip(nut.slots, made.slots, strict=True)
    ])  # fmt: skip
    if np.max(np.abs(moved)) >= FAR:
        less_wire = bool(np.all(np.abs(moved + wires) < FAR / 2.0))
        yield warning("trial.plane-far", by=float(moved[np.argmax(np.abs(moved))]), less_wire=less_wire)
