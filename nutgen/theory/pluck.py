r"""Room that a plucked string needs: its envelope, and the frets that it may touch.

Distances along the string are counted from the nut (or from the fret that is pressed), the
pluck point from the bridge. The ideal string's shape at release is a triangle; half a period
later it is the same triangle turned about the string's middle. Between the two it never leaves
their parallelogram, and it touches each of its sides once a period:

                       .-'\     +y0, same side: the triangle of the release
              .-'          \
    nut -----------------------  bridge
        \            .-'
          \  .-'                -y0, opposite side: its apex lies as far from the nut
                                as the pluck point lies from the bridge
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array, Ints
from nutgen.theory.checks import above_zero


@dataclass(frozen=True, slots=True)
class FirstTouch:
    """The fret that a growing pluck reaches first. Arrays lack the last axis of the input.

    index : position of that fret along the last axis
    spare : room left there at the given pluck, below 0 where it buzzes [mm]
    reach : the pluck that would just touch, as a multiple of the given one
    """

    index: Ints
    spare: Array
    reach: Array


def excursions(
    *, from_nut: ArrayLike, length: ArrayLike, pluck_from_bridge: ArrayLike, pluck_height: ArrayLike
) -> tuple[Array, Array]:
    """Farthest a plucked string swings, to the side it was pulled to and to the other.

    Parameters
    ----------
    from_nut : array_like
        Distance from the string's start, 0 to its length [mm].
    length : array_like
        Sounding length, above 0 [mm].
    pluck_from_bridge : array_like
        Pluck point, above 0 and below the length [mm].
    pluck_height : array_like
        Displacement there at release, square to the board, >= 0 [mm].

    Returns
    -------
    toward : ndarray
        y0 u / (L - p) up to the pluck point, y0 (L - u) / p beyond it [mm].
    away : ndarray
        y0 u / p for u <= p, y0 (L - u) / (L - p) beyond: the release's triangle seen from the other end, so large near
        the nut [mm].

    Raises
    ------
    ValueError
        Outside those ranges.

    Notes
    -----
    Exact for the ideal string (no stiffness, no loss, ends at rest), released from rest.

    References
    ----------
    d'Alembert's solution; N. H. Fletcher, T. D. Rossing, The Physics of Musical Instruments, chapter 2.
    """
    u, span, p, y0 = _checked(from_nut, length, pluck_from_bridge, pluck_height)
    return y0 * np.minimum(u / (span - p), (span - u) / p), y0 * np.minimum(u / p, (span - u) / (span - p))


def pluck_stiffness_n_per_m(*, tension_n: ArrayLike, length: ArrayLike, pluck_from_bridge: ArrayLike) -> Array:
    """Force at the pluck point per displacement there.

    Parameters
    ----------
    tension_n : array_like
        Pull of the string, above 0 [N].
    length : array_like
        Sounding length [mm].
    pluck_from_bridge : array_like
        Pluck point, above 0 and below the length [mm].

    Returns
    -------
    ndarray
        T / (x (1 - x / L)) [N/m].

    Raises
    ------
    ValueError
        Outside those ranges.

    Notes
    -----
    Holds while the displacement is small against x.

    References
    ----------
    M. Zollner, Physics of the Electric Guitar, chapter 1.
    """
    _, span, x, _ = _checked(0.0, length, pluck_from_bridge, 0.0)
    return 1000.0 * above_zero("tension_n", tension_n) / (x * (1.0 - x / span))


def pluck_height_from_force(
    *, force_n: ArrayLike, tension_n: ArrayLike, length: ArrayLike, pluck_from_bridge: ArrayLike
) -> Array:
    """Displacement at the pluck point under a force there.

    Parameters
    ----------
    force_n : array_like
        Force square to the board at release, >= 0 [N].
    tension_n : array_like
        Pull of the string, above 0 [N].
    length : array_like
        Sounding length, above 0 [mm].
    pluck_from_bridge : array_like
        Pluck point, above 0 and below the length [mm].

    Returns
    -------
    ndarray
        Displacement [mm].

    Raises
    ------
    ValueError
        Outside the ranges of `pluck_stiffness_n_per_m`, or below 0.
    """
    force = np.asarray(force_n, float)
    if not np.all((force >= 0.0) & np.isfinite(force)):
        raise ValueError("force_n must be a finite number of 0 or more")
    stiffness = pluck_stiffness_n_per_m(tension_n=tension_n, length=length, pluck_from_bridge=pluck_from_bridge)
    return 1000.0 * force / stiffness


def first_touch(*, clearance: ArrayLike, excursion: ArrayLike) -> FirstTouch:
    """Where the string first touches a fret as the pluck grows, and with how much to spare.

    Parameters
    ----------
    clearance : array_like
        String's underside to each crown, at rest, frets along the last axis [mm].
    excursion : array_like
        Toward the board over the same frets at the given pluck, above 0 [mm].

    Returns
    -------
    FirstTouch
        Fret, room and reach; a `reach` of 1.4 buzzes at a pluck 1.4 times as high.

    Raises
    ------
    ValueError
        Where there is no fret or an excursion is not above 0.

    Notes
    -----
    Exact where the excursion grows in proportion to the pluck. A string already lying on a fret has a clearance and a
    reach of 0 or less.
    """
    room, swing = np.broadcast_arrays(np.asarray(clearance, float), above_zero("excursion", excursion))
    if room.ndim == 0 or room.shape[-1] == 0:
        raise ValueError("give clearance and excursion for one fret or more, along the last axis")
    reach = room / swing
    index = np.argmin(reach, axis=-1)
    at = np.expand_dims(index, -1)
    spare = np.take_along_axis(room - swing, at, axis=-1)[..., 0]
    return FirstTouch(index, spare, np.take_along_axis(reach, at, axis=-1)[..., 0])


def lowest_floor(*, clearance_at_zero: ArrayLike, sensitivity: ArrayLike, excursion: ArrayLike) -> Array:
    """Lowest slot floor at which no fret is touched.

    Parameters
    ----------
    clearance_at_zero : array_like
        Clearance at each fret with the floor at 0, frets on the last axis [mm].
    sensitivity : array_like
        Clearance gained per height of floor; below 0 beyond fret 12 where the action stays and the saddle gives way [mm
        per mm].
    excursion : array_like
        Toward the board over the same frets, and what must be left beyond it [mm].

    Returns
    -------
    ndarray
        Least b with c0 + s b >= excursion at every fret [mm]; inf where no floor does it, -inf where any low
        floor does; no last axis.

    Raises
    ------
    ValueError
        Where there is no fret or a number is not finite.

    Notes
    -----
    Exact for clearances that go linearly with the floor.

    References
    ----------
    A linear programme in one unknown.
    """
    c0, s, swing = fields = np.broadcast_arrays(clearance_at_zero, sensitivity, excursion)
    if c0.ndim == 0 or c0.shape[-1] == 0 or not np.all(np.isfinite(fields)):
        raise ValueError("give finite clearances, sensitivities and excursions for one fret or more")
    wanted = swing - c0
    bound = np.divide(wanted, s, out=np.zeros(wanted.shape), where=s != 0.0)
    low = np.max(np.where(s > 0.0, bound, -np.inf), axis=-1)
    high = np.min(np.where(s < 0.0, bound, np.inf), axis=-1)
    hopeless = np.any((s == 0.0) & (wanted > 0.0), axis=-1) | (low > high)
    return np.where(hopeless, np.inf, low)[()]


def _checked(
    from_nut: ArrayLike, length: ArrayLike, pluck_from_bridge: ArrayLike, pluck_height: ArrayLike
) -> tuple[Array, Array, Array, Array]:
    u, p, y0 = (np.asarray(x, float) for x in (from_nut, pluck_from_bridge, pluck_height))
    span = above_zero("length", length)
    if not np.all((u >= 0.0) & (u <= span)):
        raise ValueError("from_nut must lie between 0 and the sounding length")
    if not np.all((p > 0.0) & (p < span)):
        raise ValueError("pluck_from_bridge must lie between 0 and the sounding length, both excluded")
    if not np.all((y0 >= 0.0) & np.isfinite(y0)):
        raise ValueError("pluck_height must be a finite number of 0 or more")
    return u, span, p, y0
