"""High frets by a rocker, on synthetic necks whose heights are known; readings rounded to 0.02."""

import numpy as np
import pytest

from nutgen.theory.readings import crowns_by_rocker

STEP = 0.02
ACTED_ON = 0.05
SHOWN = ACTED_ON - STEP / 2.0


def gap(u: np.ndarray, z: np.ndarray, i: int) -> float:
    """A bar laid over three crowns: it rocks on the middle one, or bridges it."""
    chord = np.interp(u[i], u[[i - 1, i + 1]], z[[i - 1, i + 1]])
    if z[i] <= chord:
        return float(z[i] - chord)
    slope = (z[i] - z[i - 1]) / (u[i] - u[i - 1])
    return float(z[i] + slope * (u[i + 1] - u[i]) - z[i + 1])


def neck(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, dict[int, float]]:
    """Places, arc, what stands off it, and the readings."""
    draw = np.random.default_rng(seed)
    count, scale = int(draw.integers(18, 25)), draw.uniform(600.0, 880.0)
    u = scale * (1.0 - 0.5 ** (np.arange(1, count + 1) / 12.0))
    t = (u - u[0]) / (u[-1] - u[0])
    arc = -4.0 * draw.uniform(0.0, 0.35) * t * (1.0 - t)
    off = np.zeros(count)
    some = draw.choice(count, size=int(draw.integers(0, 5)), replace=False)
    off[some] = draw.uniform(ACTED_ON, 0.25, len(some))
    read = {i + 1: float(np.round(gap(u, arc + off, i) / STEP) * STEP) for i in range(1, count - 1)}
    return u, arc, off, read


def counted(seeds: range) -> tuple[float, float]:
    """Share of the high frets found, and of the others told for nothing."""
    found = high = false = plain = 0
    for seed in seeds:
        u, arc, off, read = neck(seed)
        heights, _, _ = crowns_by_rocker(read, u=u, arc=arc, step=STEP)
        told, true = heights >= SHOWN, off >= ACTED_ON
        found, high = found + int((told & true).sum()), high + int(true.sum())
        false, plain = false + int((told & ~true).sum()), plain + int((~true).sum())
    return found / high, false / plain


def test_high_frets_are_found_and_hardly_others() -> None:
    found, false = counted(range(30))
    assert found >= 0.95
    assert false < 0.02


@pytest.mark.slow
def test_of_a_thousand_necks_98_in_100_high_frets_are_found() -> None:
    found, false = counted(range(1000))
    assert found >= 0.98
    assert false < 0.02
