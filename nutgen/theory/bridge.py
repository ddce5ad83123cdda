"""The bridge end of the strings: screws that lift a saddle, a flat cut under one, and the arc over string tops."""

from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array, Ints

ISO_261: dict[float, tuple[float, ...]] = {
    1.0: (0.25, 0.2),
    1.2: (0.25, 0.2),
    1.4: (0.3, 0.2),
    1.6: (0.35, 0.2),
    1.8: (0.35, 0.2),
    2.0: (0.4, 0.25),
    2.2: (0.45, 0.25),
    2.5: (0.45, 0.35),
    3.0: (0.5, 0.35),
    3.5: (0.6, 0.35),
    4.0: (0.7, 0.5),
    5.0: (0.8, 0.5),
    6.0: (1.0, 0.75),
    7.0: (1.0, 0.75),
    8.0: (1.25, 1.0, 0.75),
}
"""Pitches of ISO metric threads by nominal diameter, the coarse one first [mm].
Source: ISO 261:1998, table 2 (general plan), as printed in any engineering handbook."""

EIGHTHS = 8
"""Parts of a turn that a hand sets by eye."""


def eighth_turns(move: ArrayLike, *, pitch: float) -> Ints:
    """Whole eighths of a turn that move a screw nearest to so far.

    Parameters
    ----------
    move : array_like
        Along the screw [mm].
    pitch : float
        Advance of a whole turn [mm].

    Returns
    -------
    ndarray of int
        Eighths, with the sign of the move.

    References
    ----------
    The pitch of a single-start thread is its advance a turn: ISO 5408.
    """
    return np.rint(np.asarray(move, float) / pitch * EIGHTHS).astype(np.int64)


def flat_cut(wanted: ArrayLike, *, at: ArrayLike) -> tuple[float, float]:
    """The straight cut that takes most off a bar without taking more than wanted anywhere.

    Parameters
    ----------
    wanted : array_like, (places,)
        What is to come off at each place; below 0 where it must be lifted [mm].
    at : array_like, (places,)
        Where along the bar [mm].

    Returns
    -------
    offset, slope : float
        Of the cut over `at` [mm, mm per mm]; below 0 it is a packing.

    Notes
    -----
    The line under all points that is highest at their mean: it touches two neighbours of their lower hull.

    References
    ----------
    A linear programme in two unknowns: its best corner is found among all pairs.
    """
    want, x = np.asarray(wanted, float), np.asarray(at, float)
    if np.ptp(x) == 0.0:
        return float(want.min()), 0.0
    best = (float(want.min()), 0.0)
    for i, j in combinations(range(len(x)), 2):
        if x[i] == x[j]:
            continue
        slope = (want[j] - want[i]) / (x[j] - x[i])
        offset = want[i] - slope * x[i]
        under = np.all(offset + slope * x <= want + 1e-9)
        if under and offset + slope * x.mean() > best[0] + best[1] * x.mean():
            best = (float(offset), float(slope))
    return best


def arc_height(x: ArrayLike, arc: ArrayLike) -> Array:
    """Height of a circular arc at x.

    Parameters
    ----------
    x : array_like
        Across [mm].
    arc : array_like, (3,)
        Height at x = 0 [mm], sine of the slope there, curvature, positive where it bulges up [1/mm].

    Returns
    -------
    ndarray
        Heights [mm].

    References
    ----------
    R (cos a - cos b) = x (sin a + sin b) / (cos a + cos b), whole where the arc is a line.
    """
    height, sine, curvature = np.asarray(arc, float)
    at = np.asarray(x, float)
    other = np.clip(sine - curvature * at, -0.999, 0.999)
    return np.asarray(height + at * (sine + other) / (np.sqrt(1.0 - sine**2) + np.sqrt(1.0 - other**2)))


def arc_through(x: ArrayLike, z: ArrayLike, *, curvature: float, free_from: int = 4) -> Array:
    """The arc with the least squares of heights over some points.

    Parameters
    ----------
    x, z : array_like, (points,)
        Across and up [mm].
    curvature : float
        Of the arc where it is fitted to fewer points than leave it free; where the search begins elsewhere [1/mm].
    free_from : int
        Points from which on the curvature is fitted too: four, since three lie on some arc always.

    Returns
    -------
    ndarray, (3,)
        As `arc_height` takes it; a level line through a single point.

    References
    ----------
    Gauss and Newton's iteration, with differences for the slopes.
    """
    at, up = np.asarray(x, float), np.asarray(z, float)
    free = [0, 1, 2] if len(at) >= free_from else [0, 1] if len(at) > 1 else [0]
    arc = np.array([float(up.mean()), 0.0, curvature])
    step = np.array([1.0, 1e-5, 1e-6])
    for _ in range(12):
        left = up - arc_height(at, arc)
        turned = [(arc_height(at, arc + step * unit) - arc_height(at, arc - step * unit)) for unit in np.eye(3)[free]]
        slopes = np.array(turned).T / (2.0 * step[free])
        change = np.linalg.lstsq(slopes, left, rcond=None)[0]
        arc[free] += change
        arc[1] = np.clip(arc[1], -0.5, 0.5)
        if np.max(np.abs(change)) < 1e-12:
            break
    return arc


def off_the_others(x: ArrayLike, z: ArrayLike, *, curvature: float) -> Array:
    """How far each point stands over the arc through all the others.

    Parameters
    ----------
    x, z : array_like, (points,)
        Across and up [mm].
    curvature : float
        See `arc_through` [1/mm].

    Returns
    -------
    ndarray, (points,)
        Above 0 where it stands proud; 0 for a single point [mm].

    References
    ----------
    Each point left out in turn, `arc_through` the rest.
    """
    at, up = np.asarray(x, float), np.asarray(z, float)
    off = np.zeros(len(at))
    for one in range(len(at)):
        rest = np.arange(len(at)) != one
        if rest.any():
            off[one] = up[one] - arc_height(at[one], arc_through(at[rest], up[rest], curvature=curvature))
    return off
