"""A surface of many triangles made light enough to be looked at on a page: for the eye only, never measured."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

CREASE = np.cos(np.radians(40.0))
"""Triangles that meet at less than this run on into each other; sharper sides are drawn as edges."""

ENOUGH = 40
"""Neighbours about one vertex that are asked; a fan of more is flat."""


def thinned(vertices: Array, triangles: Ints, *, most: int) -> tuple[Array, Ints]:
    """About `most` triangles in place of more: all vertices in one cell of a grid become one.

    vertices, triangles : (n, 3) [mm] and (m, 3)
    returns             : the same, or fewer of both

    J. Rossignac, P. Borrel, Multi-resolution 3D approximations for rendering complex scenes (1993):
    clusters of vertices; P. Lindstrom, Out-of-core simplification of large polygonal models (2000):
    the one that stands for a cluster lies nearest to the planes of all its triangles, so that the rim
    of a saw cut stays where it is. Cells as wide as two triangles' share of the area leave about as many.
    """
    if len(triangles) <= most:
        return vertices, triangles
    a, b, c = vertices[triangles].transpose(1, 0, 2)
    leaning = np.cross(b - a, c - a)
    cell = np.sqrt(np.linalg.norm(leaning, axis=1).sum() / most)
    places = np.floor((vertices - vertices.min(axis=0)) / cell).astype(np.int64)
    across = places.max(axis=0) + 1
    key = (places[:, 0] * across[1] + places[:, 1]) * across[2] + places[:, 2]
    _, number = np.unique(key, return_inverse=True)
    fewer = number[triangles]
    middles = _nearest_to_planes(vertices, number, fewer, leaning, a, cell)
    whole = (fewer[:, 0] != fewer[:, 1]) & (fewer[:, 1] != fewer[:, 2]) & (fewer[:, 2] != fewer[:, 0])
    fewer = fewer[whole]
    _, first = np.unique(np.sort(fewer, axis=1), axis=0, return_index=True)
    return middles, _unfolded(middles, fewer[np.sort(first)], number[triangles], leaning)


def _unfolded(places: Array, fewer: Ints, clusters: Ints, leaning: Array) -> Ints:
    """The triangles that face as what they stand for did: a few small ones fold over and are left out."""
    facing = np.stack(
        [np.bincount(clusters.ravel(), np.repeat(leaning[:, i], 3), len(places)) for i in range(3)], axis=1
    )
    a, b, c = places[fewer].transpose(1, 0, 2)
    return fewer[np.einsum("ij,ij->i", np.cross(b - a, c - a), facing[fewer].sum(axis=1)) > 0.0]


def _nearest_to_planes(vertices: Array, number: Ints, fewer: Ints, leaning: Array, on: Array, cell: float) -> Array:
    """For each cluster the point nearest to the planes of its triangles; where they leave it free, its middle.

    number  : (n,) cluster of each vertex
    fewer   : (m, 3) clusters of each triangle
    leaning : (m, 3) normals, twice the area long; on: (m, 3) a point of each plane
    """
    count = np.bincount(number)
    middles = np.stack([np.bincount(number, vertices[:, axis]) for axis in range(3)], axis=1) / count[:, None]
    cluster = fewer.ravel()
    n = np.repeat(leaning, 3, axis=0)
    off = np.einsum("ij,ij->i", n, np.repeat(on, 3, axis=0) - middles[cluster])
    pull = np.stack([np.bincount(cluster, n[:, i] * off, len(count)) for i in range(3)], axis=1)
    planes = np.empty((len(count), 3, 3))
    for i in range(3):
        for j in range(3):
            planes[:, i, j] = np.bincount(cluster, n[:, i] * n[:, j], len(count))
    size = np.trace(planes, axis1=1, axis2=2)
    planes += (0.01 * size + 1e-12)[:, None, None] * np.eye(3)
    step = np.linalg.solve(planes, pull[:, :, None])[:, :, 0]
    length = np.linalg.norm(step, axis=1, keepdims=True)
    return middles + step * np.minimum(1.0, cell / np.maximum(length, 1e-12))


def shaded(vertices: Array, triangles: Ints) -> tuple[Array, Array, Ints, Ints]:
    """Corners with normals that are smooth over a rounding and crisp at a crease.

    returns : places (k, 3) [mm], normals (k, 3), triangles over corners, creases as pairs of corners
    """
    a, b, c = vertices[triangles].transpose(1, 0, 2)
    leaning = np.cross(b - a, c - a)
    flat = leaning / np.maximum(np.linalg.norm(leaning, axis=1, keepdims=True), 1e-12)
    normals = _corner_normals(len(vertices), triangles, leaning, flat)
    # corners of one vertex whose normals agree are one
    coarse = np.rint(127.0 * normals).astype(np.int64) + 128
    key = ((triangles.ravel() * 256 + coarse[:, 0]) * 256 + coarse[:, 1]) * 256 + coarse[:, 2]
    _, first, corner = np.unique(key, return_index=True, return_inverse=True)
    corners = corner.reshape(-1, 3)
    return vertices[triangles.ravel()[first]], normals[first], corners, _creases(triangles, corners, flat)


def _corner_normals(count: int, triangles: Ints, leaning: Array, flat: Array) -> Array:
    """For each corner of each triangle: the sum of its neighbours about that vertex which turn away little."""
    vertex = triangles.ravel()
    face = np.repeat(np.arange(len(triangles)), 3)
    order = np.argsort(vertex, kind="stable")
    start = np.searchsorted(vertex[order], np.arange(count + 1))
    normals = np.zeros((len(vertex), 3))
    for step in range(min(ENOUGH, int(np.diff(start).max()))):
        low, high = start[vertex], start[vertex + 1]
        has = low + step < high
        other = face[order[np.where(has, low + step, low)]]
        near = has & (np.einsum("ij,ij->i", flat[face], flat[other]) >= CREASE)
        normals += np.where(near[:, np.newaxis], leaning[other], 0.0)
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    return np.where(length > 1e-12, normals / np.maximum(length, 1e-12), flat[face])


def _creases(triangles: Ints, corners: Ints, flat: Array) -> Ints:
    """Sides where exactly two triangles meet at a crease, once each."""
    start, stop = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    key = np.minimum(start, stop) * (int(triangles.max()) + 1) + np.maximum(start, stop)
    order = np.argsort(key, kind="stable")
    first = np.flatnonzero(np.r_[True, np.diff(key[order]) != 0])
    count = np.diff(np.r_[first, len(key)])
    one, other = order[first[count == 2]], order[first[count == 2] + 1]
    sharp = np.einsum("ij,ij->i", flat[one // 3], flat[other // 3]) < CREASE
    ends = np.stack([corners.ravel(), np.roll(corners, -1, axis=1).ravel()], axis=1)
    return ends[one[sharp]]
