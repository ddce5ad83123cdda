"""Spread of results, against the GUM's Supplement 1 and linear propagation."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from nutgen.theory.strings import tension_at_pitch_n
from nutgen.theory.uncertainty import Measured, draw, spread, variance_shares

SUM = {"a": Measured(10.0, 0.3), "b": Measured(-2.0, 0.4), "c": Measured(5.0, 0.0)}


def test_additive_model_of_the_gum_supplement():
    # JCGM 101:2008, 9.2: four normal inputs of mean 0 and standard uncertainty 1, added up: u = 2.00 and a 95 %
    # interval of +/- 3.92; values from memory
    readings = {name: Measured(0.0, 1.0) for name in "pqrs"}
    samples = sum(draw(readings, count=1_000_000, seed=4).values())
    assert spread(samples).sd == pytest.approx(2.00, abs=0.005)
    assert np.quantile(samples, [0.025, 0.975]) == pytest.approx([-3.92, 3.92], abs=0.02)


@settings(max_examples=30)
@given(st.lists(st.tuples(st.floats(-9.0, 9.0), st.floats(0.01, 5.0)), min_size=1, max_size=5))
def test_any_weighted_sum_splits_its_variance_exactly(terms):
    readings = {f"x{i}": Measured(1.0, error) for i, (_, error) in enumerate(terms)}

    def total(**x):
        return sum(weight * x[f"x{i}"] for i, (weight, _) in enumerate(terms))

    parts = np.array([(weight * error) ** 2 for weight, error in terms])
    shares = variance_shares(total, readings)
    if parts.sum() > 1e-6:
        assert [shares[f"x{i}"] for i in range(len(terms))] == pytest.approx(parts / parts.sum(), abs=1e-9)
        told = [round(float(share), 9) for share in shares.values()]
        assert told == sorted(told, reverse=True)


def test_a_square_is_split_exactly_too():
    # variance of x^2 for x normal with mean 0: 2 sd^4, where slopes alone see nothing
    readings = {"x": Measured(0.0, 0.5), "y": Measured(0.0, 0.5)}
    shares = variance_shares(lambda x, y: x**2 + y, readings)
    assert shares["x"] == pytest.approx(2.0 * 0.5**4 / (2.0 * 0.5**4 + 0.25))


def test_draws_have_their_distributions():
    draws = draw({"n": Measured(2.0, 0.5), "r": Measured(2.0, 0.5)}, count=20_000, seed=3)
    assert stats.kstest(draws["n"], stats.norm(2.0, 0.5).cdf).pvalue > 0.001
    assert stats.kstest(draws["r"], stats.norm(2.0, 0.5).cdf).pvalue > 0.001
    assert abs(stats.pearsonr(draws["n"], draws["r"]).statistic) < 0.03
    band = spread(draws["n"])
    assert [band.low_5, band.high_95] == pytest.approx(stats.norm(2.0, 0.5).ppf([0.05, 0.95]), abs=0.02)


def test_same_seed_same_figures_and_readings_do_not_disturb_each_other():
    first, again, other = (draw(SUM, count=50, seed=seed) for seed in (7, 7, 8))
    assert all(np.array_equal(first[name], again[name]) for name in SUM)
    assert not np.array_equal(first["a"], other["a"])
    turned = draw({name: SUM[name] for name in ("c", "a")} | {"new": Measured(0.0, 1.0)}, count=50, seed=7)
    assert np.array_equal(first["a"], turned["a"])


def test_the_pull_of_a_six_string_set():
    gauges = np.array([0.046, 0.036, 0.026, 0.017, 0.013, 0.010]) * 25.4
    hz = np.array([82.407, 110.0, 146.832, 195.998, 246.942, 329.628])
    readings = {
        "density": Measured(7806.0, 60.0),
        "gauge": Measured(gauges, 0.005),
        "scale_length": Measured(648.0, 0.5),
    }

    def pulls(density, gauge, scale_length):
        mass = density * np.pi / 4.0 * (gauge / 1000.0) ** 2
        pitch = hz.reshape(-1, *[1] * (np.ndim(gauge) - 1))
        return tension_at_pitch_n(unit_mass_kg_per_m=mass, scale_length=scale_length, pitch_hz=pitch)

    sampled = spread(pulls(**draw(readings, seed=2)))
    assert sampled.mean.shape == sampled.low_5.shape == (6,)
    # by hand: relative sd of a power product
    hand = np.sqrt((60.0 / 7806.0) ** 2 + (2.0 * 0.005 / gauges) ** 2 + (2.0 * 0.5 / 648.0) ** 2)
    assert sampled.sd / sampled.mean == pytest.approx(hand, rel=0.02)
    shares = variance_shares(pulls, readings)
    assert next(iter(shares)) == "gauge"
    assert shares["gauge"] == pytest.approx((2.0 * 0.005 / gauges / hand) ** 2, rel=1e-3)
    # the sum of six: gauges err apart, density and scale length together
    assert spread(pulls(**draw(readings, seed=2)).sum(axis=0)).sd > np.sqrt(np.sum(sampled.sd**2))


def test_nothing_varies():
    still = {"a": Measured(1.0, 0.0), "b": Measured(2.0, 0.0)}
    assert variance_shares(lambda a, b: a * b, still) == {"a": 0.0, "b": 0.0}
    assert np.all(draw(still, count=10)["b"] == 2.0)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: draw({"a": Measured(1.0, -0.1)}), "a: .*0 or more"),
        (lambda: draw({"a": Measured(np.nan, 0.1)}), "a: the value must be finite"),
        (lambda: draw({"a": Measured(1.0, 0.1)}, count=1), "2 or more"),
        (lambda: spread([1.0]), "two samples or more"),
    ],
)
def test_impossible_input_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
