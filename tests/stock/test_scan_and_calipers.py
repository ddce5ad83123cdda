"""The demo pieces by scan and by calipers: the same margin; and it is really there, in the file that the scanner wrote.

What was laid is moved into the scan's own frame and measured against the mesh file as trimesh reads it, by
trimesh's rays and distances: nothing of the reading, the search or its distances takes part.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from nutgen.geometry.mesh import Array, Mesh
from nutgen.geometry.pose import Pose
from nutgen.nut import solve
from nutgen.spec.piece import PieceSpec
from nutgen.spec.presets import PIECES, find_piece, kind_path
from nutgen.spec.read import read_piece, read_spec
from nutgen.stock.block import Block, Region
from nutgen.stock.calipers import piece_from_calipers
from nutgen.stock.laid import Answer, Laid
from nutgen.stock.lay.lay import lay
from nutgen.stock.piece import Piece
from nutgen.stock.scan.piece import piece_from_scan
from nutgen.stock.sizing import block_of
from tests.conftest import Made
from tests.stock.solids import margin_by_trimesh, random_points

BONE, ANTLER = "shin-bone", "antler-beam"
KINDS = ("bass-4-fifths", "electric-6", "acoustic-6")
CASES = [(name, kind) for name in (BONE, ANTLER) for kind in KINDS]

OVER = 0.05
"""By how much a margin may be told too large [mm]."""

COUNT = 20_000

pytestmark = pytest.mark.slow


@dataclass(frozen=True)
class Case:
    """A nut laid in a demo piece, by scan and by calipers."""

    block: Block
    piece: Piece
    scanned: Answer
    calipered: Answer


@cache
def spec_of(name: str) -> PieceSpec:
    return read_piece(find_piece(name))


@cache
def scanned_piece(name: str) -> Piece:
    spec = spec_of(f"{name}-scan")
    return piece_from_scan(spec, spec.folder)[0]


@cache
def case(name: str, kind: str) -> Case:
    nut, piece, by_calipers = solve(read_spec(kind_path(kind))), scanned_piece(name), piece_from_calipers(spec_of(name))
    block = block_of(nut, piece.material, piece.permitted)
    return Case(block, piece, lay(piece, block), lay(by_calipers, block))


@cache
def mesh_file(name: str) -> trimesh.Trimesh:
    """A mesh as it lies on the disk, in the scanner's frame."""
    mesh = trimesh.load(PIECES / name, process=False)
    assert isinstance(mesh, trimesh.Trimesh)
    return mesh


def surface_of(mesh: trimesh.Trimesh) -> Mesh:
    return Mesh(np.array(mesh.vertices), np.array(mesh.faces, np.int64))


def in_scan(found: Laid, piece: Piece) -> Laid:
    """The same block in the frame of the scan."""
    return replace(found, pose=piece.to_source.compose(found.pose))


@pytest.mark.parametrize(("name", "kind"), CASES)
def test_both_ways_of_measuring_find_the_same_margin(name: str, kind: str) -> None:
    """Lumps of 0.13 mm, readings rounded to 0.1 mm, walls known at the cuts alone: less than 0.3 mm in all."""
    found = case(name, kind)
    assert abs(found.scanned.margin - found.calipered.margin) < 0.3
    assert found.scanned.fits == found.calipered.fits


@pytest.mark.parametrize("name", [BONE, ANTLER])
def test_the_piece_lies_where_the_scan_does(name: str) -> None:
    """Back in the scanner's frame the skin's corners are those of the file."""
    piece = scanned_piece(name)
    turn = piece.to_source.axes
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(turn) == pytest.approx(1.0)
    back = piece.to_source.apply(piece.skin.vertices)
    away, _ = cKDTree(mesh_file(f"{name}.ply").vertices).query(back)
    assert away.max() < 1e-4


@pytest.mark.parametrize("kind", KINDS)
def test_margin_in_the_bone_is_there_in_both_mesh_files(kind: str) -> None:
    found = case(BONE, kind)
    skin, core = (surface_of(mesh_file(f"{BONE}{end}.ply")) for end in ("", "-core"))
    original = replace(found.piece, skin=skin, core=core)
    there = margin_by_trimesh(in_scan(found.scanned.laid[0], found.piece), found.block, original, count=COUNT)
    assert found.scanned.margin <= there + OVER
    assert found.scanned.margin >= there - OVER  # nor is room given away


@pytest.mark.parametrize("kind", KINDS)
def test_margin_in_the_antler_is_there_beneath_the_skin_of_the_file(kind: str) -> None:
    """No core mesh: what must be compact is nowhere deeper than the stated wall, less what it keeps and the margin."""
    found, mesh = case(ANTLER, kind), mesh_file(f"{ANTLER}.ply")
    scan = spec_of(f"{ANTLER}-scan").scan
    assert scan is not None
    assert scan.wall is not None
    assert scan.along is not None
    (laid,) = found.scanned.laid
    moved = in_scan(laid, found.piece)
    skin = replace(found.piece, skin=surface_of(mesh), core=None)
    on_skin = margin_by_trimesh(moved, found.block, skin, count=COUNT)
    assert laid.skin_margin <= on_skin + OVER
    compact = [region for region in found.block.regions if region.against == "core"]
    assert compact
    bare = sides(mesh, np.array(scan.along))
    in_core = min(scan.wall - deepest(region, moved.pose, bare) - region.keep for region in compact)
    assert laid.core_margin is not None
    assert laid.core_margin <= in_core + OVER
    assert min(on_skin, in_core) - OVER <= found.scanned.margin <= min(on_skin, in_core) + OVER


def sides(mesh: trimesh.Trimesh, along: Array) -> trimesh.Trimesh:
    """A skin without its two saw cuts: no wall lies beneath those."""
    height = mesh.triangles_center @ along
    level = np.abs(mesh.face_normals @ along) > 0.95
    cut = level & ((height < height.min() + 0.5) | (height > height.max() - 0.5))
    assert 0.02 < cut.mean() < 0.3
    return trimesh.Trimesh(mesh.vertices, mesh.faces[~cut], process=True)


def deepest(region: Region, pose: Pose, skin: trimesh.Trimesh) -> float:
    """How far beneath a skin the deepest of a region's points lies, on its faces and within [mm].

    A vertex is never nearer than the skin: points whose nearest vertex is nearer than the deepest point so far
    cannot be deeper, so that only the rest are measured against triangles.
    """
    outline = np.array(region.outline)
    low, high = [region.low, *outline.min(axis=0)], [region.high, *outline.max(axis=0)]
    within = np.random.default_rng(11).uniform(low, high, (COUNT // 4, 3))
    points = np.vstack([random_points(region, COUNT), within]) @ pose.axes + pose.at
    from_vertex, _ = cKDTree(skin.vertices).query(points)
    best = 0.0
    order = np.argsort(-from_vertex)
    for start in range(0, len(order), 500):
        some = order[start : start + 500]
        if from_vertex[some[0]] <= best:
            break
        _, distance, _ = trimesh.proximity.closest_point(skin, points[some])
        best = max(best, float(distance.max()))
    return best


@pytest.mark.parametrize(("name", "kind"), [(BONE, "bass-4-fifths"), (ANTLER, "electric-6")])
def test_blank_on_the_disk_lies_in_the_scan(name: str, kind: str, made: Callable[..., Made]) -> None:
    """The blank that the command wrote, read back beside the scan's own file: all its corners inside, by the margin."""
    folder = made("stock", kind, "--piece", f"{name}-scan").folder
    written = json.loads((folder / "stock.json").read_text("utf-8"))
    blank = trimesh.load(folder / "blank.stl")
    skin, expected = mesh_file(f"{name}.ply"), case(name, kind)
    corners = np.asarray(blank.vertices)
    assert len(corners) == 8
    assert blank.is_volume
    assert blank.volume == pytest.approx(np.prod(expected.block.size), rel=1e-5)
    assert np.all(skin.contains(corners))
    _, distance, _ = trimesh.proximity.closest_point(skin, corners)
    assert distance.min() >= written["margin"] - OVER
    assert written["margin"] == pytest.approx(expected.scanned.margin, abs=1e-3)
