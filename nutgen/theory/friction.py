"""Friction over the nut: how far a string sticks, and what its slot's shape adds.

Angles in degrees, friction as the plain coefficient between string and nut. A slot's shape
multiplies the coefficient; everything else follows from the rope round a post.
"""

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array

STEEL_ON_BONE = 0.1, 0.3
"""Coefficients of wire on bone, antler or hard plastic, greased and dry: an assumption, to be shown as one; no
published value was found."""


def total_bend_deg(*, down_deg: ArrayLike, sideways_deg: ArrayLike) -> Array:
    """Angle through which a string turns that bends down and sideways at once.

    Parameters
    ----------
    down_deg : array_like
        Break angle, -90 to 90 [deg].
    sideways_deg : array_like
        Fan in plan, -90 to 90 [deg].

    Returns
    -------
    ndarray
        Angle between the string before and behind, 0 to 90 [deg].

    Raises
    ------
    ValueError
        Outside those ranges.

    Notes
    -----
    acos(cos a cos b) = 2 asin(sqrt(sin^2(a/2) + sin^2(b/2) - 2 sin^2(a/2) sin^2(b/2))), the second form because the
    first loses its digits at small angles.

    References
    ----------
    Spherical trigonometry, right-angled triangle.
    """
    down, sideways = np.asarray(down_deg, float), np.asarray(sideways_deg, float)
    if not (np.all(np.abs(down) <= 90.0) and np.all(np.abs(sideways) <= 90.0)):
        raise ValueError("a bend down or sideways must lie between -90 and 90 deg")
    a, b = np.sin(np.radians(down) / 2.0) ** 2, np.sin(np.radians(sideways) / 2.0) ** 2
    bend: Array = np.degrees(2.0 * np.arcsin(np.sqrt(a + b - 2.0 * a * b)))
    return bend


def down_force_n(*, tension_n: ArrayLike, bend_deg: ArrayLike) -> Array:
    """Force with which a bent string presses on the nut.

    Parameters
    ----------
    tension_n : array_like
        Pull of the string, >= 0 [N].
    bend_deg : array_like
        Angle through which it turns, 0 to 180 [deg].

    Returns
    -------
    ndarray
        2 T sin(theta / 2), along the bisector of the bend [N].

    Raises
    ------
    ValueError
        Where either is below 0.

    Notes
    -----
    Exact for equal pull on both sides.

    References
    ----------
    The parallelogram of forces.
    """
    half: Array = np.radians(_least("bend_deg", bend_deg)) / 2.0
    return 2.0 * _least("tension_n", tension_n) * np.sin(half)


def dead_band_cents(*, friction: ArrayLike, bend_deg: ArrayLike) -> Array:
    """Widest spread of pitch at which the string behind the nut still does not move.

    Parameters
    ----------
    friction : array_like
        Coefficient of friction, >= 0, the slot's factor included.
    bend_deg : array_like
        Angle through which the string turns, >= 0 [deg].

    Returns
    -------
    ndarray
        Pitch between "about to slip in" and "about to slip out", against one pull at the tuner [cents].

    Raises
    ------
    ValueError
        Where either is below 0.

    Notes
    -----
    600 log2(exp(mu theta)) = 865.617 mu theta: pitch goes with the root of the tension. It is the most that friction
    can hide, tuning up to the note keeps clear of it.

    References
    ----------
    The capstan equation; f ~ sqrt(T).
    """
    bend: Array = np.radians(_least("bend_deg", bend_deg))
    per_radian = 600.0 / float(np.log(2.0))
    return per_radian * _least("friction", friction) * bend


def wedge_factor(half_angle_deg: ArrayLike) -> Array:
    """What a V slot, or one that pinches the string, multiplies friction by.

    Parameters
    ----------
    half_angle_deg : array_like
        Between one wall and the slot's middle plane, above 0 to 90 [deg].

    Returns
    -------
    ndarray
        1 / sin(half angle), 1 for a flat floor.

    Raises
    ------
    ValueError
        Outside that range.

    Notes
    -----
    Two walls carry the string, each at the half angle to the load.

    References
    ----------
    The V-belt formula of machine design handbooks.
    """
    half = np.asarray(half_angle_deg, float)
    if not np.all((half > 0.0) & (half <= 90.0)):
        raise ValueError("a slot's half angle must lie above 0 and up to 90 deg")
    factor: Array = 1.0 / np.sin(np.radians(half))
    return factor


def round_slot_factor(contact_half_angle_deg: ArrayLike) -> Array:
    """What a round floor that hugs the string multiplies friction by.

    Parameters
    ----------
    contact_half_angle_deg : array_like
        How far up either side the floor touches the string, 0 where it touches along one line (a slot rounder than the
        string), 90 where the slot fits like a mould [deg].

    Returns
    -------
    ndarray
        2 sin p / (p + sin p cos p): from 1 to 4/pi = 1.273.

    Raises
    ------
    ValueError
        Outside 0 to 90.

    Notes
    -----
    Pressure falls off as the cosine from the bottom up.

    References
    ----------
    The round-groove formula for ropes on traction sheaves (EN 81-50, semicircular groove without undercut; from
    memory).
    """
    p = np.asarray(contact_half_angle_deg, float)
    if not np.all((p >= 0.0) & (p <= 90.0)):
        raise ValueError("a contact half angle must lie between 0 and 90 deg")
    p = np.radians(np.maximum(p, 1e-6))
    factor: Array = 2.0 * np.sin(p) / (p + np.sin(p) * np.cos(p))
    return factor


def slot_gain_cents(
    *, friction: ArrayLike, bend_deg: ArrayLike, factor_before: ArrayLike, factor_after: ArrayLike
) -> Array:
    """How much narrower the dead band grows where a slot is widened or its floor rounded.

    Parameters
    ----------
    friction : array_like
        Coefficient of the bare pairing, >= 0.
    bend_deg : array_like
        Angle through which the string turns, >= 0 [deg].
    factor_before, factor_after : array_like
        Of the slot's shape (`wedge_factor`, `round_slot_factor`), >= 1.

    Returns
    -------
    ndarray
        Gain, positive where the new shape sticks less [cents].

    Raises
    ------
    ValueError
        Where one lies below its range.
    """
    before, after = _least("factor_before", factor_before, 1.0), _least("factor_after", factor_after, 1.0)
    return (before - after) * dead_band_cents(friction=friction, bend_deg=bend_deg)


def _least(name: str, value: ArrayLike, least: float = 0.0) -> Array:
    checked = np.asarray(value, float)
    if not np.all((checked >= least) & np.isfinite(checked)):
        raise ValueError(f"{name} must be a finite number of {least:g} or more")
    return checked
