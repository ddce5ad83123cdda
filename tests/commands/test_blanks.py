"""Squared blanks against the nut: plain differences, every way up tried."""

import json
from pathlib import Path

import pytest

from nutgen.errors import SpecFaults
from nutgen.model.mesh import mesh_of
from nutgen.model.solid import nut_solid
from nutgen.nut import solve
from nutgen.spec.read import parse_spec, read_drawer
from nutgen.stock.ready import ready
from tests.calling import run
from tests.kinds import text_of
from tests.spec.refused import path_of


def test_the_least_waste_comes_first_and_a_blank_may_be_turned() -> None:
    nut = solve(parse_spec(text_of("bass-4"), source="blanks"))
    length, thickness, height = nut.blank.length, nut.blank.thickness, nut.blank.height
    exact = (length, height, thickness)
    large, short = (length + 5.0, thickness + 1.0, height + 2.0), (length - 0.5, 20.0, 20.0)
    found = ready(nut, [("short", short), ("large", large), ("exact", exact)])
    assert [one.name for one in found] == ["exact", "large", "short"]
    assert (found[0].fits, found[0].turned, found[0].waste) == (True, True, pytest.approx(0.0))
    assert (found[2].fits, found[2].missing) == (False, pytest.approx((0.5, 0.0, 0.0)))
    volume = large[0] * large[1] * large[2]
    assert found[1].waste_share == pytest.approx(1.0 - length * thickness * height / volume)


def test_where_both_ways_up_fit_the_height_loses_less() -> None:
    nut = solve(parse_spec(text_of("bass-4"), source="blanks"))
    found = ready(nut, [("as given", (60.0, 14.0, 12.0)), ("turned", (60.0, 12.0, 14.0))])
    assert {one.name: (one.turned, one.off["top"]) for one in found} == {
        "as given": (False, pytest.approx(12.0 - nut.height)),
        "turned": (True, pytest.approx(12.0 - nut.height)),
    }


def test_a_string_that_starts_before_the_front_face_takes_of_the_thickness() -> None:
    plain, set_back = (
        solve(parse_spec(text_of("bass-4", keys), source="blanks")) for keys in ({}, {"slots.setback": 0.6})
    )
    backs = [ready(nut, [("any", (60.0, 9.0, 12.0))])[0].off["back"] for nut in (plain, set_back)]
    assert backs[1] - backs[0] == pytest.approx(-0.6)


@pytest.mark.slow
def test_what_comes_off_each_face_leaves_the_nut() -> None:
    """Sizes less both faces of each pair are those of the finished part, as its mesh measures; ends alike."""
    nut = solve(parse_spec(text_of("electric-6-slanted"), source="blanks"))
    part = mesh_of(nut_solid(nut)).vertices
    along, through, up = (part.max(axis=0) - part.min(axis=0)).tolist()
    (one,) = ready(nut, [("any", (70.0, 9.0, 9.0))])
    assert one.sizes[0] - 2.0 * one.off["end"] == pytest.approx(along, abs=0.01)
    assert 9.0 - one.off["front"] - one.off["back"] == pytest.approx(through, abs=0.01)
    assert 9.0 - one.off["underside"] - one.off["top"] == pytest.approx(up, abs=0.01)


DRAWER = """
units = "in"
[[blanks]]
name = "bone, by the window"
size = [2.25, 0.25, 0.375]
[[blanks]]
name = "short one"
size = ["40 mm", "6 mm", "9 mm"]
"""


def test_a_drawer_of_blanks(tmp_path: Path) -> None:
    (tmp_path / "drawer.toml").write_text(DRAWER, "utf-8")
    got = run("stock", "bass-4", "--blank", "drawer.toml", "--blank", "90x30x30", cwd=tmp_path)
    assert "Yes: bone, by the window wastes least." in got.stdout
    told = json.loads(run("stock", "bass-4", "--blank", "drawer.toml", "--json", cwd=tmp_path).stdout)["blanks"]
    assert told[0]["sizes"] == pytest.approx([57.15, 6.35, 9.525])
    assert [one["name"] for one in told] == ["bone, by the window", "short one"]
    (tmp_path / "drawer.toml").write_text(DRAWER.replace("0.25,", '"a",').replace("short one", ""), "utf-8")
    got = run("stock", "bass-4", "--blank", "drawer.toml", cwd=tmp_path)
    assert (got.returncode, "blanks[1].size[2]" in got.stderr, "blanks[2].name" in got.stderr) == (2, True, True)
    assert run("stock", "bass-4", "--blank", "none.toml", cwd=tmp_path).returncode == 2


@pytest.mark.parametrize(
    ("drawer", "path"),
    [
        ("blanks = []", "blanks"),
        (201 * '[[blanks]]\nname = "x"\nsize = [52, 6, 9]\n', "blanks"),
        ('[[blanks]]\nname = "x"\nsize = [52, 6]', "blanks[1].size"),
        ('[[blanks]]\nname = "x"\nsize = [52, 6, 9, 9]', "blanks[1].size"),
        ('[[blanks]]\nname = "x"\nsize = [52, 0.9, 9]', "blanks[1].size[2]"),
        ('[[blanks]]\nname = "x"\nsize = [501, 6, 9]', "blanks[1].size[1]"),
    ],
)
def test_slips_in_a_drawer_are_named(drawer: str, path: str, tmp_path: Path) -> None:
    (tmp_path / "drawer.toml").write_text(drawer, "utf-8")
    with pytest.raises(SpecFaults) as caught:
        read_drawer(tmp_path / "drawer.toml")
    assert [path_of(one) for one in caught.value.findings] == [path]


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
    for words in (
        ("--blank", "52x6"),
        ("--blank", "501x6x9"),
        ("--blank", "a x b x c"),
        (),
        ("--blank", "52x6x9", "--piece", "shin-bone"),
    ):
        assert run("stock", "bass-4", *words, cwd=tmp_path).returncode == 2


def test_a_blank_of_an_inch_file_is_in_inches_and_a_slip_is_told_so(tmp_path: Path) -> None:
    in_mm = run("stock", "acoustic-6-inches", "--blank", "52x6x9", cwd=tmp_path)
    assert in_mm.returncode == 2
    assert "each from 1 mm to 500 mm, bare numbers in inches, such as 2.05x0.24x0.35" in " ".join(in_mm.stderr.split())
    for blank in ("2.05x0.24x0.35", "52 mm x 6 mm x 9 mm"):
        assert run("stock", "acoustic-6-inches", "--blank", blank, cwd=tmp_path).returncode in (0, 1)
