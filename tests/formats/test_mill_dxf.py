"""The router's files, read back by ezdxf's reader and measured with shapely."""

import io
import math

import cadquery
import ezdxf
import pytest
from shapely.geometry import Polygon

from nutgen.formats.dxf import mill_dxf, profile_dxf
from nutgen.formats.stamp import Stamp
from nutgen.model.mill.milling import MEANINGS, clamped
from nutgen.model.mill.runs import slot_cuts
from nutgen.nut import solve
from nutgen.spec.forming import Mill
from nutgen.spec.read import read_spec
from tests.cases import EACH_PRESET
from tests.specs import PRESETS

STAMP = Stamp("Bench test", "0123456789ab")
MILL = Mill(stock_length=70.0, stock_thickness=9.0, stock_height=14.0)


def read(data: bytes):
    document = ezdxf.read(io.StringIO(data.decode()))
    assert document.audit().errors == []
    return document


def shape(entity) -> Polygon:
    """A polyline flattened finely."""
    return Polygon([(point.x, point.y) for point in ezdxf.path.make_path(entity).flattening(1e-4)])


@pytest.fixture(scope="module", params=EACH_PRESET, ids=lambda path: path.stem)
def job(request):
    nut = solve(read_spec(request.param))
    work = clamped(nut, MILL)
    runs = [run for cut in slot_cuts(work, MILL.cutters) for run in cut.runs]
    return work, read(mill_dxf(work, runs, STAMP)), read(profile_dxf(work, STAMP))


def test_units_layers_and_kinds(job) -> None:
    work, plan, profile = job
    slots = {f"slot-{slot.number}{hand}" for slot in work.nut.slots for hand in ("", "-1", "-2", "-3", "-4")}
    for document, contours in ((plan, set(MEANINGS) - {"profile"}), (profile, {"stock", "clamps", "tabs", "profile"})):
        assert document.units == ezdxf.units.MM
        names = {layer.dxf.name for layer in document.layers} - {"0", "Defpoints"}
        assert contours | {"notes"} <= names <= contours | {"notes"} | slots
        entities = list(document.modelspace())
        assert {entity.dxf.layer for entity in entities} == names
        assert {entity.dxftype() for entity in entities} <= {"LWPOLYLINE", "POLYLINE", "TEXT"}
        assert all(entity.closed for entity in entities if entity.dxftype() == "LWPOLYLINE")
        assert all(entity.is_3d_polyline for entity in entities if entity.dxftype() == "POLYLINE")


def test_nothing_is_drawn_twice(job) -> None:
    _, plan, profile = job
    for document in (plan, profile):
        shapes = [
            (entity.dxf.layer, entity.dxf.elevation, tuple(sorted(map(tuple, entity.get_points("xyb")))))
            for entity in document.modelspace().query("LWPOLYLINE")
        ]
        assert len(set(shapes)) == len(shapes)


def test_a_face_is_built_from_every_closed_outline(job) -> None:
    """By the kernel, as a CAD program does on import; its area is that of shapely's polygon."""
    for document in job[1:]:
        for entity in document.modelspace().query("LWPOLYLINE"):
            points = entity.get_points("xyb")
            edges = []
            for (x, y, bulge), (u, v, _) in zip(points, points[1:] + points[:1], strict=True):
                start, stop = cadquery.Vector(x, y), cadquery.Vector(u, v)
                if bulge:  # its middle stands off the chord, to the right of the way where it turns left
                    middle = cadquery.Vector((x + u + bulge * (v - y)) / 2.0, (y + v - bulge * (u - x)) / 2.0)
                    edges.append(cadquery.Edge.makeThreePointArc(start, middle, stop))
                else:
                    edges.append(cadquery.Edge.makeLine(start, stop))
            face = cadquery.Face.makeFromWires(cadquery.Wire.assembleEdges(edges))
            assert face.isValid(), entity.dxf.layer
            assert face.Area() == pytest.approx(shape(entity).area, rel=1e-4), entity.dxf.layer


def test_contours_lie_inside_each_other_the_right_way_round(job) -> None:
    _, plan, profile = job
    for document, inner in ((plan, "outline"), (profile, "profile")):
        space = document.modelspace()
        (stock,) = space.query('LWPOLYLINE[layer=="stock"]')
        (outline,) = space.query(f'LWPOLYLINE[layer=="{inner}"]')
        assert shape(stock).buffer(1e-6).contains(shape(outline))
        assert shape(stock).bounds[:2] == (0.0, 0.0)
        for entity in space.query("LWPOLYLINE"):
            assert shape(entity).exterior.is_ccw


def test_areas(job) -> None:
    work, plan, _ = job
    part, space = work.nut, plan.modelspace()
    (outline,) = space.query('LWPOLYLINE[layer=="outline"]')
    middle = part.thickness / 2.0
    area = float(part.end_x(1, middle) - part.end_x(-1, middle)) * part.thickness
    assert shape(outline).area == pytest.approx(area, abs=1e-6)
    (top,) = space.query('LWPOLYLINE[layer=="top"]')
    assert shape(top).area == pytest.approx(area, abs=1e-6)
    highest = part.crown.highest(*part.reach_of(0.0, part.land))
    assert top.dxf.elevation == pytest.approx(highest + work.shift[2])


def test_one_line_in_space_along_each_floor_past_both_faces(job) -> None:
    work, plan, _ = job
    dx, dy, dz = work.shift
    for slot in work.nut.slots:
        lines = list(plan.modelspace().query(f'POLYLINE[layer=="slot-{slot.number}"]'))
        assert len(lines) <= 1  # none where no cutter dips in
        for line in lines:
            points = [vertex.dxf.location for vertex in line.vertices]
            assert points[0].y < dy + slot.start_y - 1.0
            assert points[-1].y > dy + work.nut.thickness + 1.0
            assert all(point.z < 0.0 for point in points)
            for end in (points[0], points[-1]):
                assert end.x - dx == pytest.approx(float(slot.x_at(end.y - dy)), abs=1e-6)
            if not slot.rolled and slot.width > 0.54:  # the smallest ball, 0.5, enters
                fall = (points[0].z - points[-1].z) / math.dist(points[0].vec2, points[-1].vec2)
                assert math.degrees(math.atan(fall)) == pytest.approx(slot.tilt_deg, abs=1e-6)
                over = points[0].z + (slot.start_y + dy - points[0].y) / math.cos(math.radians(slot.fan_deg)) * -fall
                assert over >= slot.floor_z + dz


def test_arcs_of_the_profile_are_the_crown_itself(job) -> None:
    work, _, profile = job
    part = work.nut
    if part.crown.curvature == 0.0:
        pytest.skip("a flat crown has no arc")
    (outline,) = profile.modelspace().query('LWPOLYLINE[layer=="profile"]')
    points = outline.get_points("xyb")
    centre = (part.crown.centre[0] + work.shift[0], part.crown.centre[1] - part.lowest_z)
    sides = [(p, q) for p, q in zip(points, points[1:] + points[:1], strict=True) if p[2]]
    radii = [ezdxf.math.bulge_radius(p[:2], q[:2], p[2]) for p, q in sides]
    centres = [ezdxf.math.bulge_center(p[:2], q[:2], p[2]) for p, q in sides]
    crown = min(range(len(radii)), key=lambda i: abs(radii[i] - part.top_radius))
    assert radii[crown] == pytest.approx(part.top_radius, abs=1e-4)
    assert math.dist(centres[crown], centre) < 1e-4


def test_same_part_same_bytes() -> None:
    work = clamped(solve(read_spec(PRESETS[0])), MILL)
    runs = slot_cuts(work, MILL.cutters)[0].runs
    assert mill_dxf(work, runs, STAMP) == mill_dxf(work, runs, STAMP)
    assert profile_dxf(work, STAMP) == profile_dxf(work, STAMP)
