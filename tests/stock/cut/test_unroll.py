"""Strips against the developments that textbooks give in closed form."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from nutgen.errors import CannotBeMade
from nutgen.geometry.slices import outline, plane_facing
from nutgen.stock.cut.strip_parts import clipped, parts
from nutgen.stock.cut.turns import QUARTERS, at_turn, lengthwise, turns
from nutgen.stock.cut.unroll import strip, strips
from nutgen.stock.piece import Axis
from tests.stock.pieces_by_hand import cylinder, frustum, none, piece, shin, swept

UP = np.array([0.0, 0.0, 1.0])


def closed(loop):
    return np.vstack([loop, loop[:1]])


class TestCylinder:
    radius = 12.0
    rod = piece(cylinder(radius, 100.0, around=1440), 100.0)

    def test_is_a_rectangle_as_wide_as_the_girth(self):
        flat = strip(self.rod, 20.0, 70.0)
        (part,) = parts(flat, 180.0)
        assert part.size == pytest.approx((2.0 * np.pi * self.radius, 50.0), abs=0.001)
        assert flat.girths == pytest.approx((2.0 * np.pi * self.radius,) * 2, abs=0.001)
        assert flat.misfit < 0.001
        assert flat.stand_off < 0.001

    def test_an_oblique_cut_is_a_sine(self):
        """y = a cos(x / r): the development of a cut cylinder, any textbook of descriptive geometry."""
        tilt = 0.3
        plane = plane_facing(np.array([45.0, 0.0, 0.0]), np.array([1.0, 0.0, tilt]), up=UP)
        (part,) = parts(strip(self.rod, 20.0, 70.0), 180.0)
        lines = part.lines([closed(outline(self.rod.skin, plane))])
        points = np.vstack(lines)
        x = points[:, 0] - np.pi * self.radius  # from the back line, which lies in the middle
        along = 20.0 + (50.0 - points[:, 1])  # the upper edge of the paper is the near one
        assert along == pytest.approx(45.0 - tilt * self.radius * np.cos(x / self.radius), abs=0.002)
        assert points[:, 0].min() == pytest.approx(0.0, abs=0.01)
        assert points[:, 0].max() == pytest.approx(2.0 * np.pi * self.radius, abs=0.01)

    def test_left_lies_to_the_right_of_the_back_on_the_printed_side(self):
        """Wrapped around with the first end up, the left side follows the back clockwise: to the right."""
        (part,) = parts(strip(self.rod, 20.0, 70.0), 180.0)
        places = {}
        for turn in QUARTERS[:2]:
            s, c = np.sin(np.radians(turn)), np.cos(np.radians(turn))
            line = np.array([[a, self.radius * s, self.radius * c] for a in (25.0, 65.0)])
            (laid,) = part.lines([line])
            places[turn] = laid
        assert places[90.0][0, 0] - places[0.0][0, 0] == pytest.approx(np.pi / 2.0 * self.radius, abs=0.01)
        assert places[0.0][0, 1] > places[0.0][1, 1]

    def test_a_helix_is_straight(self):
        """Geodesics of a developable surface are straight once it is laid flat (Gauss)."""
        turn = np.linspace(np.radians(-150.0), np.radians(150.0), 400)
        helix = np.stack([25.0 + turn * 5.0 + 14.0, self.radius * np.sin(turn), self.radius * np.cos(turn)], axis=1)
        (part,) = parts(strip(self.rod, 20.0, 70.0), 180.0)
        (laid,) = part.lines([helix])
        straight = np.polyfit(laid[:, 0], laid[:, 1], 1)
        assert laid[:, 1] == pytest.approx(np.polyval(straight, laid[:, 0]), abs=0.01)

    def test_parts_hold_the_whole_ring(self):
        plane = plane_facing(np.array([45.0, 0.0, 0.0]), np.array([1.0, 0.1, 0.3]), up=UP)
        ring = closed(outline(self.rod.skin, plane))
        flat = strip(self.rod, 20.0, 70.0)
        lengths = []
        for widest in (180.0, 60.0, 20.0):
            found = parts(flat, widest)
            assert all(part.size[0] <= widest for part in found)
            lines = [line for part in found for line in part.lines([ring])]
            lengths.append(sum(float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line in lines))
        on_skin = float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum())
        assert lengths == pytest.approx([on_skin] * 3, abs=0.02)

    def test_a_ring_that_begins_half_way_is_one_line(self):
        """In one part it runs from seam to seam: no gap wider than a step."""
        plane = plane_facing(np.array([45.0, 0.0, 0.0]), np.array([1.0, 0.1, 0.3]), up=UP)
        loop = outline(self.rod.skin, plane)
        (part,) = parts(strip(self.rod, 20.0, 70.0), 180.0)
        for begins in (0, 300, 900):
            (line,) = part.lines([closed(np.roll(loop, begins, axis=0))])
            assert np.linalg.norm(np.diff(line, axis=0), axis=1).max() <= 1.0 + 1e-6
            assert np.linalg.norm(np.diff(line, axis=0), axis=1).max() < 0.2
            assert np.ptp(line[:, 0]) == pytest.approx(2.0 * np.pi * self.radius, abs=0.01)

    def test_a_line_that_leaves_a_part_and_comes_back_is_there_each_time(self):
        """To and fro over the part's edge at a quarter of the girth, by shapely; it begins and ends within the part."""
        found = parts(strip(self.rod, 20.0, 70.0), 20.0)
        quarter = 2.0 * np.pi * self.radius / 4.0
        assert [part.size[0] for part in found] == pytest.approx([quarter] * 4, abs=0.06)
        path = np.array([[0.5, 30.0], [1.2, 35.0], [0.7, 40.0], [1.2, 45.0], [0.7, 50.0], [1.2, 55.0], [0.5, 30.0]])
        path = np.vstack([a + (b - a) * np.linspace(0.0, 1.0, 50)[:, None] for a, b in pairwise(path)])
        turn = np.pi + path[:, 0] * quarter / self.radius  # on from the belly, where the paper begins
        on_skin = np.stack([path[:, 1], self.radius * np.sin(turn), self.radius * np.cos(turn)], axis=1)
        laid = found[0].lines([on_skin])
        inside = shapely.LineString(path * (quarter, 1.0)).intersection(shapely.box(0.0, 0.0, quarter, 100.0))
        assert len(laid) == 4 - 1  # the last runs on into the first
        assert sum(shapely.LineString(line).length for line in laid) == pytest.approx(inside.length, abs=0.2)


class TestFrustum:
    @pytest.mark.parametrize(("start", "end"), [(20.0, 12.0), (12.0, 20.0)])
    def test_is_a_sector(self, start, end):
        """Radii along the slant, angle 2 pi sin of the half angle: any textbook of sheet-metal drawing."""
        length, near, far = 100.0, 10.0, 60.0
        flat = strip(piece(frustum(start, end, length, around=1440), length), near, far)
        slope = (end - start) / length
        sine = abs(slope) / np.hypot(1.0, slope)
        radii = [(start + slope * at) / sine for at in (near, far)]
        angle = 2.0 * np.pi * sine
        for edge, radius in zip(flat.on_paper, radii, strict=True):
            assert np.linalg.norm(edge[-1] - edge[0]) == pytest.approx(2.0 * radius * np.sin(angle / 2.0), abs=0.002)
        slant = np.linalg.norm(flat.on_paper[0] - flat.on_paper[1], axis=1)
        assert slant == pytest.approx((far - near) * np.hypot(1.0, slope), abs=0.002)
        middle = len(slant) // 2
        sagitta = flat.on_paper[0, middle, 1] - flat.on_paper[0, [0, -1], 1].mean()
        assert abs(sagitta) == pytest.approx(radii[0] * (1.0 - np.cos(angle / 2.0)), abs=0.01)
        assert (sagitta < 0.0) == (end > start)  # the apex of the cone lies above the paper where it widens downward
        assert flat.misfit < 0.001


@settings(max_examples=25)
@given(
    sizes=st.tuples(*[st.floats(6.0, 25.0)] * 4),
    bow=st.tuples(*[st.floats(-4.0, 4.0)] * 2),
    near=st.floats(5.0, 30.0),
    length=st.floats(30.0, 60.0),
)
def test_keeps_every_length(sizes, bow, near, length):
    """Rulings, and the way from one to the next along both edges, are as long on paper as on the hull."""
    wide, high, end_wide, end_high = sizes
    stations = np.linspace(0.0, 100.0, 15)

    def between(a, b):
        return lambda at: a + (b - a) * at / 100.0

    def curve(rise):
        return lambda at: rise * np.sin(np.pi * at / 100.0)

    skin = swept(
        stations,
        wide=between(wide, end_wide),
        high=between(high, end_high),
        sideways=curve(bow[0]),
        up=curve(bow[1]),
        around=90,
    )
    axis = Axis(
        stations, np.array([curve(bow[0])(a) for a in stations]), np.array([curve(bow[1])(a) for a in stations])
    )
    flat = strip(piece(skin, 100.0, axis=axis), near, near + length)
    for paper, edge in zip(flat.on_paper, flat.on_piece, strict=True):
        assert np.linalg.norm(np.diff(paper, axis=0), axis=1) == pytest.approx(
            np.linalg.norm(np.diff(edge, axis=0), axis=1), abs=1e-7
        )
    rulings = [np.linalg.norm(ends[0] - ends[1], axis=1) for ends in (flat.on_paper, flat.on_piece)]
    assert rulings[0] == pytest.approx(rulings[1], abs=1e-7)
    # the hull of all corners is what the strip unrolls: its side has the same area
    corners = flat.on_piece[:, :-1].reshape(-1, 3)
    whole = ConvexHull(corners).area
    caps = sum(ConvexHull(edge[:-1, 1:]).volume for edge in flat.on_piece)
    side = 0.0
    for k in range(flat.on_paper.shape[1] - 1):
        a, b = flat.on_paper[:, k]
        c, d = flat.on_paper[:, k + 1]
        side += 0.5 * abs(float(np.cross(np.append(c - b, 0), np.append(a - b, 0))[2]))
        side += 0.5 * abs(float(np.cross(np.append(d - b, 0), np.append(c - b, 0))[2]))
    assert side == pytest.approx(whole - caps, rel=1e-6)
    # the back line lies left to right between belly and belly, never mirrored
    assert flat.on_paper[0, -1, 0] > flat.on_paper[0, 0, 0]


class TestFit:
    def test_a_bowed_shin_fits(self):
        (flat,) = strips(shin(), 30.0, 95.0, misfit=0.3, longest=120.0)
        assert flat.misfit < 0.1
        assert 0.2 < flat.stand_off < 1.0

    def test_a_barrel_is_cut_in_two(self):
        """Between its edges a barrel is greater around than paper: 2 pi times what it bulges, half of it each way."""

        def barrel(at):
            return 15.0 - 1.2 * ((at - 50.0) / 50.0) ** 2

        lump = piece(
            swept(np.linspace(0, 100, 101), wide=barrel, high=barrel, sideways=none, up=none, around=720), 100.0
        )
        whole = strip(lump, 10.0, 90.0)
        bulge = barrel(50.0) - barrel(10.0)
        assert whole.misfit == pytest.approx(np.pi * bulge, rel=0.01)
        assert whole.stand_off == pytest.approx(bulge, rel=0.01)
        found = strips(lump, 10.0, 90.0, misfit=0.3, longest=120.0)
        assert len(found) == 2
        assert max(one.misfit for one in found) < whole.misfit / 2.0
        assert [one.far for one in found[:-1]] == [one.near for one in found[1:]]

    def test_long_ones_are_cut(self):
        assert len(strips(shin(), 10.0, 140.0, misfit=0.3, longest=60.0)) == 3

    def test_beyond_the_piece_is_refused(self):
        with pytest.raises(CannotBeMade, match=r"cut\.misses-the-skin \(along 170"):
            strip(shin(), 100.0, 170.0)


class TestTurns:
    def test_lines_of_a_rod(self):
        rod = cylinder(9.0, 50.0, around=720)
        axis = Axis(np.array([0.0, 50.0]), np.zeros(2), np.zeros(2))
        loop = outline(rod, plane_facing(np.array([25.0, 0, 0]), np.array([1.0, 0.2, 0.3]), up=UP))
        for turn in (0.0, 37.0, 90.0, 180.0, 270.0, 359.0):
            place = at_turn(loop, axis, turn)
            s, c = np.sin(np.radians(turn)), np.cos(np.radians(turn))
            assert place[1:] == pytest.approx([9.0 * s, 9.0 * c], abs=0.001)
            assert place[0] == pytest.approx(25.0 - 0.2 * 9.0 * s - 0.3 * 9.0 * c, abs=0.001)
            off = (turns(place[None], axis)[0] - turn + 180.0) % 360.0 - 180.0
            assert off == pytest.approx(0.0, abs=0.01)

    def test_lines_of_a_square_bar(self):
        """Four corners far apart: where a line of a turn leaves a square of 10, by hand."""
        square = np.array([[5.0, 5.0, 5.0], [5.0, -5.0, 5.0], [5.0, -5.0, -5.0], [5.0, 5.0, -5.0]])
        axis = Axis(np.array([0.0, 50.0]), np.full(2, 1.0), np.full(2, -2.0))
        for turn, place in ((0.0, (1.0, 5.0)), (90.0, (5.0, -2.0)), (180.0, (1.0, -5.0)), (270.0, (-5.0, -2.0))):
            for loop in (square, square[::-1], np.roll(square, 1, axis=0)):
                assert at_turn(loop, axis, turn)[1:] == pytest.approx(place)
        assert at_turn(square, axis, 45.0)[1:] == pytest.approx((5.0, 2.0))

    def test_along_a_slope_a_tape_reads_more(self):
        """Slant of a cone frustum: Pythagoras."""
        seen = lengthwise(piece(frustum(20.0, 10.0, 100.0, around=720), 100.0))
        assert seen.along_skin(0, 60.0) == pytest.approx(60.0 * np.hypot(1.0, 0.1), abs=0.002)
        assert seen.skin[:, 3] == pytest.approx(20.0 - 0.1 * seen.along, abs=1e-3)

    def test_an_outline_beside_the_axis_is_refused(self):
        aside = Axis(np.array([0.0, 50.0]), np.full(2, 30.0), np.zeros(2))
        loop = outline(cylinder(9.0, 50.0), plane_facing(np.array([25.0, 0, 0]), np.array([1.0, 0, 0]), up=UP))
        with pytest.raises(CannotBeMade, match=r"cut\.not-around-the-axis"):
            at_turn(loop, aside, 0.0)


@given(
    box=st.tuples(st.floats(-5, 0), st.floats(0.1, 5), st.floats(-5, 0), st.floats(0.1, 5)),
    points=st.lists(st.tuples(st.floats(-8, 8), st.floats(-8, 8)), min_size=2, max_size=12, unique=True),
)
@settings(max_examples=80)
def test_clipping_is_shapelys(box, points):
    left, right, low, high = np.round(box, 3)
    flat = np.round(np.array(points), 3)
    line = np.column_stack([np.zeros(len(flat)), flat])
    bounds = tuple(
        plane_facing(np.array(o, float), np.array(n, float), up=np.array([1.0, 0, 0]))
        for o, n in (
            ((0, left, 0), (0, -1, 0)),
            ((0, right, 0), (0, 1, 0)),
            ((0, 0, low), (0, 0, -1)),
            ((0, 0, high), (0, 0, 1)),
        )
    )
    found = sum(float(np.linalg.norm(np.diff(run, axis=0), axis=1).sum()) for run in clipped([line], bounds))
    pieces = [
        shapely.LineString([a, b]).intersection(shapely.box(left, low, right, high)).length for a, b in pairwise(flat)
    ]
    assert found == pytest.approx(sum(pieces), abs=1e-6)


def test_parts_of_a_bone_fill_their_own_boxes():
    for part in parts(strip(shin(), 20.0, 60.0), 30.0):
        corners = np.vstack([part.near_edge, part.far_edge])
        np.testing.assert_allclose(corners.min(axis=0), 0.0, atol=1e-9)
