"""String positions against spacings worked out apart from this code."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.theory import spacing

INCH = 25.4


def gaps_between(centres, gauges) -> np.ndarray:
    """Edge-to-edge room between neighbours."""
    return np.diff(centres) - (np.asarray(gauges)[1:] + np.asarray(gauges)[:-1]) / 2.0


def equal_gaps(*args, **kwargs) -> np.ndarray:
    return np.array(spacing.equal_gaps(*args, **kwargs))


def equal_centres(*args, **kwargs) -> np.ndarray:
    return np.array(spacing.equal_centres(*args, **kwargs))


def test_equal_gap_of_a_guitar() -> None:
    # calculation: 42 mm nut, outer centres 3.5 mm in, set 10 to 46: (35 - (23 + 5 + 102) thousandths) / 5, gap 6.39 mm
    gauges = np.array([46, 36, 26, 17, 13, 10]) / 1000 * INCH
    centres = equal_gaps(
        gauges, width=42.0, bass_margin=3.5 - gauges[0] / 2, treble_margin=3.5 - gauges[-1] / 2, courses=range(6, 0, -1)
    )
    assert gaps_between(centres, gauges) == pytest.approx(np.full(5, 6.39), abs=0.005)


def test_equal_gap_in_inches() -> None:
    # calculation: 1.442 in over the outer strings, gauges summing .148, six strings: (1.442 - .148) / 5 = .2588 in
    gauges = np.array([0.046, 0.036, 0.026, 0.017, 0.013, 0.010])
    assert gauges.sum() == pytest.approx(0.148)
    centres = equal_gaps(gauges, width=1.442, bass_margin=0, treble_margin=0, courses=range(6, 0, -1))
    assert gaps_between(centres, gauges) == pytest.approx(np.full(5, 0.2588), abs=0.00005)


def test_bass() -> None:
    # calculation: bass nut 38.1 mm, set 45 to 105, margins 3.0: gap 8.160 and these centres; equal centres
    # leave gaps 7.652 8.160 8.668. Both rules: J. Morrish ed., The Bass Handbook, 2005, p. 19.
    gauges = np.array([105, 85, 65, 45]) / 1000 * INCH
    place = {"width": 38.1, "bass_margin": 3.0, "treble_margin": 3.0, "courses": [4, 3, 2, 1]}
    centres = equal_gaps(gauges, **place)
    assert centres == pytest.approx([4.3335, 14.9065, 24.9715, 34.5285], abs=0.00005)
    by_centres = equal_centres(gauges, **place)
    assert gaps_between(by_centres, gauges) == pytest.approx([7.652, 8.160, 8.668], abs=0.0005)


def test_margins_hold_to_the_string_edges() -> None:
    gauges = np.array([2.0, 1.0, 0.5])
    for rule in (equal_gaps, equal_centres):
        centres = rule(gauges, width=30.0, bass_margin=3.0, treble_margin=2.5, courses=[3, 2, 1])
        assert centres[0] - 1.0 == pytest.approx(3.0)
        assert 30.0 - centres[-1] - 0.25 == pytest.approx(2.5)


@pytest.mark.parametrize("rule", [equal_gaps, equal_centres])
def test_courses_keep_their_inner_gap(rule) -> None:
    gauges = np.array([1.0, 0.5, 0.7, 0.35, 0.4, 0.4, 0.3, 0.3])  # octaves in the bass
    courses = [4, 4, 3, 3, 2, 2, 1, 1]
    centres = rule(gauges, width=28.6, bass_margin=2.0, treble_margin=2.0, courses=courses, course_gap=1.6)
    gaps = gaps_between(centres, gauges)
    assert gaps[::2] == pytest.approx(np.full(4, 1.6))
    if rule is equal_gaps:
        assert np.ptp(gaps[1::2]) == pytest.approx(0.0, abs=1e-12)
    else:
        middles = (centres[::2] + centres[1::2]) / 2
        assert np.ptp(np.diff(middles)) == pytest.approx(0.0, abs=1e-12)


@given(
    st.lists(st.floats(0.2, 3.3), min_size=1, max_size=12),
    st.floats(0.5, 5.0),
    st.floats(0.5, 5.0),
    st.floats(0.0, 30.0),
)
def test_reversing_the_strings_mirrors_the_nut(gauges, bass_margin, treble_margin, slack) -> None:
    width = sum(gauges) + bass_margin + treble_margin + slack + 0.5 * len(gauges)
    there = equal_gaps(
        gauges, width=width, bass_margin=bass_margin, treble_margin=treble_margin, courses=range(len(gauges))
    )
    back = equal_gaps(
        gauges[::-1], width=width, bass_margin=treble_margin, treble_margin=bass_margin, courses=range(len(gauges))
    )
    assert width - back[::-1] == pytest.approx(there, abs=1e-9)


def test_no_room_says_how_much_is_missing() -> None:
    with pytest.raises(ValueError, match="2 mm more"):
        equal_gaps([5.0, 5.0], width=12.0, bass_margin=2.0, treble_margin=2.0, courses=[2, 1])
