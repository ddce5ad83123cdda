"""Small linear programmes, held against HiGHS by scipy (Q. Huangfu, J. A. J. Hall, 2018)."""

import numpy as np
import pytest
from scipy.optimize import linprog

from nutgen.stock.lay.programme import greatest


@pytest.mark.parametrize("seed", range(60))
def test_the_greatest_is_that_of_a_general_library(seed: int) -> None:
    """Of one block and of several, with bounds that do not bear on the last unknown; a third of them cannot be kept."""
    random = np.random.default_rng(seed)
    blocks, within = 1 + seed % 3, float(random.uniform(0.01, 1.0))
    rows = random.normal(size=(int(random.integers(1, 400)), 6 * blocks + 1))
    for block in range(blocks):  # a row of rooms bears on one block
        rows[block::blocks, : 6 * block] = rows[block::blocks, 6 * block + 6 : -1] = 0.0
    others = random.random(len(rows)) < 0.2
    others[0] = False
    rows[:, -1] = np.where(others, 0.0, 1.0)
    rows[random.random(len(rows)) < 0.1] = rows[0]  # ties
    limits = np.where(rows[:, -1] == 0.0, random.uniform(-0.5 if seed % 3 == 2 else 0.0, 0.5, len(rows)), -0.1)
    limits += np.where(rows[:, -1] == 0.0, 0.0, random.uniform(0.0, 1.0, len(rows)).round(1))
    wanted = linprog(
        np.append(np.zeros(6 * blocks), -1.0),
        A_ub=rows,
        b_ub=limits,
        bounds=[(-within, within)] * (6 * blocks) + [(None, None)],
    )
    found = greatest(rows, limits, within=within)
    assert (found is None) == (not wanted.success)
    if found is not None:
        assert found[-1] == pytest.approx(wanted.x[-1], abs=1e-9)
        assert (rows @ found <= limits + 1e-9).all()
        assert (np.abs(found[:-1]) <= within + 1e-9).all()


@pytest.mark.parametrize("seed", range(40))
def test_bounds_that_all_but_coincide_are_left_to_the_library(seed: int) -> None:
    """Three blocks, each bound twice but for its last digits: the bounds held grow singular, or none seems to keep."""
    random = np.random.default_rng(seed)
    unknowns, within = 19, 0.2
    rows = random.normal(size=(60, unknowns))
    for block in range(3):
        rows[block::3, : 6 * block] = rows[block::3, 6 * block + 6 : -1] = 0.0
    rows[:, -1] = 1.0
    other = rows * (1.0 + 10.0 ** -random.integers(7, 12) * random.normal(size=rows.shape))
    other[:, -1] = 1.0
    limits = random.uniform(0.0, 0.3, 60).round(1)
    found = greatest(np.vstack([rows, other]), np.concatenate([limits, limits]), within=within)
    wanted = linprog(
        np.append(np.zeros(unknowns - 1), -1.0),
        A_ub=np.vstack([rows, other]),
        b_ub=np.concatenate([limits, limits]),
        bounds=[(-within, within)] * (unknowns - 1) + [(None, None)],
    )
    assert found is not None
    assert found[-1] == pytest.approx(wanted.x[-1], abs=1e-6)
