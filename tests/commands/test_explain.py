"""`explain`: every code that a command can name has a cause to read."""

import json
from pathlib import Path

import pytest

from nutgen.documents.words import CATALOGUE
from tests.calling import run


@pytest.mark.parametrize("columns", [80, 40])
def test_the_list_names_every_code_once(tmp_path: Path, columns: int) -> None:
    done = run("explain", cwd=tmp_path, columns=columns)
    assert done.returncode == 0
    lines = done.stdout.splitlines()
    first = [line.partition(":")[0] for line in lines]
    assert [code for code in first if code in CATALOGUE] == sorted(CATALOGUE)
    assert max(map(len, lines)) <= columns


def test_cause_and_cure_of_a_warning_that_a_command_gave(tmp_path: Path) -> None:
    """Any finding of --json is explained by its code."""
    told = json.loads(run("make", "mandolin", "--for", "print", "--nozzle", "0.8", "--json", cwd=tmp_path).stdout)
    codes = {finding["code"] for finding in told["made"][0]["findings"]}
    assert codes
    for code in codes:
        said = " ".join(run("explain", code, cwd=tmp_path).stdout.split())
        assert said.startswith(f"{code} {' '.join(CATALOGUE[code].cause.split())}")
        assert CATALOGUE[code].cure in said


def test_a_slip_of_the_pen(tmp_path: Path) -> None:
    done = run("explain", "print.weak-betwen", cwd=tmp_path)
    assert done.returncode == 2
    assert "did you mean print.weak-between?" in " ".join(done.stderr.split())
    done = run("explain", "qqq", cwd=tmp_path)
    assert done.returncode == 2
    assert "see `nutgen explain`" in " ".join(done.stderr.split())


def test_every_entry_has_a_cause() -> None:
    assert [code for code, entry in CATALOGUE.items() if not entry.cause.endswith(".")] == []
