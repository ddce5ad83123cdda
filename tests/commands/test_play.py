"""`tension`, `heights` and `reuse` as a user meets them: a process, its output, its exit code."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from tests.calling import Done, run
from tests.kinds import text_of


@pytest.fixture
def here(tmp_path: Path) -> Callable[..., Done]:
    return partial(run, cwd=tmp_path)


def started(*words: str, cwd: Path, code: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", code, *words]
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, timeout=120, check=False)


def told(*words: str, cwd: Path) -> Any:
    done = run(*words, "--json", cwd=cwd)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def demo(cwd: Path, changes: Mapping[str, Any]) -> str:
    (cwd / "mine.toml").write_text(text_of("bass-4-fifths", changes), "utf-8")
    return "mine.toml"


def test_a_new_user_restrings_the_demo_bass_and_asks_about_its_old_nut(tmp_path: Path) -> None:
    pull = run("tension", "bass-4-fifths", cwd=tmp_path)
    assert pull.returncode == 0
    assert "Against [before] (E1 A1 D2 G2, 808.7 N)" in pull.stdout
    assert "Assumption: nickel-plated steel on steel (bass): pull by a model, within" in pull.stdout
    nut = run("reuse", "bass-4-fifths", cwd=tmp_path)
    assert nut.returncode == 0
    assert "Old nut: fill and file. String 1 (A2) to fill and to file again" in nut.stdout
    assert "with packing of 0.25 mm" in " ".join(nut.stdout.split())
    assert "4 C1: widen to 3.40" in nut.stdout
    assert "1 A2: too low by 0.22 (buzz)" in nut.stdout
    assert list(tmp_path.iterdir()) == []


def test_heights_and_check_print_the_same_numbers(tmp_path: Path) -> None:
    seen, checked = (told(command, "electric-6", cwd=tmp_path) for command in ("heights", "check"))
    assert seen["units"] == checked["units"] == "mm"
    assert seen["hash"] == checked["hash"]
    for ours, theirs in zip(seen["strings"], checked["strings"], strict=True):
        for key in ("number", "note", "floor_z", "floor_height", "first_fret_clearance", "action"):
            assert ours[key] == theirs[key], key
        assert ours["clearance"][0] == pytest.approx(theirs["first_fret_clearance"], abs=1e-6)
        assert ours["clearance"][11] == pytest.approx(theirs["action"], abs=1e-6)
        assert ours["checks"]["feeler_at_1"] == pytest.approx(theirs["first_fret_clearance"], abs=1e-6)


KEYS = Path(__file__).parent / "files" / "keys.txt"


def keys(value: Any, at: str) -> Iterator[str]:
    """Every key of a record, what stands under it and how many; findings are findings, whatever their values."""
    if isinstance(value, dict) and "sentence" not in value:
        for name, inner in value.items():
            yield from keys(inner, f"{at}.{name}")
    elif isinstance(value, list) and value:
        count = "" if isinstance(value[0], dict) and "sentence" in value[0] else len(value)
        yield from keys(value[0], f"{at}[{count}]")
    else:
        yield f"{at} {'finding' if isinstance(value, dict) else type(value).__name__}"


def test_json_has_the_stable_keys(tmp_path: Path) -> None:
    """Those that programs may have been written for."""
    commands = {"tension": ("--suggest", "even"), "heights": (), "reuse": ()}
    found = [
        key for name, more in commands.items() for key in keys(told(name, "bass-4-fifths", *more, cwd=tmp_path), name)
    ]
    assert found == KEYS.read_text("utf-8").split("\n")[:-1]


@pytest.mark.parametrize("columns", [80, 50])
@pytest.mark.parametrize(
    "words",
    [
        ("tension", "acoustic-12", "--against", "acoustic-6", "--suggest", "even"),
        ("heights", "acoustic-12"),
        ("heights", "electric-7", "--lowest"),
        ("heights", "electric-7", "--barre", "0.1"),
        ("reuse", "bass-4-fifths"),
    ],
)
def test_fits_the_terminal(words: tuple[str, ...], columns: int, here: Callable[..., Done]) -> None:
    done = here(*words, columns=columns)
    assert done.returncode == 0
    assert max(len(line) for line in done.stdout.splitlines()) <= columns


def test_numbers_on_an_assumption_say_so_in_their_section(here: Callable[..., Done]) -> None:
    for section, words in {
        "buzz": "plucked with 1 N square to the board",
        "pitch": "the finger presses 8 mm behind the fret",
        "friction": "friction 0.1 (greased) to 0.3 (dry); no published value found; graphite or a"
        " drop of lubricant in the slot lessens it, a string guide that straightens the string lessens the bend",
        "spread": "errors not in [errors]",
    }.items():
        out = " ".join(here("heights", "bass-4-fifths", "--only", section).stdout.split())
        assert f"Assumption: {words}" in out, section
    assert "Listeners rarely notice nut setback" in here("heights", "bass-4", "--only", "pitch").stdout


class TestPluck:
    def test_options_read_like_the_file(self, tmp_path: Path) -> None:
        file = demo(tmp_path, {"pluck": {"force_n": 2.0, "from_bridge": 101.6}})
        by_file = told("heights", file, cwd=tmp_path)
        by_option = told("heights", "bass-4-fifths", "--force", "2", "--from-bridge", "4 in", cwd=tmp_path)
        assert by_file["strings"][0]["buzz"] == by_option["strings"][0]["buzz"]
        assert not [found for found in by_option["findings"] if found["code"].startswith("pluck.")]

    @pytest.mark.parametrize(
        ("words", "fault"),
        [
            (("--force", "-1"), "pluck.force_n: -1 is below 0.05"),
            (("--height", "30"), "pluck.height: 30 mm is above 6 mm"),
            (("--force", "1", "--height", "1"), "pluck.height: given together with force_n"),
            (("--from-bridge", "350"), "pluck.from_bridge: 350 mm is over the board"),
            (("--only", "buz"), '--only "buz": allowed are clearances'),
            (("--frets", "1-40"), '--frets "1-40": two frets or more, from 1 to 20'),
            (("--frets", "x"), '--frets "x": write a range'),
            (("--feeler", "0.3", "--sliver", "0.1"), "convert one reading at a time"),
            (("--sliver", "much"), '--sliver: "much" is not a length'),
            (("--plot", "chart.png"), "give it a name that ends in .svg"),
        ],
    )
    def test_slips_are_told(
        self, words: tuple[str, ...], fault: str, here: Callable[..., Done], tmp_path: Path
    ) -> None:
        done = here("heights", "bass-4-fifths", *words)
        assert done.returncode == 2
        assert fault in " ".join(done.stderr.replace("│", " ").split())
        assert done.stdout == ""
        assert list(tmp_path.iterdir()) == []


class TestBadSets:
    def test_a_010_at_c1(self, tmp_path: Path) -> None:
        file = demo(tmp_path, {"strings.0.gauge": 0.010, "strings.0.wound": False})
        for command in ("tension", "heights"):
            done = run(command, file, cwd=tmp_path)
            assert done.returncode == 0
        out = " ".join(run("tension", file, cwd=tmp_path).stdout.split())
        assert "! string 4 (C1): 1.3 N is slack, under 15 N; it will flap and not sound" in out

    def test_action_below_zero(self, tmp_path: Path) -> None:
        done = run("heights", demo(tmp_path, {"setup.action.bass": -2.3}), cwd=tmp_path)
        assert done.returncode == 2
        assert "setup.action.bass: -2.3 mm is below 0.3 mm; measured the other way? write 2.3" in done.stderr

    def test_relief_that_lifts_a_fret_into_the_string(self, tmp_path: Path) -> None:
        file = demo(tmp_path, {"setup.relief": 1.4, "setup.action": 0.3})
        for command in ("check", "heights"):
            out = " ".join(run(command, file, cwd=tmp_path).stdout.split())
            assert "! strings 4 to 1 (C1 to A2): the open string lies on fret" in out

    def test_lowest_that_nothing_reaches(self, tmp_path: Path) -> None:
        lowest = {"setup.first_fret_clearance": "lowest"}
        file = demo(tmp_path, lowest)
        assert run("check", file, cwd=tmp_path).returncode == 0
        done = run("heights", demo(tmp_path, {**lowest, "pluck": {"height": 6.0}}), cwd=tmp_path)
        assert done.returncode == 1
        assert "strings 4 to 1 (C1 to A2): no slot floor keeps it clear of fret" in done.stderr

    def test_reuse_without_an_old_nut(self, tmp_path: Path) -> None:
        done = run("reuse", "bass-4", cwd=tmp_path)
        assert done.returncode == 2
        assert "old_nut: missing; write [old_nut] with edges or centres, widths and floors, or let --ask" in done.stderr


class TestSuggest:
    @pytest.mark.parametrize(
        ("words", "fault"),
        [
            (("--suggest", "evne"), "write even, or a pull"),
            (("--suggest", "4000 N"), "allowed is 5 to 500 N a string"),
            (("--gauges", "0.04-0.13"), "add --suggest even"),
            (("--suggest", "even", "--gauges", "0.13-0.04"), "the first below the second"),
            (("--suggest", "even", "--gauges", "thick"), "write two gauges"),
            (("--suggest", "even", "--gauges", "0.1301-0.1302"), "no wound gauge of the trade lies between"),
        ],
    )
    def test_slips_are_told(self, words: tuple[str, ...], fault: str, here: Callable[..., Done]) -> None:
        done = here("tension", "bass-4-fifths", *words)
        assert done.returncode == 2
        assert fault in " ".join(done.stderr.replace("│", " ").split())

    def test_units_of_the_wanted_pull(self, here: Callable[..., Done]) -> None:
        targets = [
            json.loads(here("tension", "bass-4", "--json", "--suggest", words).stdout)["suggestion"]["target_n"]
            for words in ("177.928864 N", "40 lbf", "18.1436948 kgf", "177.928864")
        ]
        # 1 lbf = 4.4482216 N = 0.45359237 kgf
        assert targets == pytest.approx([177.928864] * 4, rel=1e-6)

    def test_measured_neck_gives_a_figure(self, tmp_path: Path) -> None:
        file = demo(tmp_path, {"instrument.relief_per_100_n": 0.2})
        got = told("tension", file, "--against", "bass-5", cwd=tmp_path)["change"]
        assert got["relief"] == pytest.approx(0.2 * got["total_n"] / 100.0, abs=1e-6)
        assert got["by_string_n"] is None
        assert f"{got['relief']:+.2f} mm by this neck's measured stiffness" in got["meaning"]["sentence"]


def test_plot_writes_both_pictures_whole(tmp_path: Path) -> None:
    done = run("heights", "bass-4-fifths", "--plot", "pictures/bass.svg", "--only", "checks", cwd=tmp_path)
    assert done.returncode == 0
    assert sorted(p.name for p in (tmp_path / "pictures").iterdir()) == ["bass-cents.svg", "bass.svg"]
    assert "wrote pictures/bass.svg" in done.stderr


@pytest.mark.parametrize("words", [("heights", "bass-4", "--json"), ("tension", "bass-4"), ("reuse", "bass-4-fifths")])
def test_commands_of_playing_load_neither_kernel_nor_plotter(words: tuple[str, ...], tmp_path: Path) -> None:
    code = (
        "import sys; from nutgen.cli import main\n"
        "try: main()\n"
        "except SystemExit as stop: assert not stop.code\n"
        "heavy = {'cadquery', 'OCP', 'trimesh', 'vtkmodules', 'matplotlib', 'scipy', 'reportlab'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    assert started(*words, cwd=tmp_path, code=code).returncode == 0


def test_check_loads_nothing_of_playing(tmp_path: Path) -> None:
    code = (
        "import sys; from nutgen.cli import main\n"
        "try: main()\n"
        "except SystemExit as stop: assert not stop.code\n"
        "more = [m for m in sys.modules if m.startswith(('nutgen.play', 'nutgen.theory.pitch'))]\n"
        "assert not more, more"
    )
    done = started("check", "bass-4-fifths", cwd=tmp_path, code=code)
    assert done.returncode == 0, done.stderr
