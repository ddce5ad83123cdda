"""The stages of every kind as cuts on the blank: nothing of the finished part is ever cut, and the nut is left.

The part is the exported STL, read by trimesh; the cuts are the test's own (`cuts`), made of what `stages --json` and
`nut.json` tell; booleans are manifold3d's.
"""

import io
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold, Mesh, OpType

from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import stl_bytes
from nutgen.model.mesh import CHORD, mesh_of
from nutgen.model.solid import nut_solid
from nutgen.nut import solve
from nutgen.spec.read import parse_spec
from tests import calling
from tests.bench.cuts import Bench
from tests.cases import cases
from tests.kinds import text_of
from tests.specs import PRESETS

OVER = 0.02
"""What the last stage may leave on the nut [mm]."""

CRUMB = 1e-3
"""Less than this is no gouge: 0.004 deep and half a millimetre square [mm3]."""

KINDS = [path.stem for path in PRESETS]
AS_THEY_ARE = cases("classical", slow=[kind for kind in KINDS if kind != "classical"])


def told(text: str, folder: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    (folder / "mine.toml").write_text(text, "utf-8")
    found = []
    for command in ("stages", "check"):
        done = calling.run(command, "mine.toml", "--json", cwd=folder)
        assert done.returncode == 0, done.stderr
        found.append(json.loads(done.stdout))
    return found[0], found[1]


def exported(text: str) -> trimesh.Trimesh:
    solid = nut_solid(solve(parse_spec(text, source="mine")))
    return trimesh.load(io.BytesIO(stl_bytes(mesh_of(solid), Stamp("Cuts", "0123456789ab"))), file_type="stl")


def solid_of(mesh: trimesh.Trimesh) -> Manifold:
    return Manifold(Mesh(mesh.vertices.astype(np.float32), mesh.faces.astype(np.uint32)))


def meshed(solid: Manifold) -> trimesh.Trimesh:
    mesh = solid.to_mesh()
    return trimesh.Trimesh(mesh.vert_properties[:, :3], mesh.tri_verts, process=True)


class Part:
    """The exported nut, and how far a piece reaches into it or out of it."""

    def __init__(self, text: str) -> None:
        self.mesh = exported(text)
        self.solid = solid_of(self.mesh)
        self.near = trimesh.proximity.ProximityQuery(self.mesh)

    def farthest(self, piece: Manifold) -> float:
        """How far a piece between this surface and another reaches from this one, over points of its surface [mm]."""
        if piece.volume() < CRUMB:
            return 0.0
        mesh = meshed(piece)
        points = np.vstack([mesh.vertices, mesh.triangles_center])
        _, some = np.unique(np.round(points / 0.2).astype(int), axis=0, return_index=True)
        return float(self.near.on_surface(points[some])[1].max())


def check(text: str, folder: Path) -> None:
    """Saw the block, make every cut, and look at the part after each and at the end."""
    work, nut = told(text, folder)
    part, bench = Part(text), Bench(work, nut, board_radius=along_the_face(text, nut))
    assert part.solid.volume() == pytest.approx(part.mesh.volume, rel=1e-4)
    left = bench.sawn()
    assert (part.solid - left).is_empty()
    for stage, cuts in bench.cuts():
        if not cuts:
            assert not work["stages"][bench.names.index(stage)]["reach"] or stage == "fix"
            continue
        gone, before = Manifold.batch_boolean(cuts, OpType.Add), left.volume()
        left = left - gone
        assert left.volume() < before, stage
        assert part.farthest(part.solid ^ gone) <= CHORD, stage
    assert len(left.decompose()) == 1
    assert part.farthest(left - part.solid) <= OVER
    assert part.farthest(part.solid - left) <= CHORD


def along_the_face(text: str, nut: dict[str, Any]) -> float:
    """The board's radius as the nut meets it: along a slanted face R / cos^2."""
    radius = parse_spec(text, source="mine").fretboard.radius
    return radius / math.cos(math.radians(nut["nut"]["slant_deg"])) ** 2


def set_back(kind: str, material: str) -> str:
    """A kind with three starts by turns: before, at and between."""
    count = len(parse_spec(text_of(kind), source=kind).strings)
    starts = [f"{(0.5, 0.0, 0.25)[i % 3]} mm" for i in range(count)]
    return f'material = "{material}"\n{text_of(kind, {"slots.setback": starts})}'


@pytest.mark.parametrize("kind", AS_THEY_ARE)
def test_the_stages_leave_the_nut(kind: str, tmp_path: Path) -> None:
    check(text_of(kind), tmp_path)


@pytest.mark.parametrize(
    "kind", cases("electric-6-left", slow=["bass-4-fifths", "electric-6-slanted", "ukulele-soprano"])
)
def test_the_stages_leave_the_nut_and_its_shelf(kind: str, tmp_path: Path) -> None:
    """In brass, whose shelves may be thinner than low strings leave in bone."""
    check(set_back(kind, "brass"), tmp_path)
