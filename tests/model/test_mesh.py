"""The mesh: closed, one body, facing outward, near the true surface; its own repairs."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, settings

from nutgen.errors import KernelError
from nutgen.geometry import kernel
from nutgen.geometry.mesh import Mesh, welded
from nutgen.model.mesh import CHORD, CLOSE, SolidMesh, mesh_of, parted
from nutgen.model.solid import nut_solid
from nutgen.nut.slot import Slot
from nutgen.theory.crown import Crown
from tests.cases import cases
from tests.model.nuts import nut, slot
from tests.specs import solved, specs


def test_chords_that_two_faces_share_are_broken() -> None:
    """Two bars whose ends meet along one edge: four triangles at it, which no reader can pair up."""
    one = trimesh.creation.box((1.0, 1.0, 1.0))
    other = one.copy().apply_translation([1.0, 1.0, 0.0])
    read = trimesh.util.concatenate([one, other])
    both, _ = welded(Mesh(np.asarray(read.vertices), np.asarray(read.faces, np.int64)), 1e-9)
    normals = np.repeat(both.facing[:, None], 3, axis=1)
    flat = SolidMesh(both.vertices, both.triangles, np.repeat([0, 1], 12), normals)
    assert not flat.edges.closed
    whole = parted(flat)
    assert whole.edges.closed
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


@pytest.mark.parametrize("roll", cases(math.inf, 12.0, slow=[70.0, 300.0]))
@pytest.mark.parametrize("width", cases(0.3, 4.0, slow=[1.2]))
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


@settings(max_examples=5, derandomize=True, suppress_health_check=list(HealthCheck))
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


def test_the_far_end_of_a_prism_is_where_it_belongs() -> None:
    from nutgen.model.block import block
    from nutgen.model.mesh import mesh_of

    assert mesh_of(block((0.0, 0.0, 0.0), (8.0, 2.0, 1.0))).volume == pytest.approx(16.0)
