"""How far points lie from a closed surface of triangles: exactly, and from a lattice for the search."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.spatial import cKDTree

from nutgen.geometry.mesh import Array, Ints, Mesh
from nutgen.geometry.rays import ASIDE, inside_lattice
from nutgen.geometry.runs import runs

INSIDE_NODES = 1_000_000
"""Of the lattice that tells the side of points far from the surface."""

APART = 0.7
"""Between the points along an edge that lead to its triangles [mm]."""

FAR = 50.0
"""Stands in a lattice for a distance that no one will ask for [mm]."""


class _Inside:
    """On which side of a surface points lie that are farther from it than a step: as their nearest node does."""

    def __init__(self, surface: Mesh) -> None:
        low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
        self.step = float(np.cbrt(np.prod(np.maximum(high - low, 1e-3)) / INSIDE_NODES))
        self._low = low - self.step * np.array([0.5, *ASIDE])
        i, j, k = (int(n) for n in np.ceil((high - self._low) / self.step) + 1)
        self._known = inside_lattice(surface, self._low, self.step, (i, j, k))

    def side(self, points: Array) -> Array:
        """-1 inside, 1 outside: (n,)."""
        index = np.rint((points - self._low) / self.step)
        last = np.array(self._known.shape) - 1
        i, j, k = np.clip(index, 0, last).astype(np.int64).T
        within = np.all((index >= 0) & (index <= last), axis=1)
        return np.where(within & self._known[i, j, k], -1.0, 1.0)


class Distances:
    """A surface made ready for distances; positive outside it, negative inside."""

    def __init__(self, surface: Mesh) -> None:
        self.surface = surface
        normal = surface.facing
        self._corner, second, third = np.ascontiguousarray(surface.corners.transpose(1, 2, 0))  # rows of three are slow
        self._ab, self._ac, self._normal = second - self._corner, third - self._corner, np.ascontiguousarray(normal.T)
        points, self._first, self._around = _leads(surface)
        self.vertex_normals = _vertex_normals(surface, normal)
        self.tree = cKDTree(surface.vertices, balanced_tree=False, compact_nodes=False)
        more = len(points) > len(surface.vertices)
        self._leads = cKDTree(points, balanced_tree=False, compact_nodes=False) if more else self.tree
        self._inside = _Inside(surface)
        self._aa, self._cc, self._ac_ab = _dot(self._ab, self._ab), _dot(self._ac, self._ac), _dot(self._ac, self._ab)
        self.reach = float(np.sqrt(np.max([self._aa, self._cc, _dot(bc := self._ac - self._ab, bc)])))

    def near(self, points: Array, *, nearest: int = 2) -> tuple[Array, Array]:
        """Signed distance and its gradient, over the triangles about the nearest vertices and points of long edges.

        Parameters
        ----------
        points : ndarray, (n, 3)
            Where to measure [mm].
        nearest : int
            How many of those are looked at.

        Returns
        -------
        distance : ndarray, (n,)
            Negative inside [mm].
        gradient : ndarray, (n, 3)
            Unit vectors that lead away from the inside.

        Notes
        -----
        Exact wherever the nearest triangle has one of those, which is so for all but a few points where the surface
        folds over in less than an edge, as in a crack.
        """
        _, lead = self._leads.query(points, k=nearest)
        lead = lead.reshape(len(points), -1)
        total = (self._first[lead + 1] - self._first[lead]).sum(axis=1)
        owner = np.repeat(np.arange(len(points)), total)
        return self._signed(points, owner, self._triangles_about(lead.ravel()), np.cumsum(total) - total)

    def exact(self, points: Array) -> Array:
        """Signed distance over every triangle that could be the nearest.

        Parameters
        ----------
        points : ndarray, (n, 3)
            Where to measure [mm].

        Returns
        -------
        ndarray, (n,)
            Negative inside [mm].

        Notes
        -----
        A point of a triangle lies no farther from its nearest corner than the longest side over the root
        of three: so the vertices that far beyond a known triangle are enough.
        """
        bound = np.abs(self.near(points)[0]) + self.reach / np.sqrt(3.0)
        found = np.empty(len(points))
        for start in range(0, len(points), 4000):
            part = slice(start, start + 4000)
            lists = self.tree.query_ball_point(points[part], bound[part] * (1.0 + 1e-9))
            vertices = [np.asarray(found_list, np.int64) for found_list in lists]
            sizes = np.array([self._first[v + 1].sum() - self._first[v].sum() for v in vertices])
            triangle = self._triangles_about(np.concatenate(vertices))
            owner = np.repeat(np.arange(len(vertices)), sizes)
            found[part], _ = self._signed(points[part], owner, triangle, np.cumsum(sizes) - sizes)
        return found

    def _triangles_about(self, leads: Ints) -> Ints:
        """The triangles about each of some vertices or points of edges, one list after the other."""
        count = self._first[leads + 1] - self._first[leads]
        owner, number = runs(count)
        return self._around[self._first[leads][owner] + number]

    def _signed(self, points: Array, owner: Ints, triangle: Ints, starts: Ints) -> tuple[Array, Array]:
        """The least distance of each point over its triangles; they stand together, from `starts` on.

        Where triangles tie, at an edge or a corner, the one that faces the point most tells the side; far from
        all of them it is told by rays, which no fold of the surface misleads.
        """
        offset = self._offset(points.T.take(owner, axis=1), triangle)
        square = _dot(offset, offset)
        least = np.minimum.reduceat(square, starts)
        facing = _dot(offset, self._normal.take(triangle, axis=1))
        tied = square <= least[owner] * (1.0 + 1e-9) + 1e-18
        strength = np.where(tied, np.abs(facing), -1.0)
        best = np.maximum.reduceat(strength, starts)
        chosen = np.flatnonzero(strength == best[owner])
        pick = chosen[np.flatnonzero(np.diff(owner[chosen], prepend=-1))]  # the first of each
        distance = np.sqrt(least)
        side = np.where(facing[pick] < 0.0, -1.0, 1.0)
        far = distance > self._inside.step  # where the surface folds over, its nearest triangle may face either way
        side[far] = self._inside.side(points[far])
        away = np.where(
            distance[:, np.newaxis] > 1e-6,
            offset.T[pick] / np.maximum(distance, 1e-300)[:, np.newaxis] * side[:, np.newaxis],
            self._normal.T[triangle[pick]],
        )
        return side * distance, away

    def _offset(self, points: Array, triangle: Ints) -> Array:
        """To points (3, n) from the nearest of triangles (3, n), by the regions of their corners, edges and inside.

        References
        ----------
        C. Ericson, Real-Time Collision Detection, 2005, section 5.1.5.
        """
        ab, ac = self._ab.take(triangle, axis=1), self._ac.take(triangle, axis=1)
        a = self._corner.take(triangle, axis=1)
        ap = points - a
        d1, d2 = _dot(ab, ap), _dot(ac, ap)
        aa, cc, ac_ab = self._aa[triangle], self._cc[triangle], self._ac_ab[triangle]
        d3, d4 = d1 - aa, d2 - ac_ab
        d5, d6 = d1 - ac_ab, d2 - cc
        va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
        with np.errstate(divide="ignore", invalid="ignore"):
            inside = np.maximum(va + vb + vc, 1e-300)
            v, w = vb / inside, vc / inside
            on_ab = (vc <= 0.0) & (d1 >= 0.0) & (d3 <= 0.0)
            on_ac = (vb <= 0.0) & (d2 >= 0.0) & (d6 <= 0.0)
            on_bc = (va <= 0.0) & (d4 - d3 >= 0.0) & (d5 - d6 >= 0.0)
            share = (d4 - d3) / ((d4 - d3) + (d5 - d6))
            v, w = np.where(on_bc, 1.0 - share, v), np.where(on_bc, share, w)
            v, w = np.where(on_ac, 0.0, v), np.where(on_ac, d2 / cc, w)
            v, w = np.where(on_ab, d1 / aa, v), np.where(on_ab, 0.0, w)
        at_a, at_b, at_c = (d1 <= 0.0) & (d2 <= 0.0), (d3 >= 0.0) & (d4 <= d3), (d6 >= 0.0) & (d5 <= d6)
        v = np.where(at_a | at_c, 0.0, np.where(at_b, 1.0, v))
        w = np.where(at_a | at_b, 0.0, np.where(at_c, 1.0, w))
        return points - (a + v * ab + w * ac)


@lru_cache(maxsize=1)
def distances_of(surface: Mesh) -> Distances:
    """A surface made ready for distances, once for those who ask for it one after the other."""
    return Distances(surface)


def _dot(one: Array, other: Array) -> Array:
    """The products of vectors (3, n): numpy's own sum over three is slow."""
    return one[0] * other[0] + one[2] * other[2] + one[1] * other[1]


def _leads(surface: Mesh) -> tuple[Array, Ints, Ints]:
    """Points that lead to the triangles about them: the vertices, then some along the long edges.

    returns : the points (n, 3); where the triangles of each start in one long list (n + 1,), and that list
    """
    corners = surface.triangles.ravel()
    around = np.argsort(corners, kind="stable") // 3
    count = np.bincount(corners, minlength=len(surface.vertices))
    edges = surface.edges
    one, other = edges.pairs
    low, high = surface.vertices[edges.low[one]], surface.vertices[edges.high[one]]
    more = np.maximum(0, np.ceil(np.linalg.norm(high - low, axis=1) / APART).astype(np.int64) - 1)
    edge, number = runs(more)
    share = (number + 1) / (more[edge] + 1)
    along = low[edge] + share[:, np.newaxis] * (high - low)[edge]
    beside = np.stack([edges.triangle[one], edges.triangle[other]], axis=1)[edge]
    first = np.cumsum(np.r_[0, count, np.full(len(along), 2)])
    return np.vstack([surface.vertices, along]), first, np.r_[around, beside.ravel()]


def _vertex_normals(surface: Mesh, normals: Array) -> Array:
    """Normals at the vertices: those of the triangles about them, weighted by their angle there.

    References
    ----------
    J. A. Baerentzen, H. Aanaes, IEEE Trans. Vis. Comput. Graph. 11, 243 (2005).
    """
    corners = surface.corners
    sums = np.zeros_like(surface.vertices)
    for corner in range(3):
        u = corners[:, (corner + 1) % 3] - corners[:, corner]
        v = corners[:, (corner + 2) % 3] - corners[:, corner]
        angle = np.arctan2(np.linalg.norm(np.cross(u, v), axis=1), np.einsum("ij,ij->i", u, v))
        for axis in range(3):
            sums[:, axis] += np.bincount(
                surface.triangles[:, corner], weights=angle * normals[:, axis], minlength=len(sums)
            )
    return sums / np.maximum(np.linalg.norm(sums, axis=1, keepdims=True), 1e-300)


@dataclass(frozen=True, slots=True, eq=False)
class Lattice:
    """Signed distance on a lattice, read between its nodes by straight lines.

    Parameters
    ----------
    low : ndarray, (3,)
        Its first node [mm].
    step : float
        From node to node [mm].
    values : ndarray, (i, j, k)
        At the nodes [mm].
    """

    low: Array
    step: float
    values: Array

    def at(self, points: Array) -> Array:
        """Signed distance: (...) [mm]; beyond the lattice, that of its border."""
        return self._read(points)[0]

    def with_gradient(self, points: Array) -> tuple[Array, Array]:
        """Signed distance (...) [mm] and its gradient (..., 3)."""
        value, c, (x, y, z), (u, v, w) = self._read(points)
        gx = ((c[4] - c[0]) * v + (c[6] - c[2]) * y) * w + ((c[5] - c[1]) * v + (c[7] - c[3]) * y) * z
        gy = ((c[2] - c[0]) * u + (c[6] - c[4]) * x) * w + ((c[3] - c[1]) * u + (c[7] - c[5]) * x) * z
        gz = ((c[1] - c[0]) * u + (c[5] - c[4]) * x) * v + ((c[3] - c[2]) * u + (c[7] - c[6]) * x) * y
        return value, np.stack([gx, gy, gz], axis=-1) / self.step

    def _read(self, points: Array) -> tuple[Array, list[Array], list[Array], list[Array]]:
        """The value, those at the corners of its cell, and the share of it from each side along each axis."""
        flat, base, share = self.values.ravel(), np.zeros(points.shape[:-1], np.int64), list[Array]()
        for axis, count in enumerate(self.values.shape):  # axis by axis: in one the numbers of three are slow to reach
            place = (points[..., axis] - self.low[axis]) / self.step
            cell = np.minimum(np.maximum(place, 0.0).astype(np.int64), count - 2)
            base = base * count + cell
            share.append(np.minimum(np.maximum(place - cell, 0.0), 1.0))
        _, nj, nk = self.values.shape
        c = [flat.take(base + (i * nj + j) * nk + k) for i in (0, 1) for j in (0, 1) for k in (0, 1)]
        x, y, z = share
        u, v, w = left = [1 - part for part in share]
        near = (c[0] * w + c[1] * z) * v + (c[2] * w + c[3] * z) * y
        far = (c[4] * w + c[5] * z) * v + (c[6] * w + c[7] * z) * y
        return near * u + far * x, c, share, left


def lattice(distances: Distances, low: Array, high: Array, *, nodes: int, within: Lattice | None = None) -> Lattice:
    """Signed distance over a box.

    Parameters
    ----------
    distances : Distances
        To the surface.
    low, high : ndarray, (3,)
        Corners of the box [mm].
    nodes : int
        About how many.
    within : Lattice, optional
        Of another surface, with the same nodes: where a node lies far outside that, it is not measured,
        and told to be far away.

    Returns
    -------
    Lattice
        Its first node is the low corner.

    Notes
    -----
    Each node is measured against the tangent plane of its nearest vertex: off by about an eighth of the
    square of the triangles' size over the radius of the surface.
    """
    size = high - low
    step = float(np.cbrt(np.prod(size) / nodes))
    counts = np.maximum(2, np.ceil(size / step).astype(np.int64) + 1)
    axes = [low[axis] + step * np.arange(counts[axis]) for axis in range(3)]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    values = np.full(len(points), FAR)
    wanted = np.full(len(points), True) if within is None else within.values.ravel() < 2.0 * step
    _, vertex = distances.tree.query(points[wanted])
    offset = points[wanted] - distances.surface.vertices[vertex]
    values[wanted] = np.einsum("ij,ij->i", offset, distances.vertex_normals[vertex])
    return Lattice(low, step, values.reshape(counts))
