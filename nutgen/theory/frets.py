"""Where the frets lie along a string: twelve equal steps to the octave."""

import math

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array

_STEP = math.log(2.0) / 12.0


def fret_position(fret: ArrayLike, *, scale_length: ArrayLike) -> Array:
    """Distance of a fret's crown from the nut, along the string.

    Parameters
    ----------
    fret : array_like
        Fret number, 0 is the nut; fractions are allowed.
    scale_length : array_like
        Nut to saddle, without compensation [mm].

    Returns
    -------
    ndarray
        Distance, broadcast over both [mm].

    References
    ----------
    Twelve-tone equal temperament; A4 = 440 Hz is ISO 16:1975.
    """
    return np.asarray(scale_length, float) * -np.expm1(-_STEP * np.asarray(fret, float))


def nut_slant_deg(*, bass_scale: float, treble_scale: float, spread: float, perpendicular_fret: float) -> float:
    """Slant of a nut between two scale lengths, in plan.

    Parameters
    ----------
    bass_scale, treble_scale : float
        Scale lengths of the outer strings [mm].
    spread : float
        Distance between the outer strings, along the nut [mm].
    perpendicular_fret : float
        The fret that stands square to the centre line.

    Returns
    -------
    float
        Angle, positive where the bass end lies nearer the headstock [deg].

    Raises
    ------
    ValueError
        Where the strings are too close for the difference.

    Notes
    -----
    Measured from the square fret, the nut lies 2^(-n/12)-scaled distances away: d = L (1 - 2^(-n/12)) on either side,
    and the slant is asin((d_bass - d_treble) / spread), the spread being the hypotenuse because the maker measures
    along the nut.
    """
    lead = float(
        fret_position(perpendicular_fret, scale_length=bass_scale)
        - fret_position(perpendicular_fret, scale_length=treble_scale)
    )
    if spread <= 0.0 or abs(lead) >= spread:
        raise ValueError(
            f"two scale lengths that differ by {bass_scale - treble_scale:.4g} mm do not fit"
            f" strings {spread:.4g} mm apart"
        )
    return math.degrees(math.asin(lead / spread))
