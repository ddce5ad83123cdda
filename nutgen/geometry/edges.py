"""How the triangles of a mesh hang together: edges, bodies, winding."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.stock.piece import Array, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """The edges of a mesh, every use by a triangle apart, those of one edge together.

    low, high : (e,) the edge's vertices, low < high, use by use
    triangle  : (e,) whose edge it is
    rising    : (e,) whether that triangle runs from low to high
    first     : (k,) where each edge's uses begin
    count     : (k,) how many uses it has
    """

    low: Ints
    high: Ints
    triangle: Ints
    rising: NDArray[np.bool_]
    first: Ints
    count: Ints


def edges_of(triangles: Ints) -> Edges:
    """The edges of a mesh; its vertices number below 2^31."""
    start, stop = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    key = np.minimum(start, stop) << 32 | np.maximum(start, stop)
    order = np.argsort(key, kind="stable")
    key = key[order]
    first = np.flatnonzero(np.r_[True, key[1:] != key[:-1]])
    return Edges(
        low=key >> 32,
        high=key & 0xFFFFFFFF,
        triangle=order // 3,
        rising=(start < stop)[order],
        first=first,
        count=np.diff(np.r_[first, len(key)]),
    )


def bodies_of(edges: Edges, triangles: int) -> tuple[int, Ints]:
    """How many bodies there are and which one each triangle belongs to: joined by edges."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    joined = np.ones(len(edges.low), bool)
    joined[edges.first] = False
    later = np.flatnonzero(joined)
    pair = (edges.triangle[later - 1], edges.triangle[later])
    graph = coo_array((np.ones(len(later), np.int8), pair), shape=(triangles, triangles))
    count, label = connected_components(graph, directed=False)
    return int(count), label.astype(np.int64)


def turned(edges: Edges, triangles: int) -> NDArray[np.bool_] | None:
    """Which triangles to turn over so that neighbours agree; None where no choice agrees (a Moebius strip).

    No edge may have more than two uses. Each triangle stands twice in a graph, as it is and turned
    over; neighbours that agree join like with like, others crosswise. What is connected agrees.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    at = edges.first[edges.count == 2]
    one, other = edges.triangle[at], edges.triangle[at + 1]
    cross = edges.rising[at] == edges.rising[at + 1]
    if not cross.any():
        return np.zeros(triangles, bool)
    ends = np.r_[other, other + triangles] + np.r_[cross, np.zeros(len(cross), bool)] * triangles
    ends[len(cross) :] -= cross * triangles
    pair = (np.r_[one, one + triangles], ends)
    graph = coo_array((np.ones(len(ends), np.int8), pair), shape=(2 * triangles, 2 * triangles))
    _, label = connected_components(graph, directed=False)
    as_is, over = label[:triangles], label[triangles:]
    if np.any(as_is == over):
        return None
    # two sheets a body; take the one that turns fewer of its triangles over
    sheet = np.minimum(as_is, over)
    choice = as_is != sheet
    bodies = np.bincount(sheet, minlength=sheet.max() + 1)
    turned_over = np.bincount(sheet, weights=choice, minlength=len(bodies))
    return np.where((turned_over * 2 > bodies)[sheet], ~choice, choice)


def compacted(vertices: Array, triangles: Ints) -> tuple[Array, Ints]:
    """The same triangles over the vertices that they use."""
    used = np.zeros(len(vertices), bool)
    used[triangles] = True
    return vertices[used], (np.cumsum(used) - 1)[triangles]


def areas(vertices: Array, triangles: Ints) -> Array:
    """Area of each triangle [mm2]."""
    a, b, c = (vertices[triangles[:, corner]] for corner in range(3))
    return np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0


def volumes(vertices: Array, triangles: Ints) -> Array:
    """Signed share of each triangle in the volume that they enclose [mm3]."""
    middle = vertices.mean(axis=0)
    a, b, c = (vertices[triangles[:, corner]] - middle for corner in range(3))
    return np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0
