"""What `nutgen jigs` writes: the page in order, the settings of the shoe, the bench that the blades make."""

import json
import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest

import nutgen
from nutgen.documents.blocks import Paragraph
from nutgen.documents.jigs.scene import scenes
from nutgen.documents.jigs.tables import tools_table
from nutgen.documents.paint.written import written
from nutgen.documents.words.quantities import Units
from nutgen.jigs.choose import Made
from nutgen.jigs.guides import guided
from nutgen.jigs.task import KINDS
from nutgen.spec.read import parse_spec
from tests.calling import run
from tests.documents.browsing import PHONE, Tab, changed
from tests.jigs.jigs_of import BENCH, made, task_of
from tests.kinds import text_of


def test_blades_are_the_bench() -> None:
    blades = [{**one, "width": "0.42 mm"} for one in BENCH["blades"][1:3]]
    tools = parse_spec(text_of("bass-4", {"tools": {"blades": blades}}), source="t").tools
    assert tools.saws == tools.files == (0.42,)
    both = parse_spec(text_of("bass-4", {"tools": {"blades": blades, "saws": [0.3]}}), source="t").tools
    assert both.saws == (0.3,)


def test_a_tool_that_does_two_steps_names_each_string_once() -> None:
    blade = {"tool": "file", "width": "0.33 mm", "height": "8 mm", "length": "60 mm", "sides": "smooth", "taper": 0.0}
    task = task_of("electric-6", {}, {"blades": [blade]})
    assert max(len(plan.rough) + len(plan.final) for plan in task.plans) > 1
    for one in guided(task):
        assert len(one.strings) == len(set(one.strings)), one


@pytest.mark.parametrize(("kind", "units"), [("electric-6", "mm"), ("acoustic-6-inches", "in")])
def test_lines_to_write_into_the_file_are_in_its_units(kind: str, units: Units) -> None:
    """With height and length filled in they are tools of the file, as wide as those that the plans use."""
    task = task_of(kind, {}, {})
    told = [written(block.text, units) for block in tools_table(task) if isinstance(block, Paragraph)]
    lines = [line.replace("= ,", '= "20 mm",') for line in told if line.startswith("{ tool")]
    assert lines
    text = text_of(kind, {}, "\n".join(["", "[tools]", "blades = [", *lines, "]", ""]))
    steps = [step for plan in task.plans for step in plan.steps]
    blades = parse_spec(text, source="t").tools.blades
    assert len(blades) == len(lines)
    for blade in blades:
        assert any(KINDS.get(one.tool) == blade.tool and abs(one.tool_width - blade.width) < 0.01 for one in steps)


@pytest.mark.slow
def test_comb_on_paper_and_in_json(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(text_of("electric-6", {"tools": BENCH}))
    ran = run("jigs", "mine.toml", "--jig", "comb", "--json", "-o", ".", cwd=tmp_path)
    assert ran.returncode == 0, ran.stderr
    told: dict[str, Any] = json.loads(ran.stdout)
    (comb,) = told["jigs"]
    shoes = {one["string"]: one["size"] for one in comb["edge_to_shoe"]}
    pages = pypdfium2.PdfDocument(tmp_path / "mine" / "jigs" / "jigs.pdf")
    text = "".join(page.get_textpage().get_text_bounded() for page in pages)
    for string, shoe in shoes.items():
        slot = next(one for one in nutgen.solve(nutgen.read(file)).slots if one.number == string)
        assert f"{string} {slot.note} {shoe:.2f}" in " ".join(text.split())
    assert "4 straight steel pins of 3.00 mm" in " ".join(text.split())
    places = [text.index(words) for words in ("Starting comb", "1 blank in", "2 shoe on the tool", "3, 4 at its stop")]
    assert places == sorted(places)


@pytest.mark.slow
def test_bodies_in_a_picture_lie_beside_each_other() -> None:
    from nutgen.geometry.mesh import manifold_of

    task, jig, parts = made("electric-6-slanted", "comb")
    *_, stopped = scenes(task, Made(jig, parts))
    plates, *others = [manifold_of(body.mesh) for body in stopped.bodies]
    assert all(math.isfinite(one.volume()) and one.volume() > 1.0 for one in others)
    steel = [
        one for one, body in zip(others, stopped.bodies[1:], strict=True) if body.label in ("pins", "shoe", "tool")
    ]
    assert len(steel) == 3
    assert all((one ^ plates).volume() < 0.05 for one in steel)


@pytest.mark.slow
def test_the_set_is_shown_to_turn_one_scene_at_a_time(tmp_path: Path, tab: Tab) -> None:
    """Every scene fills the view in its own way, with orange only where there is a tool; no fault by axe-core."""
    (tmp_path / "mine.toml").write_text(text_of("electric-6", {"tools": BENCH}))
    ran = run("jigs", "mine.toml", "--jig", "thickness,comb", "-o", ".", cwd=tmp_path)
    assert ran.returncode == 0, ran.stderr
    tab.page.goto((tmp_path / "mine" / "jigs" / "jigs.html").as_uri())
    names = [label.inner_text().strip() for label in tab.page.locator("label").all()]
    assert names[:2] == ["printed", "1, 2 screws set, blank and wedge in"]
    seen, hues = [], []
    for choice in tab.page.get_by_role("radio").all():
        choice.check()
        seen.append(tab.pixels())
        red, _, blue, alpha = seen[-1].astype(int).transpose(2, 0, 1)
        assert 0.05 < np.mean(alpha > 200) < 0.8
        hues.append(bool(np.mean((alpha > 200) & (red > blue + 90)) > 2e-3))
    assert all(changed(a, b) > 0.005 for a, b in pairwise(seen))
    assert hues == [False, False, True, False, False, True, True]  # paper on glass, the shoe on its tool, at its stop
    tab.page.set_viewport_size(PHONE)
    assert tab.width() <= PHONE["width"]
    assert tab.barriers()[0] == []
    assert tab.complaints == []
    assert tab.forbids() == "connect-src"
