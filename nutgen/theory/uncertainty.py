"""What reading errors do to a result: seeded Monte Carlo, and which reading matters most.

Readings are independent. A reading may be an array (six gauges): its entries err independently
too. Draws lie along a new last axis, so that a scalar reading (draws,) and six gauges
(6, draws) work together in one vectorised function, called with one keyword a reading.
Method: ISO/IEC Guide 98-3 (GUM) and its Supplement 1.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple
from zlib import crc32

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array

WITHIN_95 = 1.96
"""Standard deviations to either side that hold 95 % of a normal distribution: what an error in [errors] means."""

WITHIN_99 = 2.58
"""The same for 99 %."""


class Measured(NamedTuple):
    """A measured value and how far it may be off, of a normal distribution.

    value : as read, any shape
    sd    : standard deviation, >= 0, broadcasts against the value, in its unit
    """

    value: ArrayLike
    sd: ArrayLike


MeasuredByName = Mapping[str, Measured]
Function = Callable[..., ArrayLike]


@dataclass(frozen=True, slots=True)
class Spread:
    """Mean, standard deviation, and the values that 5 % and 95 % of the draws stay below."""

    mean: Array
    sd: Array
    low_5: Array
    high_95: Array


def draw(readings: MeasuredByName, *, count: int = 100_000, seed: int = 0) -> dict[str, Array]:
    """Random readings.

    Parameters
    ----------
    readings : MeasuredByName
        Name -> value and standard deviation.
    count : int, optional
        How many, 2 or more.
    seed : int, optional
        Same seed, same draws; a reading's draws do not change when others come or go.

    Returns
    -------
    dict of str to ndarray
        Name -> draws, the value's shape and the count behind it.

    Raises
    ------
    ValueError
        Where a deviation is below 0, or the count below 2.
    """
    if count < 2:
        raise ValueError(f"count must be 2 or more, not {count}")
    draws = {}
    for name, reading in readings.items():
        value, sd = _checked(name, reading)
        random = np.random.default_rng([seed, crc32(name.encode())])
        unit = random.standard_normal((*value.shape, count))
        draws[name] = value[..., np.newaxis] + sd[..., np.newaxis] * unit
    return draws


def spread(samples: ArrayLike) -> Spread:
    """Mean, standard deviation and 5 to 95 % band along the last axis, two samples or more."""
    x = np.asarray(samples, float)
    if x.ndim == 0 or x.shape[-1] < 2:
        raise ValueError("give two samples or more along the last axis")
    low, high = np.quantile(x, [0.05, 0.95], axis=-1)
    return Spread(np.mean(x, axis=-1), np.std(x, axis=-1, ddof=1), low, high)


def variance_shares(function: Function, readings: MeasuredByName) -> dict[str, Array]:
    """Part of the result's variance that each reading causes, most telling first.

    Parameters
    ----------
    function : callable
        Called with one keyword a reading; its result has the draws along the last axis.
    readings : MeasuredByName
        Name -> value and standard deviation.

    Returns
    -------
    dict of str to ndarray
        Name -> share, in the result's shape; they add up to 1 where anything varies. Ordered by the mean share.

    Raises
    ------
    ValueError
        As `draw`.

    Notes
    -----
    One entry of one reading at a time, by 9-point Gauss quadrature over its distribution: exact where the result is
    linear, or a sum of polynomials up to degree 8 of single readings; what readings do jointly (products of two errors)
    is left out. No random numbers.

    References
    ----------
    First-order variance indices, I. M. Sobol', Math. Comput. Simul. 55, 271 (2001).
    """
    variances: dict[str, Array] = {}
    for name in readings:
        runs = _entry_by_entry(function, readings, name)
        variances[name] = np.asarray(sum(_variance(y) for y in runs), float)
    shares = _shares(variances)
    # readings that tell alike stay in the order given, whatever the last digit says
    return dict(sorted(shares.items(), key=lambda item: -round(float(np.mean(item[1])), 9)))


_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_WEIGHTS /= np.sqrt(2.0 * np.pi)
"""Nodes in standard deviations, and weights that add up to 1."""


def _entry_by_entry(function: Function, readings: MeasuredByName, name: str) -> Iterator[Array]:
    """Results, nodes along the last axis, while one entry of one reading moves from node to node."""
    place = {other: _checked(other, reading)[0][..., np.newaxis] for other, reading in readings.items()}
    value, sd = _checked(name, readings[name])
    for entry in np.ndindex(value.shape):
        moved = np.repeat(value[..., np.newaxis], _NODES.size, axis=-1)
        moved[entry] += _NODES * sd[entry]
        result = np.asarray(function(**{**place, name: moved}), float)
        yield np.broadcast_to(result, (*result.shape[:-1], _NODES.size))


def _variance(samples: Array) -> Array:
    off = samples - samples[..., samples.shape[-1] // 2, np.newaxis]  # exactly 0 where nothing varies
    variance: Array = np.sum(_WEIGHTS * (off - np.sum(_WEIGHTS * off, axis=-1, keepdims=True)) ** 2, axis=-1)
    return variance


def _shares(variances: Mapping[str, Array]) -> dict[str, Array]:
    total = np.asarray(sum(variances.values()), float)
    safe = np.where(total > 0.0, total, 1.0)
    return {name: variance / safe for name, variance in variances.items()}


def _checked(name: str, reading: Measured) -> tuple[Array, Array]:
    value = np.asarray(reading.value, float)
    sd = np.broadcast_to(np.asarray(reading.sd, float), value.shape)
    if not (np.all(np.isfinite(value)) and np.all((sd >= 0.0) & np.isfinite(sd))):
        raise ValueError(f"{name}: the value must be finite and its deviation a finite number of 0 or more")
    return value, sd
