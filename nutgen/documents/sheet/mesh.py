"""A mesh packed small for a page: 16 bits a coordinate, 8 bits a normal, and the edges to see.

Corners are shared within a face of the solid and kept apart between faces, so that round faces look
round and edges look crisp.
"""

import base64
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from nutgen.theory import Array, Ints

if TYPE_CHECKING:
    from nutgen.model.mesh import SolidMesh

STEPS = 65535
"""Steps of a coordinate over the longest side: below 0.002 mm for any nut."""

SMOOTH = np.cos(np.radians(2.0))
"""Faces that meet at less than this run on into each other: no edge is drawn."""


def packed_mesh(mesh: "SolidMesh") -> dict[str, Any]:
    """What a page needs to draw a part.

    returns : base64 of little-endian arrays, in words of JSON
        places    uint16, 3 a corner; times `step` plus `low` it is mm
        normals   int8, 3 a corner, of length 127
        triangles uint16 (uint32 where there are more corners), 3 a triangle
        edges     the same, 2 a line: where two faces of the solid meet at an angle
        low, step : lists of 3, one number [mm]
    """
    vertex, normals, triangles = _split(mesh)
    return packed(mesh.vertices[vertex], normals, triangles, _edges(mesh, normals, triangles))


def packed(places: Array, normals: Array, triangles: Ints, edges: Ints) -> dict[str, Any]:
    """Corners, each with its normal, and triangles and lines over them, as `packed_mesh` says.

    places, normals  : (n, 3) [mm], and unit vectors
    triangles, edges : (m, 3) and (k, 2) numbers of corners
    """
    low = places.min(axis=0)
    step = float((places.max(axis=0) - low).max()) / STEPS
    number = "<u2" if len(places) <= STEPS else "<u4"
    return {
        "places": _text(np.rint((places - low) / step).astype("<u2")),
        "normals": _text(np.rint(127.0 * normals).astype("i1")),
        "triangles": _text(triangles.astype(number)),
        "edges": _text(edges.astype(number)),
        "low": [round(float(value), 5) for value in low],
        "step": step,
        "wide": number == "<u4",
    }


def _text(values: NDArray[Any]) -> str:
    return base64.b64encode(np.ascontiguousarray(values).tobytes()).decode()


def _split(mesh: "SolidMesh") -> tuple[Ints, Array, Ints]:
    """One corner for each pair of vertex and face: its vertex and its normal; and triangles over corners."""
    faces = int(mesh.faces.max()) + 1
    pairs = mesh.triangles * faces + mesh.faces[:, np.newaxis]
    found, first, corner = np.unique(pairs, return_index=True, return_inverse=True)
    return found // faces, mesh.normals.reshape(-1, 3)[first], corner.reshape(-1, 3)


def _edges(mesh: "SolidMesh", normals: Array, triangles: Ints) -> Ints:
    """Sides of triangles whose neighbour lies on another face and turns away from them, each once."""
    one, other = mesh.edges.side.reshape(-1, 2).T  # a closed mesh has every side twice, run through both ways
    starts, stops = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    turn = np.minimum(
        np.einsum("ij,ij->i", normals[starts[one]], normals[stops[other]]),
        np.einsum("ij,ij->i", normals[stops[one]], normals[starts[other]]),
    )
    seen = (np.repeat(mesh.faces, 3)[one] != np.repeat(mesh.faces, 3)[other]) & (turn < SMOOTH)
    return np.stack([starts[one[seen]], stops[one[seen]]], axis=1)
