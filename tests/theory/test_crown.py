"""The arc of the top."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares

from nutgen.theory.crown import Crown, fit_crown


@given(st.floats(-5, 5), st.floats(-6, 6), st.floats(80, 3000), st.floats(-30, 30))
def test_every_point_lies_on_the_circle(z0: float, slope: float, radius: float, x: float) -> None:
    crown = Crown(z0, slope, 1 / radius)
    xc, zc = crown.centre
    assert np.hypot(x - xc, float(crown.z(x)) - zc) == pytest.approx(radius, rel=1e-9)


def test_flat_crown_is_a_straight_line() -> None:
    assert Crown(1.0, 45.0, 0.0).z([-2.0, 0.0, 3.0]) == pytest.approx([-1.0, 1.0, 4.0])


@given(st.floats(-6, 6), st.floats(100, 3000), st.floats(8, 40))
def test_highest_bounds_the_arc(slope: float, radius: float, half: float) -> None:
    crown = Crown(2.0, slope, 1 / radius)
    z = crown.z(np.linspace(-half, half, 4001))
    assert crown.highest(-half, half) == pytest.approx(z.max(), abs=1e-5)


@given(st.lists(st.floats(0.1, 3.0), min_size=3, max_size=8), st.floats(120, 2000))
def test_fit_is_the_least_squares_arc(heights: list[float], radius: float) -> None:
    """Against scipy's general solver on the same circle, written through its centre."""
    x = np.linspace(-20, 20, len(heights))
    wanted = np.array(heights)

    def misfit(centre: np.ndarray) -> np.ndarray:
        return centre[1] + np.sqrt(radius**2 - (x - centre[0]) ** 2) - wanted

    best = least_squares(misfit, [0.0, wanted.mean() - radius], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    crown = fit_crown(x, wanted, np.full_like(x, -9.0), radius=radius)
    ours = float(((crown.z(x) - wanted) ** 2).sum())
    assert ours == pytest.approx(2 * best.cost, rel=1e-6, abs=1e-9)


def test_lift_reaches_the_minimum_and_no_more() -> None:
    x = np.array([-10.0, 0.0, 10.0])
    crown = fit_crown(x, np.array([1.0, 1.0, 1.0]), np.array([0.0, 1.5, 0.0]), radius=np.inf)
    assert crown.z(x) == pytest.approx([1.5, 1.5, 1.5])


def test_one_string_leaves_the_arc_untilted() -> None:
    crown = fit_crown([3.0], [1.0], [0.0], radius=250.0)
    assert crown.slope_deg == 0.0
    assert crown.z(3.0) == pytest.approx(1.0)
