"""How many changes of the code its tests notice: 200 mutants of one room, drawn by a seed, each run against tests.

    python tests/mutants.py ROOM [--count 200] [--seed 1] [--jobs 1]
    python tests/mutants.py ROOM MUTANT...    these alone, say those that lived, once there is a test

mutmut makes and runs them, as [tool.mutmut] of pyproject.toml says, in a copy of the project that is thrown away; it
changes the bodies of functions, not constants, properties or what is cached. Survivors are printed. Minutes to an hour;
not a test.
"""

import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Annotated

import tomlkit
import typer

ROOT = Path(__file__).resolve().parents[1]
ROOMS = {
    "theory": ("theory/*", "tests/theory tests/nut tests/play --ignore=tests/play/test_any_file.py"),
    "nut": ("nut/*", "tests/nut tests/play --ignore=tests/play/test_any_file.py"),
    "play": (
        "play/*",
        "tests/play tests/commands/test_play.py::test_json_has_the_stable_keys --ignore=tests/play/test_any_file.py",
    ),
    "bench": (
        "bench/*",
        "tests/bench tests/commands/test_play.py::test_json_has_the_stable_keys"
        " tests/commands/test_compare.py tests/commands/test_setup.py",
    ),
    "stock": ("stock/*", "tests/stock --ignore=tests/stock/test_flawed.py --ignore=tests/stock/scan/test_file.py"),
    "provers": ("jobs/pro*", "tests/jobs/test_proof.py tests/jobs/test_tolerances.py tests/formats/test_stl_reader.py"),
}
"""Room -> where in the package its code is, and the tests that are to notice: quick ones."""

Names = Annotated[list[str] | None, typer.Argument()]

NOT_NOTICED = {0, 5, 33}
"""What mutmut writes down of a mutant: its tests passed; no test calls what was changed."""


def mutmut(folder: Path, *words: str) -> str:
    surroundings = os.environ | {"PYTHONPATH": str(folder / "mutants")}
    command = [sys.executable, "-m", "mutmut", *words]
    return subprocess.run(command, cwd=folder, env=surroundings, capture_output=True, text=True, check=False).stdout


def ends(folder: Path) -> dict[str, int | None]:
    """Every mutant of the room, and how it ended; None where it was not run."""
    notes = [json.loads(path.read_text("utf-8")) for path in sorted(folder.glob("mutants/nutgen/**/*.meta"))]
    return {name: code for note in notes for name, code in note["exit_code_by_key"].items()}


def main(room: str, mutants: Names = None, count: int = 200, seed: int = 1, jobs: int = 1) -> None:
    places, tests = ROOMS[room]
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "nutgen"
        shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(".*", "output", "__pycache__"))
        config = tomlkit.parse((folder / "pyproject.toml").read_text("utf-8")).unwrap()
        config["tool"]["mutmut"] |= {
            "only_mutate": [f"nutgen/{places}"],
            "pytest_add_cli_args_test_selection": tests.split(),
        }
        (folder / "pyproject.toml").write_text(tomlkit.dumps(config), "utf-8")
        log = mutmut(folder, "run", "none of them")  # only makes them, and sees which test calls what
        names = sorted(ends(folder))
        drawn = mutants or random.Random(seed).sample(names, min(count, len(names)))
        log += mutmut(folder, "run", "--max-children", str(jobs), *drawn)
        ended = {name: code for name, code in ends(folder).items() if name in drawn}
        alive = [name for name, code in ended.items() if code in NOT_NOTICED]
        print(*(mutmut(folder, "show", name) for name in alive), sep="\n")
        run = sum(code is not None for code in ended.values())
        print(f"{room}: {run - len(alive)} of {run} noticed; {len(names)} in all" if run else log[-2000:])


if __name__ == "__main__":
    typer.run(main)
