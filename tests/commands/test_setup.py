"""`setup` as a user meets it: the order of work, its numbers, its files, and where it stops."""

import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pypdfium2 as pdfium
import pytest

from tests.calling import run
from tests.kinds import text_of

FIXED = {
    "setup.action_now": {"bass": 3.2, "treble": 2.6},
    "setup.action_read": "capo 1",
    "setup.relief_now": 0.35,
    "saddle": {"bridge": "fixed", "spread": 54.0, "anchor": {"y": 14.0, "drop": 6.0}},
}


def mine(cwd: Path, kind: str, changes: dict[str, Any], more: str = "") -> str:
    (cwd / "mine.toml").write_text(text_of(kind, changes, more), "utf-8")
    return "mine.toml"


def test_the_demo_is_led_through_its_set_up(tmp_path: Path) -> None:
    done = run("setup", "bass-4-fifths", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    places = [
        done.stdout.index(word)
        for word in ("1. frets", "2. new strings", "3. relief", "4. each", "5. the nut", "7. pitch")
    ]
    assert places == sorted(places)
    narrow = run("setup", "bass-4-fifths", cwd=tmp_path, columns=40).stdout
    assert max(map(len, narrow.splitlines())) <= 40


def test_a_fixed_saddle_comes_down_by_its_underside_alone_where_all_go_down_alike(tmp_path: Path) -> None:
    file = mine(tmp_path, "acoustic-6", FIXED)
    done = run("setup", file, "--json", "--strip", "out/strip.pdf", "--plot", "tops.svg", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    saddle = json.loads(done.stdout)["saddle"]
    assert saddle["underside"][0] == pytest.approx(-saddle["move"][0], abs=0.03)
    assert all(0.0 <= left < 0.05 for left in saddle["left"])
    assert all(then < now for now, then in zip(saddle["break_now_deg"], saddle["break_deg"], strict=True))
    page = pdfium.PdfDocument(str(tmp_path / "out" / "strip.pdf"))[0]
    bounds = [one.get_bounds() for one in page.get_objects(filter=[pdfium.raw.FPDF_PAGEOBJ_PATH])]
    widths = [(right - left) / 72.0 * 25.4 for left, _, right, _ in bounds]
    bar, strip = 50.0, 54.0 + 2 * 5.0
    assert sum(abs(wide - bar) < 0.6 for wide in widths) == 1
    assert sum(abs(wide - strip) < 0.6 for wide in widths) == 4
    assert ElementTree.parse(tmp_path / "tops.svg").getroot().tag.endswith("svg")


def test_a_strip_is_for_a_fixed_saddle(tmp_path: Path) -> None:
    done = run("setup", "bass-4", "--strip", "strip.pdf", cwd=tmp_path)
    assert done.returncode == 2
    assert "fixed" in done.stderr
    assert not (tmp_path / "strip.pdf").exists()


@pytest.mark.parametrize(
    "changes", [{"setup.back_bow": True}, {"setup.relief_now": 0.05, "setup.relief": 0.3}], ids=["bowed", "flat"]
)
def test_a_slack_rod_stops_it(tmp_path: Path, changes: dict[str, Any]) -> None:
    done = run("setup", mine(tmp_path, "bass-4", {**changes, "instrument.rod_slack": True}), cwd=tmp_path)
    assert done.returncode == 1
    assert "slack already" in done.stderr


def test_eighths_of_a_turn_are_told_as_a_hand_counts_them(tmp_path: Path) -> None:
    changes = {"setup.action_now": 2.2, "setup.action": 1.8, "setup.action_read": "capo 1", "saddle": {"thread": "M3"}}
    out = run("setup", mine(tmp_path, "electric-6", changes), cwd=tmp_path).stdout
    assert "down" in out
    assert "turns" in out


def test_in_inches_no_length_is_left_in_mm(tmp_path: Path) -> None:
    out = run("setup", mine(tmp_path, "acoustic-6-inches", {"setup.action_now": 0.1}), cwd=tmp_path).stdout
    assert "saddle: up or down, to 0.002 in." in " ".join(out.split())
    assert " mm" not in out
