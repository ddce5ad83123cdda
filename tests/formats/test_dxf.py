"""The DXF as other programs get it: written to disk, read back and measured."""

import math
import os
import subprocess
import sys
from pathlib import Path

import cadquery as cq
import ezdxf
import numpy as np
import pytest
import trimesh
from ezdxf import path as paths
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.ops import unary_union

from nutgen.errors import CannotBeMade
from nutgen.formats.dxf import template_dxf
from nutgen.formats.stamp import Stamp
from nutgen.model.drawing import LAYERS, draw
from nutgen.nut import solve
from nutgen.spec.read import read_spec, spec_hash
from tests.cases import EACH_PRESET
from tests.model.faces import body, gap
from tests.model.nuts import nut, nuts, slot
from tests.specs import solved, specs

STAMP = Stamp("Test bar", "0123456789ab")


def written(folder: Path, content: bytes) -> ezdxf.document.Drawing:
    """Through the disk and through the reader that audits."""
    file = folder / "template.dxf"
    file.write_bytes(content)
    document = ezdxf.readfile(file)
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    return document


def ring(entity) -> Polygon:
    """A closed polyline, its bulges cut into chords of 1e-5 mm sagitta."""
    return Polygon([(p.x, p.y) for p in paths.make_path(entity).flattening(1e-5)])


def enclosed(polyline) -> float:
    """Area from corners and bulges: the shoelace, and for each bulge a segment r^2 (turn - sin turn) / 2."""
    corners = list(polyline.get_points("xyb"))
    area = 0.0
    for (x0, y0, bulge), (x1, y1, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
        area += (x0 * y1 - x1 * y0) / 2.0
        if bulge:
            turn = 4.0 * math.atan(bulge)
            radius = math.hypot(x1 - x0, y1 - y0) / (2.0 * math.sin(turn / 2.0))
            area += radius**2 * (turn - math.sin(turn)) / 2.0
    return area


def arc_length(start, middle, end) -> float:
    """Of the arc through three points: radius abc / 4 area, and twice the angle over each half."""
    a, b, c = np.linalg.norm(middle - start), np.linalg.norm(end - middle), np.linalg.norm(end - start)
    cross = (middle - start)[0] * (end - start)[1] - (middle - start)[1] * (end - start)[0]
    radius = a * b * c / (2.0 * abs(cross))
    return float(2.0 * radius * (math.asin(min(1.0, a / 2.0 / radius)) + math.asin(min(1.0, b / 2.0 / radius))))


@pytest.fixture(params=EACH_PRESET, ids=lambda path: path.stem)
def preset(request):
    spec = read_spec(request.param)
    return solve(spec), Stamp(spec.title, spec_hash(spec))


class TestPresets:
    def test_front_outline_is_cut_to_size(self, preset, tmp_path):
        one, stamp = preset
        space = written(tmp_path, template_dxf(one, stamp)).modelspace()
        (outline,) = space.query('LWPOLYLINE[layer=="front-outline"]')
        assert outline.closed
        drawn = ring(outline)
        wanted = body(one).difference(unary_union([gap(s) for s in one.slots]))
        assert drawn.is_valid
        assert drawn.symmetric_difference(wanted).area < 2e-4 * drawn.length
        assert drawn.bounds[0] == pytest.approx(one.left.x, abs=1e-9)
        assert drawn.bounds[2] == pytest.approx(one.right.x, abs=1e-9)

    def test_another_reader_finds_every_line_and_arc(self, preset, tmp_path):
        one, stamp = preset
        file = tmp_path / "template.dxf"
        file.write_bytes(template_dxf(one, stamp))
        with file.open("rb") as stream:
            loaded = trimesh.load_path(stream, file_type="dxf")
        assert loaded.units == "millimeters"
        lengths = {"Line": 0.0, "Arc": 0.0}
        for entity in loaded.entities:
            points = loaded.vertices[entity.points]
            if type(entity).__name__ == "Line":
                lengths["Line"] += float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
            elif type(entity).__name__ == "Arc":
                lengths["Arc"] += arc_length(*points)
        parts = [part for view in draw(one) for chain in view.chains for part in chain.parts]
        for kind, length in lengths.items():
            drawn = sum(p.length for p in parts if type(p).__name__ == kind)
            assert length == pytest.approx(drawn, rel=1e-6, abs=1e-3)  # trimesh drops what is shorter than 0.001

    def test_nothing_that_a_router_trips_over(self, preset, tmp_path):
        document = written(tmp_path, template_dxf(*preset))
        kinds = {entity.dxftype() for entity in document.modelspace()}
        assert kinds <= {"LWPOLYLINE", "LINE", "ARC", "TEXT"}
        assert document.header["$INSUNITS"] == 4  # DXF reference: 4 is millimetres
        assert document.dxfversion >= "AC1024"  # R2010
        assert len(document.dimstyles) == 1  # the one every file has; no dimension uses it
        outlines = document.modelspace().query("LWPOLYLINE")
        assert all(line.dxf.elevation == 0.0 and line.dxf.const_width == 0.0 for line in outlines)

    def test_slots_stand_where_they_should(self, preset, tmp_path):
        one, stamp = preset
        space = written(tmp_path, template_dxf(one, stamp)).modelspace()
        centres = sorted(line.dxf.start.x for line in space.query('LINE[layer=="slot-centres"]'))
        assert centres == pytest.approx(sorted(s.x for s in one.slots))
        floors = sorted(line.dxf.start.y for line in space.query('LINE[layer=="slot-floors"]'))
        assert floors == pytest.approx(sorted(float(s.floor_at(0.0)) for s in one.slots))

    def test_views_stand_apart_and_in_line(self, preset, tmp_path):
        one, stamp = preset
        space = written(tmp_path, template_dxf(one, stamp)).modelspace()
        front, top, end = (
            box(*ring(next(iter(space.query(f'LWPOLYLINE[layer=="{name}-blank"]')))).bounds)
            for name in ("front", "top", "end")
        )
        assert min(front.distance(top), front.distance(end), top.distance(end)) >= 10.0
        assert top.bounds[0] == pytest.approx(front.bounds[0])
        assert top.bounds[1] > front.bounds[3]
        assert end.bounds[1] == pytest.approx(front.bounds[1])
        assert end.bounds[0] > front.bounds[2]

    def test_closed_where_it_matters(self, preset, tmp_path):
        space = written(tmp_path, template_dxf(*preset)).modelspace()
        for name in ("front-outline", "top-outline", "end-outline"):
            lines = list(space.query(f'LWPOLYLINE[layer=="{name}"]'))
            assert lines
            assert all(line.closed for line in lines)

    def test_a_cad_kernel_makes_a_face_of_every_closed_outline(self, preset, tmp_path):
        closed = [
            line for line in written(tmp_path, template_dxf(*preset)).modelspace().query("LWPOLYLINE") if line.closed
        ]
        assert len(closed) >= 3
        for line in closed:
            made = cq.Face.makeFromWires(wire(line))
            assert made.isValid()
            assert made.Area() == pytest.approx(abs(enclosed(line)), rel=1e-4)


def wire(polyline) -> cq.Wire:
    """A closed polyline with its bulges as edges of the CAD kernel."""
    corners = list(polyline.get_points("xyb"))
    edges = []
    for (x0, y0, bulge), (x1, y1, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
        a, b = cq.Vector(x0, y0), cq.Vector(x1, y1)
        if bulge:
            middle = cq.Vector((x0 + x1 + bulge * (y1 - y0)) / 2.0, (y0 + y1 - bulge * (x1 - x0)) / 2.0)
            edges.append(cq.Edge.makeThreePointArc(a, middle, b))
        else:
            edges.append(cq.Edge.makeLine(a, b))
    return cq.Wire.assembleEdges(edges)


class TestClosedForm:
    def test_slot_of_half_a_disc(self, tmp_path):
        one = nut(edge_radius=0.0, slots=(slot(width=1.0, floor_z=0.5, tilt_deg=0.0),))
        (outline,) = written(tmp_path, template_dxf(one, STAMP)).modelspace().query('*[layer=="front-outline"]')
        bulges = [bulge for *_, bulge in outline.get_points("xyb") if bulge]
        # a half circle has a bulge of tan(180 / 4 deg) = 1; cut on the right hand of a counterclockwise outline
        assert bulges == pytest.approx([-1.0])
        assert enclosed(outline) == pytest.approx(40.0 * 5.0 - 1.0 - math.pi / 8.0, abs=1e-9)

    def test_eased_corners(self, tmp_path):
        one = nut(edge_radius=0.8, slots=(slot(x=30.0),))
        (outline,) = written(tmp_path, template_dxf(one, STAMP)).modelspace().query('*[layer=="front-outline"]')
        # a quarter circle has a bulge of tan(90 / 4 deg)
        bulges = [bulge for *_, bulge in outline.get_points("xyb") if bulge]
        assert bulges == pytest.approx([math.tan(math.radians(22.5))] * 2)
        assert enclosed(outline) == pytest.approx(40.0 * 5.0 - 2.0 * (1.0 - math.pi / 4.0) * 0.64, abs=1e-9)


class TestFile:
    @pytest.mark.slow
    def test_same_bytes_again_and_in_another_process(self):
        here = [template_dxf(nut(slots=(slot(),)), STAMP) for _ in range(3)]
        assert here[0] == here[1] == here[2]
        code = (
            "import sys; from nutgen.formats.dxf import template_dxf; from nutgen.formats.stamp import Stamp;"
            "from tests.model.nuts import nut, slot;"
            "sys.stdout.buffer.write(template_dxf(nut(slots=(slot(),)), Stamp('Test bar', '0123456789ab')))"
        )
        for seed in ("1", "2", "3", "4"):  # of the order of sets, which the writer uses
            environment, root = {**os.environ, "PYTHONHASHSEED": seed}, Path(__file__).parents[2]
            command = [sys.executable, "-c", code]
            other = subprocess.run(command, cwd=root, env=environment, capture_output=True, check=True)
            assert other.stdout == here[0]

    def test_leaves_the_library_as_it_was(self):
        before = ezdxf.options.write_fixed_meta_data_for_testing
        template_dxf(nut(slots=(slot(),)), STAMP)
        assert ezdxf.options.write_fixed_meta_data_for_testing == before

    def test_stamp_in_words_and_as_a_property(self, tmp_path):
        document = written(tmp_path, template_dxf(nut(slots=(slot(),)), STAMP))
        assert STAMP.line in {text.dxf.text for text in document.modelspace().query("TEXT")}
        assert document.header.custom_vars.get("nutgen") == STAMP.line

    @pytest.mark.parametrize(
        "title", ["Zwölf Saiten, Æ", "Ниж. контрабас", "竹琴", "a\nb\tc", "100 %% ^ fun", "x" * 80]
    )
    def test_any_title(self, title, tmp_path):
        document = written(tmp_path, template_dxf(nut(slots=(slot(),)), Stamp(title, "0123456789ab")))
        words = [text.dxf.text for text in document.modelspace().query("TEXT[layer=='notes']")]
        assert any(title.replace("\n", " ").replace("\t", " ") in line for line in words)

    def test_layers_carry_their_kind_of_line(self, tmp_path):
        document = written(tmp_path, template_dxf(nut(slots=(slot(),)), STAMP))
        for layer in LAYERS:
            entry = document.layers.get(layer.name)
            assert entry.dxf.lineweight == round(layer.stroke.width * 100.0)
            tags = document.linetypes.get(entry.dxf.linetype).pattern_tags.tags
            lengths = [abs(tag.value) for tag in tags if tag.code == 49]
            assert lengths == pytest.approx(list(layer.stroke.pattern))
        assert document.modelspace().query("*").first is not None
        assert all(entity.dxf.get("linetype", "BYLAYER") == "BYLAYER" for entity in document.modelspace())


@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(st.one_of(nuts(), specs().map(solved)), st.text(max_size=20))
def test_any_nut_gives_a_clean_file(tmp_path_factory, one, title):
    try:
        content = template_dxf(one, Stamp(title, "0123456789ab"))
    except CannotBeMade:
        return
    space = written(tmp_path_factory.mktemp("dxf"), content).modelspace()
    (outline,) = space.query('LWPOLYLINE[layer=="front-outline"]')
    assert outline.closed
    assert ring(outline).is_valid
    points = np.array([(x, y) for x, y, *_ in outline.get_points("xyb")])
    assert np.ptp(points[:, 0]) == pytest.approx(one.length, abs=1e-9)
