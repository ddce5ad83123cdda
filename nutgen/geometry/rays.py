"""Where parallel rays cross a closed surface, all at once: what lies inside, and what is counted twice."""

from dataclasses import dataclass

import numpy as np

from nutgen.geometry.mesh import Array, Ints, Mesh
from nutgen.geometry.runs import runs
from nutgen.theory import Flags

ASIDE = np.array([0.36603, 0.41421])
"""Where rays begin within a lattice's first step: nowhere that a modelled shape has an edge."""

RAYS = 160.0
"""Along the wider side of what a surface shows."""

FOLD = 0.05
"""A stretch counted twice that is shorter than this is the rounding of a file [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Crossings:
    """Where rays along one axis meet a surface, ray by ray and rising along it.

    Parameters
    ----------
    ray : ndarray of int, (k,)
        Which one, counted over the lattice of the two other axes.
    depth : ndarray, (k,)
        Where along the axis [mm].
    enters : ndarray of int, (k,)
        +1 where the ray enters, -1 where it leaves.
    """

    ray: Ints
    depth: Array
    enters: Ints


def crossings(surface: Mesh, axis: int, first: Array, step: float, count: tuple[int, int]) -> Crossings:
    """Shoot rays along an axis through a lattice in the plane of the two others.

    Parameters
    ----------
    surface : Mesh
        Closed.
    axis : int
        0, 1 or 2; the lattice's own axes are the next two in turn.
    first : ndarray, (2,)
        Its first point [mm].
    step : float
        Between neighbours [mm].
    count : tuple of int
        Points each way; a ray's number is i * count[1] + j.

    Returns
    -------
    Crossings
        None where a ray meets an edge or a corner exactly.
    """
    u, v, w = (surface.vertices[:, (axis + k) % 3] for k in (1, 2, 0))
    u, v = (u - first[0]) / step, (v - first[1]) / step
    corner = np.ascontiguousarray(surface.triangles.T)  # side by side: the least of three is slow to find row by row
    corners_u, corners_v = u[corner], v[corner]
    low_i, high_i = _whole_between(corners_u, count[0])
    low_j, high_j = _whole_between(corners_v, count[1])
    wide, tall = np.maximum(high_i - low_i + 1, 0), np.maximum(high_j - low_j + 1, 0)
    triangle, within = runs(wide * tall)
    i = low_i[triangle] + within // tall[triangle]
    j = low_j[triangle] + within % tall[triangle]
    pu, pv = corners_u[:, triangle] - i, corners_v[:, triangle] - j
    # twice the areas of the three triangles that the ray's foot makes with the sides
    part = np.roll(pu, -1, axis=0) * np.roll(pv, -2, axis=0) - np.roll(pu, -2, axis=0) * np.roll(pv, -1, axis=0)
    hit = np.all(part > 0.0, axis=0) | np.all(part < 0.0, axis=0)
    triangle, part, i, j = triangle[hit], part[:, hit], i[hit], j[hit]
    whole = part.sum(axis=0)
    depth = (part * w[corner[:, triangle]]).sum(axis=0) / whole
    ray = i * count[1] + j
    order = np.lexsort((depth, ray))
    return Crossings(ray[order], depth[order], np.where(whole[order] < 0.0, 1, -1))


def _whole_between(corners: Array, count: int) -> tuple[Ints, Ints]:
    """The first and last whole number within each triangle's reach, cut to the lattice."""
    low = np.ceil(corners.min(axis=0)).astype(np.int64)
    high = np.floor(corners.max(axis=0)).astype(np.int64)
    return np.maximum(low, 0), np.minimum(high, count - 1)


def overlap(surface: Mesh) -> tuple[float, Array]:
    """How much of the inside is counted twice or inside out.

    Parameters
    ----------
    surface : Mesh
        Every edge between two triangles.

    Returns
    -------
    share : float
        Of the inside.
    where : ndarray, (3,)
        The first such place [mm].

    Notes
    -----
    From some ten thousand rays along each axis. A ray that misses a crossing at an edge tells
    nothing and is left out.
    """
    return max((_overlap_along(surface, axis) for axis in range(3)), key=lambda found: found[0])


def _overlap_along(surface: Mesh, axis: int) -> tuple[float, Array]:
    low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
    u, v = (axis + 1) % 3, (axis + 2) % 3
    step = float(max(high[u] - low[u], high[v] - low[v])) / RAYS
    count = tuple(int((high[k] - low[k]) / step) + 1 for k in (u, v))
    met = crossings(surface, axis, low[[u, v]] + step * ASIDE, step, (count[0], count[1]))
    if len(met.ray) == 0:
        return 0.0, low
    level = np.cumsum(met.enters)
    last = np.r_[met.ray[1:] != met.ray[:-1], True]
    ends = np.flatnonzero(last)
    before = np.r_[0, level[ends][:-1]]
    run = np.diff(np.r_[-1, ends])
    level -= np.repeat(before, run)
    sound = np.repeat(level[ends] == 0, run)
    stretch = np.where(last, 0.0, np.r_[np.diff(met.depth), 0.0]) * sound
    twice = ((level > 1) | (level < 0)) & (stretch > FOLD)
    inside = stretch[level > 0].sum()
    if not twice.any() or inside <= 0.0:
        return (0.0 if inside > 0.0 else 1.0), low
    at = int(np.argmax(twice))
    where = np.empty(3)
    where[axis] = met.depth[at] + stretch[at] / 2.0
    where[[u, v]] = low[[u, v]] + step * (ASIDE + divmod(int(met.ray[at]), count[1]))
    return float(stretch[twice].sum() / inside), where


def inside_lattice(surface: Mesh, first: Array, step: float, count: tuple[int, int, int]) -> Flags:
    """Which points of a lattice, from its first (3,) on, lie inside a closed surface: (count)."""
    met = crossings(surface, 0, first[1:], step, count[1:])
    steps = np.zeros((count[1] * count[2], count[0] + 1), np.int16)
    at = np.clip(np.ceil((met.depth - first[0]) / step).astype(np.int64), 0, count[0])
    np.add.at(steps, (met.ray, at), met.enters.astype(np.int16))
    level = np.cumsum(steps[:, :-1], axis=1)
    return np.moveaxis((level > 0).reshape(count[1], count[2], count[0]), 2, 0)


def inside(points: Array, corners: Array) -> Flags:
    """Whether points lie within a closed surface: a ray from there crosses it an odd number of times.

    Parameters
    ----------
    points : ndarray, (n, 3)
        To be told [mm].
    corners : ndarray, (m, 3, 3)
        Of the surface's triangles [mm].

    Returns
    -------
    ndarray of bool, (n,)
        True inside.

    Notes
    -----
    The ray's direction is of no special kind, so that it meets no edge of a modelled shape.
    """
    direction = np.array([0.35711, 0.61803, 0.70033])
    ab, ac = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    p = np.cross(direction, ac)
    determinant = np.einsum("ij,ij->i", ab, p)
    determinant[determinant == 0.0] = 1e-300
    found = np.empty(len(points), bool)
    for index, point in enumerate(points):
        s = point - corners[:, 0]
        u = np.einsum("ij,ij->i", s, p) / determinant
        q = np.cross(s, ab)
        v = q @ direction / determinant
        ahead = np.einsum("ij,ij->i", ac, q) / determinant > 0.0
        found[index] = np.count_nonzero((u >= 0.0) & (v >= 0.0) & (u + v <= 1.0) & ahead) % 2
    return found
