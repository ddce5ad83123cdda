"""Cross sections of a scan, all at once: area, middle and extent of the outer contour of each."""

from dataclasses import dataclass

import numpy as np

from nutgen.geometry.mesh import Array, Ints, Mesh

SMOOTH = 5.0
"""Standard deviation of the weights that smooth the middles along the piece [mm]: about 10 mm count."""


@dataclass(frozen=True, slots=True, eq=False)
class Slices:
    """What the outer contours say, plane by plane; planes that meet nothing are left out.

    along    : (k,) where the planes are [mm]
    area     : (k,) within the outer contour [mm2]
    middle   : (k, 2) its centroid, along the two axes across [mm]
    low, high: (k, 2) its extent along them [mm]
    """

    along: Array
    area: Array
    middle: Array
    low: Array
    high: Array


def slices(surface: Mesh, axes: Array, along: Array) -> Slices:
    """Cut a closed surface by planes.

    axes  : (3, 3) rows: the direction along, then the two across, right-handed
    along : (k,) rising places of the planes on the first axis [mm]

    A bore or a hollow does not count: only the contour of largest area in each plane does.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    place = surface.vertices @ axes.T
    level = np.searchsorted(along, place[:, 0])  # planes below each vertex
    corner = level[surface.triangles]
    number = corner.max(axis=1) - corner.min(axis=1)
    triangle = np.repeat(np.arange(len(corner)), number)
    plane = np.arange(len(triangle)) - np.repeat(np.cumsum(number) - number, number)
    plane += corner.min(axis=1)[triangle]
    above = corner[triangle] > plane[:, np.newaxis]
    # each cut triangle has one side that rises through the plane and one that falls
    rising = np.argmax(~above & np.roll(above, -1, axis=1), axis=1)
    falling = np.argmax(above & ~np.roll(above, -1, axis=1), axis=1)
    ends, keys = [], []
    for side in (falling, rising):
        a, b = surface.triangles[triangle, side], surface.triangles[triangle, (side + 1) % 3]
        low, high = np.minimum(a, b), np.maximum(a, b)
        share = (along[plane] - place[low, 0]) / (place[high, 0] - place[low, 0])
        ends.append(place[low, 1:] + share[:, np.newaxis] * (place[high, 1:] - place[low, 1:]))
        keys.append((low, high))
    low, high = (np.r_[keys[0][k], keys[1][k]] for k in range(2))
    node = _numbered(np.r_[plane, plane], low, high)
    half = len(plane)
    total = int(node.max()) + 1 if half else 0
    graph = coo_array((np.ones(half, np.int8), (node[:half], node[half:])), shape=(total, total))
    count, label = connected_components(graph, directed=False)
    contour = label[node[:half]]
    start, stop = ends
    cross = (start[:, 0] * stop[:, 1] - start[:, 1] * stop[:, 0]) / 2.0
    area = np.bincount(contour, weights=cross, minlength=count)
    moment = np.column_stack(
        [np.bincount(contour, weights=cross * (start[:, k] + stop[:, k]) / 3.0, minlength=count) for k in range(2)]
    )
    where = np.zeros(count, np.int64)
    where[contour] = plane
    order = np.lexsort((-np.abs(area), where))
    kept = order[np.r_[True, np.diff(where[order]) > 0]] if count else order
    kept = kept[np.abs(area[kept]) > 1e-9]
    lowest, highest = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    np.minimum.at(lowest, contour, start)
    np.maximum.at(highest, contour, start)
    return Slices(
        along=along[where[kept]],
        area=np.abs(area[kept]),
        middle=moment[kept] / area[kept, np.newaxis],
        low=lowest[kept],
        high=highest[kept],
    )


def _numbered(plane: Ints, low: Ints, high: Ints) -> Ints:
    """One number for each edge of the mesh in each plane."""
    order = np.lexsort((high, low, plane))
    new = (np.diff(plane[order]) != 0) | (np.diff(low[order]) != 0) | (np.diff(high[order]) != 0)
    number = np.empty(len(plane), np.int64)
    number[order] = np.r_[0, np.cumsum(new)] if len(plane) else 0
    return number


def smooth_middles(cut: Slices, along: Array) -> Array:
    """The line of the sections' middles, smoothed: (n, 2) at places along the piece [mm].

    A straight line fitted about each place by least squares, its weights falling off with distance
    and with the section's area, so that the slivers at a slanting saw cut hardly count.
    """
    offset = (cut.along - along[:, np.newaxis]) / SMOOTH
    weight = np.exp(-0.5 * np.minimum(offset**2, 60.0)) * cut.area**2
    # never fewer than what lies within a third of the cut, where sections stand far apart or stop short
    weight += 1e-6 * weight.max() / (1.0 + offset**2)
    s0, s1, s2 = (np.sum(weight * offset**power, axis=1) for power in range(3))
    t0, t1 = (np.einsum("nk,kd->nd", weight * offset**power, cut.middle) for power in range(2))
    determinant = s0 * s2 - s1**2
    flat = determinant <= 1e-9 * s0 * s2
    line = (s2[:, np.newaxis] * t0 - s1[:, np.newaxis] * t1) / np.where(flat, 1.0, determinant)[:, np.newaxis]
    return np.where(flat[:, np.newaxis], t0 / s0[:, np.newaxis], line)
