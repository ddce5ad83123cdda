"""Strings at pitch: how hard one pulls, what it bears, how it answers a stretch.

Gauges are diameters in mm, unit masses in kg/m.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nutgen.theory import Array
from nutgen.theory.checks import above_zero

SLACK_PULL_N = 15.0
"""Below this pull a string flaps and does not sound (common practice, no source) [N]."""

HIGH_LOAD = 0.8
"""Share of the breaking load above which strings break at bends and knots (common practice, no source)."""


def wave_speed(scale_length: ArrayLike, pitch_hz: ArrayLike) -> Array:
    """Speed of a wave along a string, 2 L f: of scale length [mm] and pitch [Hz], both above 0 or ValueError [m/s]."""
    return above_zero("scale_length", scale_length) / 500.0 * above_zero("pitch_hz", pitch_hz)


def tension_at_pitch_n(*, unit_mass_kg_per_m: ArrayLike, scale_length: ArrayLike, pitch_hz: ArrayLike) -> Array:
    """Pull of a string at pitch.

    Parameters
    ----------
    unit_mass_kg_per_m : array_like
        Above 0 [kg/m].
    scale_length : array_like
        Sounding length, above 0 [mm].
    pitch_hz : array_like
        Above 0 [Hz].

    Returns
    -------
    ndarray
        mu (2 L f)^2 [N].

    Raises
    ------
    ValueError
        Where one is not above 0.

    Notes
    -----
    Exact for a limp string; stiffness raises the pitch by less than 0.5 %.

    References
    ----------
    M. Mersenne, Harmonie universelle (1636); B. Taylor (1713).
    """
    speed = wave_speed(scale_length, pitch_hz)
    return above_zero("unit_mass_kg_per_m", unit_mass_kg_per_m) * speed**2


def kappa(*, youngs_modulus_gpa: ArrayLike, core_area: ArrayLike, tension_n: ArrayLike) -> Array:
    """How strongly a string answers a stretch: relative pull gained per relative length gained.

    Parameters
    ----------
    youngs_modulus_gpa : array_like
        Of the core [GPa].
    core_area : array_like
        Of the core; a plain string is all core [mm^2].
    tension_n : array_like
        Pull at pitch [N].

    Returns
    -------
    ndarray
        E A / T, 100 to 600 for steel, 20 to 60 for nylon.

    Raises
    ------
    ValueError
        Where one is not above 0.

    Notes
    -----
    Counted on the string's length at pitch. Hooke's law on its slack length makes it larger by 1: below 1 % for steel,
    2 to 5 % for nylon.

    References
    ----------
    Named by Anderson and Beausoleil (see `pitch`).
    """
    stiffness_n = 1000.0 * above_zero("youngs_modulus_gpa", youngs_modulus_gpa)
    return stiffness_n * above_zero("core_area", core_area) / above_zero("tension_n", tension_n)


def load_share(*, tension_n: ArrayLike, breaking_load_n: ArrayLike) -> Array:
    """Share of the breaking load that a pull takes up; above 1 it breaks. ValueError unless above 0."""
    return above_zero("tension_n", tension_n) / above_zero("breaking_load_n", breaking_load_n)


def pull_state(*, tension_n: ArrayLike, breaking_load_n: ArrayLike) -> NDArray[np.str_]:
    """Whether a string can play at that pull: "slack", "plays", "near breaking" or "breaks".

    Parameters
    ----------
    tension_n : array_like
        Pull, above 0 [N].
    breaking_load_n : array_like
        Pull at which the string breaks, above 0 [N].

    Returns
    -------
    ndarray of str
        "slack", "plays", "near breaking" or "breaks".

    Raises
    ------
    ValueError
        Where one is not above 0.

    Notes
    -----
    Limits: `SLACK_PULL_N`, `HIGH_LOAD` and 1 times the breaking load.
    """
    share = load_share(tension_n=tension_n, breaking_load_n=breaking_load_n)
    slack = (np.asarray(tension_n, float) < SLACK_PULL_N) & (share <= HIGH_LOAD)
    state = np.where(share > 1.0, "breaks", np.where(share > HIGH_LOAD, "near breaking", "plays"))
    return np.where(slack, "slack", state)
