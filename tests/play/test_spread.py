"""Monte Carlo of the made nut against linear propagation by hand, where the case is linear."""

import numpy as np
import pytest
from scipy.special import ndtri

from nutgen.documents.words import sentence
from nutgen.nut import solve
from nutgen.nut.heights import line_of
from nutgen.play.heights import fret_numbers
from nutgen.play.spread import NutSpread, nut_spread
from nutgen.spec.playing import Errors
from nutgen.spec.read import parse_spec
from tests.kinds import text_of
from tests.play.files import changed, one_string, solved
from tests.play.walk import Walk

Z = ndtri(0.975)
"""Deviations to either side that hold 95 % of a normal distribution (scipy)."""
P = 1.0 - 2.0 ** (-1.0 / 12.0)
STRING = 'note = "G3"\ngauge = 0.017'
ERRORS = "[errors]\ndepth = {depth}\nfret_height = {fret_height}\nrelief = 0.0\naction = {action}\nfloors = {floors}"


def shares(got: NutSpread) -> dict[str, float]:
    return {one.name: one.share for one in got.sources}


def monochord(**errors: float):
    given = {"depth": 0.0, "fret_height": 0.0, "action": 0.0, "floors": 0.0} | errors
    spec = one_string(string=STRING, more=ERRORS.format(**given) + "\n[pluck]\nheight = 0.4\nfrom_bridge = 80")
    return spec, solve(spec)


def test_mean_and_spread_of_a_linear_case() -> None:
    """Straight neck, flat board: c1 = (1 - 2p) b + 2p a. Half-widths e that hold 95 % are e / 1.96 deviations."""
    spec, nut = monochord(depth=0.05, fret_height=0.04, action=0.2, floors=0.03)
    got = nut_spread(nut, spec.errors, draws=200_000)
    floor_sd = np.sqrt(0.05**2 + 0.04**2 + 0.03**2) / Z
    clearance_sd = np.hypot((1 - 2 * P) * floor_sd, 2 * P * 0.2 / Z)
    error = 4.0 / np.sqrt(200_000)
    assert got.floor_height.mean[0] == pytest.approx(0.3, abs=floor_sd * error)
    assert got.floor_height.sd[0] == pytest.approx(floor_sd, rel=error)
    assert got.first_fret_clearance.mean[0] == pytest.approx((1 - 2 * P) * 0.3 + 2 * P * 1.6, abs=clearance_sd * error)
    assert got.first_fret_clearance.sd[0] == pytest.approx(clearance_sd, rel=error)
    errors = {"depth": 0.05, "fret_height": 0.04, "floors": 0.03}
    due = {name: ((1 - 2 * P) * e / Z) ** 2 for name, e in errors.items()}
    due["action"] = (2 * P * 0.2 / Z) ** 2
    for name, share in due.items():
        assert shares(got)[name] == pytest.approx(share / clearance_sd**2, rel=1e-6), name


def test_relief_bends_the_neck_under_a_nut_that_is_cut() -> None:
    """Floor and action stay; the clearances at either end of the error, each on a neck that is walked."""
    more = ERRORS.format(depth=0.0, fret_height=0.0, action=0.0, floors=0.0).replace("relief = 0.0", "relief = 0.1")
    spec = one_string(string=STRING, relief=0.2, more=more)
    flatter, rounder = (solve(one_string(string=STRING, relief=relief)) for relief in (0.1, 0.3))
    apart = Walk(rounder, rounder.slots[0]).open(0.3, 1) - Walk(flatter, flatter.slots[0]).open(0.3, 1)
    got = nut_spread(solve(spec), spec.errors, draws=50_000)
    assert got.first_fret_clearance.sd[0] == pytest.approx(abs(apart) / 2.0 / Z, rel=0.02)
    assert shares(got)["relief"] == pytest.approx(1.0)


def test_chance_of_buzz_from_one_error() -> None:
    """Only the slot floor errs: the chance is the part of its normal distribution that is too low."""
    spec, nut = monochord(floors=0.5)
    touching = np.maximum(*nut.swing.excursion(line_of(nut).neck, fret_numbers(nut)))
    floors = 0.3 + 0.5 / Z * ndtri((np.arange(100_000) + 0.5) / 100_000)
    at_zero, at_one = (line_of(nut, floor_height=[b]).clearance(fret_numbers(nut))[0] for b in (0.0, 1.0))
    clear = np.all(at_zero + (at_one - at_zero) * floors[:, np.newaxis] >= touching[0], axis=-1)
    expected = 1.0 - clear.mean()
    assert 0.05 < expected < 0.95
    got = nut_spread(nut, spec.errors, draws=100_000).buzz_chance[0]
    assert got == pytest.approx(expected, abs=4.0 * np.sqrt(0.25 / 100_000))


def test_same_seed_same_figures() -> None:
    spec, nut = solved("electric-6")
    one, same, other = (nut_spread(nut, spec.errors, draws=2000, seed=seed) for seed in (1, 1, 2))
    np.testing.assert_array_equal(one.first_fret_clearance.sd, same.first_fret_clearance.sd)
    np.testing.assert_array_equal(one.buzz_chance, same.buzz_chance)
    assert np.any(one.first_fret_clearance.sd != other.first_fret_clearance.sd)


@pytest.mark.parametrize(
    ("errors", "reading", "words"),
    [
        ({"fret_height": 0.2}, "fret_height", "measure fret height better first: it causes 100% of the spread"),
        ({"depth": 0.2, "fret_height": 0.05}, "depth", "measure seat depth better first"),
        ({"floors": 0.2, "depth": 0.05}, "floors", "file and check each slot better first"),
        ({"action": 0.2}, "action", "measure action better first"),
        ({}, None, "no reading has an error"),
    ],
)
def test_advice_names_the_reading_that_matters(errors: dict[str, float], reading: str | None, words: str) -> None:
    spec, nut = monochord(**errors)
    advice = nut_spread(nut, spec.errors, draws=100).advice[0]
    assert dict(advice.values).get("reading") == reading
    assert sentence(advice).startswith(words)


def test_straightedge_takes_the_place_of_depth_and_fret_height() -> None:
    spec = changed("electric-6")
    plane = changed("electric-6", depth="3.0\nfret_plane = { bass = 3.8, treble = 3.9 }")
    by_depth, by_plane = (nut_spread(solve(s), s.errors, draws=20_000) for s in (spec, plane))
    assert "fret_plane" not in shares(by_depth)
    assert set(shares(by_plane)) == {"relief", "action", "floors", "fret_plane", "radius"}
    assert np.all(by_plane.first_fret_clearance.sd < by_depth.first_fret_clearance.sd)


def test_three_heights_of_the_fret_plane_err_each_by_itself() -> None:
    """A parabola through errors at -h, 0 and h: at h / 2 it takes -1/8, 3/4 and 3/8 of them."""
    text = "3.0\nfret_plane = { bass = 3.8, middle = 4.7, treble = 3.9 }"
    nut = solve(changed("electric-6", depth=text))
    share = np.array([slot.x for slot in nut.slots]) / nut.right.x
    taken = np.hypot.reduce([share * (share - 1.0) / 2.0, 1.0 - share**2, share * (share + 1.0) / 2.0])
    errors = Errors(relief=0.0, action=0.0, floors=0.0, fret_plane=0.05)
    got = nut_spread(nut, errors, draws=100_000).floor_height.sd
    assert got / got[0] == pytest.approx(taken / taken[0], rel=0.02)


def test_left_strung_mirror_errs_alike() -> None:
    right, left = (
        nut_spread(nut, spec.errors, draws=20_000) for spec, nut in (solved("electric-6"), solved("electric-6-left"))
    )
    np.testing.assert_allclose(right.first_fret_clearance.sd, left.first_fret_clearance.sd, rtol=0.05)


def test_unsaid_errors_are_assumptions() -> None:
    spec, nut = solved("electric-6")
    assert nut_spread(nut, spec.errors, draws=100).assumed[0].value("fret_height") == 0.05
    own, said = monochord()
    assert nut_spread(said, own.errors, draws=100).assumed == ()


def test_a_gauge_pays_by_as_much_as_the_nut_read_with_it_is_surer() -> None:
    """Board read by gaps, plane by pencil: what each gauge would leave, against the whole worked out with its error."""
    changes = {
        "fretboard.radius": {"gaps": [0.70, 0.66], "chord": 41.0},
        "seat.fret_plane": {"pencil": {"bass": 6.8, "middle": 7.5, "treble": 6.8}, "lead": 3.4},
    }
    spec = parse_spec(text_of("electric-6", changes), source="x")
    nut = solve(spec)
    got = nut_spread(nut, spec.errors, spec.ways, draws=20_000)
    by_gauge = {one.name: one.gauged for one in got.sources if one.gauged is not None}
    assert set(by_gauge) == {"radius", "fret_plane"}
    for name, error in {"radius": 0.05, "fret_plane": 0.04}.items():
        surer = nut_spread(nut, spec.errors.model_copy(update={name: error}), draws=20_000)
        assert by_gauge[name] == pytest.approx(surer.within, rel=0.02)
    assert [one.code for one in got.advice] == ["spread.measure-better", "spread.gauge-pays"]
    assert got.advice[1].value("reading") == "fret_plane"
    assert len(nut_spread(nut, spec.errors, draws=100).advice) == 1  # no way, no gauge


def test_where_no_gauge_pays_it_is_said() -> None:
    spec = parse_spec(text_of("electric-6", {"setup.relief": {"under_string": 0.2}}), source="x")
    told = nut_spread(solve(spec), spec.errors, spec.ways, draws=100).advice[1]
    assert sentence(told).startswith("no gauge would pay: a set of feeler leaves under a straightedge")
