"""`compare`: what changes from one file to another, or since it was last made; and the log that it goes by."""

import json
from pathlib import Path

import pytest

from nutgen.bench.dryfit.fitlog import Making, Round, append_entry, append_undo, log_path, read_log
from nutgen.spec.read import parse_spec, spec_hash
from tests.bench.dryfit.test_fitlog import OLD_LINE, entry
from tests.calling import run
from tests.kinds import text_of


def test_since_it_was_last_made(tmp_path: Path) -> None:
    """Clearances and actions that differ by what was written; floors by the same, as relief and neck stay."""
    file, was = tmp_path / "mine.toml", text_of("bass-4", {"setup.first_fret_clearance": 0.6})
    of_then = spec_hash(parse_spec(was, source="then"))
    append_entry(log_path(file), Making("2030-01-02T12:00:00+00:00", of_then, ("trace",), was))
    file.write_text(text_of("bass-4", {"setup.first_fret_clearance": 0.4, "strings.3.gauge": 0.050}), "utf-8")
    told = json.loads(run("compare", "mine.toml", "--json", cwd=tmp_path).stdout)
    assert told["keys"] == ["setup.first_fret_clearance", "strings[4].gauge"]
    assert [one["first_fret_clearance"] for one in told["strings"]] == pytest.approx([-0.2] * 4)
    assert [one["gauge"] for one in told["strings"]] == pytest.approx([0.0, 0.0, 0.0, 0.127])
    # the action kept, a floor moves by what the clearance does over 1 - (1 - 2^(-1/12)) / (1 - 1/2): similar triangles
    by = 0.2 / (1.0 - (1.0 - 2.0 ** (-1.0 / 12.0)) / 0.5)
    assert told["strings"][0]["floor_above_seat"] == pytest.approx(-by, abs=1e-6)
    steps = [[step["code"] for step in one["steps"]] for one in told["slots"]["strings"]]
    assert steps[0] == ["old-slot.file-down"]
    assert "old-slot.widen" in steps[3]
    assert told["pull_change_n"] > 0.0


def test_a_length_rounded_to_inches_pulls_as_before(tmp_path: Path) -> None:
    """23.74 in are 602.996 mm: 0.001 % less, which no neck feels and no table shows."""
    for name, length in (("was", 603.0), ("now", "23.74 in")):
        (tmp_path / f"{name}.toml").write_text(text_of("electric-6", {"instrument.scale_length": length}), "utf-8")
    shown = run("compare", "was.toml", "now.toml", cwd=tmp_path).stdout
    assert "instrument.scale_length" in shown
    assert "pull" not in shown


def test_less_pull_is_said_in_one_breath(tmp_path: Path) -> None:
    (tmp_path / "low.toml").write_text(text_of("electric-6", {"instrument.scale_length": 600.0}), "utf-8")
    shown = run("compare", "electric-6", "low.toml", cwd=tmp_path).stdout
    assert "perhaps a back bow; string up" in " ".join(shown.split())


def test_two_files_of_other_strings(tmp_path: Path) -> None:
    got = run("compare", "bass-4", "bass-5", cwd=tmp_path)
    assert got.returncode == 0
    assert "another number of strings" in got.stdout
    assert list(tmp_path.iterdir()) == []


def test_what_was_never_made(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(text_of("bass-4"), "utf-8")
    got = run("compare", "mine.toml", cwd=tmp_path)
    assert (got.returncode, "make it first" in got.stderr) == (2, True)


def test_a_log_that_cannot_be_written_costs_no_file(tmp_path: Path) -> None:
    (tmp_path / "mine.dryfit.jsonl").mkdir()
    (tmp_path / "mine.toml").write_text(text_of("bass-4"), "utf-8")
    got = run("make", "mine.toml", "--for", "trace", cwd=tmp_path)
    assert got.returncode == 0
    assert "not in the log" in got.stderr
    assert (tmp_path / "output" / "mine" / "nut.json").exists()


def test_rounds_and_what_was_made_stand_in_one_log(tmp_path: Path) -> None:
    """Lines of an earlier version too; an undo takes a round back and nothing that was made."""
    path = log_path(tmp_path / "mine.toml")
    path.write_text(OLD_LINE, "utf-8")
    making = Making("2030-01-02T12:00:00+00:00", "0123456789ab", ("trace",), 'title = "x"\n')
    append_entry(path, entry(1))
    append_entry(path, making)
    append_undo(path, time="2030-01-03T12:00:00+00:00")
    with path.open("ab") as log:
        log.write(b'{"made": 3}\n{"made": "2030"')
    append_entry(path, making)
    entries, unread = read_log(path)
    assert unread == 2
    assert [type(one) for one in entries] == [Round, Making, Making]
    assert entries[-1] == making
