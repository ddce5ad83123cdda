"""The shelves of a nut setback: the solid, its mesh as trimesh reads it, the drawing and the refusals.

Volumes are compared with a sum over a fine grid in plan, worked out from the file's numbers; the
drawing with polygons by shapely. A cylinder laid into the exported STL rests where `solve` said.
"""

import io
import json
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, note, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.ops import unary_union
from typer.testing import CliRunner

from nutgen.cli import command_line
from nutgen.errors import CannotBeMade
from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import stl_bytes
from nutgen.geometry import kernel
from nutgen.model.body import nut_body
from nutgen.model.drawing import draw
from nutgen.model.mesh import mesh_of
from nutgen.model.print.printing import print_plan
from nutgen.model.solid import nut_solid, shelved_body
from nutgen.nut import Nut, solve
from nutgen.nut.setback import LEAST_SETBACK, SHELF_WALL
from nutgen.nut.shelf import OFF_THE_BOARD
from nutgen.spec.read import read_spec
from nutgen.spec.tables import Spec
from nutgen.spec.values import Across
from tests.cases import EACH_PRESET, cases
from tests.kinds import text_of
from tests.model.faces import dense
from tests.specs import EXAMPLES, PRESETS, spec_of, specs

STAMP = Stamp("Set back", "0123456789ab")


def set_back(spec: Spec, *values: float) -> Spec:
    """In brass, whose shelves may be thinner than low strings leave in bone."""
    slots = spec.slots.model_copy(update={"setback": Across(values, each=len(values) > 1)})
    return spec.model_copy(update={"slots": slots, "material": "brass"})


@cache
def preset(path: Path, way: str) -> Nut:
    spec = read_spec(path)
    values = [0.4] if way == "one" else [(0.0, 0.7, 0.25)[i % 3] for i in range(len(spec.strings))]
    return solve(set_back(spec, *values))


def way_of(path: Path) -> str:
    """All strings alike, or each its own, by turns of the kinds."""
    return ("one", "list")[PRESETS.index(path) % 2]


def blocks(one: Nut) -> list[Polygon]:
    """In plan, each shelf from its own slot's walls; where a neighbour starts farther back, half the wall to it."""
    found = []
    for slot in one.slots:
        if slot.start_y == 0.0:
            continue
        lean = math.tan(math.radians(slot.fan_deg))
        half = slot.width / 2.0 / math.cos(math.radians(slot.fan_deg))
        low = slot.x - half + min(0.0, -slot.start_y * lean)
        high = slot.x + half + max(0.0, -slot.start_y * lean)
        left, right = low - SHELF_WALL, high + SHELF_WALL
        for other in one.slots:
            if other.start_y <= slot.start_y:
                continue
            drift = math.tan(math.radians(other.fan_deg))
            at = [other.x + (y - other.start_y) * drift for y in (slot.start_y, 0.0)]
            across = other.width / 2.0 / math.cos(math.radians(other.fan_deg))
            if other.x < slot.x:
                left = max(left, (max(at) + across + low) / 2.0)
            else:
                right = min(right, (min(at) - across + high) / 2.0)
        found.append(box(max(left, one.reach[0]), slot.start_y, min(right, one.reach[1]), 0.0))
    return found


def plan(one: Nut) -> Polygon:
    left, right = one.reach
    block = unary_union([box(left, 0.0, right, one.thickness), *blocks(one)])
    ends = [(float(one.end_x(side, y)), y) for side, y in ((-1, -9.0), (1, -9.0), (1, 99.0), (-1, 99.0))]
    return block.intersection(Polygon(ends))


def exported(one: Nut) -> trimesh.Trimesh:
    return trimesh.load(io.BytesIO(stl_bytes(mesh_of(nut_solid(one)), STAMP)), file_type="stl")


def check(one: Nut) -> trimesh.Trimesh:
    """One valid closed solid whose mesh another reader finds whole and as far forward as it should be."""
    solid = nut_solid(one)
    assert solid.isValid()
    assert len(solid.Solids()) == 1
    read = trimesh.load(io.BytesIO(stl_bytes(mesh_of(solid), STAMP)), file_type="stl")
    assert read.is_watertight
    assert read.is_winding_consistent
    assert read.body_count == 1
    assert read.volume == pytest.approx(kernel.volume(solid), rel=1e-3)
    foremost = min((slot.start_y for slot in one.slots if slot.start_y <= -LEAST_SETBACK), default=0.0)
    assert read.bounds[0] == pytest.approx([one.reach[0], foremost, one.lowest_z], abs=1e-4)
    assert read.bounds[1][1] == pytest.approx(one.thickness, abs=1e-4)
    return read


def resting_place(mesh: trimesh.Trimesh, one: Nut, index: int, y: float) -> float:
    """Height of the floor under a slot's centre line: a probe comes down from above."""
    x = float(one.slots[index].x_at(y))
    a, b, c = mesh.triangles[mesh.face_normals[:, 2] > 0.1].transpose(1, 0, 2)
    u, v = b[:, :2] - a[:, :2], c[:, :2] - a[:, :2]
    p = np.array([x, y]) - a[:, :2]
    twice = u[:, 0] * v[:, 1] - v[:, 0] * u[:, 1]
    s = (p[:, 0] * v[:, 1] - v[:, 0] * p[:, 1]) / twice
    t = (u[:, 0] * p[:, 1] - p[:, 0] * u[:, 1]) / twice
    hit = (s > -1e-6) & (t > -1e-6) & (s + t < 1.0 + 1e-6)
    return float((a[:, 2] + s * (b - a)[:, 2] + t * (c - a)[:, 2])[hit].max())


@pytest.mark.parametrize("path", EACH_PRESET, ids=lambda path: path.stem)
def test_every_preset_set_back(path: Path) -> None:
    one = preset(path, way_of(path))
    mesh = check(one)
    for index, slot in enumerate(one.slots):
        floors = [resting_place(mesh, one, index, slot.start_y + step) for step in (0.003, 0.3, 1.0, 2.0)]
        assert floors[0] == pytest.approx(slot.floor_z, abs=0.01)
        assert max(floors) == floors[0]


@pytest.mark.parametrize("way", cases("list", slow=["one"]))
@pytest.mark.parametrize(
    "stem", cases("electric-6-slanted", "electric-6-left", slow=["bass-5", "mandolin", "acoustic-12"])
)
def test_a_string_laid_in_touches_at_its_start(stem: str, way: str) -> None:
    """A round bar of the gauge, along the string's line over the board, lowered until it touches the mesh."""
    one = preset(next(path for path in PRESETS if path.stem == stem), way)
    mesh = exported(one)
    for slot in one.slots:
        r, rise = slot.gauge / 2.0, math.tan(math.radians(slot.incline_deg))
        points = np.vstack([mesh.vertices, mesh.triangles_center])
        y = points[:, 1]
        side = points[:, 0] - slot.x_at(y)
        near = (np.abs(side) < r) & (y < slot.start_y + 1.5) & (points[:, 2] < slot.floor_z + r)
        assert near.any()
        lift = points[near, 2] + r - np.sqrt(r * r - side[near] ** 2)  # needed under the bar, over its own underside
        underside = slot.floor_z + rise * (slot.start_y - y[near])
        # the walls of the slot stand clear of the bar, so only the floor can bear it
        below = points[near, 2] < slot.floor_z + 0.3 * r
        over = (points[near, 2] - underside - (r - np.sqrt(r * r - side[near] ** 2)))[below]
        assert lift.size
        assert over.max() == pytest.approx(0.0, abs=0.01)
        touching = y[near][below][over > -0.003]
        assert touching.min() == pytest.approx(slot.start_y, abs=0.02)


@pytest.mark.parametrize("way", ["one", "list"])
@pytest.mark.parametrize("stem", ["bass-4-fifths", "electric-6-left", "classical", "acoustic-12"])
def test_volume_of_the_shelves(stem: str, way: str) -> None:
    """Before slots: columns over a fine grid across, from the board's circle to the crown's."""
    one = preset(next(path for path in PRESETS if path.stem == stem), way)
    one = replace(one, edge_radius=0.0)
    x = np.linspace(one.left.x, one.right.x, 40001)
    x = (x[1:] + x[:-1]) / 2.0
    deep = np.zeros_like(x)
    for block in blocks(one):
        left, front, right, _ = block.bounds
        deep = np.where((x > left) & (x < right), np.maximum(deep, -front), deep)
    under = np.zeros_like(x)
    if math.isfinite(one.board_radius):
        under = np.sqrt((one.board_radius + OFF_THE_BOARD) ** 2 - x**2) - one.board_radius
    else:
        under += OFF_THE_BOARD
    wanted = float((deep * (one.crown.z(x) - under)).sum() * (x[1] - x[0]))
    grown = kernel.volume(shelved_body(one)) - kernel.volume(nut_body(one))
    assert grown == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize("path", PRESETS, ids=lambda path: path.stem)
def test_drawing(path: Path) -> None:
    one = preset(path, way_of(path))
    drawing, foremost = draw(one), min(slot.start_y for slot in one.slots)
    (above,) = drawing.top.on("top-outline")
    drawn = Polygon(dense(above.parts))
    assert above.closed
    assert drawn.is_valid
    assert drawn.symmetric_difference(plan(one)).area < 0.02 * len(one.slots) * -foremost + 1e-9
    assert drawn.bounds[1] == pytest.approx(foremost)
    walls = drawing.top.on("top-slots")  # lines; what the outline draws already is left to it
    for slot in one.slots:
        fronts = [
            chain.box[1]
            for chain in walls
            for side in (-1.0, 1.0)
            if chain.box[0] - 1e-6 <= slot.x + side * slot.half_width_along_x <= chain.box[2] + 1e-6
        ]
        assert min(fronts) == pytest.approx(slot.start_y)
    (end,) = drawing.end.on("end-outline")
    shadow = Polygon(dense(end.parts))
    assert end.closed
    assert shadow.is_valid
    assert shadow.bounds[:3] == pytest.approx((foremost, one.lowest_z, one.thickness))
    before = shadow.intersection(box(-9.0, -99.0, -1e-6, 99.0))
    assert before.bounds[1] >= min(float(one.seat.board_z(s * one.right.x)) for s in (0, 1))
    assert sorted(chain.box[0] for chain in drawing.end.on("end-floors")) == pytest.approx(
        sorted(slot.start_y for slot in one.slots)
    )
    for slot, floor in zip(one.slots, drawing.front.on("slot-floors"), strict=True):
        assert floor.box[1] == pytest.approx(slot.floor_z)
    assert drawing.front.on("front-shelves")
    (face,) = drawing.front.on("front-outline")
    for chain in drawing.front.on("front-shelves"):
        left, low, right, high = chain.box
        assert Polygon(dense(face.parts)).buffer(1e-6).contains(box(left, low, right, low + 1e-9).centroid)
        assert high <= face.box[3]


def test_check_heights_and_solid_agree(tmp_path: Path) -> None:
    file = tmp_path / "set-back.toml"
    file.write_text(text_of("bass-5", {"slots.setback": [0.6, 0.0, 0.3, 0.35, 0.1]}), "utf-8")
    told = [CliRunner().invoke(command_line(), [command, str(file), "--json"]) for command in ("check", "heights")]
    assert [result.exit_code for result in told] == [0, 0]
    one = solve(read_spec(file))
    mesh = exported(one)
    for index, slot in enumerate(one.slots):
        laid = resting_place(mesh, one, index, slot.start_y + 0.001)
        for result in told:
            said = json.loads(result.stdout)["strings"][index]
            assert said["number"] == slot.number
            assert said["floor_z"] == pytest.approx(laid, abs=0.01)
            assert said["floor_height"] == pytest.approx(laid - slot.fret_plane_z, abs=0.01)


@pytest.mark.parametrize(
    ("margin", "eased", "reaches"), [(3.2, 0.3, False), (0.75, 0.3, True), (0.75, 1.9, True)], ids=str
)
def test_a_board_that_widens(margin: float, eased: float, *, reaches: bool) -> None:
    """As wide as the board where its outer shelves reach the edges, as the face where they end before them."""
    changes = {"fretboard.width_at_12": 62.0, "spacing.margin": margin, "body.edge_radius": eased}
    spec = spec_of(text_of("electric-6", changes))
    one = solve(set_back(spec, 0.7))
    wide = check(one).extents[0]
    grown = (62.0 - 42.0) / (spec.instrument.scale_length.bass / 2.0) * 0.7
    assert wide == pytest.approx(42.0 + grown * reaches, abs=1e-3)
    assert draw(one).end.on("end-outline")


def test_no_setback_no_shelf() -> None:
    one = solve(read_spec(PRESETS[0]))
    assert one.shelves.front == 0.0
    assert not draw(one).front.on("front-shelves")
    assert kernel.volume(shelved_body(one)) == kernel.volume(nut_body(one))


def test_an_end_view_stacks_the_shelves() -> None:
    """A straight board and crown: the shadow before the face is the farthest shelf, level above and below."""
    path = next(path for path in PRESETS if path.stem == "classical")
    one = preset(path, "list")
    (end,) = draw(one).end.on("end-outline")
    before = Polygon(dense(end.parts)).intersection(box(-9.0, -99.0, -1e-6, 99.0))
    assert before.bounds[0] == pytest.approx(-0.7)
    assert before.bounds[1] == pytest.approx(OFF_THE_BOARD)


@pytest.mark.parametrize(("material", "least"), [("bone", 1.0), ("antler", 1.0), ("brass", 0.5), ("hardwood", 1.5)])
def test_too_little_under_the_slot_is_refused_in_words(material: str, least: float) -> None:
    """Over a flat board, a floor at the limit and 0.15 over the board stands; a hundredth lower does not."""
    classical = read_spec(next(path for path in PRESETS if path.stem == "classical"))
    seat = classical.seat.model_copy(update={"fret_plane": None})

    def floor_at(over_board: float) -> Spec:
        height = Across((over_board - 1.0,))
        setup = classical.setup.model_copy(update={"first_fret_clearance": None, "floor_height": height})
        board = classical.fretboard.model_copy(update={"fret_height": 1.0})
        return classical.model_copy(update={"fretboard": board, "setup": setup, "seat": seat})

    def shelved(over_board: float) -> Nut:
        return solve(set_back(floor_at(over_board), 0.4).model_copy(update={"material": material}))

    solve(floor_at(0.7))
    slots = shelved(least + 0.3).slots
    assert min(slot.floor_z - 0.4 * math.tan(math.radians(slot.tilt_deg)) for slot in slots) > least + 0.15
    with pytest.raises(CannotBeMade, match=r"slot\.shelf-breaks"):
        shelved(least + 0.149)


def test_a_shortened_board_end_is_offered_and_can_be_made() -> None:
    """The nut that it offers stands where the shelf would have, its floors as high: the frets lie where they lay."""
    spec = read_spec(next(path for path in PRESETS if path.stem == "electric-6"))
    shelved = solve(set_back(spec, 0.5))
    with pytest.raises(CannotBeMade) as caught:
        solve(set_back(spec, 0.5).model_copy(update={"material": "bone"}))
    found = [finding for finding in caught.value.findings if finding.code == "slot.shelf-breaks"]
    assert {finding.value("shorter") for finding in found} == {0.5}
    offered = found[0].value("thickness")
    assert offered == pytest.approx(spec.seat.thickness + 0.5)
    one = solve(spec.model_copy(update={"seat": spec.seat.model_copy(update={"thickness": offered})}))
    assert one.thickness == pytest.approx(shelved.thickness - shelved.shelves.front)
    for plain, before in zip(one.slots, shelved.slots, strict=True):
        assert plain.floor_z == pytest.approx(before.floor_z, abs=0.01)


def test_front_face_down_is_refused_in_words() -> None:
    spec = read_spec(PRESETS[0])
    table = spec.print.model_copy(update={"down": "front"})
    print_plan(solve(spec), table)
    with pytest.raises(CannotBeMade, match=r"print\.front-off-the-bed"):
        print_plan(solve(set_back(spec, 0.4)), table)


@pytest.mark.slow
@settings(max_examples=-(-EXAMPLES // 8), derandomize=True, suppress_health_check=list(HealthCheck))
@given(specs(), st.data())
def test_any_file_set_back(text: str, data: st.DataObject) -> None:
    note(text)
    spec = spec_of(text)
    n = len(spec.strings)
    away = st.one_of(st.just(0.0), st.floats(0.02, 2.0))
    values = data.draw(st.one_of(away.map(lambda v: [v]), st.lists(away, min_size=n, max_size=n)))
    try:
        one = solve(set_back(spec, *values))
    except CannotBeMade:
        return
    check(one.rough())
    (above,) = draw(one).top.on("top-outline")
    assert above.closed
    assert Polygon(dense(above.parts)).is_valid
