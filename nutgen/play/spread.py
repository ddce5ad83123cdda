"""How far the made nut may be off: reading errors carried through to floor, clearance and buzz.

The nut is solved from readings and its floors are cut at a height over the seat. On the real neck
the fret plane, the relief and the saddle are a little different from what was read, and each floor
is a little off; this is what the strings then do.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from nutgen.finding import Finding, assumption, note, remedy
from nutgen.nut.heights import behind_zero_fret, heights, line_of, readings_of
from nutgen.nut.part import Nut
from nutgen.play.heights import fret_numbers
from nutgen.spec.playing import Errors
from nutgen.spec.ways import Way
from nutgen.theory import Array
from nutgen.theory.heights import StringLine
from nutgen.theory.uncertainty import WITHIN_95, Measured, Spread, draw, spread, variance_shares

DRAWS = 100_000

GAUGED = {"relief": 0.03, "radius": 0.05, "fret_height": 0.03, "fret_plane": 0.04}
"""Half-widths that hold 95 % of readings by leaves or a radius gauge, in mm, of the radius as a share of it. Common
practice, no source."""

PAYS = 0.9
"""Of the spread: a gauge that leaves more is not worth buying for this nut. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Source:
    """One reading that the first-fret clearance rests on.

    name   : of the reading, as in [errors]
    way    : how it was read, where not by its own gauge; else empty
    error  : half-width that holds 95 % [mm]
    share  : part of the variance of the first-fret clearance, mean over the strings
    gauged : what `within` of the nut would be if this one were read by a gauge; none where it is [mm]
    """

    name: str
    way: str
    error: float
    share: float
    gauged: float | None


@dataclass(frozen=True, slots=True)
class NutSpread:
    """What the errors do, one entry a string, bass to treble.

    floor_height, first_fret_clearance : mean, standard deviation, 5 % and 95 % [mm]
    buzz_chance  : share of draws in which the open string touches a fret at the pluck
    sources      : the readings that it comes from, the one that matters most first
    within       : half-width that holds 95 % of the first-fret clearance, of the string that is the least sure [mm]
    advice       : what to measure better first, and whether a gauge would pay
    assumed      : errors and pluck that the file does not say
    """

    floor_height: Spread
    first_fret_clearance: Spread
    buzz_chance: Array
    sources: tuple[Source, ...]
    within: float
    advice: tuple[Finding, ...]
    assumed: tuple[Finding, ...]


def nut_spread(nut: Nut, errors: Errors, ways: Sequence[Way] = (), *, draws: int = DRAWS, seed: int = 0) -> NutSpread:
    """Spread of a solved nut over its reading errors.

    errors : of the readings
    ways   : how some of them were read
    draws  : of the Monte Carlo, 2 or more
    seed   : same seed, same figures
    """
    readings = _readings(nut, errors)
    floors, lines = _heights(nut, draw(readings, count=draws, seed=seed))
    shares = variance_shares(lambda **read: _heights(nut, read)[1].clearance(1), readings)
    clearance = spread(lines.clearance(1))
    sources = tuple(_sources(nut, errors, ways, shares, clearance.sd))
    within = WITHIN_95 * float(np.max(clearance.sd))
    return NutSpread(
        floor_height=spread(floors),
        first_fret_clearance=clearance,
        buzz_chance=_touching(nut, lines),
        sources=sources,
        within=within,
        advice=tuple(_advice(sources, within)),
        assumed=(*_assumed_errors(errors, readings), *nut.swing.assumed),
    )


def _sources(nut: Nut, errors: Errors, ways: Sequence[Way], shares: Mapping[str, Array], sd: Array) -> Iterator[Source]:
    read_by = {way.key.rpartition(".")[2]: way.name for way in ways}
    for name, share in shares.items():
        error, way, by_gauge = getattr(errors, name), read_by.get(name, ""), None
        if way and error > GAUGED[name]:
            left = sd * np.sqrt(1.0 - share * (1.0 - (GAUGED[name] / error) ** 2))
            by_gauge = WITHIN_95 * float(np.max(left))
        if name == "radius":  # a share of the board's own, square to the neck
            error *= float(np.asarray(nut.seat.board_radius)) * math.cos(math.radians(nut.slant_deg)) ** 2
        yield Source(name, way, error, float(np.mean(share)), by_gauge)


def _advice(sources: Sequence[Source], within: float) -> Iterator[Finding]:
    first = sources[0]
    if first.share <= 0.0:
        yield note("spread.no-error")
        return
    yield remedy("spread.measure-better", reading=first.name, causes_share=first.share)
    gauged = [(one.gauged, one.name) for one in sources if one.gauged is not None]
    if gauged:
        then, name = min(gauged, key=lambda one: one[0])
        code, told = ("gauge-pays", remedy) if then < PAYS * within else ("no-gauge-pays", note)
        yield told(f"spread.{code}", reading=name, now=within, then=then)


def _assumed_errors(errors: Errors, readings: Mapping[str, Measured]) -> tuple[Finding, ...]:
    unsaid = {name: getattr(errors, name) for name in readings if name not in errors.model_fields_set}
    values = {"radius_share" if name == "radius" else name: error for name, error in unsaid.items()}
    return (assumption("spread.errors-assumed", **values),) if values else ()


def _readings(nut: Nut, errors: Errors) -> dict[str, Measured]:
    """What was read, and cut; slot floors and the board's radius (as a share of it) as deviations.

    Relief is never below 0, so its error is no more than itself. A surface nut rides on the board, whatever its radius.
    """
    seat = nut.seat
    read: dict[str, tuple[ArrayLike, float]] = {
        "relief": (nut.relief, min(errors.relief, nut.relief)),
        "action": ([slot.action for slot in nut.slots], errors.action),
    }
    if behind_zero_fret(nut):
        return _measured({**read, "zero_fret": ([slot.sounds_from for slot in nut.slots], errors.zero_fret)})
    read["floors"] = np.zeros(len(nut.slots)), errors.floors
    if seat.fret_plane is not None:
        read["fret_plane"] = (np.asarray(seat.fret_plane, float)[:: nut.bass_first], errors.fret_plane)
    else:
        if nut.tops is None:
            read["fret_height"] = (seat.fret_height, errors.fret_height)
        if seat.kind != "surface":
            read["depth"] = (seat.depth, errors.depth)
    if seat.kind != "surface" and np.isfinite(seat.board_radius):
        read["radius"] = (0.0, errors.radius)
    return _measured(read)


def _measured(read: Mapping[str, tuple[ArrayLike, float]]) -> dict[str, Measured]:
    return {name: Measured(value, error / WITHIN_95) for name, (value, error) in read.items()}


def _heights(nut: Nut, read: Mapping[str, Array]) -> tuple[Array, StringLine]:
    """The nut as cut on a neck that differs from what was read; floors over the real fret plane, (strings, draws)."""
    seat, slots = nut.seat, readings_of(nut)
    if "zero_fret" in read:
        return heights(replace(slots, relief=read["relief"], action=read["action"], floor_height=read["zero_fret"]))
    real: dict[str, Any] = {name: read[name] for name in ("depth", "fret_height") if name in read}
    if "fret_plane" in read:
        real["fret_plane"] = tuple(read["fret_plane"][:: nut.bass_first])
    if "radius" in read:
        least = np.max(np.abs(nut.reach)) / math.cos(math.radians(nut.slant_deg))
        real["board_radius"] = np.maximum(np.asarray(seat.board_radius) * (1.0 + read["radius"]), least)
    cut = np.array([[nut.floor_over_seat(slot)] for slot in nut.slots]) + read["floors"]
    return heights(
        replace(
            slots,
            relief=read["relief"],
            action=read["action"],
            floor_height=None,
            floor_above_seat=cut,
            seat=replace(seat, **real),
        )
    )


def _touching(nut: Nut, lines: StringLine) -> Array:
    """Share of draws in which an open string touches a fret; fret by fret to stay small in memory."""
    frets = fret_numbers(nut)
    excursion = np.maximum(*nut.swing.excursion(line_of(nut).neck, frets))
    touched = np.zeros(np.shape(lines.at_face), bool)
    for index, fret in enumerate(frets.tolist()):
        touched |= lines.clearance(fret) < excursion[:, index, np.newaxis]
    return touched.mean(axis=-1)
