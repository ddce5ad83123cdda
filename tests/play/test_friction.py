"""Friction of a file's slots against calculations and the rope round a post."""

import pytest

from nutgen.nut import solve
from nutgen.play.friction import friction
from nutgen.spec.values import Across
from tests.play.files import changed, one_string, solved


def test_bend_and_force_of_a_bass_string() -> None:
    # 179.29 N bent by 10 degrees presses with 31.25 N; 10 down and 6 sideways make 11.646 degrees (calculation)
    mass = 179.29 / (2 * 0.8636 * 41.2034) ** 2
    string = f'note = "E1"\ngauge = 0.105\nwound = true\nunit_mass = "{mass:.8f} kg/m"'
    straight = one_string(scale=863.6, string=string)
    got = friction(solve(straight))
    assert got.down_force_n[0] == pytest.approx(31.25, abs=0.005)
    fanned = straight.model_copy(
        update={"headstock": straight.headstock.model_copy(update={"fan_deg": Across((6.0,))})}
    )
    assert friction(solve(fanned)).bend_deg[0] == pytest.approx(11.646, abs=0.0005)


def test_dead_band_and_what_shapes_save() -> None:
    # 865.617 mu theta cents: mu .2, 10 degrees -> 30.2; so .1 and .3 give half and one and a half of it (calculation)
    spec = one_string(string='note = "G3"\ngauge = 0.017')
    got = friction(solve(spec))
    assert got.dead_band[0][0] == pytest.approx(15.1, abs=0.05)
    assert got.dead_band[1][0] == pytest.approx(45.3, abs=0.05)
    # a V of 30 degrees doubles friction (V-belt formula): as much again is saved
    assert got.gain_over_v[0] == pytest.approx(got.dead_band[1][0], rel=1e-9)
    # a slot that fits like a mould: 4 / pi (rope in a round groove)
    assert got.gain_over_tight[0] == pytest.approx(got.dead_band[1][0] * 0.2732, rel=1e-3)


def test_slot_without_clearance_grips() -> None:
    loose, _ = solved("electric-6")
    tight = changed("electric-6", clearance="0.0")
    wide, narrow = (friction(solve(spec)) for spec in (loose, tight))
    assert narrow.dead_band[1][0] / wide.dead_band[1][0] == pytest.approx(1.2732, rel=1e-4)
    assert narrow.gain_over_tight[0] == pytest.approx(0.0, abs=1e-9)


def test_range_is_an_assumption_and_says_so() -> None:
    got = friction(solved("electric-6")[1])
    assert got.assumed[0].code == "friction.assumed"
