"""STEP: names, unit and structure as another parser finds them; the shape as a fresh reader finds it.

The text is parsed with steputils, which knows nothing of the kernel that wrote it. Sources of the
expectations: ISO 10303-21 (clear text encoding), ISO 10303-214 (AUTOMOTIVE_DESIGN).
"""

import os
import re
import subprocess
import sys
import time
from functools import cache
from typing import Any

import pytest

from nutgen.errors import KernelError
from nutgen.formats import step as step_module
from nutgen.formats import step_reader
from nutgen.formats.stamp import Stamp
from nutgen.formats.step import part21_string, step_bytes
from nutgen.formats.step_reader import read_step
from nutgen.geometry import exchange, kernel
from nutgen.jigs.shapes.form import prism, under
from nutgen.model.solid import nut_solid
from nutgen.nut import solve
from nutgen.spec.read import parse_spec
from nutgen.theory.crown import Crown
from tests.kinds import text_of
from tests.model.nuts import nut, slot

p21 = pytest.importorskip("steputils.p21")
strings = pytest.importorskip("steputils.strings")

STAMP = Stamp("Bench nut, 'first' \\ Größe 弦 \N{MUSICAL SYMBOL G CLEF}", "0123456789ab")
BAR = nut(slots=(slot(), slot(x=6.0, fan_deg=4.0)), crown=Crown(2.2, 0.5, 1.0 / 300.0))


@cache
def solid() -> Any:
    return nut_solid(BAR)


@cache
def parsed() -> Any:
    return p21.loads(step_bytes(solid(), STAMP).decode("ascii"))


def entities(name: str) -> list[Any]:
    simple = (instance.entity for instance in parsed().data[0].instances.values() if hasattr(instance, "entity"))
    return [entity for entity in simple if entity.name == name]


class TestText:
    """The file as another parser reads it."""

    def test_header(self) -> None:
        header = parsed().header
        assert STAMP.spec_hash in header["FILE_DESCRIPTION"].params[0][0]
        assert strings.step_decoder(header["FILE_NAME"].params[0]) == STAMP.title
        assert header["FILE_SCHEMA"].params[0][0].startswith("AUTOMOTIVE_DESIGN")

    def test_one_solid_named_after_the_title(self) -> None:
        (product,) = entities("PRODUCT")
        assert [strings.step_decoder(text) for text in product.params[:2]] == [STAMP.title] * 2
        assert len(entities("MANIFOLD_SOLID_BREP")) == 1
        assert len(entities("CLOSED_SHELL")) == 1

    def test_lengths_are_in_millimetres(self) -> None:
        text = re.sub(r"\s+", "", step_bytes(solid(), STAMP).decode("ascii"))
        assert text.count("LENGTH_UNIT()") == text.count("SI_UNIT(.MILLI.,.METRE.)") == 1

    def test_floors_and_crown_are_the_surfaces_that_they_are(self) -> None:
        """A router program may ask for the axis and the radius of what it cuts."""
        radii = sorted(round(float(cylinder.params[2]), 6) for cylinder in entities("CYLINDRICAL_SURFACE"))
        assert radii.count(0.55) == 2
        assert 300.0 in radii
        assert entities("CONICAL_SURFACE")
        assert entities("TOROIDAL_SURFACE")

    @pytest.mark.parametrize(
        "text", ["", "plain", "it's", "a\\b", "\\X2\\", "Ä", "弦\N{MUSICAL SYMBOL G CLEF}é", "tab\t"]
    )
    def test_strings_come_back(self, text: str) -> None:
        coded = part21_string(text)
        assert coded.isascii()
        assert coded.isprintable()
        assert strings.step_decoder(coded[1:-1].replace("''", "'")) == text


PLAIN = {
    "LINE", "CIRCLE", "B_SPLINE_CURVE_WITH_KNOTS", "PLANE", "CYLINDRICAL_SURFACE", "CONICAL_SURFACE",
    "TOROIDAL_SURFACE", "B_SPLINE_SURFACE_WITH_KNOTS",
}  # fmt: skip
"""What a program that reads boundary models knows at the least. Common practice, no source."""


class TestForOtherKernels:
    """No curve that only our kernel knows, and every edge where the file says it is."""

    def test_edges_and_faces_are_of_plain_kinds(self) -> None:
        instances = parsed().data[0].instances

        def kinds(name: str, place: int) -> set[str]:
            found = (instances[entity.params[place]] for entity in entities(name))
            return {(PLAIN & {e.name for e in getattr(of, "entities", [])} or {of.entity.name}).pop() for of in found}

        assert kinds("EDGE_CURVE", 3) == {"LINE", "CIRCLE", "B_SPLINE_CURVE_WITH_KNOTS"}
        assert kinds("ADVANCED_FACE", 2) <= PLAIN

    def test_every_edge_lies_on_its_faces(self) -> None:
        found = read_step(step_bytes(solid(), STAMP))
        assert found.off < found.accuracy <= 2e-7

    def test_an_edge_where_the_bevel_grazes_a_floor_bends_sharply(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Also between the places at which the proof looks."""
        monkeypatch.setattr(step_reader, "_LOOKS", 331)
        body = {"top": 0.01, "back": 0.45, "ends": 0.25, "land": 0.75, "bevel_deg": 15.6, "edge_radius": 0.28}
        text = text_of("bass-6", {f"body.{key}": value for key, value in body.items()})
        found = read_step(step_bytes(nut_solid(solve(parse_spec(text, source="grazing")).rough()), STAMP))
        assert found.off < found.accuracy <= 2e-7

    def test_an_arc_drawn_out_askew_is_plain(self) -> None:
        over, square = (
            prism(under(Crown(2.0, 0.0, 1.0 / 120.0), -20.0, 20.0, -3.0), 0.0, 8.0, lean=lean) for lean in (0.25, 0.0)
        )
        found = read_step(step_bytes(over, STAMP))
        assert found.foreign == ()
        assert found.off < found.accuracy <= 2e-7
        assert step_module.step_volume(step_bytes(over, STAMP)) == pytest.approx(kernel.volume(square), rel=1e-6)

    def test_a_face_that_has_moved_is_seen(self) -> None:
        data = step_bytes(solid(), STAMP)
        moved = re.sub(rb"(CYLINDRICAL_SURFACE\('',#\d+),0\.55\)", rb"\1,0.55002)", data, count=1)
        assert read_step(moved).off == pytest.approx(2e-5, rel=0.01)

    def test_an_edge_of_another_kind_is_seen(self) -> None:
        data = step_bytes(solid(), STAMP)
        other = re.sub(rb"= CIRCLE\(('',#\d+),([\d.]+)\)", rb"= HYPERBOLA(\1,\2,\2)", data, count=1)
        assert read_step(other).foreign == ("HYPERBOLA",)

    @pytest.mark.slow
    @pytest.mark.parametrize("kind", ["bass-4-fifths", "classical", "mandolin"])
    def test_projected_anew_no_edge_leaves_its_faces(self, kind: str) -> None:
        """What a program does that lays the edges on the faces itself, judged by the kernel's own analyser."""
        from OCP.BOPAlgo import BOPAlgo_ArgumentAnalyzer

        data = step_bytes(nut_solid(solve(parse_spec(text_of(kind), source=kind)).rough()), STAMP)
        (again,) = exchange.step_solids(data)
        judge = BOPAlgo_ArgumentAnalyzer()
        judge.SetShape1(again.wrapped)
        judge.CurveOnSurfaceMode = True
        judge.Perform()
        assert not judge.HasFaulty()


class TestShape:
    """The file as a fresh reader sees it."""

    def test_volume_and_box_come_back(self) -> None:
        (again,) = exchange.step_solids(step_bytes(solid(), STAMP))
        assert again.isValid()
        assert kernel.volume(again) == pytest.approx(kernel.volume(solid()), rel=1e-7)
        box = again.BoundingBox(1e-5)
        assert (box.xmin, box.xmax, box.ymin, box.ymax) == pytest.approx((-20.0, 20.0, 0.0, 5.0), abs=1e-4)

    def test_a_broken_file_is_refused(self) -> None:
        with pytest.raises(KernelError, match="STEP"):
            exchange.step_solids(b"not a STEP file")


class TestSameBytes:
    """Nothing of the day, the place or what was written before gets into the file."""

    def test_on_another_day(self, monkeypatch: pytest.MonkeyPatch) -> None:
        first = step_bytes(solid(), STAMP)
        monkeypatch.setenv("TZ", "Pacific/Kiritimati")
        time.tzset()
        try:
            time.sleep(1.1)  # the kernel's own header counts seconds
            assert step_bytes(solid(), STAMP) == first
        finally:
            monkeypatch.delenv("TZ")
            time.tzset()

    def test_after_other_nuts(self) -> None:
        first = step_bytes(nut_solid(BAR), STAMP)
        step_bytes(nut_solid(nut(slots=(slot(),))), Stamp("Another", "f" * 12))
        assert step_bytes(nut_solid(BAR), STAMP) == first

    @pytest.mark.slow
    def test_in_another_process_and_folder(self, tmp_path: Any) -> None:
        program = (
            "import sys; from tests.formats.test_step import BAR, STAMP; from nutgen.formats.step import step_bytes;"
            "from nutgen.model.solid import nut_solid; sys.stdout.buffer.write(step_bytes(nut_solid(BAR), STAMP))"
        )
        paths = os.pathsep.join(sys.path)
        environment = os.environ | {"PYTHONPATH": paths, "PYTHONHASHSEED": "7"}
        run = subprocess.run(
            [sys.executable, "-c", program], cwd=tmp_path, env=environment, capture_output=True, check=True
        )
        assert run.stdout == step_bytes(solid(), STAMP)


def test_a_text_without_a_product_is_not_given_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(step_module.exchange, "step_text", lambda solid: "HEADER;\nDATA;\nENDSEC;\n")
    with pytest.raises(KernelError, match="product"):
        step_bytes(solid(), STAMP)
