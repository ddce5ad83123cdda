"""Spread of results, against the GUM's Supplement 1 and linear propagation."""

from typing import Any, cast

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from nutgen.theory.strings import tension_at_pitch_n
from nutgen.theory.uncertainty import (
    Reading,
    draw,
    linear_spread,
    propagate,
    spread,
    variance_shares,
)

SUM = {"a": Reading(10.0, 0.3), "b": Reading(-2.0, 0.4, "rectangular"), "c": Reading(5.0, 0.0)}


def weighted(a, b, c):
    return 3.0 * a - 2.0 * b + c


@pytest.mark.parametrize(("distribution", "half_interval"), [("normal", 3.92), ("rectangular", 3.88)])
def test_additive_model_of_the_gum_supplement(distribution, half_interval):
    # JCGM 101:2008, 9.2: four inputs of mean 0 and standard uncertainty 1, added up: u = 2.00 and a 95 %
    # interval of +/- 3.92 (normal), +/- 3.88 (rectangular); values from memory
    error = 1.0 if distribution == "normal" else np.sqrt(3.0)
    readings = {name: Reading(0.0, error, distribution) for name in "pqrs"}
    samples = propagate(lambda p, q, r, s: p + q + r + s, readings, count=1_000_000, seed=4)
    assert spread(samples).sd == pytest.approx(2.00, abs=0.005)
    assert np.quantile(samples, [0.025, 0.975]) == pytest.approx([-half_interval, half_interval], abs=0.02)


def test_linear_case_agrees_with_linear_propagation():
    linear = linear_spread(weighted, SUM)
    sd_b = 0.4 / np.sqrt(3.0)
    assert linear.value == pytest.approx(39.0)
    assert linear.sd == pytest.approx(np.hypot(0.9, 2.0 * sd_b), rel=1e-9)
    sampled = spread(propagate(weighted, SUM, count=200_000, seed=1))
    assert sampled.mean == pytest.approx(linear.value, abs=5.0 * linear.sd / np.sqrt(200_000))
    assert sampled.sd == pytest.approx(linear.sd, rel=0.01)
    for shares in (linear.shares, variance_shares(weighted, SUM)):
        assert shares["a"] == pytest.approx(0.81 / linear.sd**2, rel=1e-9)
        assert shares["c"] == 0.0
        assert sum(shares.values()) == pytest.approx(1.0)


@settings(deadline=None, max_examples=30)
@given(st.lists(st.tuples(st.floats(-9.0, 9.0), st.floats(0.01, 5.0)), min_size=1, max_size=5), st.booleans())
def test_any_weighted_sum_splits_its_variance_exactly(terms, flat):
    readings = {f"x{i}": Reading(1.0, error, "rectangular" if flat else "normal") for i, (_, error) in enumerate(terms)}

    def total(**x):
        return sum(weight * x[f"x{i}"] for i, (weight, _) in enumerate(terms))

    parts = np.array([(weight * error) ** 2 for weight, error in terms])
    shares = variance_shares(total, readings)
    if parts.sum() > 1e-6:
        assert [shares[f"x{i}"] for i in range(len(terms))] == pytest.approx(parts / parts.sum(), abs=1e-9)
        told = [round(float(share), 9) for share in shares.values()]
        assert told == sorted(told, reverse=True)
    sd = np.sqrt(parts.sum() / (3.0 if flat else 1.0))
    assert linear_spread(total, readings).sd == pytest.approx(sd, rel=1e-7, abs=1e-9)


def test_a_square_is_split_exactly_too():
    # variance of x^2 for x normal with mean 0: 2 sd^4, where slopes alone see nothing
    readings = {"x": Reading(0.0, 0.5), "y": Reading(0.0, 0.5)}
    shares = variance_shares(lambda x, y: x**2 + y, readings)
    assert shares["x"] == pytest.approx(2.0 * 0.5**4 / (2.0 * 0.5**4 + 0.25))
    assert linear_spread(lambda x, y: x**2 + y, readings).shares["x"] == pytest.approx(0.0, abs=1e-12)


def test_draws_have_their_distributions():
    draws = draw({"n": Reading(2.0, 0.5), "r": Reading(2.0, 0.5, "rectangular")}, count=20_000, seed=3)
    assert stats.kstest(draws["n"], stats.norm(2.0, 0.5).cdf).pvalue > 0.001
    assert stats.kstest(draws["r"], stats.uniform(1.5, 1.0).cdf).pvalue > 0.001
    assert abs(stats.pearsonr(draws["n"], draws["r"]).statistic) < 0.03
    band = spread(draws["n"])
    assert [band.low_5, band.high_95] == pytest.approx(stats.norm(2.0, 0.5).ppf([0.05, 0.95]), abs=0.02)


def test_same_seed_same_figures_and_readings_do_not_disturb_each_other():
    first, again, other = (draw(SUM, count=50, seed=seed) for seed in (7, 7, 8))
    assert all(np.array_equal(first[name], again[name]) for name in SUM)
    assert not np.array_equal(first["a"], other["a"])
    turned = draw({name: SUM[name] for name in ("c", "a")} | {"new": Reading(0.0, 1.0)}, count=50, seed=7)
    assert np.array_equal(first["a"], turned["a"])


def test_the_pull_of_a_six_string_set():
    gauges = np.array([0.046, 0.036, 0.026, 0.017, 0.013, 0.010]) * 25.4
    hz = np.array([82.407, 110.0, 146.832, 195.998, 246.942, 329.628])
    readings = {
        "density": Reading(7806.0, 60.0, "rectangular"),
        "gauge": Reading(gauges, 0.005),
        "scale_length": Reading(648.0, 0.5),
    }

    def pulls(density, gauge, scale_length):
        mass = density * np.pi / 4.0 * (gauge / 1000.0) ** 2
        pitch = hz.reshape(-1, *[1] * (np.ndim(gauge) - 1))
        return tension_at_pitch_n(unit_mass_kg_per_m=mass, scale_length=scale_length, pitch_hz=pitch)

    def in_all(**drawn):
        return pulls(**drawn).sum(axis=0)

    sampled = spread(propagate(pulls, readings, seed=2))
    linear = linear_spread(pulls, readings)
    assert sampled.mean.shape == sampled.low_5.shape == linear.sd.shape == (6,)
    assert sampled.mean == pytest.approx(linear.value, rel=1e-3)
    assert sampled.sd == pytest.approx(linear.sd, rel=0.02)
    # by hand: relative sd of a power product
    hand = np.sqrt((60.0 / np.sqrt(3.0) / 7806.0) ** 2 + (2.0 * 0.005 / gauges) ** 2 + (2.0 * 0.5 / 648.0) ** 2)
    assert linear.sd / linear.value == pytest.approx(hand, rel=1e-5)
    shares = variance_shares(pulls, readings)
    assert next(iter(shares)) == "gauge"
    assert shares["gauge"] == pytest.approx((2.0 * 0.005 / gauges / hand) ** 2, rel=1e-3)
    # the sum of six: gauges err apart, density and scale length together
    sum_sampled, sum_linear = spread(propagate(in_all, readings, seed=2)), linear_spread(in_all, readings)
    assert sum_sampled.sd == pytest.approx(sum_linear.sd, rel=0.02)
    assert sum_linear.sd > np.sqrt(np.sum(linear.sd**2))


def test_nothing_varies():
    still = {"a": Reading(1.0, 0.0), "b": Reading(2.0, 0.0)}
    assert variance_shares(lambda a, b: a * b, still) == {"a": 0.0, "b": 0.0}
    assert linear_spread(lambda a, b: a * b, still).sd == 0.0
    assert np.all(propagate(lambda a, b: a * b, still, count=10) == 2.0)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: draw({"a": (1.0, -0.1, "normal")}), "a: .*0 or more"),
        (lambda: draw({"a": (np.nan, 0.1, "normal")}), "a: the value must be finite"),
        (lambda: draw({"a": Reading(1.0, 0.1, cast(Any, "triangular"))}), '"normal" or "rectangular"'),
        (lambda: draw({"a": (1.0, 0.1, "normal")}, count=1), "2 or more"),
        (lambda: variance_shares(np.negative, {"a": Reading(1.0, 0.1, cast(Any, "u"))}), '"normal" or "rectangular"'),
        (lambda: spread([1.0]), "two samples or more"),
    ],
)
def test_impossible_input_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
