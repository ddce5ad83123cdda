"""Readings without gauges against circles and beams built by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.theory.readings import lift_of_pressed_string, middle_fret, radius_bounds, radius_by_gaps, relief_of_dip

SEMITONE = 2.0 ** (1.0 / 12.0)


def gaps_under_ruler(radius: float, chord: float, share: float) -> tuple[float, float]:
    """Square to a ruler that touches a circle at a share of the way across, by Pythagoras."""
    touch = (share - 0.5) * chord  # of the touching point from the middle, across
    around = math.asin(touch / radius)
    ends = (math.asin(side * chord / 2.0 / radius) - around for side in (-1.0, 1.0))
    one, other = (radius * (1.0 - math.cos(angle)) for angle in ends)
    return one, other


@pytest.mark.parametrize("frets", range(12, 37))
def test_middle_fret_by_walking_up_the_frets(frets: int) -> None:
    rest = [1.0 / SEMITONE**fret for fret in range(frets + 1)]
    middle = (rest[1] + rest[frets]) / 2.0
    assert middle_fret(frets) == min(range(1, frets + 1), key=lambda fret: abs(rest[fret] - middle))


@given(st.floats(0.01, 1.5), st.integers(12, 36), st.floats(0.1, 0.9), st.floats(300.0, 1200.0))
def test_relief_is_the_arc_through_crown_and_ends(relief: float, last: int, share: float, scale: float) -> None:
    """A circle of the sagitta `relief` over the chord, from its centre; a fret anywhere between."""
    first, end = scale * (1.0 - 1.0 / SEMITONE), scale * (1.0 - 1.0 / SEMITONE**last)
    at = first + share * (end - first)
    half = (end - first) / 2.0
    radius = half**2 / (2.0 * relief) + relief / 2.0
    dip = math.sqrt(radius**2 - (at - first - half) ** 2) - (radius - relief)
    fret = 12.0 * math.log2(scale / (scale - at))
    got = relief_of_dip(dip, fret=fret, last_fret=last, scale_length=scale)
    assert got == pytest.approx(relief, rel=1e-6)


def test_no_dip_is_no_relief_and_a_fret_beyond_is_refused() -> None:
    assert relief_of_dip(0.0, fret=8, last_fret=20, scale_length=650.0) == 0.0
    for fret, dip in ((1, 0.1), (21, 0.1), (8, -0.1)):
        with pytest.raises(ValueError, match="between fret 1 and the last"):
            relief_of_dip(dip, fret=fret, last_fret=20, scale_length=650.0)


@given(st.floats(180.0, 1500.0), st.floats(30.0, 60.0), st.floats(0.0, 1.0))
def test_radius_whatever_way_the_ruler_rocks(radius: float, chord: float, share: float) -> None:
    got = radius_by_gaps(chord, gaps_under_ruler(radius, chord, share))
    assert got == pytest.approx(radius, rel=0.01)
    assert radius_by_gaps(chord, gaps_under_ruler(radius, chord, 0.5)) == pytest.approx(radius, rel=1e-9)


def test_a_tenth_at_the_gaps_moves_305_by_34() -> None:
    """At 47 wide; worked by hand: s = 47^2 / (8 x 305) = 0.905, dR = R 0.1 / s = 33.7."""
    (gap, _) = gaps_under_ruler(305.0, 47.0, 0.5)
    assert radius_by_gaps(47.0, (gap - 0.05, gap - 0.05)) - radius_by_gaps(47.0, (gap + 0.05, gap + 0.05)) == (
        pytest.approx(34.0, abs=0.5)
    )


def test_flat_has_no_gaps_and_may_be_all_but_flat() -> None:
    assert radius_by_gaps(44.0, (0.0, 0.0)) == math.inf
    least, most = radius_bounds(44.0, (0.0, 0.0), chord_error=0.5, gap_errors=(0.05, 0.05))
    assert most == math.inf
    assert least == pytest.approx(44.0**2 / (8 * 0.025), rel=0.01)  # one gap of 0.1 alone, or both of 0.025
    assert radius_bounds(44.0, (0.01, 0.01), chord_error=0.5, gap_errors=(0.05, 0.05))[1] == math.inf


@pytest.mark.parametrize("share", [0.5, 0.3, 0.05])
@pytest.mark.parametrize("radius", [184.0, 305.0, 508.0])
def test_bounds_hold_at_least_93_of_100(radius: float, share: float) -> None:
    """Normal errors on chord and gaps of a circle; half-widths that hold 95 % are 1.96 deviations."""
    rng = np.random.default_rng(7)
    true, held, count = gaps_under_ruler(radius, 44.0, share), 0, 1000
    for _ in range(count):
        gaps = [max(gap + rng.normal(0.0, 0.05 / 1.96), 0.0) for gap in true]
        chord = 44.0 + rng.normal(0.0, 0.5 / 1.96)
        least, most = radius_bounds(chord, gaps, chord_error=0.5, gap_errors=(0.05, 0.05))
        held += least <= radius <= most
    assert held / count >= 0.93


def test_gaps_that_cannot_be_are_refused() -> None:
    for chord, gaps in ((0.0, (0.1, 0.1)), (44.0, (-0.1, 0.1))):
        with pytest.raises(ValueError, match="gaps must be 0 or more"):
            radius_by_gaps(chord, gaps)


def test_a_stiff_string_stands_over_the_fret_that_bends_it() -> None:
    """A beam under tension, bent by 0.067 at an edge, by finite differences; steel of .010 in at 73 N."""
    diameter, tension, angle = 0.254, 73.0, 0.067
    stiffness = 200e3 * math.pi * diameter**4 / 64.0
    x = np.linspace(0.0, 12.0, 601)
    step, n = x[1], len(x)
    slope = np.zeros((n, n))  # EI t'' = T (t - t_far) for the slope t, 0 at the edge by symmetry, -a/2 far away
    slope[0, 0] = slope[-1, -1] = 1.0
    for i in range(1, n - 1):
        slope[i, i - 1 : i + 2] = np.array([1.0, -2.0 - tension / stiffness * step**2, 1.0])
    wanted = np.full(n, tension / stiffness * step**2 * angle / 2.0)
    wanted[0], wanted[-1] = 0.0, -angle / 2.0
    lies = np.linalg.solve(slope, wanted)
    height = np.concatenate([[0.0], np.cumsum((lies[1:] + lies[:-1]) / 2.0 * step)])
    lift = height[-1] + angle / 2.0 * x[-1]
    assert lift == pytest.approx(lift_of_pressed_string(diameter), rel=0.1)
