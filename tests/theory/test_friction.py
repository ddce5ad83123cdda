"""Friction over the nut, against the capstan and V-belt formulas and a lift standard's groove formula."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.theory.friction import (
    dead_band_cents,
    down_force_n,
    round_slot_factor,
    slot_gain_cents,
    total_bend_deg,
    wedge_factor,
)

FRICTION = st.floats(0.0, 1.0)
BEND = st.floats(0.0, 90.0)


def test_worked_bend_and_down_force():
    # computed from the formulas: 10 deg down and 6 deg sideways; 179.29 N over 10 deg
    assert total_bend_deg(down_deg=10.0, sideways_deg=6.0) == pytest.approx(11.646, abs=0.0005)
    assert down_force_n(tension_n=179.29, bend_deg=10.0) == pytest.approx(31.25, abs=0.005)


@given(st.floats(-90.0, 90.0), st.floats(-90.0, 90.0))
def test_total_bend_is_the_angle_between_two_directions(down, sideways):
    d, s = np.radians([down, sideways])
    behind = np.array([np.cos(d) * np.sin(s), np.cos(d) * np.cos(s), -np.sin(d)])
    ahead = np.array([0.0, 1.0, 0.0])
    angle = np.degrees(np.arctan2(np.linalg.norm(np.cross(ahead, behind)), ahead @ behind))
    assert total_bend_deg(down_deg=down, sideways_deg=sideways) == pytest.approx(angle, abs=1e-6)


@given(st.floats(0.1, 2000.0), st.floats(0.0, 180.0))
def test_down_force_is_the_sum_of_the_two_pulls(tension, bend_deg):
    turn = np.radians(bend_deg)
    pulls = tension * (np.array([-1.0, 0.0]) + np.array([np.cos(turn), -np.sin(turn)]))
    assert down_force_n(tension_n=tension, bend_deg=bend_deg) == pytest.approx(
        np.linalg.norm(pulls), rel=1e-9, abs=1e-9
    )


def test_dead_band_worked():
    # computed: 865.617 mu theta
    assert dead_band_cents(friction=0.2, bend_deg=10.0) == pytest.approx(30.2, abs=0.05)
    assert dead_band_cents(friction=1.0, bend_deg=np.degrees(1.0)) == pytest.approx(865.617, abs=0.0005)


@given(FRICTION, BEND)
def test_dead_band_is_the_pitch_between_the_two_slips(friction, bend_deg):
    ratio = np.exp(friction * np.radians(bend_deg))  # L. Euler and J. A. Eytelwein, the capstan equation
    slack, tight = 80.0 / np.sqrt(ratio), 80.0 * np.sqrt(ratio)
    cents = 1200.0 * np.log2(np.sqrt(tight) / np.sqrt(slack))
    assert dead_band_cents(friction=friction, bend_deg=bend_deg) == pytest.approx(cents, abs=1e-8)


def test_wedge_of_the_belt_handbooks():
    # V-belt formula mu / sin(half angle): 30 deg doubles; 18 deg, half of a 36 deg groove, gives 3.2
    assert wedge_factor(30.0) == pytest.approx(2.0, rel=1e-12)
    assert wedge_factor(18.0) == pytest.approx(3.2, abs=0.05)
    assert wedge_factor(90.0) == 1.0


@given(st.floats(1.0, 90.0))
def test_round_floor_is_the_groove_formula_for_lift_sheaves(half_angle):
    # EN 81-50, semicircular groove: f = mu 4 (cos(g/2) - sin(b/2)) / (pi - b - g - sin b + sin g), undercut
    # b = 0, groove angle g open at the top (from memory)
    g = np.pi - 2.0 * np.radians(half_angle)
    lift = 4.0 * np.cos(g / 2.0) / (np.pi - g + np.sin(g))
    assert round_slot_factor(half_angle) == pytest.approx(lift, rel=1e-9)


def test_round_floor_between_a_line_and_a_mould():
    assert round_slot_factor(0.0) == pytest.approx(1.0, abs=1e-9)
    assert round_slot_factor(90.0) == pytest.approx(4.0 / np.pi, rel=1e-12)
    assert np.all(np.diff(round_slot_factor(np.linspace(0.0, 90.0, 50))) > 0.0)


def test_opening_a_pinching_slot_pays_and_a_mould_costs_little():
    place = {"friction": 0.2, "bend_deg": 12.0}
    bare = dead_band_cents(**place)
    opened = slot_gain_cents(**place, factor_before=wedge_factor(18.0), factor_after=1.0)
    rounded = slot_gain_cents(**place, factor_before=round_slot_factor(90.0), factor_after=1.0)
    assert opened == pytest.approx(bare * (1.0 / np.sin(np.radians(18.0)) - 1.0))
    assert rounded == pytest.approx(bare * 0.2732, rel=1e-3)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: dead_band_cents(friction=-0.1, bend_deg=10.0), "friction .* 0 or more"),
        (lambda: dead_band_cents(friction=0.1, bend_deg=[3.0, -1.0]), "bend_deg .* 0 or more"),
        (lambda: down_force_n(tension_n=np.nan, bend_deg=1.0), "tension_n .* 0 or more"),
        (lambda: total_bend_deg(down_deg=91.0, sideways_deg=0.0), "between -90 and 90"),
        (lambda: wedge_factor(0.0), "above 0 and up to 90"),
        (lambda: round_slot_factor(91.0), "between 0 and 90"),
        (
            lambda: slot_gain_cents(friction=0.1, bend_deg=9.0, factor_before=0.5, factor_after=1.0),
            "factor_before .* 1 or more",
        ),
        (
            lambda: slot_gain_cents(friction=0.1, bend_deg=9.0, factor_before=1.5, factor_after=0.5),
            "factor_after .* 1 or more",
        ),
    ],
)
def test_impossible_input_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
