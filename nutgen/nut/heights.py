"""Slot floors and open strings from what was read: the one model of neck and seat."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from nutgen.nut.part import Nut, Part
from nutgen.nut.seat import SeatHeights
from nutgen.nut.swing import Swing
from nutgen.spec.strings import ZeroFret
from nutgen.spec.tables import Spec
from nutgen.theory import Array, Ints
from nutgen.theory.heights import Neck, StringLine
from nutgen.theory.pluck import lowest_floor
from nutgen.theory.readings import crowns_by_rocker

ACTED_ON = 0.05
"""A crown that stands off the others by less is left as it is. Common practice, no source [mm]."""

BELIEVED = 0.3
"""A crown farther off the others is on no neck: a wrong reading asks for a ramp to the board's end. Common practice, no
source [mm]."""


LEAST_BELOW = 0.3  # mm of a floor below the string's line: less is gone with a misread height
LEAST_BEND_DEG = 3.0  # over the zero fret: less lets the string buzz on it
"""Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Readings:
    """What was read, or is wanted, of strings over a neck. Fields are numbers or arrays that broadcast, as a rule
    strings first, shape (strings, 1).

    One of `first_fret_clearance`, `floor_height` and `floor_above_seat` says how high the floors are.

    Parameters
    ----------
    scale_length : array_like
        Nut to saddle [mm].
    frets : int
        Number of the last fret.
    relief : array_like
        Dip of the crowns below the line from fret 1 to the last [mm].
    action : array_like
        Underside to the crown of fret 12; the saddle gives way where a floor moves [mm].
    start : array_like
        Where the strings start, from the front face toward the bridge, along the string [mm].
    x : array_like
        Where they cross the front face [mm].
    seat : SeatHeights
        What the nut sits in.
    first_fret_clearance : array_like, optional
        Underside to the crown of fret 1 [mm].
    floor_height : array_like, optional
        Slot floor at the start over the fret plane [mm].
    floor_above_seat : array_like, optional
        The same over the seat floor, as the nut is cut [mm].
    crowns : tuple of float
        What each stands over the arc of the relief, from fret 1 on; empty where they lie on it [mm].
    """

    scale_length: ArrayLike
    frets: int
    relief: ArrayLike
    action: ArrayLike
    start: ArrayLike
    x: ArrayLike
    seat: SeatHeights
    first_fret_clearance: ArrayLike | None = None
    floor_height: ArrayLike | None = None
    floor_above_seat: ArrayLike | None = None
    crowns: tuple[float, ...] = ()

    def at_floor(self, floor_height: ArrayLike) -> "Readings":
        """The same strings over other floors, over the fret plane [mm]."""
        return replace(self, first_fret_clearance=None, floor_above_seat=None, floor_height=floor_height)


@dataclass(frozen=True, slots=True)
class CrownsRead:
    """The crowns as they were read.

    Parameters
    ----------
    over_arc : tuple of float
        What each stands over the arc of the relief, from fret 1 on, with the neck's own shape; empty where nothing was
        read [mm].
    high : tuple of float
        What each stands over its neighbours; 0 where nothing shows [mm].
    shown : float
        From where on such a height is acted on [mm].
    left : float
        Root mean square of what these heights leave of the rocker's readings; nan where there are none [mm].
    unsure : tuple of int
        Frets known by one reading alone.
    relief : float
        Of the arc with the least squares of the gaps along the neck; nan where there are none [mm].
    misread : int
        Fret of the rocker's largest reading, where no neck has what they ask for; they are then left out. 0 where one
        has.
    """

    over_arc: tuple[float, ...]
    high: tuple[float, ...]
    shown: float
    left: float
    unsure: tuple[int, ...]
    relief: float
    misread: int = 0


def crowns_of(spec: Spec) -> CrownsRead:
    """The crowns of a file: what it says of single ones, then what the rocker tells, then the neck's shape."""
    read, frets = spec.crowns, spec.instrument.frets
    shown = ACTED_ON - read.step / 2.0
    if not (read.high or read.rocker or read.relief):
        return CrownsRead((), (), shown, math.nan, (), math.nan)
    neck = Neck(float(np.mean(spec.instrument.scale_length.values)), frets, spec.setup.relief)
    u = neck.fret(np.arange(1, frets + 1))
    high, left = np.zeros(frets), math.nan
    unsure: tuple[int, ...] = ()
    misread = 0
    if read.rocker:
        high, left, unsure = crowns_by_rocker(dict(read.rocker), u=u, arc=neck.crown(u), step=read.step)
        if np.max(np.abs(high)) > BELIEVED:
            misread = max(read.rocker, key=lambda one: abs(one.height)).fret
            high, left, unsure = np.zeros(frets), math.nan, ()
    for fret, height in read.high:
        high[fret - 1] = height
    shape, relief = np.zeros(frets), math.nan
    if read.relief:
        from scipy.interpolate import PchipInterpolator  # few files get here; the others need not wait

        places, gaps = np.array([one.fret for one in read.relief]) - 1, np.array([one.height for one in read.relief])
        dips, arc = gaps + high[places], -replace(neck, relief=1.0).crown(u)
        relief = float(dips @ arc[places] / (arc[places] @ arc[places]))
        off = relief * arc[places] - dips
        shape = PchipInterpolator(u[[0, *places, -1]], [0.0, *off, 0.0])(u)
    return CrownsRead(tuple((high + shape).tolist()), tuple(high.tolist()), shown, left, tuple(unsure), relief, misread)


def heights(readings: Readings) -> tuple[Array, StringLine]:
    """Floors and open strings that follow from readings.

    Parameters
    ----------
    readings : Readings
        Numbers or arrays of any shapes that broadcast.

    Returns
    -------
    floors : ndarray
        Slot floors over the fret plane, in the shape of the readings [mm].
    lines : StringLine
        Undersides of the open strings.

    Raises
    ------
    ValueError
        Where nothing says how high the floors are, or an x lies beyond the board's radius.
    """
    scale, relief, start = (np.asarray(r, float) for r in (readings.scale_length, readings.relief, readings.start))
    neck = Neck(scale, readings.frets, relief, start, readings.crowns)
    if readings.first_fret_clearance is not None:
        line = neck.string_by_targets(first_fret_clearance=readings.first_fret_clearance, action=readings.action)
        return line.floor_height, line
    if readings.floor_above_seat is not None:
        seat, x = readings.seat, readings.x
        floors = np.asarray(readings.floor_above_seat, float) - (seat.fret_plane_z(x) - seat.floor_z(x))
    elif readings.floor_height is not None:
        floors = np.asarray(readings.floor_height, float)
    else:
        raise ValueError("a clearance or a floor is needed")
    return floors, neck.string_by_floor(floor_height=floors, action=readings.action)


def readings_of(nut: Nut) -> Readings:
    """What a solved nut was made from, shape (strings, 1), its floors over the fret plane."""

    def column(name: str) -> Array:
        return np.array([[getattr(slot, name)] for slot in nut.slots])

    return Readings(
        scale_length=column("scale_length"),
        frets=nut.frets,
        relief=nut.relief,
        action=column("action"),
        start=column("setback"),
        x=column("face_x"),
        seat=nut.seat,
        floor_height=column("sounds_from"),
        crowns=nut.crowns,
    )


def line_of(nut: Nut, *, floor_height: ArrayLike | None = None) -> StringLine:
    """Open strings of a nut.

    Parameters
    ----------
    nut : Nut
        Solved.
    floor_height : array_like, optional
        Other floors than the nut's, one a string, the action kept [mm].

    Returns
    -------
    StringLine
        Fields of shape (strings, 1).
    """
    readings = readings_of(nut)
    if floor_height is not None:
        readings = readings.at_floor(np.asarray(floor_height, float).reshape(-1, 1))
    return heights(readings)[1]


@dataclass(frozen=True, slots=True, eq=False)
class Lowest:
    """The lowest floors, one entry a string.

    Parameters
    ----------
    floor_height : ndarray
        Over the fret plane, never below it, where the nut is like a fret; inf where no floor clears [mm].
    fret : ndarray of int
        The fret that decides.
    missing : ndarray
        What is missing there with every lower fret just clear, where no floor clears [mm].
    """

    floor_height: Array
    fret: Ints
    missing: Array


def lowest_floors(readings: Readings, swing: Swing) -> Lowest:
    """Lowest slot floors that leave the pluck and its margin room at every fret, the action kept.

    Parameters
    ----------
    readings : Readings
        Shape (strings, 1); what they say of floors does not count.
    swing : Swing
        How each string is plucked.

    Returns
    -------
    Lowest
        One entry a string.

    Notes
    -----
    Clearances go linearly with the floor, so that two floors tell all: see `theory.pluck.lowest_floor`.
    """
    frets = np.arange(1, readings.frets + 1)
    at_zero, at_one = (heights(readings.at_floor(height))[1] for height in (0.0, 1.0))
    room = np.maximum(*swing.excursion(at_zero.neck, frets)) + swing.margin
    gain = at_one.clearance(frets) - at_zero.clearance(frets)
    floors = lowest_floor(clearance_at_zero=at_zero.clearance(frets), sensitivity=gain, excursion=room)
    # where the saddle gives way, a higher floor lowers the string beyond fret 12: there the rest is missing
    wanted = room - at_zero.clearance(frets)
    clear = np.max(np.divide(wanted, gain, out=np.full_like(wanted, -np.inf), where=gain > 0.0), axis=-1)
    left = wanted - gain * clear[:, np.newaxis]
    return Lowest(np.maximum(floors, 0.0), np.argmax(left, axis=-1) + 1, np.max(left, axis=-1))


def lowest_of(nut: Nut) -> Array:
    """Lowest floors of a solved nut's strings over the fret plane; nan for all where one has none [mm]."""
    floors = lowest_floors(readings_of(nut), nut.swing).floor_height
    return floors if np.all(np.isfinite(floors)) else np.full_like(floors, np.nan)


def fitted_how(nut: Part) -> str:
    """What tells at last that a slot is deep enough, as codes of it end: nothing for a leaf over fret 1."""
    return "-under-bar" if nut.tops is not None else "-behind-zero-fret" if behind_zero_fret(nut) else ""


def behind_zero_fret(nut: Part) -> bool:
    """Whether open strings start on a zero fret in front of it, not on its slots."""
    return any(slot.zero_fret is not None for slot in nut.slots)


def floors_behind(zero_fret: ZeroFret, lines: StringLine, shares: list[float], line_deg: Array) -> tuple[Array, ...]:
    """Where strings go from a zero fret to the slots behind it.

    Parameters
    ----------
    zero_fret : ZeroFret
        As read.
    lines : StringLine
        Open strings from its crown on, fields of shape (strings, 1).
    shares : list of float
        Place of each string between the outer ones.
    line_deg : ndarray, (strings, 1)
        Lines over the board in plan, against square to the face [deg].

    Returns
    -------
    ahead : ndarray, (strings, 1)
        Crown before the front face, along the string [mm].
    floors : ndarray, (strings, 1)
        Slot floors at the face, over the fret plane carried on to it [mm].
    bend_deg : ndarray, (strings, 1)
        Bend down over the crown [deg].
    """
    neck, rise = lines.neck, np.arctan(lines.slope)
    ahead = zero_fret.behind / np.cos(np.radians(line_deg))
    if zero_fret.below is None:
        bent = ahead * (np.tan(rise + math.radians(LEAST_BEND_DEG)) - lines.slope)
        below = np.maximum(LEAST_BELOW, bent)
    else:
        below = np.array([zero_fret.below.at(shares)]).T
    floors = lines.height(-ahead) - neck.fret_plane(-ahead) - below
    bend = np.degrees(np.arctan(lines.slope + below / ahead) - rise)
    return ahead, floors, bend
