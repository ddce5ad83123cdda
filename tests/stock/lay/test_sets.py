"""Which places hold several blocks, and which sets of them are twins, without a piece."""

import numpy as np
import pytest

from nutgen.geometry.pose import IDENTITY
from nutgen.stock.lay.poses import Poses
from nutgen.stock.lay.sets import OVERLAY, Choice, Pool, _picked, bundle
from nutgen.stock.lay.several import _unlike
from tests.stock.solids import block

KERF = 0.8


def pool(kinds: list[int], widths: np.ndarray) -> Pool:
    one, two = bundle(block(20.0, 5.0, 6.0), 1, 1, kerf=KERF), bundle(block(20.0, 5.0, 6.0), 2, 1, kerf=KERF)
    weights = np.array([1, 2])[kinds]
    tries = Poses(np.zeros((len(kinds), 3)), np.tile(np.eye(3), (len(kinds), 1, 1)))
    return Pool((one, two), np.array(kinds), weights, tries, np.ones(len(kinds)), widths)


@pytest.mark.parametrize(("short", "worth"), [(0.0, 0.9), (-3.0, 0.9), (0.5, 0.9 - 0.125), (OVERLAY + 0.1, 0.3)])
def test_what_the_cut_between_two_lacks_counts_a_quarter(short: float, worth: float) -> None:
    """Two places in one stretch, the second short of a kerf from the first; a third in another stretch, less roomy."""
    widths = np.full((3, 3), 9.0)
    widths[0, 1] = widths[1, 0] = KERF - short
    promise = np.array([1.0, 0.9, 0.3])
    chosen, told = _picked(pool([0, 0, 0], widths), promise, promise, np.array([0, 0, 1]), 2, KERF)
    assert chosen == ([0, 2] if short > OVERLAY else [0, 1])
    assert told == pytest.approx(worth)


def test_a_bundle_holds_its_blocks() -> None:
    promise = np.array([1.0, 0.9, 0.3])
    chosen, _ = _picked(pool([0, 1, 0], np.full((3, 3), 9.0)), promise, promise, np.zeros(3, np.int64), 3, KERF)
    assert chosen == [0, 1]


def test_of_sets_that_are_worth_the_same_in_the_same_bundles_one_goes_on() -> None:
    of = pool([0, 0, 1], np.full((3, 3), 9.0))
    settled = [
        (worth, [Choice(place, 0, 0.0)], [IDENTITY])
        for worth, place in ((0.5, 0), (1.0, 0), (1.002, 1), (1.0, 2), (0.7, 1))
    ]
    assert [(worth, one.place) for worth, (one,), _ in _unlike(of, settled)] == [
        (1.002, 1), (1.0, 2), (0.7, 1), (0.5, 0),
    ]  # fmt: skip
