"""The router's files, read back by ezdxf's reader and measured with shapely."""

import io
import math

import ezdxf
import pytest
from shapely.geometry import Polygon

from nutgen.formats.dxf import mill_dxf, profile_dxf
from nutgen.formats.stamp import Stamp
from nutgen.model.mill.milling import OPERATIONS, clamped
from nutgen.nut import solve
from nutgen.spec.forming import Mill
from nutgen.spec.read import read_spec
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


@pytest.fixture(scope="module", params=PRESETS, ids=lambda path: path.stem)
def job(request):
    nut = solve(read_spec(request.param))
    work = clamped(nut, MILL)
    return work, read(mill_dxf(work, MILL, STAMP)), read(profile_dxf(work, STAMP))


def test_units_layers_and_kinds(job) -> None:
    _, plan, profile = job
    names = set(OPERATIONS) | {"notes"}
    for document in (plan, profile):
        assert document.units == ezdxf.units.MM
        assert {layer.dxf.name for layer in document.layers} == names | {"0", "Defpoints"}
        entities = list(document.modelspace())
        assert {entity.dxf.layer for entity in entities} <= names
        assert {entity.dxftype() for entity in entities} <= {"LWPOLYLINE", "LINE", "TEXT"}
        assert all(entity.closed for entity in entities if entity.dxftype() == "LWPOLYLINE")


def test_nothing_is_drawn_twice(job) -> None:
    _, plan, profile = job
    for document in (plan, profile):
        shapes = [
            (entity.dxf.layer, entity.dxf.elevation, tuple(sorted(map(tuple, entity.get_points("xyb")))))
            for entity in document.modelspace().query("LWPOLYLINE")
        ]
        assert len(set(shapes)) == len(shapes)


def test_contours_lie_inside_each_other_the_right_way_round(job) -> None:
    _, plan, profile = job
    for document, inner in ((plan, "outline"), (profile, "profile")):
        space = document.modelspace()
        (stock,) = space.query('LWPOLYLINE[layer=="stock"]')
        (outline,) = space.query(f'LWPOLYLINE[layer=="{inner}"]')
        assert shape(stock).buffer(1e-6).contains(shape(outline))
        assert shape(stock).bounds[:2] == (0.0, 0.0)
        for entity in space.query("LWPOLYLINE"):
            clockwise = entity.dxf.layer == "slot-outline"
            assert shape(entity).exterior.is_ccw is not clockwise


def test_areas(job) -> None:
    work, plan, _ = job
    part, space = work.nut, plan.modelspace()
    (outline,) = space.query('LWPOLYLINE[layer=="outline"]')
    assert shape(outline).area == pytest.approx(part.length * part.thickness, abs=1e-6)
    regions = [shape(entity).area for layer in ("land", "bevel") for entity in space.query(f'*[layer=="{layer}"]')]
    assert sum(regions) == pytest.approx(part.length * part.thickness, abs=1e-6)
    for entity, slot in zip(space.query('*[layer=="slot-outline"]'), part.slots, strict=True):
        across = slot.width / math.cos(math.radians(slot.fan_deg))
        assert shape(entity).area == pytest.approx(across * (part.thickness - slot.start_y), rel=1e-6)
        assert entity.dxf.elevation == pytest.approx(slot.floor_z + work.shift[2])


def test_floors_are_carried_by_lines_in_space(job) -> None:
    work, plan, _ = job
    dx, dy, dz = work.shift
    lines = list(plan.modelspace().query('LINE[layer=="slot-centre"]'))
    starts = {tuple(round(c, 6) for c in line.dxf.start) for line in lines}
    ends = {tuple(round(c, 6) for c in line.dxf.end) for line in lines}
    for slot in work.nut.slots:
        first = (slot.x + dx, slot.start_y + dy, slot.floor_z + dz)
        back = work.nut.thickness
        last = (float(slot.x_at(back)) + dx, back + dy, float(slot.floor_at(back)) + dz)
        assert tuple(round(c, 6) for c in first) in starts
        assert tuple(round(c, 6) for c in last) in ends
    assert all(line.dxf.start.z < 0.0 for line in lines)  # zero is the stock's top


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
    assert mill_dxf(work, MILL, STAMP) == mill_dxf(work, MILL, STAMP)
    assert profile_dxf(work, STAMP) == profile_dxf(work, STAMP)
