"""Lines, arcs and what is fitted with them, against dense points and geometry in space."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from nutgen.geometry.fit import TOLERANCE, fitted
from nutgen.geometry.lines import Arc, Chain, Line, Part
from nutgen.model.front import slot_trace, trace_point
from tests.model.faces import brute_trace, dense, heading
from tests.model.nuts import slot, slots


class TestLinesAndArcs:
    @given(st.floats(-180.0, 180.0), st.floats(1.0, 350.0), st.floats(0.05, 500.0), st.sampled_from([-1, 1]))
    def test_arc_agrees_with_its_points(self, start_deg, sweep_deg, radius, turning):
        angles = np.radians(start_deg + turning * np.linspace(0.0, sweep_deg, 4001))
        points = np.column_stack([3.0 + radius * np.cos(angles), -2.0 + radius * np.sin(angles)])
        arc = Arc(tuple(points[0]), tuple(points[-1]), (3.0, -2.0), turning)
        assert arc.sweep_deg == pytest.approx(turning * sweep_deg, abs=1e-6)
        assert arc.length == pytest.approx(radius * math.radians(sweep_deg), rel=1e-9)
        assert math.dist(arc.middle, points[2000]) < 1e-9 * (1.0 + radius)
        assert arc.box == pytest.approx((*points.min(axis=0), *points.max(axis=0)), abs=radius * 1e-5)
        ring = Chain("", (arc, Line(arc.end, arc.start)))
        assert abs(ring.area) == pytest.approx(Polygon(points).area, rel=2e-6, abs=radius**2 * 1e-6)
        # the sagitta over half the chord is the bulge that DXF asks for
        chord = math.dist(arc.start, arc.end)
        sagitta = radius * (1.0 - math.cos(math.radians(sweep_deg) / 2.0))
        assert arc.bulge * chord / 2.0 == pytest.approx(turning * sagitta, abs=1e-7 * radius)

    def test_reversed_and_moved(self):
        arc = Arc((1.0, 0.0), (0.0, 1.0), (0.0, 0.0), 1)
        assert arc.reversed().sweep_deg == pytest.approx(-90.0)
        assert arc.moved(2.0, 3.0).middle == pytest.approx((2.0 + math.sqrt(0.5), 3.0 + math.sqrt(0.5)))


class TestFit:
    @pytest.mark.slow
    @settings(max_examples=30)
    @given(st.floats(0.2, 30.0), st.floats(0.05, 1.0), st.sampled_from([1e-2, 1e-3, 1e-4]))
    def test_ellipse_within_tolerance_and_without_a_kink(self, a, share, tolerance):
        b = a * share
        parts = fitted(
            lambda t: ((a * math.cos(t), b * math.sin(t)), (-a * math.sin(t), b * math.cos(t))),
            0.1,
            2.9,
            tolerance=tolerance,
        )
        exact = LineString([(a * math.cos(t), b * math.sin(t)) for t in np.linspace(0.1, 2.9, 4001)])
        assert max(exact.distance(Point(p)) for p in dense(parts, sagitta=1e-4)) < tolerance
        assert max(LineString(dense(parts)).distance(Point(p)) for p in exact.coords[::20]) < tolerance + a * 1e-5
        for one, two in pairwise(parts):
            assert one.end == two.start
            assert heading(one, at_end=True) == pytest.approx(heading(two, at_end=False), abs=1e-7)

    def test_straight_stays_straight(self):
        assert all(isinstance(part, Line) for part in fitted(lambda t: ((t, 2.0 * t), (1.0, 2.0)), 0.0, 5.0))


class TestSlotTrace:
    @pytest.mark.slow
    @settings(max_examples=80)
    @given(slots())
    def test_within_a_tenth_of_a_micrometre_of_space_geometry(self, one):
        trace = slot_trace(one)
        exact = brute_trace(one, np.linspace(-math.pi / 2.0, math.pi / 2.0, 181))
        off = [min(_from_arc(part, point) for part in trace) for point in exact]
        assert max(off) <= TOLERANCE
        curve = LineString(brute_trace(one, np.linspace(-math.pi / 2.0, math.pi / 2.0, 1441)))
        # the reference polyline itself lies inside its curve by r (1 - cos(step / 2))
        slack = one.width * 2e-5
        assert max(curve.distance(Point(p)) for p in dense(trace, sagitta=1e-4)) <= TOLERANCE + slack
        assert trace[0].start == pytest.approx(tuple(exact[0]), abs=1e-9)
        assert trace[-1].end == pytest.approx(tuple(exact[-1]), abs=1e-9)

    @settings(max_examples=60)
    @given(slots())
    def test_leaves_the_walls_upright(self, one):
        """To a hundredth of a micrometre in a millimetre: an all but round ellipse is one arc, hardly half a turn."""
        trace = slot_trace(one)
        assert heading(trace[0], at_end=False) == pytest.approx((0.0, -1.0), abs=1e-5)
        assert heading(trace[-1], at_end=True) == pytest.approx((0.0, 1.0), abs=1e-5)

    @settings(max_examples=60)
    @given(slots(), st.floats(-1.5, 1.5))
    def test_direction_is_that_of_the_points(self, one, turn):
        step = 1e-4
        (_, direction), before, after = (trace_point(one, turn + d) for d in (0.0, -step, step))
        change = [(b - a) / (2.0 * step) for a, b in zip(before[0], after[0], strict=True)]
        assert direction == pytest.approx(change, rel=1e-5, abs=1e-6)

    @pytest.mark.parametrize("roll", [math.inf, 40.0])
    def test_square_slot_is_one_exact_arc(self, roll):
        (arc,) = slot_trace(slot(tilt_deg=0.0, roll_radius=roll, width=1.3, floor_z=0.7))
        assert arc.radius == pytest.approx(0.65, abs=1e-12)
        assert arc.centre == pytest.approx((0.0, 1.35), abs=1e-12)
        assert arc.sweep_deg == pytest.approx(180.0, abs=1e-9)

    def test_tilted_slot_is_an_ellipse_of_known_height(self):
        # a cylinder cut at an angle: the half axis grows by 1 / cos
        trace = slot_trace(slot(tilt_deg=20.0, width=3.0, floor_z=0.0))
        top, bottom = trace[0].start[1], min(part.box[1] for part in trace)
        assert top - bottom == pytest.approx(1.5 / math.cos(math.radians(20.0)), abs=1e-9)


def _from_arc(part: Part, point: np.ndarray) -> float:
    assert isinstance(part, Arc)
    direction = math.degrees(math.atan2(point[1] - part.centre[1], point[0] - part.centre[0]))
    along = (part.turning * (direction - part.start_deg)) % 360.0
    if along <= abs(part.sweep_deg) + 1e-6 or along >= 360.0 - 1e-6:
        return abs(math.dist(part.centre, point) - part.radius)
    return min(math.dist(part.start, point), math.dist(part.end, point))
