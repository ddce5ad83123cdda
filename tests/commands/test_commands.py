"""The commands as a user meets them: a process, its output, its exit code."""

import json
import math
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.main import get_command

from nutgen.cli import command_line
from nutgen.spec.presets import kind_names, kind_path
from tests.calling import CODE, in_a_process, run
from tests.conftest import Made
from tests.kinds import text_of


def test_presets_lists_every_kind(tmp_path: Path) -> None:
    done = run("presets", cwd=tmp_path)
    assert done.returncode == 0
    first_table = done.stdout.split("\n\n")[0].splitlines()
    assert [line.split()[0] for line in first_table[2:]] == kind_names()
    assert len(kind_names()) >= 14


def test_new_writes_a_file_that_checks(tmp_path: Path) -> None:
    assert run("new", "mine.toml", "--from", "mandolin", cwd=tmp_path).returncode == 0
    done = run("check", "mine.toml", cwd=tmp_path)
    assert done.returncode == 0
    assert "No warnings." in done.stdout


def test_new_never_overwrites(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text("precious")
    done = run("new", "mine.toml", "--from", "mandolin", cwd=tmp_path)
    assert done.returncode == 2
    assert "is there already" in done.stderr
    assert (tmp_path / "mine.toml").read_text() == "precious"


def test_new_names_the_nearest_kind(tmp_path: Path) -> None:
    done = run("new", "mine.toml", "--from", "mandoline", cwd=tmp_path)
    assert done.returncode == 2
    assert "did you mean mandolin?" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_check_json_has_the_stable_keys(tmp_path: Path) -> None:
    done = run("check", "acoustic-12", "--json", cwd=tmp_path)
    record = json.loads(done.stdout)
    assert record["units"] == "mm"
    assert set(record) >= {"title", "nut", "strings", "findings"}
    assert set(record["nut"]) >= {"length", "thickness", "height", "seat_kind", "top_radius"}
    keys = {
        "number", "note", "gauge", "x", "slot_width", "floor_z", "floor_height", "slot_depth", "buried",
        "tilt_deg", "fan_deg", "first_fret_clearance", "action",
    }  # fmt: skip
    assert all(set(string) >= keys for string in record["strings"])
    assert [string["number"] for string in record["strings"]] == list(range(12, 0, -1))
    assert [string["x"] for string in record["strings"]] == sorted(string["x"] for string in record["strings"])
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("columns", [80, 46])
def test_check_fits_the_terminal(columns: int, tmp_path: Path) -> None:
    done = run("check", "electric-7", cwd=tmp_path, columns=columns)
    assert max(len(line) for line in done.stdout.splitlines()) <= columns


def test_light_commands_never_load_the_kernel(tmp_path: Path) -> None:
    code = (
        "import sys; from nutgen.cli import main\n"
        "try: main()\n"
        "except SystemExit as stop: assert not stop.code\n"
        "heavy = {'cadquery', 'OCP', 'trimesh', 'vtkmodules', 'matplotlib', 'scipy'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    for words in (["--help"], ["check", "bass-4"], ["make", "bass-4", "--for", "trace"]):
        done = subprocess.run([sys.executable, "-c", code, *words], cwd=tmp_path, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr


def test_help_loads_neither_numbers_nor_files(tmp_path: Path) -> None:
    code = (
        "import sys; from nutgen.cli import main\n"
        "try: main()\n"
        "except SystemExit as stop: assert not {'numpy', 'pydantic'} & set(sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code, "--help"], cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_help_shows_every_word_of_it(tmp_path: Path) -> None:
    """Brackets name tables of the file, and are no one's markup."""
    for name, command in get_command(command_line()).commands.items():
        shown = run(name, "--help", cwd=tmp_path, columns=300).stdout
        for text in (command.help, *(getattr(parameter, "help", None) for parameter in command.params)):
            for line in filter(None, (text or "").splitlines()):
                assert line.strip().replace("`", "") in shown, name
    assert "[before] of FILE" in run("tension", "--help", cwd=tmp_path, columns=300).stdout


class TestSlips:
    @pytest.mark.parametrize(
        ("words", "says"),
        [
            (["check", "nothere.toml"], "no such file"),
            (["check", "."], "is a folder"),
            (["check"], "Missing argument"),
            (["frob"], "No such command"),
            (["make", "bass-4", "--for", "frame"], "allowed are trace, print, mill"),
            (["make", "bass-4", "--paper", "a0"], "allowed are a4 and letter"),
            (["make", "bass-4", "no-such-kind", "nothere.toml"], "no such kind"),
        ],
    )
    def test_wrong_usage_is_told_and_ends_with_two(self, words: list[str], says: str, tmp_path: Path) -> None:
        done = run(*words, cwd=tmp_path)
        assert done.returncode == 2
        assert says in done.stderr
        assert "Traceback" not in done.stderr
        assert list(tmp_path.iterdir()) == []

    def test_every_fault_of_every_file_of_a_call(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_text(text_of("bass-4", {"fretboard.width": math.nan}), "utf-8")
        (tmp_path / "b.toml").write_text(text_of("bass-4", {"strings.1.gauge": 85}), "utf-8")
        done = run("make", "a.toml", "b.toml", cwd=tmp_path)
        assert done.returncode == 2
        assert "a.toml: fretboard.width" in done.stderr
        assert "b.toml: strings[2].gauge" in done.stderr
        assert not (tmp_path / "output").exists()

    def test_what_cannot_be_made_ends_with_one(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_text(text_of("bass-4", {"fretboard.width": 14.0}), "utf-8")
        done = run("check", "a.toml", cwd=tmp_path)
        assert done.returncode == 1
        assert "more than the board is wide" in done.stderr

    def test_two_files_of_one_name_do_not_overwrite_each_other(self, tmp_path: Path) -> None:
        for folder in ("one", "two"):
            (tmp_path / folder).mkdir()
            (tmp_path / folder / "nut.toml").write_text(kind_path("bass-4").read_text())
        done = run("make", "one/nut.toml", "two/nut.toml", cwd=tmp_path)
        assert done.returncode == 2
        assert not (tmp_path / "output").exists()

    def test_output_that_is_a_file(self, tmp_path: Path) -> None:
        (tmp_path / "output").write_text("mine")
        done = run("make", "bass-4", "--for", "trace", cwd=tmp_path)
        assert done.returncode == 1
        assert "Traceback" not in done.stderr
        assert len(done.stderr.strip().splitlines()) == 1
        assert (tmp_path / "output").read_text() == "mine"

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
    def test_full_standard_output(self, tmp_path: Path) -> None:
        command = [sys.executable, "-c", CODE, "check", "bass-4"]
        with Path("/dev/full").open("w") as full:
            done = subprocess.run(command, cwd=tmp_path, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
        assert done.returncode != 0
        assert "Traceback" not in done.stderr


class TestMake:
    NAMES = ("nut.json", "nut.png", "nut.step", "nut.stl", "template.dxf", "template.pdf", "template.svg", "neck.svg")

    def test_writes_the_whole_set_and_lists_it(self, made: Callable[..., Made]) -> None:
        one = made("make", "bass-4-fifths")
        assert set(self.NAMES) <= {path.name for path in one.folder.iterdir()}
        for name in self.NAMES:
            assert re.search(rf"{name} +[\d.]+ k?B", one.said), name

    def test_json_names_each_file_by_its_digest(self, made: Callable[..., Made]) -> None:
        import hashlib

        folder = made("make", "bass-4-fifths").folder
        record = json.loads((folder / "nut.json").read_text())
        assert set(record["files"]) == {path.name for path in folder.iterdir()} - {"nut.json"}
        for name, entry in record["files"].items():
            assert entry["sha256"] == hashlib.sha256((folder / name).read_bytes()).hexdigest()

    @pytest.mark.slow
    def test_same_spec_same_bytes_anywhere_at_any_time(self, made: Callable[..., Made], tmp_path: Path) -> None:
        """Another folder, process, time zone and second, alone or after another nut."""
        made("make", "bass-4-fifths")
        run("make", "ukulele-tenor", cwd=tmp_path)
        time.sleep(1.1)
        surroundings = {"TZ": "Pacific/Kiritimati", "PYTHONHASHSEED": "7", "LC_ALL": "C"}
        in_a_process("make", "ukulele-tenor", "-o", "elsewhere", cwd=tmp_path, **surroundings)
        first, second = (tmp_path / folder / "ukulele-tenor" for folder in ("output", "elsewhere"))
        assert {path.name for path in first.iterdir()} == {path.name for path in second.iterdir()}
        differing = [path.name for path in first.iterdir() if path.read_bytes() != (second / path.name).read_bytes()]
        assert differing == []

    @pytest.mark.slow
    def test_title_never_becomes_a_path(self, tmp_path: Path) -> None:
        text = text_of("bass-4", {"title": "../../<b>&nut</b> \u266b; rm -rf"})
        (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
        done = run("make", "mine.toml", cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        assert {path.name for path in tmp_path.iterdir()} == {"mine.toml", "mine.dryfit.jsonl", "output"}

    @pytest.mark.parametrize("library", ["typer", "pydantic", "numpy"])
    def test_interrupt_while_libraries_load(self, library: str, tmp_path: Path) -> None:
        """Sent at the very moment at which a library is looked for."""
        code = (
            "import os, signal, sys\n"
            "def hook(event, of):\n"
            f"    if event == 'import' and of[0] == {library!r}: os.kill(os.getpid(), signal.SIGINT)\n"
            "from nutgen.cli import main\n"
            "sys.addaudithook(hook)\n"
            "main()"
        )
        command = [sys.executable, "-c", code, "check", "bass-4"]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=60)
        assert (done.returncode, done.stdout) == (1, "")
        assert done.stderr == "stopped; files that were not finished were left as they were\n"

    def test_interrupt_leaves_the_older_set_whole(self, made: Callable[..., Made], tmp_path: Path) -> None:
        folder = shutil.copytree(made("make", "bass-4-fifths").folder, tmp_path / "output" / "bass-4-fifths")
        before = {path.name: path.read_bytes() for path in folder.iterdir()}
        code = "from nutgen.cli import main; print('loaded', flush=True); main()"
        command = [sys.executable, "-c", code, "make", "bass-4-fifths"]
        for delay in (0.1, 1.0):
            with subprocess.Popen(command, cwd=tmp_path, stderr=subprocess.PIPE, stdout=subprocess.PIPE) as process:
                assert process.stdout
                assert process.stdout.readline() == b"loaded\n"
                time.sleep(delay)
                process.send_signal(signal.SIGINT)
                _, stderr = process.communicate(timeout=60)
            assert process.returncode in (0, 1, 2)
            assert b"Traceback" not in stderr
        assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
