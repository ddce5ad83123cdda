"""The mesh and its edges against trimesh's."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from nutgen.geometry.mesh import Mesh, bodies_of, to_agree, welded

CUBE = trimesh.creation.box((2.0, 3.0, 4.0))


def as_mesh(read: trimesh.Trimesh) -> Mesh:
    return Mesh(np.asarray(read.vertices, float), np.asarray(read.faces, np.int64))


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
        assert bodies_of(as_mesh(read).edges)[0] == read.body_count == count


class TestWelding:
    """Nodes of neighbouring faces become one."""

    def test_loose_triangles_close_up(self) -> None:
        assert loose(as_mesh(CUBE)).faults
        mesh, kept = welded(loose(as_mesh(CUBE)), 1e-6)
        assert mesh.faults == []
        assert kept.all()
        assert len(mesh.vertices) == 8
        assert mesh.volume == pytest.approx(24.0)

    def test_triangles_that_lose_their_area_go(self) -> None:
        ball = as_mesh(trimesh.creation.icosphere(3))
        coarse, kept = welded(ball, 0.2)
        assert len(coarse.triangles) == kept.sum() < len(ball.triangles)
        assert all(len(set(row)) == 3 for row in coarse.triangles.tolist())

    def test_cells_too_many_for_one_number_are_told_apart(self) -> None:
        mesh, _ = welded(loose(as_mesh(CUBE)), 1e-12)
        assert len(mesh.vertices) == 8


class TestAgreement:
    """What flips and parts against trimesh's own."""

    def test_neighbours_agree_again(self) -> None:
        ball = as_mesh(trimesh.creation.icosphere(3))
        some = np.random.default_rng(7).random(len(ball.triangles)) < 0.3
        spoiled = ball.flipped(some)
        over = to_agree(spoiled.edges)
        assert over is not None
        assert np.array_equal(over, some)
        assert trimesh.Trimesh(*_arrays(spoiled.flipped(over)), process=False).is_winding_consistent

    def test_a_part_holds_no_other_vertices(self) -> None:
        ball = as_mesh(trimesh.creation.icosphere(2))
        half = ball.part(ball.facing[:, 2] > 0.0)
        assert set(half.triangles.ravel()) == set(range(len(half.vertices)))
        assert half.areas.sum() == pytest.approx(ball.areas.sum() / 2.0, rel=0.1)
        assert len(half.edges.open) > 0
        assert (half.edges.neighbours() < 0).sum() == len(half.edges.open)

    def test_numbers_are_those_of_trimesh(self) -> None:
        read = trimesh.creation.annulus(r_min=8.0, r_max=16.0, height=80.0)
        mesh = as_mesh(read)
        assert mesh.areas == pytest.approx(read.area_faces)
        assert mesh.facing == pytest.approx(read.face_normals, abs=1e-9)
        assert mesh.volume == pytest.approx(read.volume)
        assert len(mesh.edges.first) == len(read.edges_unique)


def _arrays(mesh: Mesh) -> tuple[np.ndarray, np.ndarray]:
    return mesh.vertices, mesh.triangles
