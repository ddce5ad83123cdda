"""A surface of many triangles made light enough to be looked at on a page: for the eye only, never measured."""

import numpy as np

from nutgen.geometry.mesh import Array, Ints, Mesh, edges_of, manifold_of, mesh_of_manifold

CREASE = np.cos(np.radians(40.0))
"""Triangles that meet at less than this run on into each other; sharper sides are drawn as edges."""

FINEST = 0.01
"""How far a thinned surface may lie from the true one, to begin with [mm]; doubled until there are few enough."""

NEEDLE = 0.08
"""A triangle less high than this has no direction that the eye could tell [mm]: it takes its neighbours'."""

ENOUGH = 40
"""Neighbours about one vertex that are asked; a fan of more is flat."""


def thinned(vertices: Array, triangles: Ints, *, most: int) -> tuple[Array, Ints]:
    """At most `most` triangles in place of more, as near to the true surface as that allows.

    vertices, triangles : a closed surface: (n, 3) [mm] and (m, 3)
    returns             : the same where they are few enough, or where the surface cannot be thinned
    """
    if len(triangles) <= most:
        return vertices, triangles
    try:
        body = manifold_of(Mesh(vertices, triangles))
    except ValueError:
        return vertices, triangles
    off = FINEST
    while (body := body.set_tolerance(off)).num_tri() > most:
        off *= 2.0
    mesh = mesh_of_manifold(body)
    return mesh.vertices, mesh.triangles


def shaded(vertices: Array, triangles: Ints) -> tuple[Array, Array, Ints, Ints]:
    """Corners with normals that are smooth over a rounding and crisp at a crease.

    returns : places (k, 3) [mm], normals (k, 3), triangles over corners, creases as pairs of corners
    """
    corners = vertices[triangles]
    leaning = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    across = edges_of(triangles).neighbours()
    flat = _directions(corners, leaning, across)
    normals = _corner_normals(len(vertices), triangles, leaning, flat)
    # corners of one vertex whose normals agree are one
    coarse = np.rint(127.0 * normals).astype(np.int64) + 128
    key = ((triangles.ravel() * 256 + coarse[:, 0]) * 256 + coarse[:, 1]) * 256 + coarse[:, 2]
    _, first, number = np.unique(key, return_index=True, return_inverse=True)
    shared = number.reshape(-1, 3)
    return vertices[triangles.ravel()[first]], normals[first], shared, _creases(shared, flat, across)


def _directions(corners: Array, leaning: Array, across: Ints) -> Array:
    """Unit normals, (m, 3); a needle takes that of the triangle along its longest side."""
    sides = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
    flat = leaning / np.maximum(np.linalg.norm(leaning, axis=1, keepdims=True), 1e-12)
    needles = np.flatnonzero(np.linalg.norm(leaning, axis=1) < NEEDLE * sides.max(axis=1))
    along = across[3 * needles + sides[needles].argmax(axis=1)]
    needles, along = needles[along >= 0], along[along >= 0]
    for _ in range(3):  # needles beside needles
        flat[needles] = flat[along // 3]
    return flat


def _corner_normals(count: int, triangles: Ints, leaning: Array, flat: Array) -> Array:
    """For each corner of each triangle: the sum of its neighbours about that vertex which turn away little."""
    vertex = triangles.ravel()
    face = np.repeat(np.arange(len(triangles)), 3)
    order = np.argsort(vertex, kind="stable")
    start = np.searchsorted(vertex[order], np.arange(count + 1))
    normals = np.zeros((len(vertex), 3))
    first, around = start[vertex], np.diff(start)[vertex]
    asked = np.arange(len(vertex))  # corners that have one more neighbour
    for step in range(min(ENOUGH, int(around.max()))):
        asked = asked[around[asked] > step]
        other = face[order[first[asked] + step]]
        near = np.einsum("ij,ij->i", flat[face[asked]], flat[other]) >= CREASE
        normals[asked[near]] += leaning[other[near]]
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    return np.where(length > 1e-12, normals / np.maximum(length, 1e-12), flat[face])


def _creases(shared: Ints, flat: Array, across: Ints) -> Ints:
    """Sides where two triangles meet at a crease, once each, as pairs of corners."""
    one = np.flatnonzero(across > np.arange(len(across)))
    sharp = one[np.einsum("ij,ij->i", flat[one // 3], flat[across[one] // 3]) < CREASE]
    return np.stack([shared.ravel()[sharp], np.roll(shared, -1, axis=1).ravel()[sharp]], axis=1)
