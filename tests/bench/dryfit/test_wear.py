"""Wear over the months: synthetic nuts that wear at a known rate, leaves rounded; and when nothing may be said."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from nutgen.bench.dryfit.fitlog import Reading, append_entry, log_path, read_log
from nutgen.bench.dryfit.wear import wear_told
from nutgen.finding import Finding
from nutgen.nut import Nut, solve
from nutgen.play.buzz import buzz
from nutgen.spec.read import parse_spec
from tests.bench.dryfit.test_fitlog import entry
from tests.calling import run
from tests.kinds import text_of

START = datetime(2020, 1, 1, tzinfo=UTC)
NOTES = ("E1", "A1", "D2", "G2")


@pytest.fixture(scope="module")
def nut() -> Nut:
    return solve(parse_spec(text_of("bass-4"), source="wear"))


def read(day: float, *clearance: float, relief: float = 0.3, notes: tuple[str, ...] = NOTES) -> Reading:
    return Reading((START + timedelta(days=day)).isoformat(), notes, relief, clearance, (2.4, 2.2, 2.1, 1.9))


def told(nut: Nut, *entries: object) -> dict[str, Finding]:
    return {one.code: one for one in wear_told(nut, entries)}  # type: ignore[arg-type]


def test_a_rate_and_a_date_are_those_of_the_nut(nut: Nut) -> None:
    """A straight line through readings without an error is that line: 0.2 mm a year, and where it meets the lowest."""
    days = np.array([0.0, 100.0, 200.0, 365.25])
    found = told(nut, *(read(day, 0.6 - 0.2 * day / 365.25, 0.55, 0.5, 0.45) for day in days))
    one = found["wear.rate"]
    assert one.value("in_a_year") == pytest.approx(0.2)
    assert one.value("drop") == pytest.approx(0.2)
    assert one.value("months") == 12
    assert one.value("lowest") == pytest.approx(float(buzz(nut).lowest_clearance[0]))
    left = (0.6 - float(buzz(nut).lowest_clearance[0])) / 0.2 * 365.25
    assert one.value("until") == (START + timedelta(days=left)).date().isoformat()
    assert "wear.frets-hide" in found


def test_rounded_leaves_tell_the_rate_to_a_few_hundredths(nut: Nut) -> None:
    off = []
    for seed in range(40):
        draw = np.random.default_rng(seed)
        rate, days = draw.uniform(0.2, 0.4), np.linspace(0.0, 500.0, 6)
        over = np.round((0.8 - rate * days / 365.25 + draw.normal(0.0, 0.01, 6)) / 0.05) * 0.05
        found = told(nut, *(read(day, float(one), 0.55, 0.5, 0.45) for day, one in zip(days, over, strict=True)))
        off.append(found["wear.rate"].value("in_a_year") - rate)
    assert np.quantile(np.abs(off), 0.95) < 0.06


@pytest.mark.parametrize(
    "entries",
    [
        [],
        [read(0, 0.6, 0.5, 0.5, 0.4), read(200, 0.4, 0.5, 0.5, 0.4)],
        [read(day, 0.6 - day / 500, 0.5, 0.5, 0.4) for day in (0, 60, 120)],
        [read(day, 0.6 - day / 1000, 0.5, 0.5, 0.4, relief=0.1 + day / 1000) for day in (0, 100, 200)],
        [read(day, 0.6 - day / 1000, 0.5, 0.5, 0.4, notes=("C1", "G1", "D2", "A2")) for day in (0, 100, 200)],
        [*(read(day, 0.6 - day / 1000, 0.5, 0.5, 0.4) for day in (0, 100, 200)), entry()],
    ],
)
def test_no_rate_from_too_little_another_relief_or_another_nut(nut: Nut, entries: list[Reading]) -> None:
    assert list(told(nut, *entries)) == ["wear.too-early"]


def test_a_drop_of_a_leaf_is_no_wear(nut: Nut) -> None:
    found = told(nut, *(read(day, 0.6 - day / 2500, 0.5, 0.5, 0.4) for day in (0, 100, 200)))
    assert list(found) == ["wear.none", "wear.frets-hide"]


@pytest.mark.slow
def test_readings_are_added_once_and_shown(tmp_path: Path) -> None:
    now = {"setup.clearance_now": [0.6, 0.55, 0.5, 0.45], "setup.relief_now": 0.3}
    (tmp_path / "mine.toml").write_text(text_of("bass-4", now), "utf-8")
    path = log_path(tmp_path / "mine.toml")
    append_entry(path, entry())
    for day in (0.0, 150.0, 300.0):
        append_entry(path, read(day, 0.9 - day / 1500, 0.55, 0.5, 0.45))
    assert run("log", "mine.toml", "--add", "--plot", "wear.svg", cwd=tmp_path).returncode == 0
    again = run("log", "mine.toml", "--add", "--json", cwd=tmp_path)
    assert "in the log already" in again.stderr
    told = json.loads(again.stdout)
    assert len(told["entries"]) == len(read_log(path)[0]) == 5
    assert "wear.rate" in [one["code"] for one in told["findings"]]
    assert (tmp_path / "wear.svg").read_text("utf-8").count('id="wear-') == 4
    (tmp_path / "bare.toml").write_text(text_of("bass-4"), "utf-8")
    bare = run("log", "bare.toml", "--add", cwd=tmp_path)
    assert (bare.returncode, "setup.clearance_now" in bare.stderr) == (2, True)
    assert "Nothing yet" in run("log", "bare.toml", cwd=tmp_path).stdout


def test_readings_that_cannot_be_kept_are_told(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(text_of("bass-4", {"setup.clearance_now": 0.5}), "utf-8")
    log_path(tmp_path / "mine.toml").symlink_to(tmp_path / "gone" / "log")
    got = run("log", "mine.toml", "--add", cwd=tmp_path)
    assert (got.returncode, "NOT kept" in got.stderr) == (1, True)
