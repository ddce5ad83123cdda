"""Fret positions against independently calculated values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.theory.frets import fret_position, nut_slant_deg


@pytest.mark.parametrize(
    ("scale", "fret", "printed"),
    [
        # Calculation from L (1 - 2^(-n/12)), done with a desk calculator to three decimals.
        (648.0, 1, 36.369),
        (648.0, 12, 324.000),
        (863.6, 1, 48.470),
        (863.6, 2, 94.220),
        (863.6, 3, 137.402),
        (863.6, 12, 431.800),
        (863.6, 20, 591.583),
        (863.6, 24, 647.700),
    ],
)
def test_positions_as_calculated(scale: float, fret: int, printed: float) -> None:
    assert fret_position(fret, scale_length=scale) == pytest.approx(printed, abs=0.0005)


def test_fret_constant() -> None:
    # The luthier's constant 17.817: distance to the first fret is L / 17.817153745 (calculation).
    assert 1.0 / float(fret_position(1, scale_length=1.0)) == pytest.approx(17.817153745, abs=5e-10)


def test_rule_of_eighteen_falls_short_at_the_octave() -> None:
    # The old rule of 18 puts fret 12 of a 650 mm scale at 322.636 mm, 2.364 short (calculation).
    by_eighteen = 650.0 * (1.0 - (17.0 / 18.0) ** 12)
    assert by_eighteen == pytest.approx(322.636, abs=0.0005)
    assert float(fret_position(12, scale_length=650.0)) - by_eighteen == pytest.approx(2.364, abs=0.0005)


@given(st.floats(200, 1200), st.integers(0, 35))
def test_each_fret_divides_what_is_left_by_the_same_ratio(scale: float, fret: int) -> None:
    left = scale - fret_position([fret, fret + 1], scale_length=scale)
    assert left[0] / left[1] == pytest.approx(2.0 ** (1 / 12), rel=1e-12)


def test_slant_turns_the_outer_strings_to_their_own_scales() -> None:
    """Laid out in plan about the square fret, the nut ends meet the strings where their scales say."""
    bass, treble, spread, square = 686.0, 648.0, 36.0, 7.0
    slant = np.radians(nut_slant_deg(bass_scale=bass, treble_scale=treble, spread=spread, perpendicular_fret=square))
    lead = spread * np.sin(slant)  # how far the bass end of the nut lies beyond its treble end
    expected = bass * (1 - 2 ** (-square / 12)) - treble * (1 - 2 ** (-square / 12))
    assert lead == pytest.approx(expected, abs=1e-9)


def test_slant_of_strings_too_close_is_refused() -> None:
    with pytest.raises(ValueError, match="do not fit"):
        nut_slant_deg(bass_scale=800.0, treble_scale=600.0, spread=20.0, perpendicular_fret=7.0)
