"""Pluck envelope, against a modal sum and d'Alembert's travelling waves, and the floor it asks for."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.theory.frets import fret_position
from nutgen.theory.pluck import excursions, first_touch, lowest_floor, pluck_height_from_force, pluck_stiffness_n_per_m

LENGTH = st.floats(200.0, 1100.0)
PART = st.floats(0.02, 0.98)


def test_pluck_stiffness_of_zollner():
    # M. Zollner, Physics of the Electric Guitar, chapter 1 (year and page not known): T / (x (1 - x/L)), 1000 to
    # 2000 N/m; 75 N, 648 mm, x 80 mm
    stiffness = pluck_stiffness_n_per_m(tension_n=75.0, length=648.0, pluck_from_bridge=80.0)
    assert stiffness == pytest.approx(1069.5, abs=0.05)
    assert 1000.0 < stiffness < 2000.0


def test_worked_bass_envelope_at_fret_1():
    # computed from the triangles: 863.6 mm, plucked 1.0 mm high 100 mm from the bridge
    place: dict[str, Any] = {
        "from_nut": fret_position(1, scale_length=863.6),
        "length": 863.6,
        "pluck_from_bridge": 100.0,
        "pluck_height": 1.0,
    }
    assert excursions(**place) == pytest.approx((0.063, 0.485), abs=0.0005)


def _modal_extremes(u, length, p, y0, modes=200, times=4000):
    """Highest and lowest of the ideal plucked string at u, by its first 200 standing waves.

    Time runs over one period of the first partial in equal steps, release and half period among
    them. Displacement converges as 1/n^2, evenly: corners are rounded off, nothing overshoots (Gibbs'
    overshoot is one of velocity), so that the largest of the samples is a fair reading.
    """
    n = np.arange(1, modes + 1)
    a = length - p
    amplitude = 2.0 * y0 * length**2 / (n**2 * np.pi**2 * a * p) * np.sin(n * np.pi * a / length)
    shape = np.sin(np.pi * np.outer(u, n) / length) * amplitude
    swing = shape @ np.cos(2.0 * np.pi * np.outer(n, np.arange(times) / times))
    return swing.max(axis=1), -swing.min(axis=1)


@pytest.mark.parametrize(("length", "frets"), [(863.6, 24), (648.0, 22), (349.0, 17)])
@pytest.mark.parametrize("part", [0.06, 0.116, 0.25, 0.42, 0.6])
def test_envelope_agrees_with_200_standing_waves_at_every_fret(length, frets, part):
    u = fret_position(np.arange(1, frets + 1), scale_length=length)
    place: dict[str, Any] = {"from_nut": u, "length": length, "pluck_from_bridge": part * length, "pluck_height": 1.4}
    same, opposite = _modal_extremes(u, length, part * length, 1.4)
    toward, away = excursions(**place)
    assert toward == pytest.approx(same, abs=0.01 * 1.4)
    assert away == pytest.approx(opposite, abs=0.01 * 1.4)


@given(LENGTH, PART, PART)
def test_envelope_is_reached_by_travelling_waves_and_never_passed(length, u_part, p_part):
    u, apex = u_part * length, (1.0 - p_part) * length

    def release(x):
        x = np.mod(x, 2.0 * length)
        folded = np.where(x > length, 2.0 * length - x, x)
        height = np.minimum(folded / apex, (length - folded) / (length - apex))
        return np.where(x > length, -height, height)

    # the string's height at u is piecewise linear in time: it turns only where a corner passes
    corners = np.array([apex - u, u - apex, apex + u, -apex - u])
    path = np.concatenate([[0.0, length], np.mod(corners, 2.0 * length), np.linspace(0.0, 2.0 * length, 31)])
    height = (release(u - path) + release(u + path)) / 2.0
    place: dict[str, Any] = {"from_nut": u, "length": length, "pluck_from_bridge": length - apex, "pluck_height": 1.0}
    assert excursions(**place) == pytest.approx((height.max(), -height.min()), abs=1e-9)


@given(LENGTH, PART, st.floats(0.0, 30.0), st.floats(20.0, 400.0))
def test_force_makes_height_and_both_pieces_of_string_balance_it(length, p_part, force, tension):
    p = p_part * length
    y0 = pluck_height_from_force(force_n=force, tension_n=tension, length=length, pluck_from_bridge=p)
    assert tension * (y0 / p + y0 / (length - p)) == pytest.approx(force, rel=1e-9, abs=1e-12)
    at_pluck, _ = excursions(from_nut=length - p, length=length, pluck_from_bridge=p, pluck_height=y0)
    assert at_pluck == pytest.approx(y0, rel=1e-9, abs=1e-12)


FRETS = st.integers(1, 24)


@given(st.data(), FRETS)
def test_first_touch_is_the_fret_reached_by_growing_the_pluck(data, frets):
    numbers = st.lists(st.floats(0.01, 3.0), min_size=frets, max_size=frets)
    clearance, swing = np.array(data.draw(numbers)), np.array(data.draw(numbers))
    touch = first_touch(clearance=clearance, excursion=swing)
    assert np.all(clearance - swing * touch.reach >= -1e-9)
    assert clearance[touch.index] == pytest.approx(swing[touch.index] * touch.reach)
    assert touch.spare == clearance[touch.index] - swing[touch.index]
    assert (touch.reach < 1.0) == bool(np.any(clearance < swing))


def test_first_touch_per_string_along_the_last_axis():
    clearance = np.array([[0.5, 0.6, 0.8], [0.3, 0.2, 0.9]])
    touch = first_touch(clearance=clearance, excursion=[0.25, 0.4, 0.5])
    assert touch.index.tolist() == [1, 1]
    assert touch.spare == pytest.approx([0.2, -0.2])
    assert touch.reach == pytest.approx([1.5, 0.5])


@given(st.data(), FRETS)
def test_lowest_floor_just_clears_and_a_hair_lower_does_not(data, frets):
    def some(low, high):
        return np.array(data.draw(st.lists(st.floats(low, high), min_size=frets, max_size=frets)))

    at_zero, swing, gain = some(-1.0, 2.0), some(0.01, 2.0), some(0.05, 1.0)
    inputs = {"clearance_at_zero": at_zero, "sensitivity": gain, "excursion": swing}
    floor = lowest_floor(**inputs)
    assert np.all(at_zero + gain * floor - swing >= -1e-9)
    assert np.any(at_zero + gain * (floor - 1e-6) - swing < 0.0)


@given(st.data(), st.integers(2, 12))
def test_a_floor_that_no_height_cures_is_told(data, frets):
    def some(low, high):
        return np.array(data.draw(st.lists(st.floats(low, high), min_size=frets, max_size=frets)))

    at_zero, swing, gain = some(-1.0, 1.0), some(0.0, 1.0), some(0.05, 1.0)
    gain *= np.where(some(-1.0, 1.0) < 0.0, -1.0, 1.0)
    floor = lowest_floor(clearance_at_zero=at_zero, sensitivity=gain, excursion=swing)
    tried = np.linspace(-60.0, 60.0, 20001)[:, np.newaxis]
    clears = np.all(at_zero + gain * tried - swing >= 0.0, axis=1)
    if np.isposinf(floor):
        assert not clears.any()
    elif np.isneginf(floor):
        assert clears[0]
    else:
        assert np.all(at_zero + gain * floor - swing >= -1e-9)
        assert not clears[tried[:, 0] < floor - 1e-9].any()


def test_a_fret_that_the_floor_does_not_move():
    inputs = {"sensitivity": [0.9, 0.0], "excursion": [0.3, 0.3]}
    assert lowest_floor(clearance_at_zero=[0.1, 0.4], **inputs) == pytest.approx(0.2 / 0.9)
    assert np.isposinf(lowest_floor(clearance_at_zero=[0.1, 0.2], **inputs))


def test_lowest_floor_is_each_strings_own():
    # by hand: b / 2 >= 0.3 and 1 - b >= 0.2, so 0.6 to 0.8; 0.9 to 0.95; 0.9, past 0.8; a fret that nothing moves
    swing = [[0.3, 0.2], [0.45, 0.05], [0.45, 0.2], [0.3, 1.2]]
    floors = lowest_floor(
        clearance_at_zero=[0.0, 1.0], sensitivity=[[0.5, -1.0], [0.5, -1.0], [0.5, -1.0], [0.5, 0.0]], excursion=swing
    )
    assert floors == pytest.approx([0.6, 0.9, np.inf, np.inf])


GOOD = {"from_nut": 40.0, "length": 648.0, "pluck_from_bridge": 100.0, "pluck_height": 1.0}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"from_nut": 649.0}, "between 0 and the sounding length"),
        ({"from_nut": np.nan}, "between 0 and the sounding length"),
        ({"length": 0.0}, "length must be a finite number above 0"),
        ({"pluck_from_bridge": 0.0}, "both excluded"),
        ({"pluck_from_bridge": 648.0}, "both excluded"),
        ({"pluck_height": -0.1}, "0 or more"),
    ],
)
def test_impossible_plucks_are_refused(change, says):
    with pytest.raises(ValueError, match=says):
        excursions(**{**GOOD, **change})


def test_other_impossible_input_is_refused():
    with pytest.raises(ValueError, match="tension_n"):
        pluck_stiffness_n_per_m(tension_n=0.0, length=648.0, pluck_from_bridge=80.0)
    with pytest.raises(ValueError, match="force_n"):
        pluck_height_from_force(force_n=-1.0, tension_n=70.0, length=648.0, pluck_from_bridge=80.0)
    with pytest.raises(ValueError, match="one fret or more"):
        first_touch(clearance=[], excursion=[])
    with pytest.raises(ValueError, match="excursion must"):
        first_touch(clearance=[0.3], excursion=[0.0])
    for clearance in (0.3, [], [np.nan]):
        with pytest.raises(ValueError, match="one fret or more"):
            lowest_floor(clearance_at_zero=clearance, sensitivity=1.0, excursion=0.1)
