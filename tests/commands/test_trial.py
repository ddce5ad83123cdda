"""`dryfit --trial` as a user meets it: from the file, at a terminal, and what stands in the file afterwards."""

import json
import math
import re
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pexpect
import pytest
import tomlkit

from nutgen.nut import solve
from nutgen.spec.read import read_spec
from tests import calling
from tests.bench.dryfit.trial_neck import TrueNeck, on_the_neck, read
from tests.calling import at_a_terminal, say
from tests.kinds import text_of

NECK = TrueNeck("bass-4", 250.0, 3.4, 1.05, math.inf, bent=0.3, wanted=0.3, misread={"seat.depth": 3.7})


def trial() -> dict[str, Any]:
    """What a hand reads of a trial nut in `NECK`."""
    strung = on_the_neck(NECK, 1)[2]
    return read(strung, np.random.default_rng(5))


def written(folder: Path, table: dict[str, Any] | None) -> Path:
    document = tomlkit.parse(text_of("bass-4", NECK.file()))
    if table is not None:
        document["trial"] = table
    (folder / "mine.toml").write_text(tomlkit.dumps(document))
    return folder / "mine.toml"


def start(folder: Path, *words: str) -> pexpect.spawn:
    return at_a_terminal(folder, "dryfit", "mine.toml", "--trial", *words)


@pytest.mark.parametrize("columns", [80, 40])
def test_without_a_terminal_it_tells_and_writes_nothing(columns: int, tmp_path: Path) -> None:
    file = written(tmp_path, trial())
    before = file.read_bytes()
    done = calling.run("dryfit", "mine.toml", "--trial", cwd=tmp_path, columns=columns)
    assert done.returncode == 0, done.stderr
    assert max(map(len, done.stdout.splitlines())) <= columns
    for words in ("seat.fret_plane.middle", "off fit", "on one day", "95 of", "can whip"):
        assert words in " ".join(done.stdout.split())
    assert "nothing was written" in done.stderr
    assert file.read_bytes() == before


def test_json_tells_the_same(tmp_path: Path) -> None:
    written(tmp_path, trial())
    told = json.loads(calling.run("dryfit", "mine.toml", "--trial", "--json", cwd=tmp_path).stdout)
    assert len(told["plane"]) == 3
    assert [one["number"] for one in told["strings"]] == [4, 3, 2, 1]
    assert all(abs(one["floor"] - one["floor_was"] + 0.3) < 0.1 for one in told["strings"])


@pytest.mark.parametrize("more", [("--undo",), ("--plot", "log.svg")])
def test_it_keeps_no_log(more: tuple[str, ...], tmp_path: Path) -> None:
    written(tmp_path, trial())
    done = calling.run("dryfit", "mine.toml", "--trial", *more, cwd=tmp_path)
    assert done.returncode == 2
    assert "--trial keeps no log" in done.stderr


def test_without_readings_and_terminal_one_clear_message(tmp_path: Path) -> None:
    written(tmp_path, None)
    done = calling.run("dryfit", "mine.toml", "--trial", cwd=tmp_path)
    assert done.returncode != 0
    assert "[trial]" in done.stderr


def test_on_yes_the_plane_stands_in_the_file_and_all_else_stays(tmp_path: Path) -> None:
    file = written(tmp_path, trial())
    before = file.read_text()
    child = start(tmp_path)
    say(child, "Write this into mine.toml?", "yes")
    child.expect(pexpect.EOF)
    told = json.loads(calling.run("dryfit", "mine.toml", "--trial", "--json", cwd=tmp_path).stdout)
    text = file.read_text()
    assert [line for line in before.splitlines() if line not in text.splitlines()] == []  # comments too
    then, now = tomllib.loads(before), tomllib.loads(text)
    places = dict(zip(("bass", "middle", "treble"), told["plane"], strict=True))
    assert now["seat"].pop("fret_plane") == {"trial": places, "within": told["error"]}
    assert now == then
    spec = read_spec(file)
    floors = [solve(spec).floor_over_seat(slot) for slot in solve(spec).slots]
    assert floors == pytest.approx([one["floor"] for one in told["strings"]], abs=1e-6)
    assert "has this fret plane already" in calling.run("dryfit", "mine.toml", "--trial", cwd=tmp_path).stderr


@pytest.mark.slow
def test_asked_one_by_one(tmp_path: Path) -> None:
    file, table = written(tmp_path, None), trial()
    child = start(tmp_path)
    say(child, "Relief", str(table["relief"]))
    say(child, "bass-most string", str(table["action"]["bass"]))
    say(child, "treble-most string", str(table["action"]["treble"]))
    numbers = (4, 3, 2, 1)
    for place, number in enumerate(numbers):
        answer = "" if number == 3 else f"{table['clearances'][place]} to {table['clearances'][place] + 0.05:.2f}"
        say(child, f"string {number} (", answer)
    for place, number in enumerate(numbers):
        if number != 3:
            say(child, f"string {number} (", "")  # the string's own gauge
            if number == 4:
                say(child, "over that wire", "3.0")
                say(child, "leaves no nut", str(table["over_wires"][place]))
            else:
                say(child, "over that wire", str(table["over_wires"][place]))
    say(child, "Write this into mine.toml?", "y")
    child.expect(pexpect.EOF)
    kept = tomllib.loads(file.read_text())["trial"]
    assert kept["clearances"] == ["none" if n == 3 else c for n, c in zip(numbers, table["clearances"], strict=True)]
    assert kept["over_wires"][1] == "none"
    assert kept["action"] == table["action"]
    assert len(read_spec(file).seat.fret_plane.values) == 3  # type: ignore[union-attr]


def test_what_the_trial_set_right_is_warned_of_no_more(tmp_path: Path) -> None:
    """A seat read 0.5 too deep: check doubts the plane by hand, not the one that a trial nut measured."""
    file = written(tmp_path, trial())
    child = start(tmp_path)
    say(child, "Write this into mine.toml?", "yes")
    child.expect(pexpect.EOF)
    text = file.read_text()
    depth = read_spec(file).seat.depth
    off = re.sub(r"^depth = \S+", f"depth = {depth + 0.5}", text, flags=re.MULTILINE)
    file.write_text(off)
    codes = {one.code: one.severity for one in solve(read_spec(file)).findings}
    assert codes["seat.readings-set-aside"] == "note"
    assert codes["way.trial"] == "note"
    assert "seat.readings-disagree" not in codes
    by_hand = re.sub(r"fret_plane = \{trial = |fret_plane = \{ trial = ", "fret_plane = ", off)
    file.write_text(re.sub(r", within = [\d.]+ ?\}", "", by_hand))
    assert "seat.readings-disagree" in {one.code for one in solve(read_spec(file)).findings}
