"""Jigs of kinds on a bench whose tools steel can stop, read back from the STL that a printer gets."""

import io
import os
from functools import cache
from typing import Any

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

import nutgen
from nutgen.bench.materials import MATERIALS
from nutgen.documents.words.catalogue import sentence
from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import stl_bytes
from nutgen.geometry.mesh import Mesh, manifold_of
from nutgen.jigs.choose import MAKERS
from nutgen.jigs.jig import Jig, JigName, NoJigError
from nutgen.jigs.lay import Laid, laid
from nutgen.jigs.task import Task
from nutgen.model.mesh import mesh_of
from nutgen.spec.presets import kind_names
from nutgen.spec.read import parse_spec, spec_hash
from nutgen.spec.workshop import SLOT_FILES
from tests.kinds import text_of

COMPENSATED = {"bass-5": {"slots.setback": [0.6, 0.0, 0.3, 0.35, 0.1]}}
"""What is changed in a kind, so that one of them starts each string in a place of its own."""

DRAWS = int(os.environ.get("NUTGEN_JIGS", "4"))
"""How many random nuts; with more than a few, every kind is worked on too. 100 were by hand, see DEVELOPERS.md."""

MANY = DRAWS > 9

KINDS = kind_names() if MANY else ("bass-5", "electric-6-slanted")
"""Whose jigs the work is simulated with."""

BENCH = {
    "steel": ["0.3 mm"],
    "blades": [
        {"tool": "saw", "width": "0.30 mm", "height": "18.0 mm", "length": "120.0 mm", "sides": "smooth"},
        {"tool": "saw", "width": "0.55 mm", "height": "32.0 mm", "length": "200.0 mm", "sides": "smooth"},
        *(
            {"tool": "file", "width": f"{width:.4f} mm", "height": "11.0 mm", "length": "60.0 mm", "sides": "smooth"}
            for width in SLOT_FILES
        ),
    ],
}


def task_of(kind: str, changes: dict[str, Any] | None = None, bench: dict[str, Any] | None = None) -> Task:
    """The task of a kind with the bench of these tests, or another."""
    tools = BENCH if bench is None else bench
    return task_from(text_of(kind, {"tools": tools, **(changes or {})}), kind)


def task_from(text: str, source: str) -> Task:
    """The task of a file."""
    spec = parse_spec(text, source=source)
    mark = spec_hash(spec)[:6]
    return Task(nutgen.solve(spec), spec.tools, spec.print, MATERIALS[spec.material], spec.errors, mark)


@cache
def made(kind: str, name: JigName) -> tuple[Task, Jig, tuple[Laid, ...]]:
    """A jig of a kind and its parts on the bed."""
    task = task_of(kind, COMPENSATED.get(kind))
    try:
        jig = MAKERS[name](task)
    except NoJigError as error:
        pytest.skip("; ".join(sentence(why) for why in error.why))
    return task, jig, tuple(laid(part, task.printer) for part in jig.parts)


def printed(one: Laid) -> Mesh:
    """A part as its STL has it, where it is used in the nut's frame."""
    found = trimesh.load(io.BytesIO(stl_bytes(one.mesh, Stamp("t", "h"))), file_type="stl")
    low = (one.part.used.apply_inverse(one.used.vertices) - one.mesh.vertices)[0]
    found.merge_vertices()
    return Mesh(one.part.used.apply(np.asarray(found.vertices) + low), np.asarray(found.faces, np.int64))


def solid(one: Laid) -> Any:
    """The same for manifold3d."""
    return manifold_of(printed(one))


def block(low: Any, high: Any) -> Any:
    """A block for manifold3d."""
    from manifold3d import Manifold

    return Manifold.cube(tuple(np.subtract(high, low))).translate(tuple(low))


def heights(mesh: Mesh, places: NDArray[np.float64]) -> NDArray[np.float64]:
    """Highest point of a mesh over places (n, 2); -inf where there is none [mm]."""
    body = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    start = np.column_stack([places, np.full(len(places), 500.0)])
    spots, rays, _ = body.ray.intersects_location(start, np.tile([0.0, 0.0, -1.0], (len(places), 1)))
    found = np.full(len(places), -np.inf)
    np.maximum.at(found, rays, spots[:, 2])
    return found


def blank(task: Task, low: float, high: float, *, over: float, back: float) -> Any:
    """The blank seen from above, raised from one height to another."""
    from manifold3d import CrossSection, Manifold

    nut = task.nut
    points = [(float(nut.end_x(-1, back)) - over, back)]
    for n, one in enumerate(nut.steps):
        left = float(nut.end_x(-1, one.front)) - over if n == 0 else nut.steps[n - 1].right
        right = float(nut.end_x(1, one.front)) + over if n == len(nut.steps) - 1 else one.right
        points += [(left, one.front), (right, one.front)]
    points.append((float(nut.end_x(1, back)) + over, back))
    return Manifold.extrude(CrossSection([points]), high - low).translate((0.0, 0.0, low))


def finished(task: Task) -> Any:
    """The nut that is wanted, for manifold3d."""
    return manifold_of(mesh_of(nutgen.solid(task.nut)))


def values(jig: Jig, code: str) -> dict[str, Any]:
    """What a step or a promise tells."""
    (found,) = [one for one in (*jig.steps, *jig.promise) if one.code == code]
    return dict(found.values)
