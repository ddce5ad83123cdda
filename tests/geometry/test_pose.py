"""Poses against scipy's rotations."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from nutgen.geometry.pose import IDENTITY, Pose

numbers = st.floats(-500.0, 500.0)
points = st.tuples(numbers, numbers, numbers)
turns = st.tuples(*[st.floats(-180.0, 180.0)] * 3)


def pose(turn, origin) -> Pose:
    return Pose.of(origin, Rotation.from_euler("xyz", turn, degrees=True).as_matrix().T)


@given(turns, points, points)
def test_a_point_is_turned_and_shifted(turn, origin, point):
    wanted = Rotation.from_euler("xyz", turn, degrees=True).apply(point) + np.array(origin)
    assert pose(turn, origin).apply([point])[0] == pytest.approx(wanted, abs=1e-9)
    assert (pose(turn, origin).matrix @ [*point, 1.0])[:3] == pytest.approx(wanted, abs=1e-9)


@given(turns, points, points)
def test_the_inverse_goes_back(turn, origin, point):
    one = pose(turn, origin)
    assert one.apply_inverse(one.apply(point)) == pytest.approx(point, abs=1e-8)


@given(turns, points, turns, points, points)
def test_one_frame_in_another_in_a_third(turn, origin, inner_turn, inner_origin, point):
    outer, inner = pose(turn, origin), pose(inner_turn, inner_origin)
    assert outer.compose(inner).apply(point) == pytest.approx(outer.apply(inner.apply(point)), abs=1e-8)


def test_equal_poses_hash_alike():
    assert len({IDENTITY, Pose.of(np.zeros(3), np.eye(3)), Pose.of([1.0, 0.0, 0.0], np.eye(3))}) == 2
    assert np.array_equal(IDENTITY.apply([[1.0, 2.0, 3.0]]), [[1.0, 2.0, 3.0]])
