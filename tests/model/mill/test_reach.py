"""What a cutter reaches, against closed forms; each holds within the grid's pitch."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.model.mill.reach import reached
from nutgen.spec.forming import Cutter

PITCH = 0.02
TOP, FLOOR = 0.0, -3.0


def groove(profile) -> np.ndarray:
    """A surface that is the same all along; columns across, from -3 to 3 mm."""
    u = np.arange(-150, 151) * PITCH
    return np.tile(profile(u), (3, 1))


def along(surface: np.ndarray, cutter: Cutter) -> np.ndarray:
    """What stands in the middle of a long groove: rows so far apart that the cutter spans one."""
    return reached(surface, cutter, pitch=(50.0, PITCH), beside=TOP)[1]


CENTRE = 150


class TestPlainSlot:
    """Square walls, flat floor, 1.0 wide."""

    surface = groove(lambda u: np.where(np.abs(u) < 0.5 - 1e-9, FLOOR, TOP))

    def test_a_flat_cutter_that_fits_leaves_nothing(self) -> None:
        left = along(self.surface, Cutter(0.96, "flat")) - self.surface[1]
        assert np.abs(left[np.abs(np.arange(301) - CENTRE) < 24]).max() == 0.0

    def test_one_a_pitch_too_wide_stays_out(self) -> None:
        assert along(self.surface, Cutter(1.0 + 2 * PITCH, "flat"))[CENTRE] == TOP

    @pytest.mark.parametrize("diameter", [0.4, 0.8])
    def test_a_ball_leaves_its_fillet_in_the_corner(self, diameter: float) -> None:
        r = diameter / 2.0
        left = along(self.surface, Cutter(diameter, "ball")) - FLOOR
        for from_wall in (0.25 * r, 0.5 * r):
            column = CENTRE + round((0.5 - from_wall) / PITCH)
            place = 0.5 - (column - CENTRE) * PITCH
            exact = r - math.sqrt(r * r - (r - place) ** 2)
            nearer = r - place + PITCH  # the wall may stand one pitch nearer on the grid
            slope = nearer / math.sqrt(r * r - nearer**2)
            assert left[column] == pytest.approx(exact, abs=PITCH * max(1.0, slope))


class TestRoundFlooredSlot:
    """A floor of radius 0.5 under upright walls: the slot of a string."""

    radius = 0.5
    surface = groove(lambda u: np.where(np.abs(u) <= 0.5 + 1e-9, -1.0 - np.sqrt(np.maximum(0.0, 0.25 - u * u)), TOP))

    @pytest.mark.parametrize("diameter", [0.3, 0.6, 1.0])
    def test_a_ball_no_wider_reaches_all_of_it(self, diameter: float) -> None:
        left = along(self.surface, Cutter(diameter, "ball")) - self.surface[1]
        assert left[CENTRE] == pytest.approx(0.0, abs=PITCH**2 / diameter)

    @pytest.mark.parametrize("diameter", [0.2, 0.5, 0.8, 1.0])
    def test_a_flat_end_stands_on_its_rim(self, diameter: float) -> None:
        """It rests where the round is as wide as itself: R - sqrt(R^2 - r^2) above the bottom."""
        r = diameter / 2.0
        left = along(self.surface, Cutter(diameter, "flat"))[CENTRE] - (-1.0 - self.radius)
        slope = r / math.sqrt(max(self.radius**2 - r * r, 1e-4))
        exact = self.radius - math.sqrt(self.radius**2 - r * r)
        assert left == pytest.approx(exact, abs=PITCH * max(1.0, slope))

    @given(st.floats(1.1, 4.0))
    def test_a_ball_too_wide_dips_in_by_its_sagitta(self, diameter: float) -> None:
        r = diameter / 2.0
        dip = r - math.sqrt(r * r - self.radius**2)
        stands = along(self.surface, Cutter(diameter, "ball"))[CENTRE]
        slope = self.radius / math.sqrt(r * r - self.radius**2)
        assert stands == pytest.approx(TOP - dip, abs=PITCH * max(1.0, 2.0 * slope))


class TestInsideCorner:
    """A square pocket seen from above: the cutter leaves its own round in every corner."""

    @pytest.mark.parametrize("diameter", [0.6, 1.0, 2.0])
    def test_what_stays_in_a_corner(self, diameter: float) -> None:
        pitch, r = 0.05, diameter / 2.0
        place = np.arange(-60, 61) * pitch
        x, y = np.meshgrid(place, place)
        surface = np.where((np.abs(x) < 2.5 - 1e-9) & (np.abs(y) < 2.5 - 1e-9), FLOOR, TOP)
        stands = reached(surface, Cutter(diameter, "flat"), pitch=(pitch, pitch), beside=TOP)
        left = (stands > FLOOR) & (surface == FLOOR)
        area = float(left.sum()) * pitch**2 / 4.0
        rim = math.pi * r / 2.0 + 2.0 * r
        assert area == pytest.approx((1.0 - math.pi / 4.0) * r * r, abs=rim * pitch)
        corner = np.hypot(2.5 - np.abs(x[left]), 2.5 - np.abs(y[left])).max()
        assert corner <= r + 2.0 * pitch  # nothing stays further from a corner than the cutter's radius

    def test_an_open_side_is_no_wall(self) -> None:
        surface = np.full((5, 40), FLOOR)
        assert reached(surface, Cutter(1.0, "flat"), pitch=(PITCH, PITCH), beside=FLOOR).max() == FLOOR


@given(st.integers(0, 2**32 - 1), st.sampled_from(["flat", "ball"]), st.floats(0.1, 0.5))
def test_never_below_the_surface_and_never_again_lower(seed: int, end, diameter: float) -> None:
    """A closing is extensive and idempotent (Serra 1982): cutting twice with one cutter changes nothing."""
    surface = np.random.default_rng(seed).uniform(-1.0, 0.0, (9, 11))
    cutter, pitch = Cutter(diameter, end), (0.1, 0.05)
    once = reached(surface, cutter, pitch=pitch, beside=-2.0)
    assert np.all(once >= surface - 1e-12)
    assert np.allclose(reached(once, cutter, pitch=pitch, beside=-2.0), once, atol=1e-12)
