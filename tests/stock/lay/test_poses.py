"""Many poses at once, held against turns by scipy; and the room of points against bars and boxes by arithmetic."""

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from nutgen.geometry.pose import Pose
from nutgen.stock.block import Region
from nutgen.stock.lay import poses
from nutgen.stock.lay.apart import between
from nutgen.stock.lay.field import PieceField
from nutgen.stock.lay.laying import ASIDE, Laying, across, rolled, unlike, unlike_places
from nutgen.stock.lay.poses import Poses, along_grain, held, poses_of, pushes, rooms, rotated, turned, with_grain
from nutgen.stock.lay.refine import Mover, Rules, _pair_rows, _standing, coarse_look, refined
from nutgen.stock.lay.shapes import corners, sample
from tests.stock.lay.test_bar import SMALL, UPRIGHT, bar, block, kinked

GRAIN = np.array([0.8, 0.36, 0.48])


class Grain:
    """A piece of which there is but its grain, the same everywhere."""

    def grain(self, along: np.ndarray) -> np.ndarray:
        return np.broadcast_to(GRAIN, (len(along), 3))


GRAINED = cast(PieceField, Grain())


def drawn(count: int, seed: int = 3) -> Poses:
    """Poses anywhere, any way round."""
    draw = np.random.default_rng(seed)
    return Poses(draw.normal(0.0, 20.0, (count, 3)), Rotation.random(count, rng=draw).as_matrix())


def square(axes: np.ndarray) -> bool:
    """Whether axes are right-handed and square."""
    eye = np.broadcast_to(np.eye(3), axes.shape)
    return bool(np.allclose(axes @ axes.transpose(0, 2, 1), eye) and np.allclose(np.linalg.det(axes), 1.0))


def between_deg(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    return np.asarray(np.degrees(np.arccos(np.clip(np.abs(np.sum(one * other, axis=-1)), 0.0, 1.0))))


class TestTurns:
    def test_about_any_line_by_any_angle(self) -> None:
        draw = np.random.default_rng(1)
        axes, unit = drawn(30).axes, drawn(30, 5).axes[:, 0]
        angle = draw.uniform(-3.0, 3.0, 30)
        wanted = [Rotation.from_rotvec(u * a).apply(rows) for u, a, rows in zip(unit, angle, axes, strict=True)]
        assert rotated(axes, unit, angle) == pytest.approx(np.array(wanted))

    def test_by_a_little_and_square_again(self) -> None:
        """A small turn is off by less than its square."""
        axes, by = drawn(30).axes, np.random.default_rng(2).normal(0.0, 0.02, (30, 3))
        found = turned(axes, by)
        wanted = np.array([Rotation.from_rotvec(b).apply(rows) for b, rows in zip(by, axes, strict=True)])
        assert square(found)
        off = np.linalg.norm(found - wanted, axis=(1, 2))
        assert np.all(off <= 2.0 * np.sum(by**2, axis=1))

    def test_what_leaves_the_grain_by_too_much_is_turned_back_and_no_farther(self) -> None:
        """In the plane of both; to the end of the grain that is nearer, so that no block is turned end for end."""
        tries, most = drawn(60), np.radians(12.0)
        found = with_grain(GRAINED, tries, most=most)
        was, now = between_deg(tries.axes[:, 0], GRAIN), between_deg(found.axes[:, 0], GRAIN)
        assert square(found.axes)
        assert now == pytest.approx(np.minimum(was, 12.0), abs=1e-6)
        moved = between_deg(tries.axes[:, 0], found.axes[:, 0])
        assert moved == pytest.approx(np.maximum(0.0, was - 12.0), abs=1e-6)
        assert np.all(np.sum(tries.axes[:, 0] * found.axes[:, 0], axis=1) > 0.0)
        about = Rotation.from_matrix(found.axes.transpose(0, 2, 1) @ tries.axes).magnitude()
        assert np.degrees(about) == pytest.approx(moved, abs=1e-5)  # and not rolled besides
        within = tries.chosen(np.flatnonzero(was < 12.0))
        assert np.array_equal(with_grain(GRAINED, within, most=most).axes, within.axes)

    def test_tries_lie_with_the_grain(self) -> None:
        centres, turns = drawn(40).centres, np.linspace(0.0, 2.0 * np.pi, 40, endpoint=False)
        reversed_ = np.arange(40) % 3 == 0
        found = along_grain(GRAINED, centres, turns, reversed_)
        assert square(found.axes)
        assert found.axes[:, 0] == pytest.approx(np.where(reversed_[:, np.newaxis], -GRAIN, GRAIN))
        level = np.cross(np.array([0.0, 0.0, 1.0]), GRAIN)  # to the left
        level /= np.linalg.norm(level)
        cosine, sine = found.axes[:, 1] @ level, found.axes[:, 1] @ np.cross(GRAIN, level)
        assert np.column_stack([cosine, sine]) == pytest.approx(np.column_stack([np.cos(turns), np.sin(turns)]))

    def test_the_other_ways_round_in_its_place(self) -> None:
        """Four quarter turns, either end first: eight but for those that a box has alike, and itself."""
        pose = drawn(1).pose(0)
        ways = rolled(pose)
        assert square(np.array([way.axes for way in ways]))
        assert all(way.origin == pose.origin for way in ways)
        assert len({tuple(np.round(way.axes, 6).ravel()) for way in (*ways, pose)}) == 6
        for way in ways:
            told = np.abs(way.axes @ pose.axes.T)
            assert told[0] == pytest.approx([1.0, 0.0, 0.0], abs=1e-9)
        quarter = [abs(way.axes[1] @ pose.axes[2]) > 0.5 for way in ways]
        back = [way.axes[0] @ pose.axes[0] < 0.0 for way in ways]
        assert (sum(quarter), sum(back)) == (2, 2)

    def test_to_either_side_of_a_crack(self) -> None:
        pose = drawn(1).pose(0)
        away = np.array([other.at - pose.at for other in across(pose)]) @ pose.axes.T
        steps = [(0.0, -ASIDE, 0.0), (0.0, ASIDE, 0.0), (0.0, 0.0, -ASIDE), (0.0, 0.0, ASIDE)]
        assert sorted(np.round(away, 6).tolist()) == sorted(np.round(steps, 6).tolist())
        assert all(other.rotation == pose.rotation for other in across(pose))


class TestUnlike:
    def test_places_apart_or_turned(self) -> None:
        """3 mm apart or a quarter of a radian turned; the first of those that are alike, so many as are asked for."""
        quarter = Rotation.from_rotvec([0.26, 0.0, 0.0]).as_matrix().T
        little = Rotation.from_rotvec([0.24, 0.0, 0.0]).as_matrix().T
        places = [
            Pose.of([0.0, 0.0, 0.0], UPRIGHT),
            Pose.of([2.9, 0.0, 0.0], UPRIGHT),
            Pose.of([0.0, 0.0, 0.0], little),
            Pose.of([0.0, 3.1, 0.0], UPRIGHT),
            Pose.of([0.0, 0.0, 0.0], quarter),
            Pose.of([0.0, 0.0, 0.0], np.diag([-1.0, -1.0, 1.0])),  # end for end
            Pose.of([9.0, 0.0, 0.0], UPRIGHT),
        ]
        tries = poses_of(places)
        assert unlike(tries, 9) == [0, 3, 4, 6]
        assert unlike(tries, 2) == [0, 3]
        margins = np.array([1.0, 1.0, 1.0005, 1.0, 1.01, 1.0, 1.0])
        # one place is within half a millimetre, whichever way round, with the same margin to a thousandth
        assert unlike_places(tries, margins, 9) == [0, 1, 3, 4, 6]
        assert unlike_places(tries, margins, 3) == [0, 1, 3]


class TestRooms:
    def test_of_many_poses_what_is_unseen_counts_in_every_batch(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Corners of a crack, and a lattice that tells of 9 mm everywhere."""
        monkeypatch.setattr(poses, "BATCH", 4)
        region = SMALL.regions[0]
        crack = np.array([[0.0, 0.0, 0.0], [3.0, 1.0, 0.0]])
        wall = SimpleNamespace(
            side=-1.0, unseen=(crack, crack), lattice=SimpleNamespace(at=lambda points: np.full(points.shape[:2], -9.0))
        )
        field = cast(PieceField, SimpleNamespace(walls={"skin": wall}))
        draw = np.random.default_rng(4)
        tries = Poses(draw.uniform(-40.0, 40.0, (11, 3)), drawn(11).axes)
        samples = [sample(region, 2.0)]
        told = rooms(field, samples, tries)
        assert told.shape == (11, len(samples[0].points) + 2)
        assert rooms(field, samples, tries, seen_only=True) == pytest.approx(9.0)
        half = np.array(SMALL.size) / 2.0
        for row in range(11):
            local = tries.pose(row).apply_inverse(crack)
            away = np.linalg.norm(local - np.clip(local, -half, half), axis=1)
            near = away.argmin()  # those much farther out count by the face they are beyond
            if away[near] > 0.0:
                assert told[row, -2:][near] == pytest.approx(away[near])
            assert np.all(told[row, -2:] <= away + 1e-9)
            assert np.all((told[row, -2:] > 0.0) == (away > 0.0))

    def test_a_single_pose_is_held_against_every_corner_that_is_unseen(self) -> None:
        """A few stand for a hole, at its rim; its wall is within the block, 2 below the top and 3 from the faces."""
        rim, wall_of_it = np.array([[0.0, 0.0, 9.0]]), np.array([[0.0, 0.0, 9.0], [0.0, 0.0, 1.0]])

        def flat(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            return np.full(points.shape[:2], -9.0), np.zeros(points.shape)

        lattice = SimpleNamespace(with_gradient=flat)
        wall = SimpleNamespace(side=-1.0, unseen=(rim, wall_of_it), lattice=lattice)
        field = cast(PieceField, SimpleNamespace(walls={"skin": wall}))
        samples = [sample(SMALL.regions[0], 2.0)]
        here = Pose.of([0.0, 0.0, 0.0], UPRIGHT)
        assert coarse_look(field, samples)(here).room.min() == pytest.approx(-2.0)
        of_few, _, _ = pushes(field, samples, poses_of([here]))
        assert of_few.min() == pytest.approx(6.0)

    def test_each_pose_is_measured_on_its_own(self) -> None:
        """A pose far off beside a near one, whose room is to the block's corner and not to a face."""
        region = SMALL.regions[0]
        point = np.array([[10.6, 3.3, 3.8]])  # 0.6, 0.8 and 0.8 beyond an end, a side and the top
        near, far = Pose.of([0.0, 0.0, 0.0], UPRIGHT), Pose.of([30.0, 0.0, 0.0], UPRIGHT)
        told = held(point, region, poses_of([near, far]))[0]
        assert told[0, 0] == pytest.approx(np.sqrt(0.6**2 + 0.8**2 + 0.8**2))
        assert told[1, 0] == pytest.approx(np.sqrt(9.4**2 + 0.8**2 + 0.8**2))
        both = np.vstack([point, [[0.0, 5.5, 0.0]]])  # 3.0 off a side
        alone = held(both, region, poses_of([near]))[0]
        assert held(both, region, poses_of([near, far, near]))[0][[0, 2]] == pytest.approx(np.vstack([alone, alone]))
        assert alone[0] == pytest.approx([np.sqrt(1.64), 3.0])


class TestRules:
    RULES = Rules(GRAINED, np.radians(10.0), 0.8)

    def test_poses_hold_where_all_lie_with_the_grain(self) -> None:
        tries = with_grain(GRAINED, drawn(8), most=np.radians(10.0))
        inside = [tries.pose(index) for index in range(8)]
        assert self.RULES.hold(inside)
        out = drawn(1).pose(0)
        assert between_deg(out.axes[0], GRAIN) > 10.0
        assert not self.RULES.hold([*inside, out])

    @pytest.mark.parametrize("seed", range(6))
    def test_bounds_on_a_turn_are_those_of_the_cone(self, seed: int) -> None:
        """Eight planes about a cone: what keeps to them is in it, but for their corners."""
        pose = with_grain(GRAINED, drawn(1, seed), most=np.radians(8.0)).pose(0)
        rows, limits = self.RULES.grain_rows(pose)
        assert rows.shape == (8, 3)
        assert np.all(limits >= 0.0)  # to stay is lawful
        for by in np.random.default_rng(seed).normal(0.0, 0.05, (60, 3)):
            off = between_deg(turned(pose.axes[np.newaxis], by[np.newaxis])[0, 0], GRAIN)
            kept = bool(np.all(rows @ by <= limits))
            assert (
                kept if off < 10.0 * np.cos(np.pi / 8.0) - 0.5 else not kept or off < 10.0 / np.cos(np.pi / 8.0) + 0.5
            )

    def test_one_block_comes_to_its_best_in_a_bar(self) -> None:
        """From askew and aside: upright (9 - 6) / 2 above and below, more at its sides."""
        ready = Laying.of(bar(60.0, 12.0, 9.0), SMALL)
        start = Pose.of([31.0, 0.8, -0.4], Rotation.from_euler("xyz", [9.0, -4.0, 3.0], degrees=True).as_matrix().T)
        (last,), margin, worth = refined([ready.fine(SMALL)], [start], ready.rules, step=0.3, moves=30)
        assert margin == worth == pytest.approx(1.5, abs=0.02)
        assert abs(last.axes[2][2]) == pytest.approx(1.0, abs=1e-3)

    def test_two_blocks_part_until_the_saw_goes_between(self) -> None:
        """Side by side and 0.1 into one another, in a bar of 13 x 9: (13 - 10.8) / 2 at their sides."""
        ready = Laying.of(bar(30.0, 13.0, 9.0), SMALL)
        movers = [ready.fine(SMALL)] * 2
        starts = [Pose.of([15.0, -2.45, 0.1], UPRIGHT), Pose.of([15.4, 2.45, 0.0], UPRIGHT)]
        last, margin, worth = refined(movers, starts, ready.rules, step=1.0, moves=30, stretches=(0, 0))
        assert (margin, worth) == (pytest.approx(1.1, abs=0.02), pytest.approx(margin))
        assert between(last[0], np.array(SMALL.size), last[1], np.array(SMALL.size), beside=True).width >= 0.8 - 1e-6
        assert abs(last[0].origin[0] - last[1].origin[0]) <= 0.05 + 1e-6

    @pytest.mark.parametrize("side", [True, False])
    def test_bounds_on_two_blocks_are_those_of_the_cut_between_them(self, side: bool) -> None:
        """A small move of both changes the cut as the rows say, and the lead of the one as well."""
        size = np.array(SMALL.size)
        movers = [Mover(coarse_look(GRAINED, []), size)] * 2
        here = [Pose.of([0.0, 0.0, 0.0], UPRIGHT), Pose.of([0.5, 6.5, 0.2] if side else [21.5, 0.3, 0.1], UPRIGHT)]
        rules = self.RULES
        looks = [Mover(lambda pose: SimpleNamespace(room=np.ones(1)), size)] * 2  # type: ignore[arg-type,return-value]
        (pair,) = _standing(looks, here, rules, {(0, 1): side}).pairs
        assert pair.cut.width == pytest.approx(1.5)
        rows, limits = _pair_rows(pair, movers, here, 0.8, 0.3, 13)
        assert rows.shape == ((3, 13) if side else (1, 13))
        assert limits[0] == pytest.approx(1.5 - 0.8)
        if side:
            assert limits[1:] == pytest.approx([0.2 - 0.5, 0.2 + 0.5])  # 0.3 of the 0.5 may be made good in a move
        for move in np.random.default_rng(7).normal(0.0, 1e-5, (10, 2, 6)):
            then = [
                Pose.of(pose.at + by[:3], turned(pose.axes[np.newaxis], by[np.newaxis, 3:] / movers[0].reach)[0])
                for pose, by in zip(here, move, strict=True)
            ]
            cut = pair.cut
            ends = [after.apply(before.apply_inverse(point)) for before, after, point in zip(
                here, then, (cut.first, cut.second), strict=True
            )]  # fmt: skip
            width = float((ends[1] - ends[0]) @ cut.across)
            told = rows @ np.append(move.ravel(), 0.0)
            assert width == pytest.approx(1.5 - told[0], abs=1e-8)
            if side:
                ahead = then[1].origin[0] - then[0].origin[0] - 0.5
                assert told[1:] == pytest.approx([ahead, -ahead], abs=1e-9)


class TestCost:
    """What decides between equal margins, coarsely, so that a hair decides nothing."""

    def test_waste_before_saw_work_before_the_first_end(self) -> None:
        ready = Laying.of(bar(70.0, 10.0, 9.0), SMALL)

        def cost(along: float) -> tuple[float, float, float]:
            return ready.cost(SMALL, [Pose.of([along, 0.0, 0.0], UPRIGHT)])

        # from 31 on what is before it holds another, up to 39 what is behind it
        assert cost(35.0)[0] < cost(29.0)[0]
        assert cost(28.0)[0] - cost(35.0)[0] == pytest.approx(17.2 * 90.0, rel=0.1)
        assert cost(15.0)[0] < cost(16.5)[0]  # a length of 1.5 is told apart
        assert cost(34.0)[:2] == cost(34.3)[:2]
        assert cost(34.0) < cost(34.3)
        assert cost(34.0) == cost(34.02)


class TestField:
    def test_grain_between_its_places(self) -> None:
        """A kink of 6 degrees at 30, over a span of 20: the chord's angle, by hand."""
        field = Laying.of(kinked(bar(60.0, 10.0, 9.0), 30.0, 6.0), block(20.0, 5.0, 6.0)).field
        rise = np.tan(np.radians(6.0))
        for along, up in ((15.0, 0.0), (25.0, 5.0 * rise / 20.0), (30.0, rise / 2.0), (45.0, rise)):
            (told,) = field.grain(np.array([along]))
            assert told == pytest.approx(np.array([1.0, 0.0, up]) / np.hypot(1.0, up), abs=1e-3)

    def test_corners_of_a_region(self) -> None:
        region = Region("block", "skin", -3.0, 4.0, ((0.0, 0.0), (2.0, 0.0), (0.0, 1.0)), 0.0)
        told = {tuple(point) for point in corners(region).tolist()}
        assert told == {(x, y, z) for x in (-3.0, 4.0) for y, z in region.outline}
