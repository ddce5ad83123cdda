"""Cents of a file's notes against Hooke's law on the stretched path, solved for the pull by root finding."""

import numpy as np
import pytest
from scipy.optimize import brentq

from nutgen.nut import solve
from nutgen.nut.strung import strung
from nutgen.play.pitch import pitches
from nutgen.play.played import played
from nutgen.spec.values import Across
from tests.play.files import changed, one_string, solved
from tests.play.walk import Walk


def hooke_cents(*, walk: Walk, floor: float, stiffness_n: float, tension_n: float, fret: int, finger: float) -> float:
    """How sharp a limp string sounds, from its slack length: path by path, no closed form."""
    saddle = (walk.scale, walk.saddle(floor))
    nut = (walk.start, walk.floor(floor))
    crown = (walk.places[fret], walk.crown_at(fret))
    slope = (saddle[1] - crown[1]) / (saddle[0] - crown[0])
    under = (crown[0] - finger, crown[1] - slope * finger)

    def path(*corners: tuple[float, float]) -> float:
        return float(np.hypot(*np.diff(np.array(corners), axis=0).T).sum())

    open_length, pressed = path(nut, saddle), path(nut, under, crown, saddle)

    # kappa counts stretch on the length at pitch, as Anderson and Beausoleil do
    def pull(tension: float) -> float:
        return tension - tension_n - stiffness_n * (pressed - open_length) / open_length

    tight = brentq(pull, 0.1, 1000.0, xtol=1e-13)
    density = open_length / pressed  # the same mass on a longer path
    sounding = path(crown, saddle)
    ratio = open_length / sounding * np.sqrt(tight / tension_n / density)
    return 1200.0 * np.log2(ratio) - 100.0 * fret


@pytest.mark.parametrize("relief", [0.0, 0.3])
@pytest.mark.parametrize("setback", [0.0, 0.5])
def test_plain_string_of_a_file_against_hooke(relief: float, setback: float) -> None:
    string = 'note = "G3"\ngauge = 0.017'
    spec = one_string(relief=relief, string=string, more=f"[slots]\nsetback = {setback}\n[pluck]\nfinger = 6.0")
    nut, strings = solve(spec), strung(spec)
    got = pitches(nut).as_measured
    limp = (got.length + got.mass + got.tension)[0]
    stiffness = float(strings.youngs_gpa[0] * 1000.0 * np.pi / 4.0 * (0.017 * 25.4) ** 2)
    walk = Walk(nut, nut.slots[0])
    for fret in (1, 2, 5, 12, 17):
        expected = hooke_cents(
            walk=walk, floor=0.3, stiffness_n=stiffness, tension_n=strings.tension_n[0], fret=fret, finger=6.0
        )
        assert limp[fret - 1] == pytest.approx(expected, abs=2e-4), fret


@pytest.mark.parametrize(("floor", "at_1"), [(0.15, 0.76), (0.50, 3.01)])
def test_high_nut_shows_at_fret_1_and_not_at_12(floor: float, at_1: float) -> None:
    # Plain .017, 648 mm, 73.64 N, 200 GPa, action 1.6, finger at the fret: the stretch alone makes +0.76 or +3.01 at
    # fret 1 and +4.20 at fret 12 (calculation from Anderson and Beausoleil's formula)
    mass = 73.64 / (2 * 0.648 * 195.9977) ** 2
    string = f'note = "G3"\ngauge = 0.017\nunit_mass = "{mass:.10f} kg/m"'
    spec = one_string(floor=floor, string=string, more="[pluck]\nfinger = 0.0")
    got = pitches(solve(spec)).as_measured
    stretch = (got.mass + got.tension)[0]
    assert stretch[0] == pytest.approx(at_1, abs=0.005)
    assert stretch[11] == pytest.approx(4.20, abs=0.005)


def test_saddle_set_for_fret_12() -> None:
    nut = solved("electric-6")[1]
    got = pitches(nut)
    np.testing.assert_allclose(got.cents[:, 11], 0.0, atol=1e-9)
    assert np.all(got.saddle > 0.0)


def test_gain_is_what_a_lower_nut_gains() -> None:
    """File each slot 0.1 deeper, the saddle where it stands: the action follows by half a tenth less."""
    spec, nut = solved("electric-6")
    got = pitches(nut)
    at = Walk(nut, nut.slots[0])
    share = 1.0 - (at.places[12] - at.start) / (at.scale - at.start)
    deeper = spec.model_copy(
        update={
            "setup": spec.setup.model_copy(
                update={
                    "first_fret_clearance": None,
                    "floor_height": Across(tuple(s.floor_height - 0.1 for s in nut.slots), each=True),
                    "action": Across(tuple(s.action - 0.1 * share for s in nut.slots), each=True),
                }
            )
        }
    )
    after = pitches(solve(deeper)).as_measured.total
    before = got.as_measured.total
    np.testing.assert_allclose(before - after, got.gain, atol=0.02)  # gain has the saddle set for fret 12
    assert np.all(got.gain > 0.0)


def test_setbacks_put_into_the_file_leave_what_was_promised() -> None:
    """The shelf starts the same straight string farther on: solved anew, nothing is left to move."""
    spec, nut = solved("electric-6")
    got = pitches(nut)
    setback = tuple(float(-s) for s in got.both.nut)
    assert all(0.0 < s < 2.0 for s in setback)
    moved = spec.model_copy(update={"slots": spec.slots.model_copy(update={"setback": Across(setback, each=True)})})
    again = pitches(solve(moved))
    # the model moves a nut at its height, the shelf along the string: a few thousandths of a millimetre
    np.testing.assert_allclose(-again.both.nut, setback, atol=0.01)
    np.testing.assert_allclose(again.both.saddle, got.both.saddle, atol=0.01)
    assert np.all(np.abs(again.cents[:, :12]) < np.abs(got.cents[:, :12]).max(axis=1, keepdims=True))


def test_common_compromise_is_no_better_than_each_its_own() -> None:
    nut = solved("electric-6")[1]
    got = pitches(nut, chosen=(1, 2, 3, 5, 7))
    assert got.chosen == (1, 2, 3, 5, 7)
    assert np.all(got.both.rms <= got.nut_alone.rms + 1e-9)
    assert float(got.common.rms) >= float(np.sqrt(np.mean(got.both.rms**2)))


def test_assumptions_are_told() -> None:
    nut = solved("electric-6")[1]
    assert any(found.code == "pitch.finger-assumed" and found.value("finger") == 8.0 for found in pitches(nut).assumed)
    said = changed("electric-6", "[pluck]\nfinger = 8.0")
    assert not any(found.code == "pitch.finger-assumed" for found in pitches(solve(said)).assumed)


def test_a_finger_presses_no_farther_back_than_half_way_to_the_next_fret() -> None:
    # 647.7 mm: fret 2 lies 34 beyond fret 1, the others are nearer one another (rule of 17.817)
    far, farther = (pitches(solve(changed("electric-6", f"[pluck]\nfinger = {at}"))) for at in (18.5, 29.0))
    np.testing.assert_array_equal(far.as_measured.total[:, 1:], farther.as_measured.total[:, 1:])


def test_string_that_no_saddle_tunes() -> None:
    """A plain .040 at E1 hangs with 8 N: every press sends it a semitone or more up. The others keep their figures."""
    spec = changed("electric-6")
    plain_string = spec.strings[0].model_copy(update={"gauge": 0.040 * 25.4, "wound": False, "note": "E1"})
    slack = spec.model_copy(update={"strings": (plain_string, *spec.strings[1:])})
    got, plain = pitches(solve(slack)), pitches(solve(spec))
    (told,) = (f for f in played(solve(slack), spec.errors, chosen=(1, 12)).findings if f.code == "pitch.untunable")
    assert (told.strings, told.value("fret")) == ((6,), 12)
    assert told.value("off_cents") == pytest.approx(got.as_measured.total[0, :12].max())
    assert got.tunable.tolist() == [False] + [True] * 5
    assert np.all(np.isnan(got.cents[0]))
    assert np.all(np.isfinite(got.as_measured.total))
    np.testing.assert_allclose(got.saddle[1:], plain.saddle[1:], rtol=1e-3)
