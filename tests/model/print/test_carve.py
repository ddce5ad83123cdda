"""The mesh to print against the CAD kernel's solid of the same nut: two builders, one shape."""

import manifold3d
import numpy as np
import pytest

from nutgen.geometry.mesh import Mesh
from nutgen.model.mesh import mesh_of
from nutgen.model.print.carve import CarvingError, carved
from nutgen.model.solid import nut_solid
from nutgen.nut import Nut, solve
from nutgen.spec.read import read_spec
from nutgen.theory.crown import Crown
from tests.cases import EACH_PRESET
from tests.model.nuts import nut, slot

SHAPES = {
    "flat and sharp": nut(edge_radius=0.0, slots=(slot(),)),
    "tilted": nut(crown=Crown(2.0, 1.5, 0.0), slots=(slot(fan_deg=6.0),)),
    "arched": nut(crown=Crown(2.0, -1.0, 1.0 / 180.0), slots=(slot(x=-9.0, fan_deg=-8.0), slot(x=8.0, tilt_deg=12.0))),
    "rolled": nut(slots=(slot(roll_radius=22.0, tilt_deg=1.0, fan_deg=4.0),)),
    "run into each other": nut(slots=(slot(number=2, x=-0.4), slot(number=1, x=0.4))),
    "out of an end": nut(slots=(slot(x=19.8, floor_z=0.9),)),
    "on a ledge": nut(slots=(slot(start_y=-0.6, width=1.3),)),
}


def manifold(mesh: Mesh) -> manifold3d.Manifold:
    return manifold3d.Manifold(
        manifold3d.Mesh64(np.ascontiguousarray(mesh.vertices), np.ascontiguousarray(mesh.triangles, np.uint64))
    )


def check_same(part: Nut) -> None:
    solid, mesh = nut_solid(part), carved(part)
    assert mesh.faults == []
    assert mesh.volume == pytest.approx(solid.Volume(1e-5), rel=5e-4)
    kernels = mesh_of(solid)
    assert np.abs(mesh.vertices.min(axis=0) - kernels.vertices.min(axis=0)).max() < 2e-3
    assert np.abs(mesh.vertices.max(axis=0) - kernels.vertices.max(axis=0)).max() < 6e-3
    ours, theirs = manifold(mesh), manifold(kernels)
    differs = (ours - theirs).volume() + (theirs - ours).volume()
    assert differs < 1.5e-3 * mesh.volume


@pytest.mark.parametrize("path", EACH_PRESET, ids=lambda path: path.stem)
def test_presets(path) -> None:
    check_same(solve(read_spec(path)).rough())


@pytest.mark.parametrize("name", SHAPES)
def test_shapes(name: str) -> None:
    check_same(SHAPES[name])


def test_a_nut_without_slots_is_its_body() -> None:
    mesh = carved(nut(edge_radius=0.0, bevel_deg=0.0))
    assert mesh.faults == []
    assert mesh.volume == pytest.approx(40.0 * 5.0 * 5.0)


def test_the_same_nut_gives_the_same_mesh() -> None:
    part = SHAPES["arched"]
    first, second = carved(part), carved(part)
    assert np.array_equal(first.vertices, second.vertices)
    assert np.array_equal(first.triangles, second.triangles)


def test_a_nut_cut_in_two_is_refused() -> None:
    with pytest.raises(CarvingError, match="2 pieces"):
        carved(nut(slots=(slot(floor_z=-4.0, depth=6.0, tilt_deg=0.5),)))
