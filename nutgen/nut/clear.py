"""The lowest slot floors that keep plucked strings off the frets."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.nut.heights import Readings, heights, readings_of
from nutgen.nut.part import Nut
from nutgen.nut.swing import Swing
from nutgen.theory.pluck import lowest_floor

Array = NDArray[np.float64]


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
    fret: NDArray[np.int64]
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
