"""The solid: one valid closed body for every file, with the sizes and volume that the nut has.

Volumes are compared with closed forms of elementary geometry, with integrals by scipy, and with
the mesh as trimesh and manifold3d measure it. STEP is read back from its bytes.
"""

import io
import math
from dataclasses import replace
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, Phase, given, note, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from nutgen.errors import CannotBeMade
from nutgen.formats.stamp import Stamp
from nutgen.formats.step import step_bytes
from nutgen.formats.step_reader import read_step
from nutgen.formats.stl import stl_bytes
from nutgen.geometry import kernel
from nutgen.geometry.exchange import step_solids
from nutgen.jobs.provers import CLAIMED, step_file
from nutgen.model import solid as solid_module
from nutgen.model.body import nut_body
from nutgen.model.mesh import CHORD, mesh_of
from nutgen.model.removed import removed_volume
from nutgen.model.section import corner, profile
from nutgen.model.solid import nut_solid
from nutgen.nut import solve
from nutgen.nut.edges import LEFT_STANDING, SHARP, largest_edge_radius
from nutgen.nut.part import Nut
from nutgen.nut.seat import Underside
from nutgen.nut.shelf import NO_SHELVES
from nutgen.spec.read import parse_spec, read_spec
from nutgen.theory.crown import Crown
from tests.cases import EACH_PRESET, cases
from tests.kinds import text_of
from tests.model.nuts import nut, nuts, slot
from tests.specs import EXAMPLES, solved, specs

STAMP = Stamp("Drawn by chance", "0123456789ab")

GRAZED = 1e-4
"""What a file may claim at worst where faces all but touch: 1e-6 as a rule, 7e-5 seen once in some hundreds [mm]."""


def preset(path: Path) -> Nut:
    return solve(read_spec(path))


def check_files(part: Nut, *, wedge_deg: float = 90.0, accuracy: float = 1e-6) -> None:
    """From a nut to its files: valid, single, closed, of the nut's own size, one volume whoever measures it.

    accuracy : that the STEP file may claim at worst [mm]
    wedge_deg : between walls that all but coincide; where they cross is known no better than their gap over its sine
    """
    solid = nut_solid(part)
    assert solid.isValid()
    assert len(solid.Solids()) == 1
    volume = kernel.volume(solid)
    mesh = mesh_of(solid)
    data = stl_bytes(mesh, STAMP)
    assert len(data) == 84 + 50 * int.from_bytes(data[80:84], "little")
    assert not data.startswith(b"solid")
    read = trimesh.load(io.BytesIO(data), file_type="stl")
    assert read.is_watertight
    assert read.is_winding_consistent
    assert read.body_count == 1
    assert read.volume == pytest.approx(volume, rel=1e-3)
    solidity = manifold3d.Manifold(manifold3d.Mesh(read.vertices.astype(np.float32), read.faces.astype(np.uint32)))
    assert solidity.status() == manifold3d.Error.NoError
    assert solidity.volume() == pytest.approx(volume, rel=1e-3)
    check_box(read.bounds, part)
    step = step_bytes(solid, STAMP)
    found = read_step(step)
    assert (found.solids, found.foreign) == (1, ())
    assert found.off < max(found.accuracy, 1e-7 / np.sin(np.radians(wedge_deg)))
    assert found.accuracy <= accuracy / np.sin(np.radians(wedge_deg))
    (read_again,) = step_solids(step)
    assert read_again.isValid()
    assert kernel.volume(read_again) == pytest.approx(volume, rel=5e-4)  # long, narrow faces are integrated no better
    assert mesh_of(read_again).volume == pytest.approx(mesh.volume, rel=1e-3)


def check_box(bounds: np.ndarray, part: Nut) -> None:
    """The box is the nut's, and as high as the crown is between the slots."""
    low, high = bounds
    assert low == pytest.approx([part.reach[0], part.shelves.front, part.lowest_z], abs=1e-4)
    assert high[:2] == pytest.approx([part.reach[1], part.thickness], abs=1e-4)
    assert high[2] <= part.crown.highest(*part.reach) + 1e-4
    x = np.linspace(part.left.x + 2.0 * part.edge_radius, part.right.x - 2.0 * part.edge_radius, 4001)
    cut = [np.abs(x - one.x_at(0.0)) <= one.half_width_along_x + 0.02 for one in part.slots]
    left = x[~np.any(cut, axis=0)]
    if left.size:
        assert high[2] >= part.crown.z(left).max() - CHORD


@pytest.mark.parametrize("path", EACH_PRESET, ids=lambda path: path.stem)
def test_every_preset_is_one_solid_whoever_reads_it(path: Path) -> None:
    finished = preset(path)
    check_files(finished)
    check_files(replace(finished, allowances=replace(finished.allowances, top=0.3, back=0.4, ends=0.5)).rough())


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["channel", "ledge", "surface"])
def test_any_file_is_one_solid_whoever_reads_it(kind: str) -> None:
    @settings(
        max_examples=-(-EXAMPLES // 10),
        derandomize=True,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(specs(kinds=(kind,)))
    def run(text: str) -> None:
        note(text)
        check_files(solved(text).rough(), accuracy=GRAZED)

    run()


@pytest.mark.parametrize("name", ["grazed", "swings"])
def test_edges_that_bend_sharply_are_as_near_their_faces_as_the_file_says(name: str) -> None:
    """A bevel grazes a rolled slot: through 1025 points a B-spline swung out by 8 mm, and the file was no body; or it
    swings off its torus by 2.6e-7 within a fiftieth of its length, where 12 looks had seen 4e-8."""
    check_files(solved((Path(__file__).parent / "files" / f"{name}.toml").read_text("utf-8")).rough())


def test_a_bevel_that_all_but_grazes_a_slot_leaves_a_file_all_the_same(tmp_path: Path) -> None:
    """Their edge turns so sharply that the file claims 0.0016 mm: no file came, for want of a micrometre."""
    part = solved((Path(__file__).parent / "files" / "grazing.toml").read_text("utf-8")).rough()
    solid, path = nut_solid(part), tmp_path / "nut.step"
    path.write_bytes(step_bytes(solid, STAMP))
    assert 1e-4 < read_step(path.read_bytes()).accuracy < CLAIMED
    left, right = part.reach
    low, high = (left, part.shelves.front, part.lowest_z), (right, part.thickness, None)
    assert all(check.holds for check in step_file(low, high, kernel.volume(solid), path).checks)


def test_an_end_all_but_upright_under_a_steep_bevel() -> None:
    """A curve of the seventh degree is a quarter of a thousandth off the cone there: it takes a higher one."""
    steep = Path(__file__).parent / "files" / "steep.toml"
    check_files(solved(steep.read_text("utf-8")).rough())


@pytest.mark.slow
def test_a_shelf_whose_slot_runs_into_its_neighbours() -> None:
    """Its side was flush with the slot: the part touched itself along a line, and its mesh did not close."""
    crowded = Path(__file__).parent / "files" / "touching.toml"
    check_files(solved(crowded.read_text("utf-8")).rough())


def test_a_shelf_over_a_board_that_falls_below_the_seat() -> None:
    """Beside the strings a round board is lower than the seat's floor: what was taken away below the shelves crossed
    itself there, and nothing was."""
    check_files(solved((Path(__file__).parent / "files" / "falling.toml").read_text("utf-8")))


def test_leaning_ends_reach_up_a_sloped_top() -> None:
    """With no bevel such a nut is highest at its back, where the outline of its mesh is."""
    changed = {"body.bevel_deg": 0.0, "body.edge_radius": 0.0, "fretboard.radius": "flat"}
    part = solve(parse_spec(text_of("electric-6-slanted", changed), source="no bevel"))
    high = mesh_of(nut_solid(part)).vertices[:, 2]
    assert high.max() - high.min() == pytest.approx(part.height, abs=1e-4)


class TestClosedForms:
    """Volumes of bars that elementary geometry knows."""

    def test_a_plain_block(self) -> None:
        block = nut(edge_radius=0.0, bevel_deg=0.0)
        assert nut_body(block).Volume() == pytest.approx(40.0 * 5.0 * 5.0, rel=1e-9)

    def test_a_bevelled_block(self) -> None:
        block = nut(edge_radius=0.0, bevel_deg=30.0, land=2.0)
        wedge = 40.0 * 3.0**2 * math.tan(math.radians(30.0)) / 2.0
        assert nut_body(block).Volume() == pytest.approx(1000.0 - wedge, rel=1e-9)

    @pytest.mark.parametrize("tilt", [0.0, 4.0, 12.0])
    @pytest.mark.parametrize("fan", [0.0, -11.0])
    def test_a_straight_slot(self, tilt: float, fan: float) -> None:
        """A U of half a circle and two walls. In the plane y = const it is half an ellipse under a rectangle."""
        cut = slot(width=1.2, floor_z=0.7, tilt_deg=tilt, fan_deg=fan)
        block = nut(edge_radius=0.0, bevel_deg=0.0, slots=(cut,))
        t, r, run = math.radians(tilt), 0.6, 5.0 / math.cos(math.radians(fan))
        mean_depth = 2.0 - 0.7 + run * math.tan(t) / 2.0
        across = 2.0 * r * (mean_depth - r / math.cos(t)) + math.pi * r * r / math.cos(t) / 2.0
        gone = across * run  # square to the slot, along the run: a fan shears the slot and keeps its volume
        assert 1000.0 - nut_solid(block).Volume(1e-5) == pytest.approx(gone, rel=1e-5)

    def test_a_rolled_slot(self) -> None:
        """Fine slices by scipy: a circle turned about an axis 1/curvature below the floor."""
        roll, r, floor = 25.0, 0.6, 0.9
        cut = slot(width=2.0 * r, floor_z=floor, tilt_deg=0.0, roll_radius=roll)
        block = nut(edge_radius=0.0, bevel_deg=0.0, slots=(cut,))

        def height(y: float, s: float) -> float:
            return 2.0 - (floor - roll + math.sqrt((roll + r - math.sqrt(r * r - s * s)) ** 2 - y * y))

        gone = quad(lambda y: quad(lambda s: height(y, s), -r, r)[0], 0.0, 5.0)[0]
        assert 1000.0 - nut_solid(block).Volume(1e-5) == pytest.approx(gone, rel=1e-5)

    @pytest.mark.parametrize("slope", [0.0, 2.0])
    @pytest.mark.parametrize("freeform", [False, True])
    def test_a_crowned_and_bevelled_block(self, slope: float, freeform: bool) -> None:
        """Circular segments, by the formula for the area under an arc, integrated over y by scipy."""
        radius, land, bevel = 250.0, 1.5, math.radians(9.0)
        crown = Crown(2.5, slope, 1.0 / radius)
        block = nut(edge_radius=0.0, crown=crown, land=land, bevel_deg=9.0)
        xc, zc = radius * math.sin(math.radians(slope)), 2.5 - radius * math.cos(math.radians(slope))

        def under_arc(rho: float) -> float:
            def primitive(u: float) -> float:
                return (u * math.sqrt(rho * rho - u * u) + rho * rho * math.asin(u / rho)) / 2.0

            return primitive(20.0 - xc) - primitive(-20.0 - xc) + 40.0 * (zc + 3.0)

        whole = quad(lambda y: under_arc(radius - max(0.0, y - land) * math.tan(bevel)), 0.0, 5.0, points=[land])[0]
        assert nut_body(block, freeform=freeform).Volume(1e-5) == pytest.approx(whole, rel=1e-6)

    def test_eased_ends(self) -> None:
        """Each eased corner takes e^2 (1 - pi / 4) a length, the back edge the same but for its runout."""
        e = 0.8
        block = nut(edge_radius=e, bevel_deg=0.0)
        ends, back = 2.0 * 5.0 * e * e * (1.0 - math.pi / 4.0), 40.0 * e * e * (1.0 - math.pi / 4.0)
        assert 1000.0 - nut_body(block).Volume(1e-5) == pytest.approx(ends + back, rel=0.03)

    def test_an_arched_seat(self) -> None:
        radius = 60.0
        block = nut(edge_radius=0.0, bevel_deg=0.0, underside=Underside(-3.0, 1.0 / radius))
        angle = math.asin(20.0 / radius)
        arch = radius * radius * angle - 20.0 * radius * math.cos(angle)  # segment over a chord of 40
        sagitta = radius * (1.0 - math.cos(angle))
        whole = 5.0 * (40.0 * (5.0 + sagitta) - arch)
        assert nut_body(block).Volume(1e-5) == pytest.approx(whole, rel=1e-7)


class TestEasedEdges:
    """The arcs of an eased nut, measured on its own points."""

    @pytest.mark.parametrize("curvature", [0.0, 1.0 / 180.0])
    def test_every_corner_of_the_front_face_is_an_arc_of_the_edge_radius(self, curvature: float) -> None:
        e = 0.9
        block = nut(edge_radius=e, crown=Crown(2.6, 1.0, curvature))
        mesh = mesh_of(nut_body(block))
        front = mesh.vertices[mesh.vertices[:, 1] < 1e-9]
        for side in (-1.0, 1.0):
            x, z = front[(side * front[:, 0] > 20.0 - 0.8 * e) & (front[:, 2] > 0.0)][:, [0, 2]].T
            assert x.size >= 4
            rows = np.column_stack([x, z, np.ones_like(x)])  # a circle through points, by least squares
            a, b, c = np.linalg.lstsq(rows, x * x + z * z, rcond=None)[0]
            assert math.sqrt(c + (a * a + b * b) / 4.0) == pytest.approx(e, abs=1e-5)
            assert a / 2.0 == pytest.approx(side * (20.0 - e), abs=1e-5)  # so it is tangent to the end

    @settings(max_examples=60, derandomize=True)
    @given(nuts(most_slots=1, leaning=True), st.floats(0.05, 1.0))
    def test_what_fits_fits_and_leaves_enough_standing(self, part: Nut, share: float) -> None:
        limit = largest_edge_radius(part)
        e = max(share * limit, 0.0)
        assert limit <= part.thickness / 2.0
        if e < SHARP:
            return
        inset = profile(part, edge_radius=e)[-1].stop[1]
        for side in (-1.0, 1.0):
            foot = float(corner(part, part.thickness, inset, side=side, edge_radius=e).end[0, 1])
            assert foot >= part.lowest_z + LEFT_STANDING - 1e-9
        eased = nut_body(replace(part, edge_radius=e, slots=()))
        assert eased.isValid()
        assert 0.0 < eased.Volume() < nut_body(replace(part, edge_radius=0.0, slots=())).Volume()

    def test_a_radius_too_large_is_taken_back_to_what_fits(self) -> None:
        thin = nut(edge_radius=2.0, thickness=2.2, land=1.0, crown=Crown(-1.5, 0.0, 0.0))
        assert largest_edge_radius(thin) < 0.7
        body = nut_body(thin)
        assert body.isValid()
        assert body.BoundingBox(1e-4).zmax == pytest.approx(-1.5, abs=1e-3)

    @settings(max_examples=40, derandomize=True)
    @given(nuts(most_slots=1, leaning=True))
    def test_free_form_is_the_same_body(self, part: Nut) -> None:
        bare = replace(part, slots=())
        plain, free = nut_body(bare), nut_body(bare, freeform=True)
        assert free.isValid()
        assert free.Volume(1e-8) == pytest.approx(plain.Volume(1e-8), rel=1e-6)


class TestTrouble:
    """Slots that meet, cross, touch or leave."""

    @pytest.mark.parametrize("gap", cases(0.0, -1e-6, slow=[0.004, -0.3, 1e-6, -0.004, 0.012, 0.3, -1.2]))
    @pytest.mark.parametrize("fans", [(0.0, 0.0), (3.0, -3.0), (0.0, 0.02)])
    def test_neighbours_at_any_distance(self, gap: float, fans: tuple[float, float]) -> None:
        apart = (1.2 + gap) / 2.0
        slots = tuple(slot(x=side * apart, width=1.2, fan_deg=f) for side, f in zip((-1.0, 1.0), fans, strict=True))
        apart_deg = abs(fans[0] - fans[1]) if gap < -1.0 else 0.0
        check_files(nut(slots=slots), wedge_deg=apart_deg or 90.0)

    @pytest.mark.parametrize("out", cases(0.0, 0.004, 0.6, -0.05, slow=[1e-6, 0.3, 1.1, -0.004]))
    @pytest.mark.parametrize("fan", [0.0, 6.0])
    def test_a_slot_out_of_the_end(self, out: float, fan: float) -> None:
        check_files(nut(slots=(slot(x=20.0 - 0.6 + out, width=1.2, fan_deg=fan),)))

    @pytest.mark.parametrize("fan", [0.001, 0.01, 0.1, -0.003])
    def test_a_wall_all_but_parallel_to_a_shallow_crown(self, fan: float) -> None:
        """The kernel loses such a slot on a cone, and says nothing; here it must be found and cut."""
        cut = slot(x=8.0, width=1.2, floor_z=9.0, fan_deg=fan, tilt_deg=0.1, roll_radius=267.0)
        part = nut(crown=Crown(10.6, 3.2, 1.0 / 1124.0), land=0.2, bevel_deg=4.6, slots=(cut,), edge_radius=0.0)
        lost = nut_body(part).Volume(1e-5) - nut_solid(part).Volume(1e-5)
        assert lost == pytest.approx(removed_volume(part), rel=5e-3)
        check_files(part)

    def test_a_solid_that_misses_a_slot_is_not_given_out(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(solid_module.kernel, "cut", lambda body, tools: [body])
        with pytest.raises(CannotBeMade, match=r"solid\.slots-not-cut"):
            nut_solid(nut(slots=(slot(),)))

    def test_a_body_that_falls_apart_is_not_given_out(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(solid_module.kernel, "cut", lambda body, tools: [body, body])
        with pytest.raises(CannotBeMade, match=r"solid\.slots-not-cut"):
            nut_solid(nut(slots=(slot(),)))


@settings(max_examples=25, derandomize=True, suppress_health_check=list(HealthCheck))
@given(nuts(most_slots=3))
def test_what_the_slots_take_agrees_with_fine_columns(part: Nut) -> None:
    """The check's own integral against a plain grid over plan, from the definitions in Nut and Slot."""
    level = tuple(replace(one, start_y=0.0) for one in part.slots)
    bare = replace(part, edge_radius=0.0, slots=level, shelves=NO_SHELVES)
    x = (np.arange(60000) + 0.5) / 60000.0 * bare.length + bare.left.x
    y = (np.arange(24) + 0.5) / 24.0 * bare.thickness
    top = bare.top_z(x[None, :], y[:, None])
    low = np.full_like(top, np.inf)
    for one in bare.slots:
        t, f, r = math.radians(one.tilt_deg), math.radians(one.fan_deg), one.width / 2.0
        s = (x[None, :] - one.x_at(y[:, None])) * math.cos(f)  # aside, square to the slot
        q = (x[None, :] - one.x) * math.sin(f) + (y[:, None] - one.start_y) * math.cos(f)
        rise = r - np.sqrt(np.maximum(r * r - s * s, 0.0))
        if one.rolled:
            lean, out = q + one.roll_radius * math.sin(t), one.roll_radius + rise
            floor = one.floor_z - one.roll_radius * math.cos(t) + np.sqrt(np.maximum(out**2 - lean**2, 0.0))
        else:
            floor = one.floor_z - q * math.tan(t) + rise / math.cos(t)
        low = np.minimum(low, np.where(np.abs(s) < r, floor, np.inf))
    height = np.maximum(top - np.maximum(low, bare.underside.z(x)[None, :]), 0.0)
    gone = height.sum() * bare.length / 60000.0 * bare.thickness / 24.0
    assert removed_volume(bare, panels=8) == pytest.approx(gone, rel=0.02, abs=0.02)
    assert removed_volume(bare) == pytest.approx(gone, rel=0.04, abs=0.05)
