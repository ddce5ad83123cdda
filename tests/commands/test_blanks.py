"""Squared blanks against the nut: plain differences, every way up tried."""

import json
from pathlib import Path

import pytest

from nutgen.nut import solve
from nutgen.spec.read import parse_spec
from nutgen.stock.ready import ready
from tests.calling import run
from tests.kinds import text_of


def test_the_least_waste_comes_first_and_a_blank_may_be_turned() -> None:
    nut = solve(parse_spec(text_of("bass-4"), source="blanks"))
    length, thickness, height = nut.blank.length, nut.blank.thickness, nut.blank.height
    exact = (length, height, thickness)
    large, short = (length + 5.0, thickness + 1.0, height + 2.0), (length - 0.5, 20.0, 20.0)
    found = ready(nut, [short, large, exact])
    assert [one.number for one in found] == [3, 2, 1]
    assert (found[0].fits, found[0].turned, found[0].waste) == (True, True, pytest.approx(0.0))
    assert found[0].take_off == pytest.approx((0.0, 0.0, 0.0))
    assert found[1].take_off == pytest.approx((5.0, 1.0, 2.0))
    assert (found[2].fits, min(found[2].take_off)) == (False, pytest.approx(-0.5))


def test_on_the_command_line(tmp_path: Path) -> None:
    got = run(
        "stock",
        "bass-4",
        "--blank",
        "52x9x6",
        "--blank",
        "2 1/4 in x 1/4 in x 3/8 in",
        "--blank",
        "40x6x9",
        cwd=tmp_path,
    )
    assert got.returncode == 0, got.stderr
    assert "Yes: 52x9x6 wastes least." in got.stdout
    told = json.loads(run("stock", "bass-4", "--blank", "40x6x9", "--json", cwd=tmp_path).stdout)
    assert told["blanks"][0]["fits"] is False
    assert run("stock", "bass-4", "--blank", "40x6x9", cwd=tmp_path).returncode == 1
    for words in (("--blank", "52x6"), ("--blank", "a x b x c"), (), ("--blank", "52x6x9", "--piece", "shin-bone")):
        assert run("stock", "bass-4", *words, cwd=tmp_path).returncode == 2
