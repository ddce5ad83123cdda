"""Long edges of a closed surface split, so that no place on it is far from a vertex."""

import numpy as np

from nutgen.geometry.mesh import Array, Ints, Mesh

LONGEST = 2.0
"""An edge of a skin [mm]."""

MOST = 1_500_000
"""Triangles that splitting may lead to; a larger surface keeps longer edges."""


def split(surface: Mesh, *, longest: float = LONGEST) -> Mesh:
    """The same surface, to the last digit, with no edge longer than that.

    An edge is split at its middle in both its triangles, so that what was closed stays closed. A
    triangle with one, two or three split edges becomes two, three or four.
    """
    vertices, triangles = surface.vertices, surface.triangles
    # halving reaches edges between half of the longest and the longest, so triangles of a quarter of its square
    longest = max(longest, float(np.sqrt(4.0 * surface.areas.sum() / MOST)))
    while True:
        side = vertices[np.roll(triangles, -1, axis=1)] - vertices[triangles]
        long = np.einsum("ijk,ijk->ij", side, side) > longest**2
        if not long.any():
            return Mesh(vertices, triangles)
        vertices, triangles = _halve(vertices, triangles, long)


def _halve(
    vertices: Array, triangles: Ints, long: "np.ndarray[tuple[int, int], np.dtype[np.bool_]]"
) -> tuple[Array, Ints]:
    """Split the marked edges; long[i, k] is that from corner k of triangle i to the next."""
    start, stop = triangles[long], np.roll(triangles, -1, axis=1)[long]
    low, high = np.minimum(start, stop), np.maximum(start, stop)
    _, first, same = np.unique(low << 32 | high, return_index=True, return_inverse=True)
    middle = np.full(triangles.shape, -1)
    middle[long] = len(vertices) + same
    grown = np.vstack([vertices, (vertices[low[first]] + vertices[high[first]]) / 2.0])
    number = long.sum(axis=1)
    made = [triangles[number == 0]]
    for k in range(3):  # turn each triangle so that one case serves for three
        one = (number == 1) & long[:, k]
        a, b, c, m, _, _ = _turned(triangles[one], middle[one], k)
        made += [_rows(a, m, c), _rows(m, b, c)]
        two = (number == 2) & ~long[:, (k + 2) % 3]
        a, b, c, m, n, _ = _turned(triangles[two], middle[two], k)
        made.append(_rows(m, b, n))
        across = np.linalg.norm(grown[m] - grown[c], axis=1) < np.linalg.norm(grown[a] - grown[n], axis=1)
        for chosen, halves in ((across, ((a, m, c), (m, n, c))), (~across, ((a, m, n), (a, n, c)))):
            made += [_rows(*(corner[chosen] for corner in half)) for half in halves]
    three = number == 3
    a, b, c, m, n, o = _turned(triangles[three], middle[three], 0)
    made += [_rows(a, m, o), _rows(m, b, n), _rows(o, n, c), _rows(m, n, o)]
    return grown, np.vstack(made)


def _turned(triangles: Ints, middle: Ints, k: int) -> tuple[Ints, ...]:
    """Corners from the k-th on, then the middles of the sides that leave them."""
    return tuple(array[:, (k + step) % 3] for array in (triangles, middle) for step in range(3))


def _rows(a: Ints, b: Ints, c: Ints) -> Ints:
    return np.column_stack([a, b, c])
