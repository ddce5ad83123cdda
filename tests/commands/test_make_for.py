"""`make --for print`, `--for mill` and `coupon` as whole processes: what is written, said and refused."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
import trimesh

from nutgen.formats import stl
from nutgen.spec.presets import kind_path
from tests.calling import run
from tests.conftest import Made
from tests.kinds import text_of

PRINT = {"nut.json", "nut.png", "nut.step", "nut.stl", "print.3mf", "print.stl", "print.txt"}
MILL = {
    "mill-part.step", "mill-profile.dxf", "mill-stock.step", "mill.dxf", "mill.txt",
    "nut.json", "nut.png", "nut.step", "template.dxf",
}  # fmt: skip


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def record(folder: Path) -> dict:
    return json.loads((folder / "nut.json").read_text())


def written(tmp_path: Path, extra: str, kind: str = "electric-6") -> None:
    (tmp_path / "mine.toml").write_text(kind_path(kind).read_text() + "\n" + extra)


@pytest.fixture(scope="module")
def printed(made: Callable[..., Made]) -> tuple[Path, str]:
    one = made("make", "bass-4-fifths", "--for", "print", "--nozzle", "0.4")
    return one.folder, one.said


def test_trial_print_of_the_demo(printed: tuple[Path, str]) -> None:
    """The screen alone must do: which file, how it lies, what to set, what is left."""
    folder, said = printed
    assert names(folder) == PRINT
    flat = " ".join(said.split())
    for words in ("Open print.3mf in your slicer", "lies on its back", "without supports", "nozzle of 0.4 mm",
                  "25 layers of 0.2 mm", "nutgen coupon", "No warnings."):  # fmt: skip
        assert words in flat
    assert max(map(len, said.splitlines())) <= 80
    for slot in record(folder)["print"]["slots"]:
        assert re.search(rf"{slot['number']} {slot['note']} +{slot['way']} .*file", said)


def test_every_file_has_its_proof(printed: tuple[Path, str]) -> None:
    folder, _ = printed
    proof = record(folder)["proof"]
    assert set(proof) == PRINT - {"nut.json"}
    assert {entry["reader"] for entry in proof.values()} >= {"trimesh's STL reader", "lib3mf, strict"}
    assert proof["print.3mf"]["found"]["unit"] == "mm"


def test_nut_stl_stays_in_the_nuts_frame_and_print_stl_lies_on_the_bed(printed: tuple[Path, str]) -> None:
    folder, _ = printed
    nut, part = (trimesh.load(folder / name) for name in ("nut.stl", "print.stl"))
    for mesh in (nut, part):  # no sliver: a triangle lower than what drawings take for no line at all
        longest = mesh.edges_unique_length[mesh.faces_unique_edges].max(axis=1)
        assert (2.0 * mesh.area_faces / longest).min() > 1e-6
    assert nut.bounds[0] == pytest.approx((-20.75, 0.0, -3.2), abs=1e-3)
    assert part.bounds[0] == pytest.approx((0.0, 0.0, 0.0), abs=1e-4)
    assert part.extents[2] == pytest.approx(nut.extents[1], abs=1e-3)  # its thickness stands up


@pytest.fixture(scope="module")
def milled(made: Callable[..., Made]) -> tuple[Path, str]:
    one = made("make", "electric-6", "--for", "mill", "--cutter", "1/8 in flat", "--cutter", "0.5 ball")
    return one.folder, one.said


def test_files_for_a_router(milled: tuple[Path, str]) -> None:
    folder, said = milled
    assert names(folder) == MILL
    mill = record(folder)["mill"]
    assert [(slot["number"], slot["note"]) for slot in mill["slots"]] == [
        (n, note) for n, note in zip(range(6, 0, -1), ("E2", "A2", "D3", "G3", "B3", "E4"), strict=True)
    ]
    assert mill["slots"][0]["cutter"] == "0.5 ball"
    assert mill["slots"][0]["walls_left"] < 0.05
    assert mill["slots"][-1]["walls_left"] is None
    flat = " ".join(said.split())
    for words in ("a mark alone", "Clamp it down on both ends", "Tabs of", "Order of work", "at level", "below 0"):
        assert words in flat
    assert mill["stock"]["thickness"] == pytest.approx(3.8)
    assert mill["stock"]["length"] == pytest.approx(42.0 + 2.0 * (8.0 + 1.0 + 3.175))
    assert max(map(len, said.splitlines())) <= 80


def test_part_and_stock_share_the_routers_frame(milled: tuple[Path, str]) -> None:
    folder, _ = milled
    found = {name: entry["found"] for name, entry in record(folder)["proof"].items() if name.startswith("mill")}
    part, stock = found["mill-part.step"], found["mill-stock.step"]
    for axis in "xy":
        assert stock[f"lowest {axis}"] <= part[f"lowest {axis}"]
        assert part[f"highest {axis}"] <= stock[f"highest {axis}"]
    assert stock["highest z"] == 0.0
    assert part["lowest z"] == stock["lowest z"]


def test_allowances_stand_in_every_output_but_the_template(tmp_path: Path) -> None:
    left = {"body.top": 0.6, "body.back": 0.4, "body.ends": 0.3, "body.floors": 0.2}
    (tmp_path / "mine.toml").write_text(text_of("electric-6", left), "utf-8")
    done = run("make", "mine.toml", "--for", "print,mill,trace", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    folder = tmp_path / "output" / "mine"
    proof, flat = record(folder)["proof"], " ".join(done.stdout.split())
    assert "0.60 on the top, 0.40 on the back face, 0.30 on each end, 0.20 in each slot" in flat
    assert proof["nut.stl"]["found"]["size along x"] == pytest.approx(42.6)
    assert proof["nut.stl"]["found"]["size along y"] == pytest.approx(3.8)
    assert proof["print.stl"]["found"]["size along z"] == pytest.approx(3.8)
    assert proof["mill.dxf"]["found"]["outline, area in mm2"] == pytest.approx(42.6 * 3.8)
    assert proof["template.dxf"]["found"]["front-outline, width in mm"] == pytest.approx(42.0)
    assert all(slot["floor_left"] >= 0.2 - 1e-6 for slot in record(folder)["print"]["slots"])


@pytest.mark.parametrize(
    ("words", "extra", "code", "says"),
    [
        (
            ["--for", "print"],
            "[print]\nnozzle = 0.4\nlayer_height = 0.9\n",
            2,
            "print.layer_height: 0.9 mm is above 0.6",
        ),
        (["--for", "print", "--nozzle", "0.3", "--layer", "0.4"], "", 2, "0.4 mm is more than the nozzle, 0.3 mm"),
        (["--for", "print", "--nozzle", "wide"], "", 2, '"wide" is not a length'),
        (["--for", "mill", "--cutter", "60 flat"], "", 1, "the cutter 60 flat is larger than the nut, 42.00 mm long"),
        (["--for", "mill", "--cutter", "3 round"], "", 2, '"round" is not one of "flat", "ball"'),
        (["--for", "mill", "--stock-thickness", "3"], "", 1, "3.00 mm of stock is less than the part's 3.40 mm"),
        ([], "[mill]\nstock_height = 2.0\n", 1, "mill.stock_height: 2.00 mm of stock is less"),
        ([], "[print]\nper_side = 0.1\ncoupon_slot = 2\n", 2, "print.per_side: given together with coupon_slot"),
    ],
)
def test_bad_input_is_one_message_and_no_file(
    words: list[str], extra: str, code: int, says: str, tmp_path: Path
) -> None:
    written(tmp_path, extra)
    done = run("make", "mine.toml", *words, cwd=tmp_path)
    assert done.returncode == code
    assert says in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr
    assert names(tmp_path) == {"mine.toml"}


def test_a_nozzle_wider_than_a_gap(tmp_path: Path) -> None:
    text = kind_path("mandolin").read_text()
    (tmp_path / "mine.toml").write_text(re.sub(r"course_gap = [\d.]+", "course_gap = 0.7", text))
    done = run("make", "mine.toml", "--for", "print", "--nozzle", "0.8", cwd=tmp_path)
    assert done.returncode == 1
    assert "print.nozzle: 0.8 mm is wider than the gap of 0.70 mm" in " ".join(done.stderr.split())
    assert names(tmp_path) == {"mine.toml"}


def test_what_was_not_asked_for_is_left_out_with_the_reason(tmp_path: Path) -> None:
    """Without [print] or --for, a nut that the usual nozzle cannot print can still be traced and milled."""
    spacing = {"spacing": {"rule": "measured", "measured": [4.0, 5.0, 20.0, 30.0]}}
    (tmp_path / "mine.toml").write_text(text_of("ukulele-soprano", spacing), "utf-8")
    done = run("make", "mine.toml", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "the files to print were left out: print.nozzle: 0.4 mm is wider" in " ".join(done.stdout.split())
    assert not names(tmp_path / "output" / "mine") & {"print.stl", "print.3mf"}
    assert "mill.dxf" in names(tmp_path / "output" / "mine")
    asked = run("make", "mine.toml", "--for", "print", "-o", "asked", cwd=tmp_path)
    assert asked.returncode == 1
    assert "wider than the gap" in " ".join(asked.stderr.split())
    assert not (tmp_path / "asked").exists()


def test_a_file_that_does_not_read_back_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A writer gone wrong: the STL comes out in inches. Nothing may stay behind."""
    real = stl.stl_bytes
    in_inches = lambda mesh, stamp: real(replace(mesh, vertices=mesh.vertices / 25.4), stamp)  # noqa: E731
    monkeypatch.setattr(stl, "stl_bytes", in_inches)
    done = run("make", "ukulele-soprano", "--for", "print", cwd=tmp_path)
    assert done.returncode == 1
    assert "nut.stl, read back by trimesh's STL reader: volume in mm3 is" in done.stderr
    assert "Traceback" not in done.stderr
    assert names(tmp_path) == set()


class TestCoupon:
    def test_writes_a_proved_set_and_says_how_to_read_it(self, tmp_path: Path) -> None:
        done = run("coupon", "electric-6", cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        assert names(tmp_path / "output" / "electric-6") == {"coupon.3mf", "coupon.stl", "coupon.txt"}
        flat = " ".join(done.stdout.split())
        for words in ("coupon_slot = 2", "string 6 (E2, 1.168 mm", "without force", "per side"):
            assert words in flat
        assert max(map(len, done.stdout.splitlines())) <= 80

    def test_its_reading_goes_back_into_the_file(self, tmp_path: Path) -> None:
        table = json.loads(run("coupon", "electric-6", "--json", cwd=tmp_path).stdout)["slots"]
        written(tmp_path, "[print]\ncoupon_slot = 3\n")
        done = run("make", "mine.toml", "--for", "print", cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        wanted = next(row["per_side"] for row in table if row["step"] == 3)
        assert record(tmp_path / "output" / "mine")["print"]["per_side"] == pytest.approx(wanted)
        assert "0.044 mm is taken off every side already (read from the coupon)" in " ".join(done.stdout.split())

    @pytest.mark.parametrize(
        ("words", "says"), [(["--string", "1"], "too thin to try"), (["--string", "9"], "there is no string 9")]
    )
    def test_what_cannot_be_tried_is_told(self, words: list[str], says: str, tmp_path: Path) -> None:
        done = run("coupon", "electric-6", *words, cwd=tmp_path)
        assert done.returncode == 1
        assert says in done.stderr
        assert names(tmp_path) == set()
