"""Heights over the board: board radius, relief arc, clearance and floor height."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.theory.heights import Neck, crown_drop

SCALES = st.floats(200, 1200)
RELIEFS = st.floats(0, 1.5)


class TestBoardRadius:
    def test_difference_of_drops(self) -> None:
        # calculation: with a 304 mm radius, boards 43 and 58 mm wide differ by .63 mm at their edges
        assert crown_drop(29.0, radius=304.0) - crown_drop(21.5, radius=304.0) == pytest.approx(0.63, abs=0.005)

    def test_sagitta(self) -> None:
        # Calculation R - sqrt(R^2 - y^2) with R 241.3, y 17.5: .6354
        assert crown_drop(17.5, radius=241.3) == pytest.approx(0.6354, abs=0.00005)

    @given(st.floats(-60, 60), st.floats(70, 3000))
    def test_point_lies_on_the_circle(self, x: float, radius: float) -> None:
        drop = float(crown_drop(x, radius=radius))
        assert np.hypot(x, radius - drop) == pytest.approx(radius, rel=1e-12)

    def test_flat_board_has_no_drop(self) -> None:
        assert crown_drop(25.0, radius=np.inf) == 0.0

    def test_beyond_the_radius_is_refused(self) -> None:
        with pytest.raises(ValueError, match="must not exceed"):
            crown_drop(51.0, radius=50.0)


class TestStraightNeck:
    @pytest.mark.parametrize(
        ("clearance", "action", "floor"),
        # Closed form c1 = .887749 b + .112251 a12 (similar triangles, straight neck), by hand.
        [(0.508, 2.00, 0.3193), (0.3048, 1.6, 0.1410)],
    )
    def test_floor_from_clearance_and_action(self, clearance: float, action: float, floor: float) -> None:
        line = Neck(648.0, 20, 0.0).string_by_targets(first_fret_clearance=clearance, action=action)
        assert line.floor_height == pytest.approx(floor, abs=0.00005)

    @given(SCALES, st.floats(-0.5, 2.0), st.floats(0.3, 8.0))
    def test_closed_form_holds_for_every_scale(self, scale: float, floor: float, action: float) -> None:
        p = 1.0 - 2.0 ** (-1.0 / 12.0)
        line = Neck(scale, 20, 0.0).string_by_floor(floor_height=floor, action=action)
        assert line.clearance(1) == pytest.approx(floor * (1 - 2 * p) + 2 * p * action, abs=1e-9)

    def test_nut_down_moves_the_first_fret_by_its_share(self) -> None:
        # Nut down by t lowers the clearance at fret 1 by .9439 t and the action by t / 2, the saddle
        # staying (calculation).
        before = Neck(648.0, 20, 0.0).string_by_floor(floor_height=0.5, action=2.0)
        after = Neck(648.0, 20, 0.0).string_by_floor(floor_height=0.4, action=2.0 - 0.05)
        assert before.height(648.0) == pytest.approx(float(after.height(648.0)), abs=1e-12)
        assert before.clearance(1) - after.clearance(1) == pytest.approx(0.09439, abs=5e-6)


class TestRelief:
    def test_arc_radius(self) -> None:
        # R = C^2 / (8 s) + s / 2: bass 863.6, frets 1 to 17, s .356: C 491.645 mm, R 84.87 m (calculation).
        neck = Neck(863.6, 17, 0.356)
        chord = float(neck.fret(17) - neck.fret(1))
        assert chord == pytest.approx(491.645, abs=0.0005)
        u = np.array([100.0, 250.0, 400.0])
        z = neck.crown(u)
        circle = np.linalg.solve(np.column_stack([2 * u, 2 * z, np.ones(3)]), u**2 + z**2)
        radius_m = np.sqrt(circle[2] + circle[0] ** 2 + circle[1] ** 2) / 1000.0
        assert radius_m == pytest.approx(84.87, abs=0.005)

    @given(SCALES, st.integers(12, 30), RELIEFS)
    def test_dip_is_the_relief(self, scale: float, last: int, relief: float) -> None:
        """Walked at 10,000 points, the crowns dip below the chord by the relief, and no more."""
        neck = Neck(scale, last, relief)
        u = np.linspace(float(neck.fret(1)), float(neck.fret(last)), 10_001)
        z = neck.crown(u)
        assert z[0] == pytest.approx(0.0, abs=1e-9)
        assert z[-1] == pytest.approx(0.0, abs=1e-9)
        assert -z.min() == pytest.approx(relief, abs=1e-6)

    @given(SCALES, st.integers(12, 30), RELIEFS, st.floats(0.05, 2.5), st.floats(0.3, 8.0))
    def test_walk_of_the_string_meets_both_targets(
        self, scale: float, last: int, relief: float, clearance: float, action: float
    ) -> None:
        """Solve, then walk a straight string over an arc made independently, point by point."""
        line = Neck(scale, last, relief).string_by_targets(first_fret_clearance=clearance, action=action)
        frets = scale * (1 - 2 ** (-np.arange(0, last + 1) / 12))
        middle, half = (frets[1] + frets[last]) / 2, (frets[last] - frets[1]) / 2

        def arc(u: np.ndarray) -> np.ndarray:
            if relief < 1e-9:
                return np.zeros_like(u)
            radius = half**2 / (2 * relief) + relief / 2
            return (u - middle) ** 2 / (
                radius + np.sqrt(radius**2 - (u - middle) ** 2)
            ) - relief  # no large differences

        plane = np.polyfit(frets[1:3], arc(frets[1:3]), 1)
        start = np.polyval(plane, 0.0) + float(line.floor_height)
        u = np.linspace(0.0, scale, 10_001)
        string = start + float(line.slope) * u
        gap = np.interp(frets[[1, 12]], u, string) - arc(frets[[1, 12]])
        assert gap == pytest.approx([clearance, action], abs=1e-6)

    @given(SCALES, RELIEFS, st.floats(-0.5, 2.0), st.floats(0.3, 8.0))
    def test_floor_and_clearance_are_inverse(self, scale: float, relief: float, floor: float, action: float) -> None:
        neck = Neck(scale, 19, relief)
        there = neck.string_by_floor(floor_height=floor, action=action)
        back = neck.string_by_targets(first_fret_clearance=there.clearance(1), action=action)
        assert back.floor_height == pytest.approx(floor, abs=1e-9)
