"""The piece by scan: its frame, its axis, its unit, its core; against closed forms and general libraries."""

from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.documents.words import sentence
from nutgen.errors import SpecFaults
from nutgen.finding import Finding, note, warning
from nutgen.geometry.mesh import Mesh
from nutgen.geometry.slices import Slices, slices
from nutgen.stock.piece import Piece
from nutgen.stock.scan import child
from nutgen.stock.scan import file as scan_file
from nutgen.stock.scan.frame import _smooth_middles, find_frame
from nutgen.stock.scan.piece import piece_from_scan
from tests.cases import cases
from tests.stock.scans import cone, piece_spec


@pytest.fixture(autouse=True)
def read_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a process for each of these sound files: `test_file.py` is about that."""
    monkeypatch.setattr(scan_file, "read_apart", child.read)


def scanned(folder: Path, mesh: trimesh.Trimesh, scan: str = "", *, units: str = "mm", ends: str = "") -> Piece:
    mesh.export(folder / "bone.ply")
    return piece_from_scan(piece_spec(f'file = "bone.ply"\nunits = "{units}"\n{scan}', ends=ends), folder)[0]


def refused(folder: Path, mesh: trimesh.Trimesh, scan: str = "", *, units: str = "mm") -> Finding:
    with pytest.raises(SpecFaults) as caught:
        scanned(folder, mesh, scan, units=units)
    assert caught.value.source == str(folder / "bone.ply")
    (finding,) = caught.value.findings
    return finding


def horn(length: float = 90.0, bow: float = 6.0, *, wave: float = 0.0) -> trimesh.Trimesh:
    """A bowed, tapered piece about x: its middle leaves the straight line by bow sin(pi x / L) upward and
    a third of that to the left; its first end is the thicker. With wave, lumps of that height."""
    mesh = cone(length, 15.0, 11.0, 64).subdivide_to_size(3.0)
    x, y, z = mesh.vertices.T
    rise = bow * np.sin(np.pi * x / length)
    swell = 1.0 + wave / 13.0 * np.sin(3.0 * np.arctan2(z, y) + x / 4.0)
    mesh.vertices = np.column_stack([x, y * swell + rise / 3.0, z * swell + rise])
    return trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)


def body(surface: Mesh | None) -> trimesh.Trimesh:
    assert surface is not None
    mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0.0
    assert mesh.edges_unique_length.max() <= 2.0
    return mesh


def test_a_cone_stands_on_its_thicker_end(tmp_path: Path) -> None:
    piece = scanned(tmp_path, cone().apply_translation([100.0, 20.0, -7.0]))
    assert piece.length == pytest.approx(80.0, abs=1e-4)
    assert piece.found_by == "scan"
    np.testing.assert_allclose(piece.to_source.origin, [100.0, 20.0, -7.0], atol=1e-3)
    np.testing.assert_allclose(piece.to_source.axes, np.eye(3), atol=1e-5)
    np.testing.assert_allclose(piece.axis.along[[0, -1]], [0.0, 80.0], atol=1e-4)
    np.testing.assert_allclose([piece.axis.sideways, piece.axis.up], 0.0, atol=1e-3)
    assert body(piece.skin).volume == pytest.approx(cone().volume, rel=1e-6)
    assert piece.core is None


def test_the_thicker_end_is_first_whichever_way_the_scan_lies(tmp_path: Path) -> None:
    turned = cone().apply_transform(trimesh.transformations.rotation_matrix(np.pi, [0, 0, 1]))
    piece = scanned(tmp_path, turned)
    np.testing.assert_allclose(piece.to_source.rotation[0], [-1.0, 0.0, 0.0], atol=1e-5)
    stated = scanned(tmp_path, turned, "along = [2, 0, 0]\nback = [0.3, 1, 0]")
    np.testing.assert_allclose(stated.to_source.rotation, [[1, 0, 0], [0, 0, -1], [0, 1, 0]], atol=1e-9)
    np.testing.assert_allclose(stated.to_source.origin, [-80.0, 0.0, 0.0], atol=1e-3)


def test_ends_alike_are_told(tmp_path: Path) -> None:
    cone(80.0, 14.0, 14.0).export(tmp_path / "rod.stl")
    _, notes = piece_from_scan(piece_spec('file = "rod.stl"\nunits = "mm"'), tmp_path)
    assert notes == (note("scan.ends-alike", axis="x"),)


def test_to_source_leads_back_to_the_scan(tmp_path: Path) -> None:
    mesh = horn().apply_transform(trimesh.transformations.random_rotation_matrix(np.array([0.2, 0.5, 0.9])))
    piece = scanned(tmp_path, mesh)
    back = piece.to_source.apply(piece.skin.vertices)
    _, off, _ = trimesh.proximity.closest_point_naive(mesh, back[::1000])
    assert off.max() < 1e-3
    assert np.linalg.det(piece.to_source.axes) == pytest.approx(1.0)
    assert piece.skin.vertices[:, 0].min() == pytest.approx(0.0, abs=1e-9)
    assert piece.skin.vertices[:, 0].max() == pytest.approx(piece.length)


@pytest.mark.parametrize("wave", [0.0, 0.4])
def test_the_axis_follows_the_bow_and_not_the_lumps(tmp_path: Path, wave: float) -> None:
    """The middle is known in closed form; smoothing over 10 mm of a bow with curvature 6 (pi / 90)^2
    flattens its crown by 5^2 / 2 of that, 0.09 mm."""
    piece = scanned(tmp_path, horn(wave=wave), "along = [1, 0, 0]")
    axis = piece.axis
    for found, size in ((axis.up, 6.0), (axis.sideways, 2.0)):
        truth = size * (np.sin(np.pi * axis.along / 90.0) - np.sin(np.pi * 0.04))
        middle = (axis.along > 5.0) & (axis.along < 85.0)
        np.testing.assert_allclose(found[middle], truth[middle], atol=0.12 + wave / 4)
        np.testing.assert_allclose(found, truth, atol=0.5)


@settings(max_examples=5)
@given(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3), st.lists(st.floats(-300, 300), min_size=3, max_size=3))
def test_a_scan_that_lies_otherwise_gives_the_same_piece(turn: list[float], shift: list[float]) -> None:
    motion = trimesh.transformations.random_rotation_matrix(np.array(turn))
    motion[:3, 3] = shift
    mesh = horn(wave=0.4)
    plain = find_frame(Mesh(mesh.vertices, mesh.faces), along=None, back=np.array([0.0, 0.0, 1.0]))
    moved = mesh.copy().apply_transform(motion)
    found = find_frame(Mesh(moved.vertices, moved.faces), along=None, back=motion[:3, 2])
    assert found.length == pytest.approx(plain.length, abs=0.01)
    assert len(found.axis.along) == len(plain.axis.along)
    np.testing.assert_allclose(found.axis.up, plain.axis.up, atol=0.02)
    np.testing.assert_allclose(found.axis.sideways, plain.axis.sideways, atol=0.02)
    ends = np.array([[0.0, 0, 0, 1], [plain.length, 0, 0, 1], [plain.length, 0, 10, 1]]).T
    np.testing.assert_allclose(found.pose.matrix @ ends, motion @ plain.pose.matrix @ ends, atol=0.05)


def test_sections_agree_with_polygons_of_a_general_library() -> None:
    """A lumpy tube, cut by trimesh and measured by shapely; the bore does not count."""
    mesh = trimesh.creation.annulus(r_min=5.0, r_max=14.0, height=60.0, sections=90).subdivide_to_size(4.0)
    x, y, z = mesh.vertices.T
    wide = np.hypot(x, y) > 9.0
    mesh.vertices = np.column_stack([x * (1 + 0.1 * wide * np.sin(z / 5)) + 0.1 * z, y + wide * np.cos(z / 7), z])
    axes = np.array([[0.0, 0, 1], [1, 0, 0], [0, 1, 0]])
    places = np.linspace(-28.3, 28.9, 13)
    found = slices(Mesh(mesh.vertices, mesh.faces), axes, places)
    np.testing.assert_allclose(found.along, places)
    for at, place in enumerate(places):
        lines = trimesh.intersections.mesh_plane(mesh, [0, 0, 1], [0, 0, place])
        polygons = list(shapely.polygonize([shapely.LineString(line[:, :2].round(7)) for line in lines]).geoms)
        outer = shapely.Polygon(max(polygons, key=lambda polygon: polygon.area).exterior)
        assert found.area[at] == pytest.approx(outer.area, rel=1e-5)
        np.testing.assert_allclose(found.middle[at], outer.centroid.coords[0], atol=1e-4)
        np.testing.assert_allclose([*found.low[at], *found.high[at]], outer.bounds, atol=1e-5)


def test_metres_for_millimetres(tmp_path: Path) -> None:
    small = cone(120.0).apply_scale(0.001)
    why = refused(tmp_path, small)
    assert why.code == "scan.size"
    assert why.value("size") == pytest.approx(0.12)
    assert why.value("likely") == (("m", pytest.approx(120.0)),)
    assert sentence(why).endswith('a piece has 15 to 2000 mm: is scan.units "m" (120 mm)?')
    assert scanned(tmp_path, small, units="m").length == pytest.approx(120.0, abs=1e-3)
    large = cone(120.0)
    why = refused(tmp_path, large, units="m")
    assert (why.value("stated"), why.value("likely")[0][0]) == ("m", "mm")


def test_a_caliper_reading_holds_the_scan_to_its_scale(tmp_path: Path) -> None:
    assert scanned(tmp_path, cone(), "check = { at = 40, width = 29.2, height = 28.8 }").length == pytest.approx(80)
    why = refused(tmp_path, cone(), "check = { at = 40, width = 30.2 }")
    assert (why.code, why.value("what"), why.value("where")) == ("scan.off-the-caliper", "wide", 40.0)
    assert why.value("found") == pytest.approx(29.0, abs=0.01)
    assert sentence(why).startswith("is 29.00 mm wide at 40.0 mm, but the caliper reads 30.20 mm (ratio 1.04")
    inches = cone().apply_scale(1 / 25.4)
    why = refused(tmp_path, inches, "check = { length = 80 }", units="cm")
    assert (why.value("what"), why.value("likely")) == ("long", "in")
    assert why.value("read_ratio") == pytest.approx(2.54)
    assert refused(tmp_path, cone().apply_scale(0.1), "check = { length = 80 }", units="in").value("likely") == "cm"
    assert refused(tmp_path, cone(), "check = { at = 95, width = 30 }").code == "scan.check-beyond"
    away = cone().apply_translation((300.0, -20.0, 5.0))
    assert refused(tmp_path, away, "check = { at = 40, width = 30.2 }").value("found") == pytest.approx(29.0, abs=0.01)


def test_a_back_along_the_piece_is_refused(tmp_path: Path) -> None:
    assert refused(tmp_path, cone(), "back = [1, 0, 0.1]").code == "scan.back-along"


@pytest.mark.parametrize("lean", cases(0.3, slow=[0.0]))
def test_a_wall_leaves_a_core_of_known_radius(tmp_path: Path, lean: float) -> None:
    """A round rod of radius 16, wall 4: a core of radius 12, out to its saw cuts, slanting or square."""
    rod = cone(80.0, 16.0, 16.0, 192)
    last = rod.vertices[:, 0] > 40.0
    rod.vertices[last, 0] += lean * rod.vertices[last, 2]
    piece = scanned(tmp_path, rod, "wall = 4.0\nalong = [1, 0, 0]")
    core = body(piece.core)
    x, y, z = core.vertices.T
    beyond = x - (80.0 + lean * z)
    assert beyond.max() < 1e-6
    assert x.min() == pytest.approx(0.0, abs=1e-6)
    assert np.min(np.abs(beyond)) < 1e-6
    sides = (x > 1.0) & (beyond < -1.0)
    np.testing.assert_allclose(np.hypot(y, z)[sides], 12.0, atol=0.1)
    assert core.volume == pytest.approx(np.pi * 12.0**2 * 80.0, rel=0.01)


def test_a_closed_end_keeps_its_wall(tmp_path: Path) -> None:
    piece = scanned(tmp_path, cone(80.0, 16.0, 15.0), "wall = 4.0", ends='last = "closed"')
    core = body(piece.core)
    assert core.vertices[:, 0].min() == pytest.approx(0.0, abs=1e-6)
    assert core.vertices[:, 0].max() == pytest.approx(76.0, abs=0.1)


@pytest.mark.slow
def test_an_offset_of_a_lumpy_bowed_piece_is_everywhere_as_deep_as_the_wall(tmp_path: Path) -> None:
    piece = scanned(tmp_path, horn(wave=0.4), "wall = 5.0", ends='first = "closed"\nlast = "closed"')
    core = body(piece.core)
    skin = trimesh.Trimesh(piece.skin.vertices, piece.skin.triangles, process=False)
    _, depth, _ = trimesh.proximity.closest_point_naive(skin, core.vertices[:: len(core.vertices) // 60])
    np.testing.assert_allclose(depth, 5.0, atol=0.1)


def test_a_thin_piece_has_no_core_behind_its_wall(tmp_path: Path) -> None:
    cone(80.0, 6.0, 5.0).export(tmp_path / "tine.stl")
    piece, notes = piece_from_scan(piece_spec('file = "tine.stl"\nunits = "mm"\nwall = 7.0'), tmp_path)
    assert piece.core is None
    assert notes == (note("scan.nowhere-thicker", wall=7.0),)


def test_a_round_end_that_is_called_cut_is_told(tmp_path: Path) -> None:
    trimesh.creation.capsule(height=60.0, radius=14.0).export(tmp_path / "tip.stl")
    scan = 'file = "tip.stl"\nunits = "mm"\nalong = [0, 0, 1]\nback = [1, 0, 0]'
    assert piece_from_scan(piece_spec(scan), tmp_path)[1] == ()  # without a wall nothing follows from its ends
    piece, notes = piece_from_scan(piece_spec(f"{scan}\nwall = 5.0"), tmp_path)
    assert notes == tuple(warning("scan.end-not-flat", end=end) for end in ("first", "last"))
    assert body(piece.core).volume == pytest.approx(np.pi * 9**2 * 60 + 4 / 3 * np.pi * 9**3, rel=0.02)


def with_core(folder: Path, core: trimesh.Trimesh) -> Piece:
    core.export(folder / "core.stl")
    return scanned(folder, cone(), 'core = "core.stl"')


def test_a_core_mesh_comes_into_the_same_frame(tmp_path: Path) -> None:
    piece = with_core(tmp_path, cone(81.0, 9.0, 8.0).apply_translation([-0.5, 1.0, 0.0]))
    core = body(piece.core)
    assert core.vertices[:, 0].min() == pytest.approx(-0.5, abs=1e-4)
    assert core.centroid[1] == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(
    ("length", "first", "shift", "by"),
    cases((80.0, 10.0, [0, 9, 0], 4.0), slow=[(80.0, 18.0, [0, 0, 0], 2.0), (90.0, 9.0, [0, 0, 0], 10.0)]),
)
def test_a_core_outside_the_skin_is_refused(
    tmp_path: Path, length: float, first: float, shift: list[float], by: float
) -> None:
    with pytest.raises(SpecFaults, match=r"core\.stl: scan\.core-outside ") as caught:
        with_core(tmp_path, cone(length, first, 8.0).apply_translation(shift))
    assert caught.value.findings[0].value("by") == pytest.approx(by, abs=0.05)


def test_an_open_core_is_refused_by_its_own_name(tmp_path: Path) -> None:
    core = cone(80.0, 9.0, 8.0)
    core.update_faces(core.triangles_center[:, 0] < 79.0)
    with pytest.raises(SpecFaults, match=r"core\.stl: scan\.open-mesh "):
        with_core(tmp_path, core)


@pytest.mark.slow
def test_the_same_scan_gives_the_same_piece(tmp_path: Path) -> None:
    one, other = (scanned(tmp_path, horn(wave=0.4), "wall = 5.0") for _ in range(2))
    for first, second in ((one.skin, other.skin), (one.core, other.core)):
        assert first is not None
        assert second is not None
        np.testing.assert_array_equal(first.vertices, second.vertices)
        np.testing.assert_array_equal(first.triangles, second.triangles)


def test_a_line_through_one_section_runs_level_through_its_middle() -> None:
    middle = np.array([[2.0, -3.0]])
    one = Slices(np.array([10.0]), np.array([50.0]), middle, middle - 4.0, middle + 4.0)
    assert _smooth_middles(one, np.array([0.0, 10.0, 20.0])) == pytest.approx(np.repeat(middle, 3, axis=0))
