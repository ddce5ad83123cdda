"""`stages` as a user meets it: a process, its output, its exit code."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from nutgen.bench.materials import MATERIALS
from nutgen.bench.stages import STAGES, stages
from nutgen.documents.sheet.words import LOCAL
from nutgen.documents.words import sentence
from nutgen.documents.words.stages import SIZES
from nutgen.nut import solve
from nutgen.spec.presets import kind_path
from nutgen.spec.read import parse_spec
from tests import calling
from tests.calling import Done
from tests.rounding import half_up


def run(*words: str, cwd: Path, columns: int = 80) -> Done:
    return calling.run("stages", *words, cwd=cwd, columns=columns)


def written(folder: Path, kind: str, *lines: str) -> str:
    """An instrument file of a kind, with lines put before it."""
    (folder / "mine.toml").write_text("\n".join([*lines, kind_path(kind).read_text("utf-8")]), "utf-8")
    return "mine.toml"


@pytest.mark.parametrize("material", sorted(MATERIALS))
def test_cautions_of_the_material_come_before_the_stages(material: str, tmp_path: Path) -> None:
    done = run(written(tmp_path, "bass-4-fifths", f'material = "{material}"'), cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    text = " ".join(done.stdout.split())
    first = text.index("1 saw")
    for caution in MATERIALS[material].cautions:
        assert text.index(" ".join(sentence(caution).split())) < first
    assert text.index(sentence(LOCAL)) < first


def test_every_stage_in_order_with_its_sizes(tmp_path: Path) -> None:
    done = run("acoustic-6", cwd=tmp_path)
    heads = re.findall(r"^(\d+) ([a-z ]+)$", done.stdout, flags=re.MULTILINE)
    assert [name for _, name in heads] == list(STAGES)
    assert [int(number) for number, _ in heads] == list(range(1, 13))
    spec = parse_spec(kind_path("acoustic-6").read_text("utf-8"), source="acoustic-6")
    for stage in stages(solve(spec), spec.tools, MATERIALS["bone"]):
        for size in stage.reach:
            short = rf"string {size.string.number} \({size.string.name}\)" if size.string else SIZES[size.kind]
            row = rf"{short} +{half_up(size.stop, 2)} +{half_up(size.target, 2)} +[≥≤] {half_up(size.least, 2)}"
            assert re.search(row, done.stdout), row
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("columns", [80, 50])
@pytest.mark.parametrize("kind", ["acoustic-12", "bass-4-fifths"])
def test_it_fits_the_terminal(kind: str, columns: int, tmp_path: Path) -> None:
    done = run(kind, cwd=tmp_path, columns=columns)
    assert max(map(len, done.stdout.splitlines())) <= columns


def test_json_holds_the_numbers_of_the_bench(tmp_path: Path) -> None:
    done = run(written(tmp_path, "mandolin", 'material = "brass"'), "--json", cwd=tmp_path)
    record = json.loads(done.stdout)
    spec = parse_spec((tmp_path / "mine.toml").read_text("utf-8"), source="mine")
    work = stages(solve(spec), spec.tools, MATERIALS["brass"])
    assert record["units"] == "mm"
    assert record["material"] == "brass"
    assert record["local_rules"] == sentence(LOCAL)
    for told, caution in zip(record["cautions"], MATERIALS["brass"].cautions, strict=True):
        assert (told["code"], told["severity"]) == (caution.code, "caution")
        assert told["values"] == dict(caution.values)
        assert told["sentence"] == sentence(caution)
    assert [stage["name"] for stage in record["stages"]] == list(STAGES)
    for told, stage in zip(record["stages"], work, strict=True):
        assert [size["kind"] for size in told["reach"]] == [size.kind for size in stage.reach]
        assert told["do"]["code"] == stage.do.code
        assert [size["target"] for size in told["reach"]] == pytest.approx([s.target for s in stage.reach], abs=1e-6)
    assert not re.search(r"\d\.\d{7}", done.stdout)


def test_a_bench_of_five_files_and_three_leaves(tmp_path: Path) -> None:
    """What is not in the drawer is not asked for."""
    bench = "\n[tools]\nfiles = [0.013, 0.020, 0.028, 0.036, 0.046]\nneedle_files = []\nsaws = []\ndrill_shanks = []"
    bench += "\nfeeler = [0.10, 0.25, 0.50]\nfeeler_inch = []\n"
    (tmp_path / "mine.toml").write_text(kind_path("electric-6").read_text("utf-8") + bench, "utf-8")
    done = run("mine.toml", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    files = set(re.findall(r"lotting\s+file\s+(\d\.\d\d)\s+mm", done.stdout))
    assert files <= {"0.33", "0.51", "0.71", "0.91", "1.17"}
    assert files
    assert "drill shank," not in done.stdout
    leaves = re.search(r"0\.50 \+ 0\.25 \+ 0\.10", done.stdout)
    assert leaves


def test_inches_where_the_file_or_the_maker_asks_for_them(tmp_path: Path) -> None:
    """The same sizes: mm / 25.4, to a thousandth."""
    done = run("bass-4", "--units", "in", cwd=tmp_path)
    assert not re.search(r"\d mm\b", done.stdout)
    spec = parse_spec(kind_path("bass-4").read_text("utf-8"), source="bass-4")
    for size in stages(solve(spec), spec.tools, MATERIALS["bone"])[0].reach:
        stop, target = (half_up(one / 25.4, 3) for one in (size.stop, size.target))
        assert re.search(rf"{size.kind} +{stop} +{target} ", done.stdout)


def test_a_faulty_file_is_told_and_ends_with_two(tmp_path: Path) -> None:
    done = run(written(tmp_path, "mandolin", 'material = "cheese"'), cwd=tmp_path)
    assert done.returncode == 2
    assert "material" in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


def test_it_loads_nothing_heavy(tmp_path: Path) -> None:
    code = (
        "import sys; from nutgen.cli import main\n"
        "try: main()\n"
        "except SystemExit as stop: assert not stop.code\n"
        "heavy = {'cadquery', 'OCP', 'trimesh', 'reportlab', 'jinja2', 'PIL'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "stages", "bass-4"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("kind", "tools", "top", "to_find"),
    [
        ("bass-4", 'own_leaves = { paper = { ten = "1.02 mm" }, card = { ten = "2.95 mm" } }', "steel over", True),
        (
            "acoustic-6-inches",
            'steel = ["0.24 mm"]\nown_leaves = { tag = { ten = 0.116 } }',
            "0.0095 steel over",
            False,
        ),
        ("bass-4", "feeler = []\nfeeler_inch = []", "steel over packing", True),
    ],
)
def test_every_stop_of_a_bench_without_leaf_sets_has_steel_on_top(
    kind: str, tools: str, top: str, to_find: bool, tmp_path: Path
) -> None:
    file = written(tmp_path, kind)
    with (tmp_path / file).open("a", encoding="utf-8") as mine:
        mine.write(f"\n[tools]\n{tools}\n")
    done = run(file, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "no leaf" not in done.stdout
    rows = re.findall(r"^\d \w+ (?:rough|final) +[\d.]+ +(.*)", done.stdout.partition("Stop stacks")[2], re.MULTILINE)
    assert len(rows) == 2 * (4 if kind == "bass-4" else 6)
    assert all(row.startswith(top) for row in rows)
    assert ("side of a tin" in " ".join(done.stdout.split())) == to_find
    assert "no razor or knife blade" in done.stdout.lower() or not to_find
