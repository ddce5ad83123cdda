"""STL files read back: closed forms of boxes, and trimesh's own verdict on the same file."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from nutgen.formats.stl import read_stl
from nutgen.jobs.provers import mesh_file

SIZE = (45.0, 8.0, 9.0)


def written(folder: Path, *meshes: trimesh.Trimesh) -> Path:
    path = folder / "solid.stl"
    trimesh.util.concatenate(meshes).export(path)
    return path


def box(*, at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> trimesh.Trimesh:
    return trimesh.creation.box(SIZE, transform=trimesh.transformations.translation_matrix(at))


def proved(path: Path, *, bodies: int = 1, at: float = 0.0, step: float = 0.0) -> list[str]:
    """What does not hold of a box of SIZE, its middle at a place along x."""
    lowest = np.array([at, 0.0, 0.0]) - np.array(SIZE) / 2.0
    proof = mesh_file(SIZE, float(np.prod(SIZE)), path, lowest=lowest.tolist(), bodies=bodies, step=step)
    return [check.what for check in proof.checks if not check.holds]


def test_a_box_is_what_it_is(tmp_path: Path) -> None:
    found = read_stl(written(tmp_path, box()))
    assert found.volume == pytest.approx(np.prod(SIZE), rel=1e-6)
    assert np.subtract(found.highest, found.lowest) == pytest.approx(SIZE, abs=1e-5)
    assert found.closed
    assert found.bodies == 1
    assert proved(tmp_path / "solid.stl") == []


def test_a_hole_is_found(tmp_path: Path) -> None:
    open_box = box()
    open_box.update_faces(np.arange(12) != 5)
    path = written(tmp_path, open_box)
    assert not trimesh.load(path).is_watertight
    assert "closed, facing outward" in proved(path)


def test_one_triangle_the_wrong_way_round_is_found(tmp_path: Path) -> None:
    turned = box()
    turned.faces[3] = turned.faces[3][::-1]
    path = written(tmp_path, turned)
    assert not trimesh.load(path, process=True).is_winding_consistent
    assert "closed, facing outward" in proved(path)


def test_a_box_inside_out_is_found(tmp_path: Path) -> None:
    inside_out = box()
    inside_out.invert()
    assert "closed, facing outward" in proved(written(tmp_path, inside_out))


def test_bodies_are_counted(tmp_path: Path) -> None:
    path = written(tmp_path, box(), box(at=(60.0, 0.0, 0.0)), box(at=(0.0, 20.0, 0.0)))
    assert read_stl(path).bodies == trimesh.load(path).body_count == 3


def test_a_lumpy_ball_is_as_trimesh_says(tmp_path: Path) -> None:
    ball = trimesh.creation.icosphere(subdivisions=5, radius=20.0)
    ball.vertices *= 1.0 + 0.1 * np.sin(3.0 * ball.vertices[:, :1])
    path = written(tmp_path, ball)
    found, other = read_stl(path), trimesh.load(path)
    assert found.volume == pytest.approx(other.volume, rel=1e-9)
    assert np.stack([found.lowest, found.highest]) == pytest.approx(other.bounds, abs=1e-9)
    assert found.closed == other.is_watertight


@pytest.mark.parametrize("away", [1e4, 3e4, 1e5])
def test_far_from_the_origin_it_holds_as_well_as_single_precision_does(tmp_path: Path, away: float) -> None:
    """IEEE 754: 24 bits of significand, so that neighbours at 2 to the 16 are 2 to the -7 apart."""
    shift = away + 0.0137
    path = written(tmp_path, box(at=(shift, 0.0, 0.0)))
    assert proved(path, at=shift, step=2.0 ** (np.floor(np.log2(away)) - 23)) == []
    assert "lowest x" in proved(path, at=shift + 0.1, step=2.0 ** (np.floor(np.log2(away)) - 23))


def test_what_is_no_stl_file_is_told(tmp_path: Path) -> None:
    path = tmp_path / "solid.stl"
    path.write_bytes(b"not a solid")
    with pytest.raises(ValueError, match="not a binary STL"):
        read_stl(path)
