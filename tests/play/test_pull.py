"""Pull of files against published weights and pulls, and what a change means."""

import numpy as np
import pytest

from nutgen.documents.words import sentence
from nutgen.play.gauges import REACHED, suggest
from nutgen.play.pull import NEWTON_PER, change, pull_before, pull_findings, pull_now
from tests.play.files import KINDS, changed, one_string

STANDARD_G, MAKERS_G = 386.0886, 386.4  # in/s^2: 9.80665 m/s^2; what makers' tables divide by

# gauge in, unit weight lb/in, note, scale in, printed pull lbf, last printed digit
PUBLISHED = [
    # Acoustic Guitar magazine, December 2000, R. Turner, as given on watchalan.com/stringauges.php, 25.5 in
    (0.014, ".00004342", "D4", 25.5, 25.2, 0.1),
    (0.016, ".00005671", "B3", 25.5, 23.3, 0.1),
    (0.034, ".00023887", "D3", 25.5, 34.7, 0.1),
    (0.047, ".00045289", "G2", 25.5, 29.3, 0.1),
    # dirkbertels.net, banjo page, 26.25 in, D4 at 293.7 Hz and G3 at 196.0 Hz
    (0.010, ".00002215", "D4", 26.25, 13.6290, 0.01),
    (0.016, ".00005671", "G3", 26.25, 15.5400, 0.01),
    # a maker's chart (13934): bass .105, 36 in, E1
    (0.105, ".00198395", "E1", 36.0, 45.2, 0.1),
]


@pytest.mark.parametrize(("gauge", "weight", "note", "scale", "pull", "digit"), PUBLISHED)
def test_published_pulls_through_a_file(
    gauge: float, weight: str, note: str, scale: float, pull: float, digit: float
) -> None:
    string = f'note = "{note}"\ngauge = {gauge}\nwound = {str(gauge > 0.026).lower()}\nunit_mass = "{weight} lb/in"'
    got = pull_now(one_string(scale=scale * 25.4, string=string))
    assert got.strings.basis == ("given",)
    lbf = got.total_n / NEWTON_PER["lbf"] * STANDARD_G / MAKERS_G
    assert lbf == pytest.approx(pull, abs=digit / 2.0)


def test_classical_e_by_anderson_and_beausoleil() -> None:
    # JASA 156(1), 683 (2024): nylon E4, 0.374 g/m, 650 mm -> 68.6 N; they agree within the rounding of both
    string = 'note = "E4"\ngauge = 0.028\nmaterial = "nylon"\nunit_mass = "{} g/m"'
    low, high = (pull_now(one_string(scale=650.0, string=string.format(m))).total_n for m in (0.3735, 0.3745))
    assert low < 68.65
    assert high > 68.55


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_plays(kind: str) -> None:
    got = pull_now(changed(kind))
    assert set(got.state) == {"plays"}
    assert np.all(got.error_n > 0.0)
    assert got.total_error_n < 0.1 * got.total_n
    assert bool(got.assumed) == ("wound" in got.strings.basis)


class TestWarnings:
    def test_an_impossible_set_a_010_at_c1(self) -> None:
        spec = changed("bass-4-fifths")
        thin = spec.model_copy(
            update={"strings": (spec.strings[0].model_copy(update={"gauge": 0.254, "wound": False}), *spec.strings[1:])}
        )
        (found,) = pull_findings(pull_now(thin))
        assert sentence(found).startswith("string 4 (C1): 1.3 N is slack, under 15 N")

    def test_near_breaking_and_breaking(self) -> None:
        high = changed("electric-6")
        tuned = high.model_copy(
            update={"strings": (*high.strings[:-1], high.strings[-1].model_copy(update={"note": "A4"}))}
        )
        words = [sentence(found) for found in pull_findings(pull_now(tuned))]
        assert any(w.startswith("string 1 (A4): 128 N is 94% of its strength, over 80%") for w in words)
        above = tuned.model_copy(
            update={"strings": (*tuned.strings[:-1], tuned.strings[-1].model_copy(update={"note": "C5"}))}
        )
        assert "pull.breaks" in [found.code for found in pull_findings(pull_now(above))]

    def test_one_string_far_above_its_neighbours(self) -> None:
        spec = changed("electric-6")
        thick = spec.strings[3].model_copy(update={"gauge": 0.022 * 25.4})
        heavy = spec.model_copy(update={"strings": (*spec.strings[:3], thick, *spec.strings[4:])})
        (found,) = pull_findings(pull_now(heavy))
        # 22^2 / 17^2 times 73.7 N over 81.9 N
        assert (found.code, found.strings) == ("pull.stiff", (3,))
        assert found.value("more_share") == pytest.approx((22 / 17) ** 2 * 73.7 / 81.9 - 1.0, abs=0.002)


class TestChange:
    GIVEN = '[[before.strings]]\nnote = "G3"\ngauge = 0.017\nunit_mass = "0.00005 lb/in"'
    NOW = 'note = "G3"\ngauge = 0.018\nunit_mass = "0.00007 lb/in"'

    def test_relief_only_where_the_neck_was_measured(self) -> None:
        spec = one_string(string=self.NOW + "\n" + self.GIVEN)
        now, before = pull_now(spec), pull_before(spec)
        assert before is not None
        none, some = change(now, before), change(now, before, relief_per_100_n=0.4)
        assert none.relief is None
        assert [name for name, _ in none.meaning.values] == ["change_share"]
        # both pulls go with the unit mass: 7 to 5
        assert none.total_n == pytest.approx(now.total_n * 2.0 / 7.0, rel=1e-9)
        assert some.relief == pytest.approx(0.4 * none.total_n / 100.0)
        assert f"{some.relief:+.2f} mm" in sentence(some.meaning)
        assert "40% more pull: expect more relief" in sentence(some.meaning)

    def test_less_pull_warns_of_a_back_bow(self) -> None:
        spec = one_string(string=self.NOW + "\n" + self.GIVEN)
        now, before = pull_now(spec), pull_before(spec)
        assert before is not None
        assert change(before, now).meaning.code == "pull.less"
        assert "less relief, perhaps a back bow" in sentence(change(before, now).meaning)

    def test_unclear_within_what_is_known(self) -> None:
        spec = changed("bass-4-fifths")
        before = pull_before(spec)
        assert before is not None
        assert change(pull_now(spec), before).direction == "unclear"

    def test_another_tuning_of_the_same_strings_is_exact(self) -> None:
        spec = changed("electric-6", '[before]\ntuning = ["D2", "G2", "C3", "F3", "A3", "D4"]')
        before = pull_before(spec)
        assert before is not None
        # a whole tone is 2^(2/12) in pitch, its square in pull; what is not known of the strings cancels
        got = change(pull_now(spec), before)
        assert got.total_n == pytest.approx(before.total_n * (2.0 ** (4.0 / 12.0) - 1.0), rel=1e-9)
        assert got.direction == "more"

    def test_another_a4(self) -> None:
        spec = changed("electric-6", "[before]\na4_hz = 415.0")
        before = pull_before(spec)
        assert before is not None
        assert pull_now(spec).total_n / before.total_n == pytest.approx((440.0 / 415.0) ** 2, rel=1e-9)

    def test_other_number_of_strings_compares_in_all(self) -> None:
        got = change(pull_now(changed("bass-5")), pull_now(changed("bass-4")))
        assert got.by_string is None
        assert got.total_n == pytest.approx(155.96, abs=0.01)


class TestSuggest:
    @pytest.mark.parametrize("kind", ["electric-6", "bass-4-fifths", "classical"])
    def test_even_pull_comes_within_a_gauge(self, kind: str) -> None:
        spec = changed(kind)
        got = suggest(spec, target_n=None)
        now = pull_now(spec)
        assert got.target_n == pytest.approx(now.total_n / len(spec.strings))
        spread = np.ptp(got.tension_n) / got.target_n
        assert spread < np.ptp(now.tension_n) / got.target_n
        for ok, pull in zip(got.reached, got.tension_n, strict=True):
            assert ok == (abs(pull / got.target_n - 1.0) <= REACHED)

    def test_suggested_set_pulls_what_it_says(self) -> None:
        spec = changed("electric-6")
        got = suggest(spec, target_n=80.0)
        restrung = spec.model_copy(
            update={
                "strings": tuple(
                    s.model_copy(update={"gauge": float(g)}) for s, g in zip(spec.strings, got.gauge, strict=True)
                )
            }
        )
        np.testing.assert_allclose(pull_now(restrung).tension_n, got.tension_n, rtol=1e-9)

    def test_stated_range_is_kept_and_a_miss_is_told(self) -> None:
        got = suggest(changed("electric-6"), target_n=80.0, low=0.009 * 25.4, high=0.030 * 25.4)
        assert np.all((got.gauge >= 0.009 * 25.4 - 1e-9) & (got.gauge <= 0.030 * 25.4 + 1e-9))
        assert got.reached == (False, False, True, True, True, True)

    def test_empty_range(self) -> None:
        with pytest.raises(ValueError, match="no wound gauge of the trade lies between"):
            suggest(changed("bass-4"), target_n=180.0, low=0.0501 * 25.4, high=0.0502 * 25.4)
