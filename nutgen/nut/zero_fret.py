"""A zero fret: open strings start on its crown, in front of the nut, and bend down over it to the slots."""

import math

import numpy as np
from numpy.typing import NDArray

from nutgen.nut.part import Part
from nutgen.spec.tables import ZeroFret
from nutgen.theory.heights import StringLine

Array = NDArray[np.float64]

LEAST_BELOW = 0.3  # mm of a floor below the string's line: less is gone with a misread height
LEAST_BEND_DEG = 3.0  # over the zero fret: less lets the string buzz on it
"""Common practice, no source."""


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
