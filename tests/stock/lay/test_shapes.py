"""Points over a region lie so close that nothing thicker than their step goes unseen between them."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree

from nutgen.stock.block import Region
from nutgen.stock.lay.shapes import WITHIN, distance_to, frame_samples, sample

AGAINST_SKIN = Region("nut", "skin", -24.0, 24.0, ((-4.7, -6.3), (4.7, -6.3), (4.7, 6.3), (-4.7, 6.3)), 0.2)


def gap(points: np.ndarray, places: np.ndarray) -> float:
    """How far the loneliest of some places is from any point."""
    return float(cKDTree(points).query(places)[0].max())


@pytest.mark.parametrize("step", [0.7, 2.0])
def test_over_every_face_the_next_point_is_no_farther_than_half_a_diagonal(step: float) -> None:
    points = sample(AGAINST_SKIN, step).points
    draw = np.random.default_rng(1)
    places = draw.uniform(-1.0, 1.0, (6000, 3))
    places[np.arange(6000), draw.integers(0, 3, 6000)] = draw.choice([-1.0, 1.0], 6000)
    assert gap(points, places * (24.0, 4.7, 6.3)) <= step / np.sqrt(2.0) + 1e-9


@pytest.mark.parametrize("far", [False, True])
def test_against_a_core_there_are_points_within_too(far: bool) -> None:
    """A core as thick as `WITHIN` says, far from every face, is met; what keeps from the skin alone needs none."""
    region = replace(AGAINST_SKIN, against="core")
    within = 2.0 * WITHIN if far else WITHIN
    take = frame_samples if far else sample
    places = np.random.default_rng(2).uniform(-1.0, 1.0, (4000, 3)) * (22.0, 4.7 - within, 6.3 - within)
    assert gap(take(region, 2.0 * WITHIN).points, places) <= np.linalg.norm([within, within, 2.0 * WITHIN]) / 2.0
    assert gap(take(AGAINST_SKIN, 2.0 * WITHIN).points, places) > 3.0


def test_the_distance_to_a_bar_is_to_its_nearest_face_edge_or_corner() -> None:
    places = np.array([[0.0, 0.0, 0.0], [23.0, 1.0, 0.0], [30.0, 0.0, 0.0], [0.0, 7.7, 10.3], [26.0, 5.7, 8.3]])
    assert distance_to(AGAINST_SKIN, places) == pytest.approx([-4.7, -1.0, 6.0, 5.0, 3.0])
