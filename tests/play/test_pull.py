"""Pull of files against published weights and pulls, and what a change means."""

import numpy as np
import pytest

from nutgen.documents.words import sentence
from nutgen.nut import solve
from nutgen.play.gauges import REACHED, suggest
from nutgen.play.pull import NEWTON_PER, back_bow_findings, change, pull_before, pull_findings, pull_now
from tests.play.files import KINDS, changed, one_string

STANDARD_G, MAKERS_G = 386.0886, 386.4  # in/s^2: 9.80665 m/s^2; what makers' tables divide by

# gauge in, unit weight lb/in, note, scale in, printed pull lbf, last printed digit
PUBLISHED = [
    # R. Turner, table of unit weights and tensions, Acoustic Guitar, December 2000 (seen in a reprint, page not known),
    # 25.5 in
    (0.014, ".00004342", "D4", 25.5, 25.2, 0.1),
    (0.016, ".00005671", "B3", 25.5, 23.3, 0.1),
    (0.034, ".00023887", "D3", 25.5, 34.7, 0.1),
    (0.047, ".00045289", "G2", 25.5, 29.3, 0.1),
    # D. Bertels, table of tensions on a page about the five-string banjo, undated, 26.25 in, D4 at 293.7 Hz and G3 at
    # 155.0 Hz
    (0.010, ".00002215", "D4", 26.25, 13.6290, 0.01),
    (0.016, ".00005671", "G3", 26.25, 15.5400, 0.01),
    # J. D'Addario & Company, A Complete Technical Reference for Fretted Instrument String Tensions, catalog supplement,
    # chart 13934, undated: bass .105, 36 in, E1
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
    # M. B. Anderson, R. G. Beausoleil, Classical guitar intonation and compensation, J. Acoust. Soc. Am. 156(1), 683
    # (2024): nylon E4, 0.374 g/m, 650 mm -> 68.6 N; they agree within the rounding of both
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
    told = {found.value("strings") for found in got.assumed if found.code == "pull.model"}
    assert told == set(got.strings.build)
    assert "pull.wrap-assumed" not in [found.code for found in got.assumed]


# The same sources as in tests/theory/test_unit_mass.py: a set of the trade on 25.5 in, from memory, but none of the
# strings that a constant was set by. Kind, gauge in, note, printed pull lbf, what the file says of the string
PACKETS = [
    ("acoustic-6", 0.024, "G3", 30.2, 'wound = true\nwrap_metal = "phosphor bronze"'),
    ("acoustic-6", 0.032, "D3", 30.5, 'wound = true\nwrap_metal = "phosphor bronze"'),
    ("acoustic-6", 0.042, "A2", 29.9, 'wound = true\nwrap_metal = "phosphor bronze"'),
    ("acoustic-6", 0.053, "E2", 26.0, 'wound = true\nwrap_metal = "phosphor bronze"'),
    ("electric-6", 0.026, "D3", 18.4, "wound = true"),
    ("electric-6", 0.036, "A2", 19.5, "wound = true"),
    ("electric-6", 0.046, "E2", 17.5, "wound = true"),
    ("electric-6", 0.017, "G3", 16.6, ""),
    ("classical", 0.0322, "B3", 11.6, 'material = "nylon"'),
    ("classical", 0.0403, "G3", 12.1, 'material = "nylon"'),
    ("classical", 0.029, "D3", 15.6, 'material = "nylon"\nwound = true'),
]


@pytest.mark.parametrize(("kind", "gauge", "note", "pounds", "more"), PACKETS)
def test_pulls_of_packets_lie_in_the_stated_band(kind: str, gauge: float, note: str, pounds: float, more: str) -> None:
    got = pull_now(one_string(scale=25.5 * 25.4, string=f'note = "{note}"\ngauge = {gauge}\n{more}'))
    printed = pounds * NEWTON_PER["lbf"] * MAKERS_G / STANDARD_G
    assert abs(got.total_n - printed) <= got.total_error_n


def test_a_wrap_metal_that_the_file_does_not_say() -> None:
    """The band then holds phosphor bronze too, and says so; on a bass and under a printed unit mass it need not."""
    string = 'note = "A2"\ngauge = 0.042\nwound = true'
    bronze = pull_now(one_string(string=f'{string}\nwrap_metal = "phosphor bronze"'))
    unsaid = pull_now(one_string(string=string))
    assert unsaid.total_n + unsaid.total_error_n > bronze.total_n + bronze.total_error_n
    assert unsaid.assumed[0].code == "pull.wrap-assumed"
    assert "nickel" in sentence(unsaid.assumed[0])
    printed = pull_now(one_string(string=f'{string}\nunit_mass = "0.00036722 lb/in"'))
    bass = pull_now(one_string(scale=863.6, string=string))
    for other in (printed, bass):
        assert "pull.wrap-assumed" not in [found.code for found in other.assumed]


def test_a_model_that_was_compared_with_nothing_says_so() -> None:
    got = pull_now(one_string(string='note = "E4"\ngauge = 0.022\nmaterial = "fluorocarbon"'))
    assert [found.code for found in got.assumed] == ["pull.model-alone", "pull.weigh", "pull.strength"]
    assert "music wire" not in " ".join(sentence(found) for found in got.assumed)


def test_core_that_two_wraps_leave() -> None:
    # by hand: 1.0 mm less 0.2 and 0.1 on either side; a hexagon of that girth is 0.4 pi / (2 sqrt 3) across its flats
    wound = 'note = "E2"\ngauge = "1 mm"\nwound = true\nwraps = ["0.2 mm", "0.1 mm"]\ncore_shape = "{}"'
    cores = [pull_now(one_string(string=wound.format(shape))).strings.core_diameter[0] for shape in ("round", "hex")]
    assert cores == pytest.approx([0.4, 0.36276], abs=5e-6)


def test_the_fifth_string_of_a_banjo_counts() -> None:
    spec = changed("banjo-5")
    got, four = pull_now(spec), pull_now(spec.model_copy(update={"drones": ()}))
    assert got.strings.notes == ("G4", "D3", "G3", "B3", "D4")
    # by hand: from fret 5 on, 666.8 / 2^(5/12) mm; a .010 weighs 0.39554 g/m by the published .00002215 lb/in
    by_hand = 0.00002215 * 17.857967 * (2.0 * 0.6668 / 2.0 ** (5.0 / 12.0) * 440.0 * 2.0 ** (-2.0 / 12.0)) ** 2
    assert got.total_n - four.total_n == pytest.approx(by_hand, rel=0.001)
    assert len(solve(spec).slots) == 4


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
        thin = spec.strings[3].model_copy(update={"gauge": 0.012 * 25.4})
        (found,) = pull_findings(
            pull_now(spec.model_copy(update={"strings": (*spec.strings[:3], thin, *spec.strings[4:])}))
        )
        assert (found.code, found.strings) == ("pull.loose", (3,))
        assert found.value("less_share") == pytest.approx(1.0 - (12 / 17) ** 2 * 73.7 / 68.4, abs=0.002)


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

    def test_less_pull_on_a_slack_rod_and_a_back_bow_is_one_finding(self) -> None:
        """Nothing but more pull brings relief then: common practice, no source."""
        spec = one_string(string=self.NOW + "\n" + self.GIVEN)
        now, before = pull_now(spec), pull_before(spec)
        assert before is not None
        for instrument, setup, found in ((True, True, 1), (False, True, 0), (True, False, 0)):
            neck = spec.model_copy(
                update={
                    "instrument": spec.instrument.model_copy(update={"rod_slack": instrument}),
                    "setup": spec.setup.model_copy(update={"back_bow": setup}),
                }
            )
            for against in (change(before, now), change(now, now), None):
                assert [one.code for one in back_bow_findings(neck, against)] == ["pull.back-bow-stays"] * found
            assert list(back_bow_findings(neck, change(now, before))) == []

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

    def test_gauges_that_straddle_a_pull_are_told(self) -> None:
        """The steps of plain gauges from .007 to .009 are .0005: of those beside a pull, one is below and one above."""
        spec = one_string(string='note = "E4"\ngauge = 0.008')
        got = suggest(spec, target_n=55.0, low=0.007 * 25.4, high=0.009 * 25.4)
        (below, above), (below_n, above_n) = got.beside[0], got.beside_n[0]
        assert below_n < 55.0 < above_n
        assert below < above
        steps = np.array([0.007, 0.0075, 0.008, 0.0085, 0.009]) * 25.4
        assert np.searchsorted(steps, above - 1e-6) - np.searchsorted(steps, below - 1e-6) == 1
        none = suggest(spec, target_n=500.0, low=0.007 * 25.4, high=0.009 * 25.4)
        assert np.isnan(none.beside[0][1])
        assert np.isclose(none.beside[0][0], 0.009 * 25.4)

    def test_empty_range(self) -> None:
        with pytest.raises(ValueError, match="no wound gauge of the trade lies between"):
            suggest(changed("bass-4"), target_n=180.0, low=0.0501 * 25.4, high=0.0502 * 25.4)
