"""Crowns as they are: high ones, a rocker, a neck that is no arc; against plain sums over straight lines."""

import numpy as np
import pytest

from nutgen.errors import SpecFaults
from nutgen.nut import solve
from nutgen.nut.heights import ACTED_ON, crowns_of, line_of, lowest_of
from nutgen.play.heights import fretted_clearance, relief_dip
from nutgen.spec.read import parse_spec
from tests.kinds import text_of

HIGH = {"crowns": {"high": {"7": 0.08}}}


def test_a_high_fret_takes_its_height_from_the_string_over_it() -> None:
    plain, high = (solve(parse_spec(text_of("bass-4", one), source="crowns")) for one in ({}, HIGH))
    frets = np.arange(1, 21)
    less = line_of(plain).clearance(frets) - line_of(high).clearance(frets)
    np.testing.assert_allclose(less, np.broadcast_to(np.where(frets == 7, 0.08, 0.0), less.shape), atol=1e-9)
    pressed = [fretted_clearance(line_of(one), pressed=6, over=frets)[:, 6] for one in (plain, high)]
    np.testing.assert_allclose(pressed[0] - pressed[1], 0.08, atol=1e-9)
    over_8 = [fretted_clearance(line_of(one), pressed=7, over=frets)[:, 7] for one in (plain, high)]
    assert np.all(over_8[1] > over_8[0])
    assert np.all(lowest_of(high) >= lowest_of(plain) - 1e-12)
    told = [one for one in high.findings if one.code == "crowns.level"]
    assert [(one.value("fret"), one.value("by")) for one in told] == [(7, 0.08)]


def test_a_high_first_fret_lifts_the_fret_plane_that_a_straightedge_shows() -> None:
    """Its crown is h higher, so the plane over crowns 1 and 2 is h (1 + x1 / (x2 - x1)) higher at the nut: a line."""
    plain, high = (
        solve(parse_spec(text_of("bass-4", one), source="crowns")) for one in ({}, {"crowns": {"high": {"1": 0.1}}})
    )
    neck = line_of(plain).neck
    one, two = neck.fret(1), neck.fret(2)
    lift = 0.1 * (1.0 + one / (two - one))
    at_nut = np.zeros(1)
    raised = line_of(high).neck.fret_plane(at_nut) - neck.fret_plane(at_nut)
    np.testing.assert_allclose(raised, lift, atol=1e-9)


def test_gaps_read_along_the_neck_are_those_of_the_neck() -> None:
    gaps = {"4": 0.16, "9": 0.31, "14": 0.18}
    spec = parse_spec(text_of("bass-4", {"setup.relief": 0.3, "crowns": {"relief": gaps}}), source="crowns")
    relief = crowns_of(spec).relief
    same = parse_spec(
        text_of("bass-4", {"setup.relief": round(relief, 6), "crowns": {"relief": gaps}}), source="crowns"
    )
    dips = relief_dip(line_of(solve(same)).neck, np.array([1, 4, 9, 14, 20]))
    np.testing.assert_allclose(dips, np.broadcast_to([0.0, 0.16, 0.31, 0.18, 0.0], dips.shape), atol=2e-4)


def test_a_rocker_finds_what_is_high() -> None:
    """A bar over frets 8 to 10, of which 9 is 0.1 high, by similar triangles; rounded to 0.02."""
    scale = 863.6
    u = scale * (1.0 - 0.5 ** (np.arange(1, 21) / 12.0))
    z = np.where(np.arange(1, 21) == 9, 0.1, 0.0)
    read = {}
    for i in range(1, 19):
        chord = np.interp(u[i], u[[i - 1, i + 1]], z[[i - 1, i + 1]])
        far = z[i] + (z[i] - z[i - 1]) * (u[i + 1] - u[i]) / (u[i] - u[i - 1]) - z[i + 1]
        read[str(i + 1)] = round(float(far if z[i] > chord else z[i] - chord) / 0.02) * 0.02
    spec = parse_spec(text_of("bass-4", {"setup.relief": 0.0, "crowns": {"rocker": read}}), source="crowns")
    high = np.array(crowns_of(spec).high)
    assert high[8] == pytest.approx(0.1, abs=0.01)
    assert np.all(np.delete(high, 8) < ACTED_ON - 0.01)


@pytest.mark.parametrize(
    ("table", "code"),
    [
        ({"high": {"0": 0.1}}, "reading.no-fret"),
        ({"high": {"seven": 0.1}}, "reading.no-fret"),
        ({"high": {"07": 0.1}}, "reading.no-fret"),
        ({"high": [0.1]}, "reading.no-fret"),
        ({"high": {"24": 0.1}}, "crowns.no-such-fret"),
        ({"rocker": {"1": 0.1}}, "crowns.no-such-fret"),
        ({"relief": {"20": 0.1}}, "crowns.no-such-fret"),
        ({"high": {"7": 8}}, "reading.above-range"),
    ],
)
def test_what_is_no_reading_is_refused(table: dict[str, object], code: str) -> None:
    with pytest.raises(SpecFaults) as refused:
        parse_spec(text_of("bass-4", {"crowns": table}), source="crowns")
    assert [one.code for one in refused.value.findings] == [code]


@pytest.mark.parametrize("height", [0.05, 0.1, 0.2])
@pytest.mark.parametrize("slip", [-1.0, 10.0])
def test_a_rocker_reading_that_no_neck_has_is_told_and_none_is_heeded(height: float, slip: float) -> None:
    """A high fret rocks the bar by twice its height at most; its sign turned or its point left out, it is a ramp."""
    rocker = {"8": -height / 2.0, "9": 2.0 * height, "10": -height / 2.0}
    sound = parse_spec(text_of("bass-4", {"crowns": {"rocker": rocker}}), source="crowns")
    assert "crowns.misread" not in {one.code for one in solve(sound).findings}
    wrong = {**rocker, "9": max(-1.0, min(1.0, slip * rocker["9"]))}
    spec = parse_spec(text_of("bass-4", {"crowns": {"rocker": wrong}}), source="crowns")
    told = solve(spec).findings
    assert [one.value("fret") for one in told if one.code == "crowns.misread"] == [9]
    assert crowns_of(spec).high == (0.0,) * spec.instrument.frets


@pytest.mark.parametrize(
    ("gaps", "setup", "told"),
    [
        ({"4": 0.16, "9": 0.31, "14": 0.18}, {}, []),
        ({"4": 0.16, "9": 0.31, "14": 0.18}, {"setup.relief_now": 0.3}, []),
        ({"4": 1.6, "9": 1.9, "14": 1.8}, {"setup.relief_now": 0.3}, ["crowns.relief-apart"]),
        ({"4": 0.016, "9": 0.031, "14": 0.018}, {"setup.relief_now": 0.3}, ["crowns.relief-apart"]),
        ({"4": -0.16, "9": -0.31, "14": -0.18}, {}, ["crowns.back-bow"]),
        ({"4": -0.16, "9": -0.31, "14": -0.18}, {"setup.back_bow": True}, []),
    ],
)
def test_gaps_along_the_neck_that_are_misread_are_told(
    gaps: dict[str, float], setup: dict[str, object], told: list[str]
) -> None:
    nut = solve(parse_spec(text_of("bass-4", {"crowns": {"relief": gaps}, **setup}), source="crowns"))
    doubted = ("crowns.back-bow", "crowns.relief-apart")
    assert [one.code for one in nut.findings if one.code in doubted] == told
