"""Reads a mesh file in a process of its own, which may not use more time and memory than it is given.

Run as `python -m nutgen.stock.scan.child FILE KIND`; writes a line of JSON, then vertices (float64) and
triangles (int64), to its standard output. It fetches nothing, runs nothing and opens no other file.
"""

import contextlib
import json
import os
import sys
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nutgen.process import end_with_parent
from nutgen.stock.scan.header import MOST_PARTS, MeshRefused, check_counts, check_header

MEMORY = 2_000_000_000
"""Bytes of address space."""

SECONDS = 40
"""Of one core."""

FARTHEST = 1e7
"""Units from zero, past which the digits of a mesh do not suffice."""

OUTPUT = 400_000_000
"""Bytes written: the most vertices and triangles, twice over."""

NEEDLESS = ("scipy", "shapely", "rtree", "networkx", "manifold3d", "PIL", "lxml")
"""What trimesh loads where it can, and no reader needs: it takes longer than to read a scan."""

Arrays = tuple[NDArray[np.float64], NDArray[np.int64], str]


def main() -> None:
    """Read the file that the command line names, tell what came of it."""
    end_with_parent()
    _bound()
    sys.modules.update(dict.fromkeys(NEEDLESS))  # type: ignore[arg-type]
    out = os.fdopen(os.dup(1), "wb")
    with open(os.devnull, "wb") as nowhere:  # what a library may print is no part of the answer
        os.dup2(nowhere.fileno(), 1)
    try:
        vertices, triangles, unit = read(Path(sys.argv[1]), sys.argv[2])
    except MeshRefused as refused:
        _tell(out, refused=refused.finding.code, values=dict(refused.finding.values))
    except MemoryError:
        _tell(out, refused="scan.takes-memory", values={})
    except Exception as error:  # whatever a reader throws at a broken file
        reason = " ".join(str(error).split())[:120] or type(error).__name__
        _tell(out, refused="scan.unreadable", values={"form": sys.argv[2].upper(), "reason": reason})
    else:
        _tell(out, vertices=len(vertices), triangles=len(triangles), unit=unit)
        out.write(np.ascontiguousarray(vertices, np.float64).data)
        out.write(np.ascontiguousarray(triangles, np.int64).data)
    out.close()


def read(path: Path, kind: str) -> Arrays:
    """Vertices, triangles and the unit that the file states of itself, if it does. Raises MeshRefused and others."""
    check_header(path, kind)
    vertices, triangles, unit = _threemf(path) if kind == "3mf" else _by_trimesh(path, kind)
    if len(triangles) == 0:
        raise MeshRefused("scan.no-triangles")
    check_counts(vertices=len(vertices), triangles=len(triangles))
    if vertices.shape[1:] != (3,) or triangles.shape[1:] != (3,):
        raise MeshRefused("scan.not-triangles")
    lowest, highest = int(triangles.min()), int(triangles.max())
    if lowest < 0 or highest >= len(vertices):
        wrong = lowest if lowest < 0 else highest
        raise MeshRefused("scan.no-such-vertex", wrong=wrong, last=len(vertices) - 1)
    if not np.isfinite(vertices).all():
        raise MeshRefused("scan.not-a-number")
    if (farthest := np.abs(vertices).max()) > FARTHEST:
        raise MeshRefused("scan.far-away", farthest=f"{farthest:.2g}", most=f"{FARTHEST:.0e}")
    return vertices, triangles, unit


def _by_trimesh(path: Path, kind: str) -> Arrays:
    import trimesh

    with path.open("rb") as file:
        loaded: Any = trimesh.load(file, file_type=kind, process=False, skip_materials=True, resolver=None)
    if isinstance(loaded, trimesh.Scene):
        uses = [loaded.graph[node][1] for node in loaded.graph.nodes_geometry]
        if len(uses) > MOST_PARTS:
            raise MeshRefused("scan.too-many-parts", most=MOST_PARTS)
        meshes = [mesh for name in uses if hasattr(mesh := loaded.geometry[name], "faces")]
        check_counts(vertices=sum(len(m.vertices) for m in meshes), triangles=sum(len(m.faces) for m in meshes))
        loaded = loaded.to_mesh() if meshes else None
    if not hasattr(loaded, "faces"):
        raise MeshRefused("scan.no-triangles")
    return np.asarray(loaded.vertices, np.float64), np.asarray(loaded.faces, np.int64), ""


def _threemf(path: Path) -> Arrays:
    import lib3mf

    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(False)
    reader.ReadFromFile(str(path))
    unit = model.GetUnit()
    names = {
        lib3mf.ModelUnit.MilliMeter: "mm",
        lib3mf.ModelUnit.CentiMeter: "cm",
        lib3mf.ModelUnit.Meter: "m",
        lib3mf.ModelUnit.Inch: "in",
    }
    objects = model.MergeToModel().GetMeshObjects()
    vertices, triangles, first = list[NDArray[np.float64]](), list[NDArray[np.int64]](), 0
    while objects.MoveNext():
        mesh = objects.GetCurrentMeshObject()
        check_counts(vertices=mesh.GetVertexCount() + first, triangles=mesh.GetTriangleCount())
        if not mesh.GetTriangleCount():
            continue
        corners, rows = mesh.GetVertices(), mesh.GetTriangleIndices()
        vertices.append(_packed(lib3mf.Position, corners, np.float32).astype(np.float64))
        triangles.append(_packed(lib3mf.Triangle, rows, np.uint32).astype(np.int64) + first)
        first += len(vertices[-1])
    if not triangles:
        raise MeshRefused("scan.no-triangles")
    return np.vstack(vertices), np.vstack(triangles), names.get(unit, "another unit")


def _packed(kind: Any, entries: list[Any], number: type) -> NDArray[Any]:
    """Structures of three numbers each as rows of an array."""
    return np.frombuffer((kind * len(entries))(*entries), number).reshape(-1, 3)


def _tell(out: Any, **answer: object) -> None:
    out.write(json.dumps(answer).encode() + b"\n")


def _bound() -> None:
    """Set the limits, where the system knows any."""
    try:
        import resource
    except ImportError:
        return
    limits = (
        (resource.RLIMIT_AS, MEMORY),
        (resource.RLIMIT_CPU, SECONDS),
        (resource.RLIMIT_FSIZE, OUTPUT),
        (resource.RLIMIT_CORE, 0),
    )
    for limit, most in limits:
        with contextlib.suppress(ValueError, OSError):  # a lower limit already stands, or none is kept here
            resource.setrlimit(limit, (most, most))


if __name__ == "__main__":
    main()
