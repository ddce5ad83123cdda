"""Readings without gauges: relief under a pressed string, a radius by gaps under a ruler, crowns by a rocker."""

import math
from collections.abc import Mapping, Sequence

import numpy as np

from nutgen.theory import Array
from nutgen.theory.frets import fret_position


def middle_fret(last_fret: int) -> int:
    """The fret whose crown is nearest the middle between those of fret 1 and the last, at any scale length."""
    crowns = fret_position(np.arange(1, last_fret + 1), scale_length=1.0)
    return 1 + int(np.argmin(np.abs(crowns - (crowns[0] + crowns[-1]) / 2.0)))


def relief_of_dip(dip: float, *, fret: float, last_fret: int, scale_length: float) -> float:
    """Relief of a neck by how far one crown lies below the chord.

    Parameters
    ----------
    dip : float
        Straight line over the crowns of fret 1 and the last, down to the crown of `fret`, >= 0 [mm].
    fret : float
        Where it was read, between the two.
    last_fret : int
        Number of the last fret.
    scale_length : float
        Nut to saddle [mm].

    Returns
    -------
    float
        Dip in the middle of the chord [mm].

    Raises
    ------
    ValueError
        Where the fret is not between the first and the last, or the dip is below 0.

    Notes
    -----
    Circle through (-C/2, 0), (C/2, 0) and (d, -g): its centre is y = (C^2/4 - d^2 - g^2) / 2g over the chord, its
    radius R = sqrt(C^2/4 + y^2), the dip in the middle R - y = (C^2/4) / (R + y); written without a division by g.

    References
    ----------
    Geometry. That a neck takes the shape of an arc is common practice, no source.
    """
    first, last, at = (float(fret_position(n, scale_length=scale_length)) for n in (1, last_fret, fret))
    half, d = (last - first) / 2.0, at - (first + last) / 2.0
    if dip < 0.0 or abs(d) >= half:
        raise ValueError("the dip must be 0 or more, and read between fret 1 and the last")
    y = (half**2 - d**2 - dip**2) / 2.0  # times the dip
    return half**2 * dip / (math.hypot(half * dip, y) + y)


def lift_of_pressed_string(gauge: float) -> float:
    """How far a string pressed on a fret may stand over its crown, as seen from the middle of the neck.

    Parameters
    ----------
    gauge : float
        Diameter [mm].

    Returns
    -------
    float
        The most that is likely [mm].

    Notes
    -----
    A stiff string that is bent by an angle a over an edge runs out into two lines that meet a/2 sqrt(EI/T) above it
    (a beam under tension T). For a round string under the stress s that root is d/4 sqrt(E/s), three diameters for
    steel (200 GPa) at 1.4 GPa; pressed 0.4 mm down 6 mm behind the fret, a is 0.067: a tenth of the diameter. A wound
    string, whose core alone is stiff, stands lower.

    References
    ----------
    Stephen P. Timoshenko, Strength of Materials II (1956), beams under axial tension. The angle: common practice, no
    source.
    """
    return 0.1 * gauge


def radius_by_gaps(chord: float, gaps: Sequence[float]) -> float:
    """Radius of a convex arc by a straight ruler that rests on it.

    Parameters
    ----------
    chord : float
        Straight distance between the two places on the arc at which the gaps are read [mm].
    gaps : (float, float)
        Ruler to arc there; both 0 where the arc is flat [mm].

    Returns
    -------
    float
        Radius; inf where flat [mm].

    Raises
    ------
    ValueError
        Where a gap is below 0 or the chord is not above 0.

    Notes
    -----
    The ruler touches the arc anywhere, at t1 and t2 from its ends: there e = t^2 / 2R. As t1 + t2 = w,
    sqrt(e1) + sqrt(e2) = w / sqrt(2R), whatever way it rocks. Half of that, squared, is the gap that both ends would
    have, the sagitta s = ((sqrt(e1) + sqrt(e2)) / 2)^2, and R = w^2 / 8s + s / 2: exact where the gaps are equal.

    References
    ----------
    The sagitta of a circle.
    """
    if min(gaps) < 0.0 or chord <= 0.0:
        raise ValueError("gaps must be 0 or more, and their chord above 0")
    return _radius(chord, _mean_root(gaps))


def radius_bounds(
    chord: float, gaps: Sequence[float], *, chord_error: float, gap_errors: Sequence[float]
) -> tuple[float, float]:
    """The least and the greatest radius that errors of a chord and two gaps leave.

    Parameters
    ----------
    chord : float
        As `radius_by_gaps` [mm].
    gaps : (float, float)
        As there [mm].
    chord_error : float
        Half-width that holds 95 % [mm].
    gap_errors : (float, float)
        The same of each gap, independent of each other [mm].

    Returns
    -------
    least, greatest : float
        Bounds that hold 95 %; the greatest is inf where the arc may as well be flat [mm].

    Notes
    -----
    The errors of the two roots add up in quadrature (ISO/IEC Guide 98-3, 5.1.2), each taken over the whole of its
    gap's error, as a root is steep near 0; the bounds are those of R at the ends of that range, which are not alike
    since R goes with 1 / s. The chord widens both by twice its own share.
    """
    root = _mean_root(gaps)
    off = math.hypot(*(_root_error(gap, error) / 2.0 for gap, error in zip(gaps, gap_errors, strict=True)))
    read, least, most = (_radius(chord, max(at, 0.0)) for at in (root, root + off, root - off))
    if math.isinf(most):
        return least, most
    by_chord = 2.0 * chord_error / chord * read
    return read - math.hypot(read - least, by_chord), read + math.hypot(most - read, by_chord)


def _mean_root(gaps: Sequence[float]) -> float:
    return sum(map(math.sqrt, gaps)) / 2.0


def _root_error(gap: float, error: float) -> float:
    return max(math.sqrt(gap + error) - math.sqrt(gap), math.sqrt(gap) - math.sqrt(max(gap - error, 0.0)))


def _radius(chord: float, root: float) -> float:
    return chord**2 / (8.0 * root**2) + root**2 / 2.0 if root > 0.0 else math.inf


def rocked(u: Array, z: Array, fret: int, *, rocks: bool) -> float:
    """What a rocker over three frets reads on given crowns.

    Parameters
    ----------
    u, z : ndarray, (frets,)
        Places along the string and heights of the crowns, from fret 1 on [mm].
    fret : int
        The middle one of the three.
    rocks : bool
        Whether it rests on the fret before and the middle one, and its far end is read.

    Returns
    -------
    float
        Gap under its far end where it rocks; less the gap over the middle fret where it does not [mm].

    References
    ----------
    Straight lines through two crowns, read over the third.
    """
    i = fret - 1
    before, after = u[i] - u[i - 1], u[i + 1] - u[i]
    if rocks:
        return float(z[i] + (z[i] - z[i - 1]) * after / before - z[i + 1])
    return float(z[i] - (z[i - 1] * after + z[i + 1] * before) / (before + after))


def crowns_by_rocker(
    gaps: Mapping[int, float], *, u: Array, arc: Array, step: float
) -> tuple[Array, float, tuple[int, ...]]:
    """Which crowns stand off the arc of the others, by readings of a rocker.

    Parameters
    ----------
    gaps : mapping of int to float
        By the middle fret of three, as `rocked` gives them [mm].
    u, arc : ndarray, (frets,)
        Places along the string, and heights of the arc that the crowns would lie on, from fret 1 on [mm].
    step : float
        Of the leaves, to which the readings are rounded [mm].

    Returns
    -------
    heights : ndarray, (frets,)
        Over the arc; 0 where nothing shows [mm].
    left : float
        Root mean square of what the heights leave of the readings [mm].
    unsure : tuple of int
        Frets found that are known by one reading alone.

    Notes
    -----
    The fewest frets that explain the readings: from those of the least squares without a fret that sank, and from none,
    frets are added and left out as long as that tells more; their heights are those of least squares. All heights at
    once would let the rounding of each reading grow along the neck.

    References
    ----------
    Non-negative least squares: C. L. Lawson and R. J. Hanson, Solving Least Squares Problems (1974), chapter 23.
    """
    from scipy.optimize import nnls  # few files get here; the others need not wait

    frets, count = sorted(gaps), len(u)
    rows = np.array([[rocked(u, unit, fret, rocks=gaps[fret] > 0.0) for unit in np.eye(count)] for fret in frets])
    off = np.array([gaps[fret] for fret in frets]) - rows @ arc
    sd = np.hypot(step / math.sqrt(12.0), UNEVEN * np.linalg.norm(rows, axis=1))
    seen, weighed = off / sd, rows / sd[:, np.newaxis]

    def told(some: list[int]) -> tuple[float, Array]:
        """What some frets leave unexplained, and what they cost; their heights."""
        size = np.linalg.lstsq(weighed[:, some], seen, rcond=1e-9)[0] if some else np.zeros(0)
        rest = seen - weighed[:, some] @ size
        return float(rest @ rest) + TAKEN * len(some) + LOW_COST * int((size < 0.0).sum()), np.asarray(size, float)

    def improved(some: list[int]) -> list[int]:
        """Frets added or left out one by one, as long as that tells more."""
        while True:
            tries = [[one for one in some if one != out] for out in some]
            tries += [[*some, one] for one in range(count) if one not in some]
            best = min(tries, key=lambda each: told(each)[0])
            if told(best)[0] >= told(some)[0] - 1e-9:
                return some
            some = best

    standing = np.flatnonzero(nnls(weighed, seen)[0] > 0.0).tolist()
    taken = min((improved(first) for first in (standing, [])), key=lambda some: told(some)[0])
    heights = np.zeros(count)
    heights[taken] = told(taken)[1]
    rms = float(np.sqrt(np.mean((off - rows @ heights) ** 2)))
    return heights, rms, tuple(one + 1 for one in taken if np.count_nonzero(rows[:, one]) < 2)


UNEVEN = 0.004
"""Unevenness of well-levelled crowns, one standard deviation. Common practice, no source [mm]."""

TAKEN, LOW_COST = 9.0, 4.0
"""What a fret must explain to be taken: three standard deviations, squared; and what one that sank costs besides."""
