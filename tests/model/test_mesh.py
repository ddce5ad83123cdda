"""The mesh: closed, one body, facing outward, near the true surface; its own repairs."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, settings

from nutgen.geometry import kernel
from nutgen.geometry.kernel import KernelError
from nutgen.model.mesh import CHORD, CLOSE, Mesh, bodies, mesh_of, parted
from nutgen.model.solid import nut_solid
from nutgen.nut.part import Slot
from nutgen.theory.crown import Crown
from tests.model.nuts import nut, slot
from tests.specs import solved, specs

CUBE = trimesh.creation.box((2.0, 3.0, 4.0))


def as_mesh(read: trimesh.Trimesh) -> Mesh:
    triangles = np.asarray(read.faces, np.int64)
    normals = np.repeat(np.asarray(read.face_normals)[:, None], 3, axis=1)
    return Mesh(np.asarray(read.vertices, float), triangles, np.arange(len(triangles)), normals)


def loose(mesh: Mesh) -> Mesh:
    """The mesh with every triangle's corners as nodes of its own."""
    return replace(
        mesh,
        vertices=mesh.vertices[mesh.triangles].reshape(-1, 3),
        triangles=np.arange(3 * len(mesh.triangles)).reshape(-1, 3),
    )


class TestFaults:
    """What `faults` says of meshes made and spoiled with trimesh."""

    def test_a_cube_has_none(self) -> None:
        cube = as_mesh(CUBE)
        assert cube.faults == []
        assert cube.volume == pytest.approx(24.0)

    def test_a_hole_is_seen(self) -> None:
        cube = as_mesh(CUBE)
        assert any("edges" in words for words in replace(cube, triangles=cube.triangles[1:]).faults)

    def test_a_turned_triangle_is_seen(self) -> None:
        triangles = as_mesh(CUBE).triangles.copy()
        triangles[3] = triangles[3][::-1]
        assert any("edges" in words for words in replace(as_mesh(CUBE), triangles=triangles).faults)

    def test_inside_out_is_seen(self) -> None:
        cube = as_mesh(CUBE)
        assert replace(cube, triangles=cube.triangles[:, ::-1]).faults == ["it is inside out"]

    def test_two_bodies_are_seen(self) -> None:
        pair = trimesh.util.concatenate([CUBE, CUBE.copy().apply_translation([9.0, 0.0, 0.0])])
        assert as_mesh(pair).faults == ["it is in 2 pieces"]

    @pytest.mark.parametrize("count", [1, 2, 5])
    def test_pieces_are_counted_as_trimesh_counts_them(self, count: int) -> None:
        balls = [trimesh.creation.icosphere(2).apply_translation([3.0 * i, 0.0, 0.0]) for i in range(count)]
        read = trimesh.util.concatenate(balls)
        assert bodies(np.asarray(read.faces, np.int64), len(read.vertices)) == read.body_count == count


class TestMerging:
    """Nodes of neighbouring faces become one."""

    def test_loose_triangles_close_up(self) -> None:
        assert loose(as_mesh(CUBE)).faults
        merged = loose(as_mesh(CUBE)).merged(1e-6)
        assert merged.faults == []
        assert len(merged.vertices) == 8
        assert merged.volume == pytest.approx(24.0)

    def test_triangles_that_lose_their_area_go(self) -> None:
        ball = as_mesh(trimesh.creation.icosphere(3))
        coarse = ball.merged(0.2)
        assert len(coarse.triangles) < len(ball.triangles)
        assert len(coarse.triangles) == len(coarse.faces) == len(coarse.normals)
        assert all(len(set(row)) == 3 for row in coarse.triangles.tolist())


def test_chords_that_two_faces_share_are_broken() -> None:
    """Two bars whose ends meet along one edge: four triangles at it, which no reader can pair up."""
    one = trimesh.creation.box((1.0, 1.0, 1.0))
    other = one.copy().apply_translation([1.0, 1.0, 0.0])
    both = as_mesh(trimesh.util.concatenate([one, other])).merged(1e-9)
    flat = replace(both, faces=np.repeat([0, 1], 12))
    assert any("edges" in words for words in flat.faults)
    whole = parted(flat)
    assert whole.faults == []
    assert whole.volume == pytest.approx(2.0)
    assert len(whole.triangles) == len(whole.faces) == len(whole.normals)


def off_the_surface(mesh: Mesh, surface: Callable[[np.ndarray], np.ndarray], on: np.ndarray) -> float:
    """Greatest distance of the middles of triangles and of their sides from a surface their corners lie on."""
    corners = mesh.vertices[mesh.triangles[on]]
    middles = [corners.mean(axis=1), *((corners[:, i] + corners[:, (i + 1) % 3]) / 2.0 for i in range(3))]
    return max(float(np.abs(surface(points)).max()) for points in middles)


def under_floor(one: Slot, points: np.ndarray) -> np.ndarray:
    """Distance into the material from a slot's round floor, negative above it; nan above the slot's axis."""
    fan, tilt, r = math.radians(one.fan_deg), math.radians(one.tilt_deg), one.width / 2.0
    run = (points[..., 0] - one.x) * math.sin(fan) + points[..., 1] * math.cos(fan)
    aside = (points[..., 0] - one.x) * math.cos(fan) - points[..., 1] * math.sin(fan)
    if one.rolled:
        below = one.floor_z - one.roll_radius * math.cos(tilt)
        up = np.hypot(run + one.roll_radius * math.sin(tilt), points[..., 2] - below) - one.roll_radius - r
    else:
        up = (points[..., 2] - one.floor_z) * math.cos(tilt) + run * math.sin(tilt) - r
    return np.where(up < 0.0, np.hypot(up, aside) - r, np.nan)


@pytest.mark.parametrize("roll", [math.inf, 12.0, 70.0, 300.0])
@pytest.mark.parametrize("width", [0.3, 1.2, 4.0])
def test_chords_keep_within_their_bound_on_floors(roll: float, width: float) -> None:
    """The printer gets triangles: none of them may stand more than CHORD in the way of a string."""
    cut = slot(width=width, roll_radius=roll, tilt_deg=1.0, fan_deg=2.0, floor_z=0.5)
    part = nut(slots=(cut,), crown=Crown(2.0, 0.0, 1.0 / 250.0), thickness=6.0)
    mesh = mesh_of(nut_solid(part))
    with np.errstate(invalid="ignore"):
        on = (np.abs(under_floor(cut, mesh.vertices)) < 1e-4)[mesh.triangles].all(axis=1)
    assert on.sum() > 4
    assert off_the_surface(mesh, lambda points: np.nan_to_num(under_floor(cut, points)), on) <= CHORD + 1e-4


def test_chords_keep_within_their_bound_on_the_crown() -> None:
    part = nut(length=60.0, crown=Crown(4.0, 1.0, 1.0 / 80.0), bevel_deg=0.0, edge_radius=0.0)
    mesh = mesh_of(nut_solid(replace(part, slots=(slot(floor_z=3.0),))))
    xc, zc = part.crown.centre

    def from_crown(points: np.ndarray) -> np.ndarray:
        return np.hypot(points[..., 0] - xc, points[..., 2] - zc) - 80.0

    on = (np.abs(from_crown(mesh.vertices)) < 1e-4)[mesh.triangles].all(axis=1)
    assert on.sum() > 20
    assert off_the_surface(mesh, from_crown, on) <= CHORD + 1e-4


@settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(specs(most_strings=5))
def test_any_nut_meshes_close_to_its_solid(text: str) -> None:
    part = solved(text)
    solid = nut_solid(part)
    mesh = mesh_of(solid)
    assert mesh.faults == []
    volume = kernel.volume(solid)
    assert abs(mesh.volume - volume) <= CLOSE * volume
    read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    assert read.is_watertight
    assert read.is_winding_consistent
    assert read.volume == pytest.approx(mesh.volume, rel=1e-9)


def test_normals_are_the_surface_s_own() -> None:
    mesh = mesh_of(nut_solid(nut(slots=(slot(),), crown=Crown(2.5, 0.0, 1.0 / 200.0))))
    assert np.linalg.norm(mesh.normals, axis=2) == pytest.approx(1.0, abs=1e-6)
    read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    outward = np.einsum("ij,ij->i", read.face_normals, mesh.normals.mean(axis=1))
    assert outward[read.area_faces > 1e-6].min() > 0.7


def test_a_mesh_that_does_not_fill_the_solid_is_not_given_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kernel, "volume", lambda solid: 1.0)
    with pytest.raises(KernelError, match="fills"):
        mesh_of(nut_solid(nut(slots=(slot(),))))
