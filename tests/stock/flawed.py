"""Pieces with flaws, as a scanner would see them, made with manifold3d."""

from pathlib import Path

import manifold3d
import numpy as np
import trimesh
from manifold3d import CrossSection, Manifold

from nutgen.spec.piece import PieceSpec
from nutgen.spec.read import read_piece

FLAWS = ("cracked", "hollow", "forked", "noisy", "notched")


def slab(length: float, wide: float, high: float) -> Manifold:
    """A bar from x = 0 on, about the x axis."""
    return Manifold.cube((length, wide, high)).translate((0.0, -wide / 2.0, -high / 2.0))


def wedge(deep: float, mouth: float, *, lean_deg: float = 0.0) -> Manifold:
    """A crack from x = 0 on, through the whole height; it closes with its depth and leans sideways."""
    flat = CrossSection([[(-1.0, -mouth / 2.0), (deep, 0.0), (-1.0, mouth / 2.0)]])
    return flat.extrude(200.0).translate((0.0, 0.0, -100.0)).rotate((lean_deg, 0.0, 0.0))


def _body(rng: np.random.Generator) -> tuple[Manifold, float, float, float]:
    length, wide, high = rng.uniform(56.0, 110.0), rng.uniform(9.0, 22.0), rng.uniform(7.5, 16.0)
    if rng.random() < 0.5:
        return slab(length, wide, high), length, wide, high
    shrink = rng.uniform(0.75, 1.0)
    rod = Manifold.cylinder(length, 0.5, 0.5 * shrink, 96).rotate((0.0, 90.0, 0.0))
    return rod.scale((1.0, wide, high)), length, wide, high


def flawed(seed: int) -> Manifold:
    """A random piece with one kind of flaw."""
    rng = np.random.default_rng(seed)
    flaw = FLAWS[seed % len(FLAWS)]
    body, length, wide, high = _body(rng)
    if flaw == "cracked":
        crack = wedge(rng.uniform(0.3, 0.95) * length, rng.uniform(0.05, 1.5), lean_deg=rng.uniform(-90.0, 90.0))
        return body - crack.translate((0.0, rng.uniform(-0.3, 0.3) * wide, 0.0))
    if flaw == "hollow":
        ball = Manifold.sphere(rng.uniform(0.3, 0.35 * min(wide, high)), 48)
        where = rng.uniform([0.2 * length, -0.1 * wide, -0.1 * high], [0.8 * length, 0.1 * wide, 0.1 * high])
        return body - ball.translate(tuple(where))
    if flaw == "forked":
        arm = Manifold.cylinder(0.6 * length, 0.4 * min(wide, high), 0.25 * min(wide, high), 64)
        turned = arm.rotate((0.0, rng.uniform(35.0, 70.0), rng.uniform(-180.0, 180.0)))
        return body + turned.translate((rng.uniform(0.3, 0.7) * length, 0.0, 0.0))
    if flaw == "notched":
        notch = Manifold.cube((rng.uniform(1.0, 8.0), 100.0, rng.uniform(0.5, 0.4 * high)), center=True)
        turned = notch.rotate((rng.uniform(0.0, 360.0), 0.0, rng.uniform(-30.0, 30.0)))
        return body - turned.translate((rng.uniform(0.2, 0.8) * length, 0.0, high / 2.0))
    rough, size = body.refine_to_length(1.5), rng.uniform(0.02, 0.25)
    return rough.warp_batch(lambda points: points + np.random.default_rng(seed).normal(0.0, size, points.shape))


def written(piece: Manifold, folder: Path, *, more: str = "no_core = true") -> PieceSpec:
    """The piece as an STL file with its piece file, read through the door."""
    mesh = piece.to_mesh()
    trimesh.Trimesh(mesh.vert_properties[:, :3], mesh.tri_verts, process=False).export(folder / "piece.stl")
    lines = ['title = "A flawed piece"', more, "[scan]", 'file = "piece.stl"', 'units = "mm"', "along = [1, 0, 0]"]
    (folder / "piece.toml").write_text("\n".join(lines))
    return read_piece(folder / "piece.toml")


def on_disk(folder: Path) -> Manifold:
    """The mesh file as manifold3d takes it: the judge of what sticks out of it."""
    mesh = trimesh.load(folder / "piece.stl")
    solid = Manifold(manifold3d.Mesh64(np.array(mesh.vertices, np.float64), np.array(mesh.faces, np.uint64)))
    assert solid.status() == manifold3d.Error.NoError
    return solid


def sticking_out(size: tuple[float, float, float], matrix: np.ndarray, piece: Manifold) -> float:
    """Volume of a block outside a piece.

    size    : of the block [mm]
    matrix  : (4, 4) from the block's own frame, zero in its middle, to the piece's file
    returns : [mm3]
    """
    return float((Manifold.cube(size, center=True).transform(np.array(matrix)[:3]) - piece).volume())
