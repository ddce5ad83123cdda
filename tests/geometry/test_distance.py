"""Distances to thin walls, whose large triangles have the nearest corners of all on their far side."""

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold

from nutgen.geometry.distance import Distances
from nutgen.geometry.mesh import Array, Mesh, mesh_of_manifold

LONG, INNER, OUTER = 40.0, 2.7, 3.0


def tube(longest: float) -> Distances:
    """A thin tube about the x axis whose triangles are a tenth of a millimetre wide, and so long."""
    rods = [Manifold.cylinder(LONG, radius, radius, 192, center=True) for radius in (OUTER, INNER)]
    solid = (rods[0] - rods[1]).rotate((0.0, 90.0, 0.0))
    return Distances(mesh_of_manifold(solid.refine_to_length(longest)))


def from_tube(points: Array) -> Array:
    """Signed distance by arithmetic: in the half plane through its axis the tube is a rectangle."""
    from_axis = np.hypot(points[:, 1], points[:, 2])
    over = np.abs(np.stack([points[:, 0], from_axis - (INNER + OUTER) / 2.0]))
    over -= np.array([[LONG / 2.0], [(OUTER - INNER) / 2.0]])
    return np.hypot(*np.maximum(over, 0.0)) + np.minimum(over.max(axis=0), 0.0)


@pytest.mark.parametrize("longest", [0.5, 1.0, 2.0])
def test_a_tube_thinner_than_its_triangles_are_long(longest: float) -> None:
    near = tube(longest)
    draw = np.random.default_rng(3)
    radius, turn = draw.uniform(INNER - 0.4, OUTER + 0.4, 4000), draw.uniform(0.0, 2.0 * np.pi, 4000)
    points = np.stack([draw.uniform(-20.4, 20.4, 4000), radius * np.cos(turn), radius * np.sin(turn)], axis=1)
    truly = from_tube(points)
    assert near.exact(points) == pytest.approx(truly, abs=5e-4)  # 192 sides stand in for a circle
    told, away = near.near(points)
    assert np.mean(np.abs(told - truly) > 0.02) < 0.005
    assert np.all(np.abs(told) >= np.abs(truly) - 5e-4)  # of fewer triangles none is nearer
    assert np.linalg.norm(away, axis=1) == pytest.approx(1.0)
    assert np.mean(np.abs(near.near(points, nearest=3)[0] - truly) > 0.02) < 0.001


@pytest.mark.parametrize("above", [-0.1, 0.05, 0.2])
def test_a_large_face_over_the_corners_of_the_other_side(above: float) -> None:
    """Four corners near each other lie 0.5 below the middle of a face whose own are 1.4 away."""
    across = [(x, y, 0.0) for x in (0.0, 2.0) for y in (0.0, 2.0)]
    below = [(x, y, -0.5) for x in (0.9, 1.1) for y in (0.9, 1.1)]
    hull = trimesh.convex.convex_hull(np.array(across + below))
    near = Distances(Mesh(np.array(hull.vertices), np.array(hull.faces)))
    points = np.array([(x, y, above) for x in np.linspace(0.9, 1.1, 9) for y in np.linspace(0.9, 1.1, 9)])
    assert near.near(points)[0] == pytest.approx(np.full(len(points), above), abs=1e-9)
