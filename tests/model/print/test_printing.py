"""The part for the printer: pilots, layers, position, compensation; sections measured with shapely."""

import io
import math
import tomllib
from itertools import pairwise

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon
from shapely.ops import polygonize, unary_union

from nutgen.errors import CannotBeMade
from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import stl_bytes
from nutgen.formats.threemf import read_threemf, threemf_bytes
from nutgen.geometry.mesh import lean
from nutgen.jobs.print import of_layers
from nutgen.model.mesh import CHORD, FINE, LEAN, mesh_of
from nutgen.model.print.compensate import compensated
from nutgen.model.print.printing import (
    DROOP_AREA,
    HOLDS,
    LEAST_VOID,
    Lying,
    PrintPlan,
    lay,
    layer_count,
    layer_error,
    print_plan,
)
from nutgen.model.solid import nut_solid
from nutgen.nut import Nut, solve
from nutgen.spec.forming import Print
from nutgen.spec.read import read_spec
from tests.calling import run
from tests.cases import EACH_PRESET
from tests.kinds import text_of
from tests.model.nuts import nut, slot
from tests.specs import EXAMPLES, solved, specs

STAMP = Stamp("Bench test", "0123456789ab")


def printed(part: Nut, table: Print) -> tuple[PrintPlan, Lying]:
    plan = print_plan(part, table)
    return plan, lay(lean(mesh_of(nut_solid(plan.drawn), within=FINE), LEAN), plan)


def read(lying: Lying) -> trimesh.Trimesh:
    """The STL file as a slicer loads it."""
    return trimesh.load(io.BytesIO(stl_bytes(lying.mesh, STAMP)), file_type="stl")


def thinnest(mesh: trimesh.Trimesh) -> float:
    """The least height of any triangle [mm]."""
    sides = np.linalg.norm(mesh.triangles - np.roll(mesh.triangles, 1, axis=1), axis=2)
    return float((2.0 * mesh.area_faces / sides.max(axis=1)).min())


def section(mesh: trimesh.Trimesh, z: float) -> Polygon:
    """What one layer draws, in the plane of the bed."""
    lines = trimesh.intersections.mesh_plane(mesh, (0.0, 0.0, 1.0), (0.0, 0.0, z))
    ends = np.round(lines[:, :, :2], 6)
    return unary_union(list(polygonize([LineString(pair) for pair in ends if not np.array_equal(*pair)])))


def gap_at(drawn: Polygon, x: float, height: float) -> float:
    """Width of the slot that holds a place, along x."""
    ray = LineString([(-1.0, height), (drawn.bounds[2] + 1.0, height)]).difference(drawn)
    parts = getattr(ray, "geoms", [ray])
    return next(part.length for part in parts if part.bounds[0] <= x <= part.bounds[2])


def floor_at(drawn: Polygon, x: float) -> float:
    """Height of the material under a place."""
    return drawn.intersection(LineString([(x, -1.0), (x, drawn.bounds[3] + 1.0)])).bounds[3]


def check_sound(part: Nut, table: Print, tmp_path) -> None:
    """Valid, watertight, standing on the bed, as large as it should be, nothing under the slots to support."""
    gaps = [b.x - a.x - (a.gauge + b.gauge) / 2.0 for a, b in pairwise(sorted(part.slots, key=lambda one: one.x))]
    if any(0.0 < gap < table.nozzle for gap in gaps):
        with pytest.raises(CannotBeMade, match=r"print\.nozzle-wider-than-gap"):
            print_plan(part, table)
        return
    try:
        plan, lying = printed(part, table)
    except CannotBeMade as refused:
        codes = set(refused.reasons)
    else:
        codes = set()
    if codes:
        assert codes <= {"print.nothing-left-between", "print.nothing-left-outside"}
        return
    path = tmp_path / "print.3mf"
    path.write_bytes(threemf_bytes(lying.mesh, STAMP, name="nut"))
    found, mesh = read_threemf(path), read(lying)
    assert found.warnings == ()
    assert found.closed
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert thinnest(mesh) > 1e-6  # what drawings take for no line at all
    assert mesh.bounds[0] == pytest.approx((0.0, 0.0, 0.0), abs=1e-4)
    assert found.volume == pytest.approx(lying.mesh.volume, rel=1e-3)
    assert mesh.volume == pytest.approx(lying.mesh.volume, rel=1e-3)
    assert mesh.extents[0] == pytest.approx(plan.nut.extent + 2.0 * table.added_per_side, abs=1e-3)
    hanging = mesh.face_normals[:, 2] < -math.sin(math.radians(65.0))
    above = mesh.triangles_center[:, 2] > table.layer_height
    if all(abs(one.fan_deg) < 30.0 for one in part.slots):
        assert mesh.area_faces[hanging & above].sum() <= 2.5 or lying.overhang > DROOP_AREA


@pytest.mark.parametrize("path", EACH_PRESET, ids=lambda path: path.stem)
def test_presets(path, tmp_path) -> None:
    check_sound(solve(read_spec(path)), Print(per_side=-0.06), tmp_path)


SOUND = settings(suppress_health_check=list(HealthCheck))


SHALLOW = """
title = "Drawn by chance"
units = "mm"
gauge_units = "mm"

[spacing]
rule = "gaps"
margin = { bass = 0.550, treble = 0.550 }

[instrument]
scale_length = 230.0
frets = 12
strung = "right"

[fretboard]
width = 83.12488630
radius = "flat"
fret_height = 0.310

[setup]
relief = 1.17056310
action = 1.0
floor_height = { bass = 0.0, treble = 0.0 }

[slots]
clearance = 0.0
buried = { wound = 0.20, plain = 0.20 }
floor = "straight"

[body]
land = 0.210
bevel_deg = 0.0
edge_radius = 0.0

[seat]
kind = "channel"
thickness = 2.71828180
depth = 0.550
floor = 46.54993630

[[strings]]
note = "E1"
gauge = 0.22483850
wound = false
post = { y = 20.0, x = 0.0, drop = 1.39853620 }
"""
"""A thin string that lies so shallow that a thick nozzle leaves its whole slot to the file."""


def test_a_slot_that_a_nozzle_cannot_hold_leaves_the_part_whole(tmp_path) -> None:
    part = solved(SHALLOW)
    assert print_plan(part, Print(nozzle=0.6)).drawn.slots == ()
    check_sound(part, Print(nozzle=0.6), tmp_path)


@pytest.mark.slow
@settings(SOUND, max_examples=-(-EXAMPLES // 6), phases=[Phase.generate])
@given(specs(most_strings=8), st.sampled_from([0.2, 0.4, 0.6]), st.floats(-0.1, 0.1))
def test_random_nuts(tmp_path_factory, text: str, nozzle: float, per_side: float) -> None:
    table = Print(nozzle=nozzle, layer_height=nozzle / 2.0, per_side=per_side)
    check_sound(solved(text), table, tmp_path_factory.mktemp("print"))


class TestSlots:
    table = Print()

    def test_wide_slots_are_printed_whole(self) -> None:
        plan = print_plan(nut(slots=(slot(width=HOLDS * 0.4),)), self.table)
        assert plan.slots[0].way == "whole"
        assert plan.nut.slots[0].width == HOLDS * 0.4

    def test_narrow_slots_are_begun_centred(self) -> None:
        plan = print_plan(nut(slots=(slot(width=0.7, gauge=0.6),)), self.table)
        one = plan.slots[0]
        assert (one.way, plan.nut.slots[0].x) == ("pilot", 0.0)
        assert one.width == pytest.approx(0.5)
        assert one.walls_left == pytest.approx(0.10)
        assert one.floor_left == pytest.approx(0.15)

    def test_narrower_than_the_process_holds_is_a_mark(self) -> None:
        plan = print_plan(nut(slots=(slot(width=0.3, gauge=0.25),)), self.table)
        one = plan.slots[0]
        assert one.way == "mark"
        assert one.width == pytest.approx(LEAST_VOID * 0.4)
        assert one.floor_left == pytest.approx(0.8 - 0.15)

    def test_a_mark_that_would_spoil_the_slot_is_left_out(self) -> None:
        plan = print_plan(nut(slots=(slot(width=0.3, gauge=0.25),)), Print(nozzle=1.0))
        assert plan.slots[0].way == "none"
        assert plan.nut.slots == ()

    def test_an_allowance_in_the_floor_counts_as_left(self) -> None:
        from nutgen.nut.part import Allowances

        part = nut(slots=(slot(width=0.7, gauge=0.6),), allowances=Allowances(floors=0.3))
        assert print_plan(part, self.table).slots[0].floor_left == pytest.approx(0.3)

    @given(st.floats(0.2, 2.0), st.sampled_from([0.2, 0.4, 0.6, 0.8]))
    def test_printed_is_never_wider_than_slot_or_mark(self, width: float, nozzle: float) -> None:
        plan = print_plan(nut(slots=(slot(width=width, gauge=width * 0.9),)), Print(nozzle=nozzle))
        (one,) = plan.slots
        if one.way in ("whole", "pilot"):
            assert one.width <= width
            assert one.width >= LEAST_VOID * nozzle - 1e-9
        assert one.floor_left >= -1e-9


def read_by_slicers(height: float, layer: float) -> set[int]:
    """Layers that unlike slicers make of a height: by each layer's middle, by rounding, up and down, a hair aside."""
    hair = 1e-4  # mm; what single precision and a slicer's own grid leave
    middles = [(k + 0.5) * layer for k in range(1000)]
    return {
        sum(middle < height for middle in middles),
        sum(middle <= height + hair for middle in middles),
        round(height / layer),
        math.ceil((height - hair) / layer),
        math.floor((height + hair) / layer),
    }


class TestLayers:
    @given(st.floats(2.5, 12.0), st.sampled_from([0.08, 0.1, 0.12, 0.16, 0.2, 0.25, 0.28, 0.3]))
    @example(3.5, 0.2)
    def test_every_slicer_makes_as_many_of_the_thickness(self, thickness: float, layer: float) -> None:
        """Drawn as whole layers, never thinner than a hundredth or two under the seat."""
        plan = print_plan(nut(thickness=thickness, slots=(slot(),)), Print(layer_height=layer))
        drawn = float(np.float32(plan.drawn.thickness))
        assert len(read_by_slicers(drawn, layer)) == 1
        assert -0.02 - 1e-6 <= plan.over < layer - 0.02 + 1e-6
        assert plan.over == pytest.approx(drawn - thickness, abs=1e-5)

    def test_a_thickness_half_way_between_two_layers_is_what_slicers_disagree_on(self) -> None:
        assert read_by_slicers(3.5, 0.2) == {17, 18}

    @given(st.floats(2.0, 15.0), st.floats(0.05, 0.4), st.floats(0.5, 20.0))
    @example(5.0, 0.2, 4.5)
    def test_error_is_that_of_a_slicer_that_cuts_each_layer_in_its_middle(self, back, layer, tilt_deg) -> None:
        """Counted layer by layer, from the bed up."""
        one = slot(tilt_deg=tilt_deg)
        middles = [(k + 0.5) * layer for k in range(1000) if (k + 0.5) * layer < back - 1e-9]
        foremost = back - max(middles)
        assert layer_error(one, back, layer) == pytest.approx(float(one.floor_at(foremost)) - 1.2, abs=1e-9)
        assert layer_count(back, layer) == len(middles)

    def test_lying_down_beats_standing(self) -> None:
        plan, lying = printed(nut(slots=(slot(width=1.6, floor_z=1.1),)), Print())
        assert lying.down == "back"
        assert abs(plan.slots[0].layer_error) < 0.01
        assert lying.why.code == "print.lies-on-back"
        assert lying.why.value("standing") == pytest.approx(0.1)

    def test_the_sliced_front_layer_shows_the_floor(self) -> None:
        part = nut(slots=(slot(width=2.4, tilt_deg=6.0),))
        plan, lying = printed(part, Print())
        drawn = section(read(lying), 5.0 - 0.1)
        floor = floor_at(drawn, lying.mesh.vertices[:, 0].max() / 2.0) + part.lowest_z
        assert floor - 1.2 == pytest.approx(plan.slots[0].layer_error, abs=CHORD)

    def test_a_large_eased_edge_goes_up_not_down(self) -> None:
        part = nut(edge_radius=1.8, thickness=6.0, slots=(slot(),))
        _, lying = printed(part, Print())
        _, other = printed(part, Print(down="back"))
        assert lying.down == "front"
        assert lying.overhang <= 2.0 < other.overhang


class TestCompensation:
    part = nut(slots=(slot(width=1.6, tilt_deg=6.0, fan_deg=20.0, x=4.0),), edge_radius=0.5)

    @pytest.mark.parametrize("per_side", [-0.12, 0.08])
    def test_each_layer_is_the_drawn_one_moved_by_it(self, per_side: float) -> None:
        """Against shapely's own offset of the uncompensated layer, mitred."""
        plain, moved = (read(printed(self.part, Print(per_side=s))[1]) for s in (0.0, per_side))
        for z in (0.7, 2.5, 3.9, 4.9):  # from 0.5 down the back edge is eased
            wanted = section(plain, z).buffer(per_side, join_style="mitre", mitre_limit=4.0)
            found = section(moved, z)
            shift = (wanted.bounds[0] - found.bounds[0], wanted.bounds[1] - found.bounds[1])
            off = wanted.symmetric_difference(translate(found, *shift))
            assert off.area < 2e-3 * abs(per_side) * wanted.length + 1e-3
            assert off.buffer(-0.005).area < 1e-6  # nowhere thicker than a hundredth

    @pytest.mark.parametrize("shrink", [-0.1, 0.06])
    def test_a_printer_that_shrinks_by_it_gives_the_nut_back(self, shrink: float) -> None:
        table = Print(per_side=shrink)
        plain, moved = (read(printed(self.part, t)[1]) for t in (Print(), table))
        for z in (1.0, 4.9):
            came_out, wanted = section(moved, z).buffer(-shrink, join_style="mitre"), section(plain, z)
            x, top = wanted.bounds[2] / 2.0 + self.part.slots[0].x_at(5.0 - z), wanted.bounds[3]
            assert came_out.bounds[2] - came_out.bounds[0] == pytest.approx(wanted.bounds[2], abs=0.002)
            low = came_out.bounds[1]
            assert gap_at(came_out, came_out.bounds[0] + x, low + top - 0.4) == pytest.approx(
                gap_at(wanted, x, top - 0.4), abs=0.004
            )
            assert floor_at(came_out, came_out.bounds[0] + x) - low == pytest.approx(floor_at(wanted, x), abs=0.004)

    def test_nothing_to_undo_changes_nothing(self) -> None:
        assert compensated(self.part, 0.0) is self.part


class TestWalls:
    def test_thin_walls_are_told(self) -> None:
        """Whatever shapely finds thinner than two lines in a layer has a warning."""
        close = (slot(number=2, x=-0.9, floor_z=0.4), slot(number=1, x=0.9, floor_z=0.4))
        plan, lying = printed(nut(slots=close), Print())
        drawn = section(read(lying), 4.9)
        thin = drawn.difference(drawn.buffer(-0.39).buffer(0.395))
        fins = [part for part in getattr(thin, "geoms", [thin]) if part.area > 0.15]
        assert fins
        (told,) = (found for found in plan.warnings if found.code == "print.weak-between")
        assert told.strings == (2, 1)
        assert told.value("wall") == pytest.approx(0.7)

    def test_sound_walls_are_not(self) -> None:
        plan = print_plan(nut(slots=(slot(number=2, x=-8.0), slot(number=1, x=8.0))), Print())
        assert plan.warnings == ()

    def test_a_nozzle_wider_than_a_gap_is_refused(self) -> None:
        close = (slot(number=2, x=-0.65), slot(number=1, x=0.65))
        with pytest.raises(CannotBeMade) as told:
            print_plan(nut(slots=close), Print())
        (found,) = told.value.findings
        assert (found.code, found.strings) == ("print.nozzle-wider-than-gap", (2, 1))
        assert found.value("gap") == pytest.approx(0.3)


class TestShelves:
    @pytest.mark.slow
    @pytest.mark.parametrize("per_side", [-0.1, 0.08])
    def test_the_underside_moves_out_by_it_in_the_file(self, per_side: float, tmp_path) -> None:
        """On both print.stl, from above at the bed: the rebate stays as high, the shelf grows by it above and below."""
        shelves = []
        for name, by in (("plain", 0.0), ("moved", per_side)):
            change = {"material": "brass", "slots.setback": 0.6, "print": {"per_side": by}}
            (tmp_path / f"{name}.toml").write_text(text_of("electric-6", change), "utf-8")
            done = run("make", f"{name}.toml", "--for", "print", cwd=tmp_path)
            assert done.returncode == 0, done.stderr
            mesh = trimesh.load(tmp_path / "output" / name / "print.stl")
            ahead = section(mesh, float(mesh.bounds[1][2]) - 0.2)
            middle = (mesh.bounds[0][0] + mesh.bounds[1][0]) / 2.0
            x = min((one.bounds[0] + 0.3 for one in ahead.geoms), key=lambda x: abs(x - middle))
            at = ahead.intersection(LineString([(x, -1.0), (x, 20.0)])).bounds
            shelves.append((at[1] - section(mesh, 1.0).bounds[1], at[3] - at[1]))
        (plain, thick), (moved, grown) = shelves
        assert moved == pytest.approx(plain, abs=0.01)
        assert grown - thick == pytest.approx(2.0 * per_side, abs=0.01)
        file = tomllib.loads((tmp_path / "plain.toml").read_text("utf-8"))
        drop = (x - middle) ** 2 / 2.0 / file["fretboard"]["radius"]
        assert plain == pytest.approx(file["seat"]["depth"] + 0.15 - drop, abs=0.01)  # clear of the board

    def test_fronts_between_layers_are_told(self) -> None:
        part = nut(slots=(slot(start_y=-0.5, width=1.6),), board_radius=300.0)
        plan, lying = printed(part, Print())
        told = {found.code: found for found in of_layers(lying, plan)}
        assert told["print.shelves-between-layers"].value("off") == pytest.approx(0.1)
        plan, lying = printed(nut(slots=(slot(start_y=-0.6, width=1.6),)), Print())
        assert not list(of_layers(lying, plan))
