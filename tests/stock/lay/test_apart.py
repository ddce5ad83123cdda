"""What parts blocks, and corners of a skin held against one: against boxes whose distances are known."""

import numpy as np
import pytest

from nutgen.geometry.pose import Pose
from nutgen.stock.block import Region
from nutgen.stock.lay.apart import beside, between
from nutgen.stock.lay.poses import SWAY, held, poses_of
from nutgen.stock.lay.refine import LEVEL, Pair
from nutgen.stock.lay.sets import bundle
from tests.stock.solids import block

SIZE = np.array([45.0, 7.0, 9.0])


def at(x: float, y: float, z: float, *, turn_deg: float = 0.0) -> Pose:
    """Turned about its length."""
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    return Pose.of(np.array([x, y, z]), np.array([[1.0, 0.0, 0.0], [0.0, c, s], [0.0, -s, c]]))


@pytest.mark.parametrize(("along", "is_beside"), [(0.0, True), (22.0, True), (23.0, False), (46.0, False)])
def test_blocks_are_beside_one_another_where_they_share_more_than_half_their_length(
    along: float, is_beside: bool
) -> None:
    assert beside(at(3.0, 0.0, 0.0), at(3.0 + along, 9.0, 0.0), length=45.0) == is_beside
    assert beside(at(3.0 + along, 9.0, 0.0), at(3.0, 0.0, 0.0), length=45.0) == is_beside


@pytest.mark.parametrize("sign", [-1.0, 1.0])
@pytest.mark.parametrize(
    ("place", "turn_deg", "beside", "width", "across"),
    [
        ((0.0, 8.0, 3.0), 0.0, True, 1.0, (0.0, 1.0, 0.0)),  # 8 less a half of 7 of each
        ((0.0, 3.0, 10.5), 0.0, True, 1.5, (0.0, 0.0, 1.0)),
        ((0.0, 9.0, 0.0), 90.0, True, 1.0, (0.0, 1.0, 0.0)),  # less halves of 7 and 9
        ((47.0, 0.0, 0.0), 0.0, False, 2.0, (1.0, 0.0, 0.0)),
        ((44.0, 0.0, 0.0), 0.0, False, -1.0, (1.0, 0.0, 0.0)),
    ],
)
def test_the_cut_between_two_boxes(
    place: tuple[float, ...], turn_deg: float, beside: bool, width: float, across: tuple[float, ...], sign: float
) -> None:
    one, other = at(1.0, 2.0, 3.0), at(*(np.array([1.0, 2.0, 3.0]) + sign * np.array(place)), turn_deg=turn_deg)
    cut = between(one, SIZE, other, SIZE, beside=beside)
    assert cut.width == pytest.approx(width)
    assert cut.across == pytest.approx(sign * np.array(across))
    assert (cut.second - cut.first) @ cut.across == pytest.approx(width)


@pytest.mark.parametrize(
    ("place", "beside", "lack"),
    [((0.0, 7.5, 0.0), True, 0.3), ((1.0, 8.0, 0.0), True, 1.0 - LEVEL), ((45.3, 0.0, 0.0), False, 0.5)],
)
def test_what_the_saw_lacks(place: tuple[float, ...], beside: bool, lack: float) -> None:
    """A cut of 0.8 between boxes; those beside one another begin and end together."""
    one, other = at(0.0, 0.0, 0.0), at(*place)
    cut = between(one, SIZE, other, SIZE, beside=beside)
    assert Pair(0, 1, beside, cut, place[0]).lack(0.8) == pytest.approx(lack)


def test_a_bundle_is_its_blocks_a_cut_apart() -> None:
    what = block(45.0, 7.0, 9.0)
    two = bundle(what, 2, 3, kerf=0.8)
    assert two.whole.size == pytest.approx((45.0, 7.0 * 2 + 0.8, 9.0 * 3 + 1.6))
    poses = two.poses(at(50.0, 0.0, 0.0, turn_deg=30.0))
    widths = [between(a, SIZE, b, SIZE, beside=True).width for a in poses for b in poses if a is not b]
    assert min(widths) == pytest.approx(0.8)
    assert len(two.whole.regions) == 6 * len(what.regions)
    outline = np.vstack([region.outline for region in two.whole.regions])
    assert np.ptp(outline, axis=0) == pytest.approx(two.whole.size[1:])


@pytest.mark.parametrize("seed", range(3))
def test_corners_held_against_a_box(seed: int) -> None:
    """Outside, the distance to a box; inside, less than nothing by how deep, or by the face that is left by."""
    draw = np.random.default_rng(seed)
    low, high = np.array([-22.5, -3.5, -4.5]), np.array([22.5, 3.5, 4.5])
    region = Region("block", "skin", low[0], high[0], ((-3.5, -4.5), (3.5, -4.5), (3.5, 4.5), (-3.5, 4.5)), 0.0)
    poses = [at(*draw.normal(0.0, 3.0, 3), turn_deg=float(draw.uniform(0.0, 360.0))) for _ in range(20)]
    corners = draw.uniform(-1.0, 1.0, (200, 3)) * (26.0, 7.0, 7.0)
    room, _, _ = held(corners, region, poses_of(poses))
    for row, pose in enumerate(poses):
        local = pose.apply_inverse(corners)
        away = np.linalg.norm(local - np.clip(local, low, high), axis=1)
        deep = np.minimum(local - low, high - local).min(axis=1)
        inside = away == 0.0
        over = -deep[inside] - room[row, inside]  # never told to be less deep than it is, and but so much more
        assert np.all((over >= -1e-9) & (over <= SWAY + 1e-9))
        assert over[deep[inside].argmax()] == pytest.approx(0.0, abs=1e-9)
        near = corners[~inside & (away < 1.0)]
        told, push, lever = (one[0] for one in held(near, region, poses_of([pose])))
        assert told == pytest.approx(away[~inside & (away < 1.0)])
        assert lever == pytest.approx(near - pose.at)
        # a step of the block along the push leaves a corner that much more room
        moved = np.array([pose.apply_inverse(one[np.newaxis])[0] for one in near - 1e-4 * push])
        assert np.linalg.norm(moved - np.clip(moved, low, high), axis=1) - told == pytest.approx(1e-4, rel=1e-2)
