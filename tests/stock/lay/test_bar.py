"""Blocks laid in bars with square corners, where the best place and what is left of it are plain arithmetic."""

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from nutgen.finding import remedy
from nutgen.geometry.mesh import Mesh
from nutgen.geometry.pose import Pose
from nutgen.stock import MOST_BLOCKS
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import Laid
from nutgen.stock.lay import exact, laying, search, sets, several
from nutgen.stock.lay.apart import between
from nutgen.stock.lay.fewer import lower, shorter, thinner
from nutgen.stock.lay.field import PieceField
from nutgen.stock.lay.lay import _slid, lay
from nutgen.stock.lay.laying import Effort, Laying
from nutgen.stock.lay.poses import poses_of
from nutgen.stock.lay.saw import saw_area, stretch, waste
from nutgen.stock.lay.sets import _widths, in_stretch, pool_of, sets_of
from nutgen.stock.lay.several import lay_several
from nutgen.stock.piece import Axis, Piece
from tests.stock.solids import Rod, block, piece

KERF = 0.8
CELL = 4.0
SMALL = block(20.0, 5.0, 6.0)
UPRIGHT = np.eye(3)
ON_ITS_BACK = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
"""Height sideways, thickness up."""


@pytest.fixture(autouse=True)
def _few_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    """A bar has few places that differ, and corners that all steps between points meet."""
    for where, name, value in (
        (search, "TRIES", 2000),
        (search, "KEPT", 600),
        (search, "PER_STATION", 4),
        (laying, "COARSE", 2.0),
        (laying, "FINE", 1.5),
        (several, "THOROUGH", Effort(28, 4, 2)),
        (exact, "LATTICE", 1.0),
        (sets, "SETS", 40),
        (sets, "ROOMIEST", 20),
        (sets, "PER_BUNDLE", 20),
        (sets, "WIDEST_BUNDLE", 2),
    ):
        monkeypatch.setattr(where, name, value)


def bar(length: float, wide: float, high: float, core: Mesh | None = None, skin: Mesh | None = None) -> Piece:
    """From 0 to its length along the piece, its middle on the axis."""
    rod = piece(Rod.of(length, 1.0, 1.0, count=2), kerf=KERF)
    return replace(rod, skin=skin or box((0.0, length), wide, high), core=core)


def round_rod(length: float) -> tuple[Piece, float]:
    """Of radius 6, and the area of its section [mm2]."""
    around = 40
    one = Rod.of(length, 6.0, 6.0, count=41)
    return replace(piece(one), skin=one.surface(around=around)), around / 2.0 * 36.0 * np.sin(2.0 * np.pi / around)


def box(along: tuple[float, float], wide: float, high: float) -> Mesh:
    one = trimesh.creation.box(bounds=[[along[0], -wide / 2, -high / 2], [along[1], wide / 2, high / 2]])
    return cells(one)


def cells(solid: trimesh.Trimesh) -> Mesh:
    """In triangles as small as those of a scan."""
    vertices, faces = trimesh.remesh.subdivide_to_size(solid.vertices, solid.faces, max_edge=CELL)
    one = trimesh.Trimesh(vertices, faces)  # vertices in one place joined
    assert one.is_watertight
    return Mesh(np.array(one.vertices), np.array(one.faces))


def kinked(one: Piece, at: float, slope_deg: float) -> Piece:
    """The same piece whose grain rises from a place on."""
    rise = np.tan(np.radians(slope_deg)) * (one.length - at)
    return replace(one, axis=Axis(np.array([0.0, at, one.length]), np.zeros(3), np.array([0.0, 0.0, rise])))


def corners_of(what: Block, pose: Pose) -> np.ndarray:
    signs = np.array(np.meshgrid(*[[-0.5, 0.5]] * 3)).reshape(3, -1).T
    return (signs * what.size) @ pose.axes + pose.at


def within(points: np.ndarray, sizes: tuple[float, float, float]) -> float:
    """The least distance of points to the faces of a bar."""
    low, high = np.array([0.0, -sizes[1] / 2, -sizes[2] / 2]), np.array([sizes[0], sizes[1] / 2, sizes[2] / 2])
    return float(np.minimum(points - low, high - points).min())


def parted(what: Block, laid: tuple[Laid, ...]) -> float:
    """The least gap between any two of these blocks along one of the six directions of their faces."""
    gaps = []
    for one, other in combinations(laid, 2):
        pair = corners_of(what, one.pose), corners_of(what, other.pose)
        shadows = [[corners @ axis for corners in pair] for axis in (*one.pose.axes, *other.pose.axes)]
        gaps.append(max(max(b.min() - a.max(), a.min() - b.max()) for a, b in shadows))
    return min(gaps)


class TestOne:
    """A block of 20 x 5 x 6."""

    @pytest.mark.parametrize(
        ("length", "wide", "high", "margin"),
        [
            (50.0, 10.0, 9.0, 2.0),  # on its back: (10 - 6) / 2 and (9 - 5) / 2; upright (9 - 6) / 2 = 1.5
            (50.0, 8.0, 9.0, 1.5),  # upright
            (21.0, 10.0, 9.0, 0.5),  # its ends
            (50.0, 10.0, 4.7, -0.15),  # half of what it is too thick
            (19.4, 10.0, 9.0, -0.3),
        ],
    )
    def test_it_has_half_of_what_the_bar_has_more(self, length: float, wide: float, high: float, margin: float) -> None:
        found = lay(bar(length, wide, high), SMALL, smaller=False)
        (laid,) = found.laid
        assert found.margin == laid.margin == laid.skin_margin == pytest.approx(margin, abs=0.006)
        assert found.fits == (margin > 0.0)
        assert found.missing == pytest.approx(max(0.0, -margin), abs=0.006)
        assert laid.core_margin is None
        for points in (corners_of(SMALL, laid.pose), laid.tightest_at):
            assert within(points, (length, wide, high)) == pytest.approx(margin, abs=0.006)

    def test_places_along_the_bar_are_told_with_their_margins(self) -> None:
        """Between the ends 1.0 by thickness and height; nearer to an end than that its distance."""
        found = lay(bar(60.0, 7.0, 8.0), SMALL)
        along, margins = found.profile.T
        assert list(along) == sorted(along)
        assert along[0] < 20.0
        assert along[-1] > 40.0
        ends = np.minimum(along - 10.0, 50.0 - along)
        assert np.all(margins <= np.minimum(1.0, ends) + 0.02)
        assert margins.max() == pytest.approx(1.0, abs=0.01)
        assert found.laid[0].pose.origin[0] in along

    def test_little_to_spare_is_told_and_much_is_not(self) -> None:
        for high, codes in ((6.6, ["piece.little-to-spare"]), (7.2, [])):
            assert [one.code for one in lay(bar(50.0, 9.0, high), block(20.0, 7.0, 6.0)).notes] == codes

    def test_grain_that_rises_where_the_block_can_only_lie_is_told(self) -> None:
        """All of the bar has grain of 6 degrees; the block may leave it by 10, and cannot tilt."""
        whole = bar(21.0, 5.6, 6.6)
        slope = np.tan(np.radians(6.0)) * 21.0
        found = lay(replace(whole, axis=Axis(np.array([0.0, 21.0]), np.zeros(2), np.array([0.0, slope]))), SMALL)
        assert found.laid[0].grain_deg == pytest.approx(6.0, abs=1.0)
        (told,) = (one for one in found.notes if one.code == "piece.off-grain")
        assert told.value("off_deg") == pytest.approx(found.laid[0].grain_deg)

    def test_none_is_refused(self) -> None:
        with pytest.raises(ValueError, match="at least"):
            lay(bar(50.0, 10.0, 9.0), SMALL, count=0)


class TestSlid:
    """Along a bar of 100, with 2.0 about it."""

    HERE = Pose.of([50.0, 0.0, 0.0], ON_ITS_BACK)

    @pytest.mark.parametrize(("side", "far"), [(-1.0, 12.0), (1.0, 88.0)])
    def test_until_the_end_is_as_near_as_the_sides(self, side: float, far: float) -> None:
        ready = Laying.of(bar(100.0, 10.0, 9.0), SMALL)
        slid = _slid(ready, SMALL, self.HERE, 2.0, side)
        assert slid is not None
        assert 0.0 <= side * (far - slid.origin[0]) + 0.011 <= 0.52
        assert slid.origin[1:] == pytest.approx((0.0, 0.0))
        assert slid.rotation == self.HERE.rotation

    def test_not_at_all_where_less_than_two_are_left(self) -> None:
        ready = Laying.of(bar(100.0, 10.0, 9.0), SMALL)
        near = Pose.of([13.9, 0.0, 0.0], ON_ITS_BACK)
        assert _slid(ready, SMALL, near, 2.0, -1.0) is None
        assert _slid(ready, SMALL, near, 2.0, 1.0) is not None

    def test_a_little_more_than_two_is_gone(self) -> None:
        ready = Laying.of(bar(100.0, 10.0, 9.0), SMALL)
        slid = _slid(ready, SMALL, Pose.of([14.4, 0.0, 0.0], ON_ITS_BACK), 2.0, -1.0)
        assert slid is not None
        assert 11.98 <= slid.origin[0] <= 12.41

    def test_no_farther_than_the_grain_permits(self) -> None:
        """The grain rises by 10 degrees from 60 on; its chord over 20 by 3 where (x - 50) tan 10 = 20 tan 3."""
        one = kinked(bar(100.0, 12.0, 30.0), 60.0, 10.0)
        ready = Laying.of(replace(one, permitted=one.permitted.model_copy(update={"grain_deg": 3.0})), SMALL)
        slid = _slid(ready, SMALL, Pose.of([30.0, 0.0, 0.0], UPRIGHT), 3.5, 1.0)
        assert slid is not None
        far = 50.0 + 20.0 * np.tan(np.radians(3.0)) / np.tan(np.radians(10.0))
        assert far - 0.6 <= slid.origin[0] <= far + 0.05

    def test_along_the_grain_and_not_along_the_bar(self) -> None:
        """Grain at 5 degrees all along: what is gained along is lost upward."""
        whole = bar(100.0, 12.0, 30.0)
        rise = 100.0 * np.tan(np.radians(5.0))
        ready = Laying.of(replace(whole, axis=Axis(np.array([0.0, 100.0]), np.zeros(2), np.array([0.0, rise]))), SMALL)
        slid = _slid(ready, SMALL, Pose.of([40.0, 0.0, 0.0], UPRIGHT), 3.5, 1.0)
        assert slid is not None
        away = np.array(slid.origin) - [40.0, 0.0, 0.0]
        assert away[0] > 20.0
        assert away[2] / away[0] == pytest.approx(np.tan(np.radians(5.0)))


class TestInstead:
    """What fits a bar that the block does not."""

    def test_lower_or_thinner_by_the_tenths_that_are_short(self) -> None:
        """0.27 too high, and 0.25 too thick: what is left needs 0.02 more than that. Shorter is no help."""
        for wide, high, short, name, size in (
            (10.0, 7.0, 0.135, "lower", (20.0, 9.55, 6.97)),
            (9.3, 7.7, 0.125, "thinner", (20.0, 9.25, 7.27)),
        ):
            found = lay(bar(50.0, wide, high), block(20.0, 9.55, 7.27))
            assert found.margin == pytest.approx(-short, abs=0.006)
            (told,) = found.largest
            more = round(10.0 * (sum(size) - sum(told.size)), 6)
            assert more in (0.0, 1.0)  # tenths: the lattice is blurred by sharp edges
            wanted = np.subtract(size, [0.0, *((more / 10.0, 0.0) if name == "thinner" else (0.0, more / 10.0))])
            assert (told.name, told.size) == (name, pytest.approx(wanted))
            assert told.how.value("by") == pytest.approx(0.3 + more / 10.0)
            assert told.how.value("left") == pytest.approx(wanted[1 if name == "thinner" else 2])

    def test_no_smaller_than_a_nut_can_be(self) -> None:
        """4.9 too long for a bar of 24 would leave 24 of finished length; 2.3 too long for one of 20 would not."""
        for long, what in ((24.0, ["shorter"]), (19.5, [])):
            assert [one.name for one in lay(bar(long, 10.0, 9.0), block(28.0, 5.0, 6.0)).largest] == what

    def test_core_where_none_may_be(self) -> None:
        """Beside a core of 2 there are 9 for a block of 9.5; over it there is 0.5 to spare above and below."""
        one = bar(30.0, 20.0, 9.0, core=box((-1.0, 31.0), 2.0, 2.0))
        compact, free = block(20.0, 9.5, 8.0, compact=True), block(20.0, 9.5, 8.0)
        found = lay(one, compact, instead={remedy("permit.core", parts=("underside",)): free})
        assert found.margin == pytest.approx(-0.25, abs=0.01)
        (told,) = (largest for largest in found.largest if largest.name == "permitting more")
        assert told.how.code == "instead.permitting-more"
        assert told.size == free.size
        assert told.how.value("margin") == pytest.approx(0.5, abs=0.01)

    @pytest.mark.parametrize(("wane", "margin"), [(2.0, 0.1), (0.5, None)])
    def test_a_wane_where_an_edge_of_the_bar_is_off(self, wane: float, margin: float | None) -> None:
        """A bar of 5.2 x 6.2 without an edge of 2 by 2; a block of 5 x 6 fits it where its own edge may be missing."""
        outline = np.array([[-2.6, -3.1], [2.6, -3.1], [2.6, 1.1], [0.6, 3.1], [-2.6, 3.1]])
        hull = trimesh.convex.convex_hull(np.vstack([np.insert(outline, 0, x, axis=1) for x in (0.0, 40.0)]))
        one = bar(40.0, 5.2, 6.2, skin=cells(hull))
        corner = ((-2.5, -3.0), (2.5, -3.0), (2.5, 3.0 - wane), (2.5 - wane, 3.0), (-2.5, 3.0))
        waned = replace(SMALL, regions=(Region("block", "skin", -10.0, 10.0, corner, 0.0),), wane=wane)
        found = lay(one, SMALL, instead={remedy("permit.wane", most=wane): waned})
        assert found.margin < -0.3
        told = [largest.how.value("margin") for largest in found.largest if largest.name == "permitting more"]
        assert told == ([] if margin is None else [pytest.approx(margin, abs=0.01)])

    def test_what_cannot_matter_in_this_piece_is_not_tried(self) -> None:
        """There is no core, so that it may hold some changes nothing."""
        compact, free = block(20.0, 9.5, 8.0, compact=True), block(20.0, 9.5, 8.0)
        found = lay(bar(60.0, 9.0, 10.0), compact, instead={remedy("permit.core", parts=("underside",)): free})
        assert "permitting more" not in {one.name for one in found.largest}

    @given(st.floats(0.1, 2.0))
    def test_the_nut_is_made_smaller_from_below_from_behind_and_at_both_ends(self, by: float) -> None:
        """Seen from the face that stays, what is to stay stays, and what is drawn in is drawn in by all of it."""
        floors = ((-2.0, 1.0), (1.0, 1.0), (1.0, 2.0), (-2.0, 2.0))
        nut = ((-2.0, -2.5), (2.0, -2.5), (2.0, 2.0), (-2.0, 2.0))
        cores = (
            Region("front edge and slot floors", "core", -9.0, 9.0, floors, 0.5),
            Region("nut", "core", -9.0, 9.0, nut, 0.0),
        )
        sanded = {"end": 1.0, "front": 0.5, "back": 0.5, "underside": 0.5, "top": 1.0}
        what = replace(SMALL, regions=(*SMALL.regions, *cores), to_sand=sanded, finished=(18.0, 4.0, 4.5))  # type: ignore[arg-type]
        below, behind, ends = lower(what, by), thinner(what, by), shorter(what, by)
        assert below.size == pytest.approx((20.0, 5.0, 6.0 - by))
        assert behind.size == pytest.approx((20.0, 5.0 - by, 6.0))
        assert ends.size == pytest.approx((20.0 - by, 5.0, 6.0))
        for smaller, axis in ((ends, 0), (behind, 1), (below, 2)):
            for before, after in ((what.finished, smaller.finished), (what.squared, smaller.squared)):
                assert np.subtract(before, after) == pytest.approx(by * np.eye(3)[axis])
        for was, now in zip(what.regions, below.regions, strict=True):
            drawn_in = 0.0 if was.part == "front edge and slot floors" else by
            y, z = np.array(was.outline).T
            wanted = np.column_stack([y, np.where(z == z.min(), z + drawn_in, z) - what.height / 2])
            assert np.array(now.outline) - [0.0, below.height / 2] == pytest.approx(wanted)
        for was, now in zip(what.regions, behind.regions, strict=True):
            from_front = np.add(was.outline, [what.thickness / 2, 0.0])
            most = behind.thickness - (0.0 if was.against == "skin" else 0.5)
            wanted = np.minimum(from_front, [most, np.inf])
            assert np.add(now.outline, [behind.thickness / 2, 0.0]) == pytest.approx(wanted)
        for was, now in zip(what.regions, ends.regions, strict=True):
            assert (now.low - was.low, was.high - now.high) == pytest.approx((by / 2, by / 2))
            assert now.outline == was.outline


class TestSeveral:
    """Cuts of 0.8 between them."""

    @pytest.mark.parametrize(
        ("sizes", "count", "margin"),
        [
            ((41.2, 6.2, 7.2), 2, 0.2),  # in a row: 41.2 - 40 - 0.8 = 0.4
            ((21.6, 12.0, 7.2), 2, 0.6),  # beside one another: 12 - 10 - 0.8 = 1.2
            ((21.6, 11.8, 13.8), 4, 0.5),  # two by two: 11.8 - 10.8, 13.8 - 12.8
        ],
    )
    def test_each_has_the_room_that_the_cuts_leave(
        self, sizes: tuple[float, float, float], count: int, margin: float
    ) -> None:
        found = lay(bar(*sizes), SMALL, count=count, smaller=False)
        assert found.margin == pytest.approx(margin, abs=0.02)
        assert found.fits
        assert len(found.laid) == count
        assert parted(SMALL, found.laid) >= KERF - 0.01
        middles = [one.pose.origin[0] for one in found.laid]
        assert middles == sorted(middles)
        for one in found.laid:
            corners = corners_of(SMALL, one.pose)
            assert within(corners, sizes) == pytest.approx(margin, abs=0.02)

    @pytest.mark.parametrize(("length", "short"), [(40.0, 0.4), (38.0, 1.4)])
    def test_a_row_too_long_is_short_by_half_of_what_the_bar_lacks(self, length: float, short: float) -> None:
        """Two of 20 and a cut of 0.8; beside one another they would be short by more."""
        found = lay(bar(length, 6.2, 7.2), SMALL, count=2, smaller=False)
        assert not found.fits
        assert found.missing == pytest.approx(short, abs=0.02)
        assert parted(SMALL, found.laid) >= KERF - 0.01

    def test_they_lie_close_behind_one_another_where_the_rest_yields_another(self) -> None:
        """0.6 from the first end, cuts of 0.8: 28 of 70 are left in one piece."""
        found = lay(bar(70.0, 6.2, 7.2), SMALL, count=2)
        first, second = (corners_of(SMALL, one.pose)[:, 0] for one in found.laid)
        assert found.margin == pytest.approx(0.6, abs=0.011)
        assert 0.58 <= first.min() <= 0.85
        assert KERF - 0.01 <= second.min() - first.max() <= KERF + 0.25
        used = second.max() + KERF
        assert sum(one.waste for one in found.laid) == pytest.approx(used * 6.2 * 7.2 - 2 * 600.0, rel=0.1)

    def test_fewer_are_as_many_as_fit(self) -> None:
        found = lay(bar(43.0, 6.2, 7.2), SMALL, count=3)
        assert not found.fits
        assert [one.how for one in found.largest] == [remedy("instead.fewer", fewer=2, blocks=3)]

    def test_none_fits(self) -> None:
        assert lay(bar(25.0, 4.0, 7.2), SMALL, count=2).largest == ()

    def test_more_than_can_be_told_apart_are_refused(self) -> None:
        ready = Laying.of(bar(50.0, 10.0, 9.0), SMALL)
        with pytest.raises(ValueError, match="two goes"):
            lay_several(ready, SMALL, MOST_BLOCKS + 1)


class TestSaw:
    """What a saw uses up and cuts."""

    @pytest.mark.parametrize("seed", range(4))
    def test_a_stretch_holds_the_corners_and_two_cuts(self, seed: int) -> None:
        draw = np.random.default_rng(seed)
        axes = trimesh.transformations.random_rotation_matrix(draw.random(3))[:3, :3]
        pose = Pose.of(draw.uniform(0.0, 50.0, 3), axes)
        along = corners_of(SMALL, pose)[:, 0]
        assert stretch(SMALL, pose, kerf=0.7) == pytest.approx((along.min() - 0.7, along.max() + 0.7))

    @pytest.mark.parametrize(
        ("middles", "lost"),
        [
            ((31.0,), 21.6),  # 20.2 to 41.8 is used up; what is before and behind it holds another
            ((30.5,), 21.6 + 19.7),  # 19.7 before it do not
            ((31.0, 52.0), 42.6),  # the cut between them is one
            ((52.0, 31.0), 42.6),
            ((31.0, 70.0), 43.2 + 17.4 + 18.2),  # 41.8 to 59.2 between them, 80.8 to 99 behind them
        ],
    )
    def test_what_is_too_short_for_another_is_lost(self, middles: tuple[float, ...], lost: float) -> None:
        """Of a rod of 99; blocks of 20, whose cuts take 0.8 at either end."""
        rod, area = round_rod(99.0)
        poses = [Pose.of([middle, 0.0, 0.0], UPRIGHT) for middle in middles]
        told = waste(PieceField(rod, span=20.0), SMALL, poses, kerf=KERF)
        assert told == pytest.approx(lost * area - len(middles) * 600.0, rel=0.02)

    def test_cuts_across_and_along(self) -> None:
        """Across a rod twice; then two sides through all of it, then two as wide as the block, or so turned."""
        rod, area = round_rod(60.0)
        field = PieceField(rod, span=20.0)
        wide, high = (40.0 * 2.0 * np.sqrt(6.0**2 - off**2) for off in (2.5, 3.0))
        along = min(wide + 2 * 20 * 5.0, high + 2 * 20 * 6.0)
        for axes in (UPRIGHT, ON_ITS_BACK):
            told = saw_area(field, SMALL, Pose.of([30.0, 0.0, 0.0], axes))
            assert told == pytest.approx(2.0 * area + along, rel=0.02)
        # half out of it, one cut across meets nothing and those along it half as much
        told = saw_area(field, SMALL, Pose.of([0.0, 0.0, 0.0], UPRIGHT))
        assert told == pytest.approx(area + min(wide / 2 + 200.0, high / 2 + 240.0), rel=0.03)


def test_a_piece_is_searched_once_for_each_block(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three, then two, then one of a bar that holds none: bundles of one and of two are the same each time."""
    seen = []

    def counted(field: PieceField, block: Block, *, most_off_grain: float) -> search.Found:
        seen.append((block.size, block.regions))
        return search.search(field, block, most_off_grain=most_off_grain)

    monkeypatch.setattr(laying, "search", counted)
    assert not lay(bar(64.0, 4.0, 4.0), SMALL, count=3).largest
    assert len(set(seen)) == len(seen) > 1


class TestSets:
    """How sets of places are put together."""

    def test_widths_are_those_of_the_cut_between_any_two(self) -> None:
        draw = np.random.default_rng(1)
        poses, sizes = [], draw.uniform(4.0, 9.0, (5, 3))
        for _ in sizes:
            turn, tilt = draw.uniform(0.0, 6.0), draw.uniform(-0.1, 0.1)
            about = trimesh.transformations.euler_matrix(turn, tilt, 0.0)[:3, :3]
            poses.append(Pose.of([30.0, *draw.normal(0.0, 8.0, 2)], about.T))
        told = _widths(poses_of(poses), sizes)
        for (i, one), (j, other) in combinations(enumerate(poses), 2):
            width = between(one, sizes[i], other, sizes[j], beside=True).width
            assert told[i, j] == told[j, i] == pytest.approx(width)

    def test_each_set_holds_the_count_in_stretches_that_lie_clear_of_one_another(self) -> None:
        """Three of 20 in a rod of 64 that rises: no two sets alike, the most promising first, each in its stretch."""
        one = kinked(bar(64.0, 12.0, 13.0), 0.0, 4.0)
        ready = Laying.of(one, SMALL)
        pool = pool_of(ready, SMALL, 3)
        found = sets_of(ready, pool, SMALL, 3)
        assert (
            len({tuple(sorted((choice.place, choice.stretch) for choice in chosen)) for chosen in found})
            == len(found)
            > 3
        )
        assert {len({choice.stretch for choice in chosen}) for chosen in found} >= {1, 2, 3}
        for chosen in found:
            assert sum(len(pool.bundle(choice).offsets) for choice in chosen) == 3
            middles = sorted({choice.along for choice in chosen})
            assert all(b - a >= 20.0 + KERF - 1e-9 for a, b in pairwise(middles))
            assert middles[0] >= 10.0 - 1e-9
            assert middles[-1] <= 54.0 + 1e-9
            for choice in chosen:
                was, start = pool.tries.pose(choice.place), in_stretch(ready, pool, choice)
                away = np.array(start.origin) - was.origin
                assert start.origin[0] == pytest.approx(choice.along)
                assert start.rotation == was.rotation
                assert away[1:] == pytest.approx([0.0, away[0] * np.tan(np.radians(4.0))], abs=1e-9)
