"""Blocks laid where the best place is known, by a closed form or a fine grid derived here."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from manifold3d import Manifold, OpType
from scipy.optimize import brentq, minimize, minimize_scalar
from scipy.spatial import cKDTree

from nutgen.finding import remedy
from nutgen.geometry.mesh import mesh_of_manifold
from nutgen.stock.lay.lay import lay
from nutgen.stock.lay.laying import Laying
from nutgen.stock.lay.sets import pool_of, sets_of
from tests.cases import cases
from tests.stock.solids import Rod, block, margin_by_trimesh, piece

LENGTH, THICKNESS, HEIGHT = 45.5, 7.4, 8.8
HALF_DIAGONAL = float(np.hypot(THICKNESS, HEIGHT) / 2.0)

NEAR = 0.05
"""What an answer may miss the best margin by [mm]."""


def check(found, wanted, shape, what):
    """The margin is the best one, and is really there."""
    assert found.margin == pytest.approx(wanted, abs=NEAR)
    assert found.margin <= margin_by_trimesh(found.laid[0], what, shape) + NEAR
    assert found.fits == (found.margin >= 0.0)


@pytest.mark.parametrize("radius", cases(8.0, slow=[5.0, 6.0, 14.0]))
def test_cylinder(radius):
    """A box in a cylinder: middle on the axis, its long edges half a diagonal from it.

    The distance to a convex skin is concave inside it, so the mean of a place and its mirror image is no
    worse than either: the best place has the symmetry of the piece.
    """
    shape, what = piece(Rod.of(100.0, radius, radius)), block(LENGTH, THICKNESS, HEIGHT)
    check(lay(shape, what), min(radius - HALF_DIAGONAL, (100.0 - LENGTH) / 2.0), shape, what)


def test_cylinder_hardly_longer_than_the_block():
    """Then the ends are the tightest, and all of the rod but the block is lost."""
    shape, what = piece(Rod.of(LENGTH + 1.2, 9.0, 9.0)), block(LENGTH, THICKNESS, HEIGHT)
    found = lay(shape, what)
    check(found, 0.6, shape, what)
    lost = np.pi * 9.0**2 * (LENGTH + 1.2) - LENGTH * THICKNESS * HEIGHT
    assert found.laid[0].waste == pytest.approx(lost, rel=0.01)


@pytest.mark.parametrize(("wide", "high"), cases(slow=[(7.0, 12.0), (14.0, 10.0), (6.5, 5.2)]))
def test_elliptic_cylinder(wide, high):
    """The best turn by a fine grid; the distance of a corner to the ellipse over 300,000 of its points."""
    shape, what = piece(Rod.of(100.0, wide, high)), block(LENGTH, THICKNESS, HEIGHT)
    angle = np.linspace(0.0, 2.0 * np.pi, 300_000)
    tree = cKDTree(np.column_stack([wide * np.cos(angle), high * np.sin(angle)]))
    corners = np.array([[THICKNESS, HEIGHT], [THICKNESS, -HEIGHT]]) / 2.0
    best = -np.inf
    for turn in np.radians(np.arange(0.0, 180.0, 0.5)):
        turned = corners @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        away, _ = tree.query(turned)
        inside = (turned[:, 0] / wide) ** 2 + (turned[:, 1] / high) ** 2 < 1.0
        best = max(best, float(np.where(inside, away, -away).min()))
    check(lay(shape, what), best, shape, what)


@pytest.mark.parametrize(("outer", "inner"), cases(slow=[(18.0, 11.0), (22.0, 11.0), (20.0, 11.0), (19.0, 10.0)]))
def test_wall_of_a_tube(outer, inner):
    """One face tangent to the bore at a distance m, two corners m from the skin.

    With the face at a from the axis, t deep and w wide: a - r = m and R - sqrt((a + t)^2 + (w/2)^2) = m,
    for either face. (The smallest inner distance is to the face as long as it faces the axis.)
    """
    skin, core = Rod.of(120.0, outer, outer), Rod.of(120.0, inner, inner)
    shape, what = piece(skin, core), block(LENGTH, THICKNESS, HEIGHT, compact=True)

    def margin(deep: float, wide: float) -> float:
        gap = lambda a: (a - inner) - (outer - np.hypot(a + deep, wide / 2.0))  # noqa: E731
        return brentq(gap, 0.0, outer) - inner

    best = max(margin(THICKNESS, HEIGHT), margin(HEIGHT, THICKNESS))
    check(lay(shape, what), best, shape, what)


@pytest.mark.parametrize(("first", "last"), cases((9.0, 7.5), slow=[(12.0, 7.0), (16.0, 5.0)]))
def test_cone_frustum(first, last):
    """Level on the axis, as far toward the thick end as that end allows.

    A corner half a diagonal from the axis, where the cone's radius is r, is (r - half) cos(slope) from it.
    """
    long = 100.0
    shape, what = piece(Rod.of(long, [first, last], [first, last])), block(LENGTH, THICKNESS, HEIGHT)
    fall = (first - last) / long
    lateral = lambda start: (first - fall * (start + LENGTH) - HALF_DIAGONAL) / np.hypot(1.0, fall)  # noqa: E731
    gap = lambda start: lateral(start) - start  # noqa: E731
    best = brentq(gap, 0.0, long - LENGTH) if gap(0.0) > 0.0 else lateral(0.0)
    check(lay(shape, what), best, shape, what)


@pytest.mark.slow
@pytest.mark.parametrize("bow", [4.0, 9.0])
def test_bowed_round_rod(bow):
    """By symmetry the middle of the block lies under the crest and its length is level: turn and height by a fine grid.

    The distance to the skin is measured over 670,000 points of it.
    """
    long, radius, count = 120.0, 9.5, 241
    share = np.linspace(0.0, 1.0, count)
    up = bow * (1.0 - (2.0 * share - 1.0) ** 2)
    shape, what = piece(Rod.of(long, radius, radius, up=up, count=count)), block(LENGTH, THICKNESS, HEIGHT)
    along = np.linspace(32.0, 88.0, 561)
    angle = np.linspace(0.0, 2.0 * np.pi, 1200, endpoint=False)
    middle = bow * (1.0 - (2.0 * along / long - 1.0) ** 2)
    s, a = np.meshgrid(along, angle, indexing="ij")
    skin = np.column_stack([s.ravel(), radius * np.sin(a).ravel(), (middle[:, None] + radius * np.cos(angle)).ravel()])
    tree = cKDTree(skin, balanced_tree=False, compact_nodes=False)
    x = np.linspace(-LENGTH / 2.0, LENGTH / 2.0, 13)[6:]  # one half is enough

    def margin(turn: float, height: float) -> float:
        y = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
        rim = np.array([(p, q) for p in y for q in y if max(abs(p), abs(q)) == 1.0]) * [THICKNESS / 2, HEIGHT / 2]
        rim = rim @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        points = np.column_stack([np.repeat(x, len(rim)) + long / 2.0, np.tile(rim, (len(x), 1))])
        points[:, 2] += height
        away, _ = tree.query(points)
        centre = bow * (1.0 - (2.0 * points[:, 0] / long - 1.0) ** 2)
        inside = np.hypot(points[:, 1], points[:, 2] - centre) < radius
        return float(np.where(inside, away, -away).min())

    best = max(
        -minimize_scalar(
            lambda height, turn=turn: -margin(turn, height), bounds=(bow - 6.0, bow + 2.0), method="bounded"
        ).fun
        for turn in np.radians(np.arange(0.0, 180.0, 5.0))
    )
    check(lay(shape, what), best, shape, what)


@pytest.mark.parametrize("wane", cases(2.5, slow=[1.0, 3.5]))
def test_wane_lets_a_block_into_a_thinner_rod(wane):
    """Without its top back corner a section fits the smallest circle about the other five."""
    radius = 6.0
    shape, whole = piece(Rod.of(100.0, radius, radius)), block(LENGTH, THICKNESS, HEIGHT)
    y, z = THICKNESS / 2.0, HEIGHT / 2.0
    outline = ((-y, -z), (y, -z), (y, z - wane), (y - wane, z), (-y, z))
    what = replace(whole, wane=wane, regions=(replace(whole.regions[0], outline=outline),))
    corners = np.array(outline)
    circle = minimize(
        lambda centre: np.linalg.norm(corners - centre, axis=1).max(), [0.0, 0.0], method="Nelder-Mead", tol=1e-9
    )
    assert lay(shape, what).margin == pytest.approx(radius - circle.fun, abs=NEAR)


def test_piece_too_thin_says_what_is_short_and_what_would_fit():
    """What is told to fit instead does fit, by trimesh, and a tenth more would not."""
    radius = 5.0
    shape, what = piece(Rod.of(100.0, radius, radius)), block(LENGTH, THICKNESS, HEIGHT)
    found = lay(shape, what)
    assert not found.fits
    assert found.margin == pytest.approx(radius - HALF_DIAGONAL, abs=NEAR)
    assert {one.code for one in found.short} == {"piece.out-of-skin"}
    assert max(one.value("missing") for one in found.short) == pytest.approx(-found.margin, abs=1e-9)
    by_name = {one.name: one.size for one in found.largest}
    assert set(by_name) == {"lower", "thinner"}  # a shorter block is as thick as before
    lower = 2.0 * np.sqrt(radius**2 - (THICKNESS / 2.0) ** 2)
    thinner = 2.0 * np.sqrt(radius**2 - (HEIGHT / 2.0) ** 2)
    assert lower - 0.15 <= by_name["lower"][2] <= lower + 1e-6
    assert thinner - 0.15 <= by_name["thinner"][1] <= thinner + 1e-6
    smaller = block(*by_name["lower"])
    assert lay(shape, smaller).margin >= 0.0


def test_longest_nut_of_a_short_piece():
    shape, what = piece(Rod.of(40.0, 9.0, 9.0)), block(LENGTH, THICKNESS, HEIGHT)
    found = lay(shape, what)
    assert found.margin == pytest.approx((40.0 - LENGTH) / 2.0, abs=NEAR)
    (only,) = found.largest
    assert only.name == "shorter"
    assert 39.7 <= only.size[0] <= 40.0


@pytest.mark.slow
def test_length_stays_within_the_angle_to_the_grain():
    """A block longer than the rod is thick could lie askew in a bowed one; it may not by more than is permitted."""
    up = 14.0 * (1.0 - (2.0 * np.linspace(0.0, 1.0, 161) - 1.0) ** 2)
    for most in (0.5, 3.0, 10.0):
        shape = piece(Rod.of(120.0, 8.0, 11.0, up=up), grain_deg=most)
        found = lay(shape, block(LENGTH, THICKNESS, HEIGHT))
        assert found.laid[0].grain_deg <= most + 1e-3


@pytest.mark.slow
def test_same_answer_each_time():
    shape, what = piece(Rod.of(90.0, [10.0, 9.0], 8.5)), block(LENGTH, THICKNESS, HEIGHT)
    one, other = lay(shape, what), lay(shape, what)
    assert np.array_equal(one.laid[0].pose.at, other.laid[0].pose.at)
    assert np.array_equal(one.laid[0].pose.axes, other.laid[0].pose.axes)
    assert one.margin == other.margin


def test_equal_margins_go_to_the_end_with_least_waste():
    """In a rod long enough for two, the block lies so near an end that the rest holds another."""
    radius = 7.0
    shape, what = piece(Rod.of(103.0, radius, radius)), block(LENGTH, THICKNESS, HEIGHT)
    found = lay(shape, what)
    margin = radius - HALF_DIAGONAL
    low = found.laid[0].pose.origin[0] - LENGTH / 2.0
    rest = max(low, 103.0 - low - LENGTH)
    assert rest >= LENGTH
    assert min(low, 103.0 - low - LENGTH) >= margin - NEAR


@pytest.mark.parametrize("count", cases(slow=[2, 3]))
def test_several_behind_one_another(count):
    """In a thin rod they lie in a row; each has the margin of one alone."""
    radius = 6.6
    shape, what = piece(Rod.of(count * (LENGTH + 0.8) + 6.0, radius, radius)), block(LENGTH, THICKNESS, HEIGHT)
    found = lay(shape, what, count=count)
    assert found.margin == pytest.approx(radius - HALF_DIAGONAL, abs=NEAR)
    ends = sorted((one.pose.origin[0] - LENGTH / 2.0, one.pose.origin[0] + LENGTH / 2.0) for one in found.laid)
    assert all(later[0] - before[1] >= 0.8 - 0.05 for before, later in pairwise(ends))


@pytest.mark.slow
def test_two_beside_one_another():
    """In a rod as long as one, two lie side by side, a cut apart: as one box of twice the thickness and the cut."""
    radius = 11.0
    shape, what = piece(Rod.of(LENGTH + 3.0, radius, radius)), block(LENGTH, THICKNESS, HEIGHT)
    found = lay(shape, what, count=2)
    best = max(
        radius - np.hypot(2.0 * THICKNESS + 0.8, HEIGHT) / 2.0, radius - np.hypot(THICKNESS, 2.0 * HEIGHT + 0.8) / 2.0
    )
    assert found.margin == pytest.approx(min(best, 1.5), abs=NEAR)
    for one in found.laid:
        assert one.margin <= margin_by_trimesh(one, what, shape) + NEAR


@pytest.mark.slow
def test_four_around_the_wall_of_a_tube():
    """Each has the margin of one alone, since they lie clear of one another."""
    shape, what = (
        piece(Rod.of(100.0, 22.0, 22.0), Rod.of(100.0, 11.0, 11.0)),
        block(LENGTH, THICKNESS, HEIGHT, compact=True),
    )
    alone, four = lay(shape, what), lay(shape, what, count=4)
    assert four.margin == pytest.approx(alone.margin, abs=NEAR)
    boxes = [_corners(one.pose, what) for one in four.laid]
    for index, one in enumerate(boxes):
        for other in boxes[index + 1 :]:
            assert _parted(one, other) >= 0.8 - 0.05


@pytest.mark.slow
def test_more_than_the_piece_holds():
    shape, what = piece(Rod.of(100.0, 6.6, 6.6)), block(LENGTH, THICKNESS, HEIGHT)
    found = lay(shape, what, count=3)
    assert not found.fits
    assert [one.name for one in found.largest] == ["fewer"]
    assert found.largest[0].how == remedy("instead.fewer", fewer=2, blocks=3)


def _corners(pose, what):
    signs = np.array(np.meshgrid(*[[-0.5, 0.5]] * 3, indexing="ij")).reshape(3, -1).T
    return (signs * what.size) @ pose.axes + pose.at


def _parted(one, other):
    """The widest gap between two boxes over their six face directions: no separating plane leaves less."""
    best = -np.inf
    for box in (one, other):
        for a, b in ((0, 1), (0, 2), (0, 4)):
            axis = (box[b] - box[a]) / np.linalg.norm(box[b] - box[a])
            p, q = one @ axis, other @ axis
            best = max(best, q.min() - p.max(), p.min() - q.max())
    return best


def thick_at(begins):
    """A bar 150 long and 5.5 square, but for stretches 21.2 long."""
    thin = Manifold.cube((150.0, 5.5, 5.5)).translate((0.0, -2.75, -2.75))
    thick = [Manifold.cube((21.2, 6.2, 7.2)).translate((begin, -3.1, -3.6)) for begin in begins]
    skin = mesh_of_manifold(Manifold.batch_boolean([thin, *thick], OpType.Add).refine_to_length(3.0))
    return replace(piece(Rod.of(150.0, 1.0, 1.0, count=2), kerf=0.8), skin=skin)


@pytest.mark.parametrize("begins", cases([2.0, 40.0], slow=[[3.0, 30.0, 110.0]]))
def test_each_lies_where_the_bar_is_thick_enough(begins: list[float]) -> None:
    """Too thin by 0.25 a side, but for stretches that may be anywhere: 0.6 to spare in each."""
    found = lay(thick_at(begins), block(20.0, 5.0, 6.0), count=len(begins), smaller=False)
    assert found.margin == pytest.approx(0.6, abs=0.02)
    assert [one.pose.origin[0] for one in found.laid] == pytest.approx([at + 10.6 for at in begins], abs=0.1)


def test_no_two_sets_are_the_same_places_in_the_same_row() -> None:
    """Not even where their stretches were counted in another order: they would be refined twice."""
    small = block(20.0, 5.0, 6.0)
    laying = Laying.of(thick_at([3.0, 30.0, 110.0]), small)
    sets = sets_of(laying, pool_of(laying, small, 3), small, 3)
    assert len({tuple(sorted((one.place, one.along) for one in chosen)) for chosen in sets}) == len(sets)
