"""Plane sections of a closed surface: what a saw cut through the piece shows.

A section is exact on the triangles: each crossed triangle gives one straight piece of its outline.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from nutgen.geometry.mesh import Ints, Mesh

Array = NDArray[np.float64]
Loops = tuple[Array, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """A plane with its own frame, seen from the side that its normal points to.

    origin : (3,) a point of it [mm]
    across : (3,) unit vector to the right
    up     : (3,) unit vector, square to it
    """

    origin: Array
    across: Array
    up: Array

    @property
    def normal(self) -> Array:
        """(3,) unit vector toward the viewer."""
        (a, b, c), (x, y, z) = self.across.tolist(), self.up.tolist()
        return np.array([b * z - c * y, c * x - a * z, a * y - b * x])

    def above(self, points: Array) -> Array:
        """How far points lie on the normal's side: (n,) [mm]."""
        return (points - self.origin) @ self.normal

    def to_plane(self, points: Array) -> Array:
        """Points of the piece's frame, seen square on: (n, 2) [mm]."""
        return (points - self.origin) @ np.stack([self.across, self.up], axis=1)

    def to_piece(self, points: Array) -> Array:
        """Points of the plane in the piece's frame: (n, 3) [mm]."""
        return self.origin + points @ np.stack([self.across, self.up])

    def moved(self, distance: float) -> "Plane":
        """The parallel plane, farther toward the viewer [mm]."""
        return replace(self, origin=self.origin + distance * self.normal)

    def turned_over(self) -> "Plane":
        """The same plane seen from its other side."""
        return replace(self, across=-self.across)


def plane_facing(origin: Array, normal: Array, *, up: Array) -> Plane:
    """The plane through a point with a normal, seen with a direction upright.

    raises : ValueError where the normal runs along that direction
    """
    facing = normal / np.linalg.norm(normal)
    upright = up - (up @ facing) * facing
    length = float(np.linalg.norm(upright))
    if length < 1e-9:
        raise ValueError("the plane is seen along the direction that was to stand upright")
    upright = upright / length
    return Plane(np.asarray(origin, float), np.cross(upright, facing), upright)


def square_to_straightedge(along: float) -> Plane:
    """The plane at a distance from the first end, seen from there: left is left, the back line is up."""
    return Plane(np.array([along, 0.0, 0.0]), np.array([0.0, -1.0, 0.0]), np.array([0.0, 0.0, 1.0]))


def section(surface: Mesh, plane: Plane) -> Loops:
    """The outlines in which a plane meets a surface, in the plane's frame.

    returns : closed loops without the first point again, (n, 2) each [mm], the greatest area first;
              counter-clockwise around what the surface encloses, clockwise around a hole;
              none where the plane misses the surface
    raises  : ValueError where the surface is open there

    A corner that lies on the plane counts as above it, so that no triangle is crossed by halves.
    """
    near = _near(surface, plane)
    used, numbers = np.unique(near, return_inverse=True) if len(near) < len(surface.triangles) else (None, near)
    vertices = surface.vertices if used is None else surface.vertices[used]
    near = numbers.reshape(-1, 3)
    above = plane.above(vertices)
    high = above >= 0.0
    a, b, c = (high[near[:, k]] for k in range(3))
    crossed = near[(a != b) | (b != c)]
    if not len(crossed):
        return ()
    starts, ends = _pieces(crossed, high)
    loops = []
    for order in _linked(starts, ends, len(above)):
        first, last = starts[order].T
        share = (above[first] / (above[first] - above[last]))[:, None]
        corners = vertices[first] * (1.0 - share) + vertices[last] * share
        loops.append(_without_repeats(plane.to_plane(corners)))
    loops = [loop for loop in loops if len(loop) >= 3]
    return tuple(sorted(loops, key=area, reverse=True))


@dataclass(frozen=True, slots=True, eq=False)
class _Sorted:
    """Triangles by where they begin along the piece, so that a cut need not look at all of them.

    order   : numbers of triangles
    starts  : (m,) where each begins, rising [mm]
    longest : of a triangle, along the piece [mm]
    low, high : corners of a box around all [mm]
    """

    order: Ints
    starts: Array
    longest: float
    low: Array
    high: Array


@lru_cache(maxsize=4)  # skin and core of a piece are cut a hundred times and more
def _sorted(surface: Mesh) -> _Sorted:
    along = surface.vertices[:, 0][surface.triangles]
    starts = along.min(axis=1)
    longest = float((along.max(axis=1) - starts).max())
    order = np.argsort(starts, kind="stable")
    low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
    return _Sorted(order, starts[order], longest, low, high)


def _near(surface: Mesh, plane: Plane) -> Ints:
    """The triangles that a plane may meet, in their own order: (k, 3)."""
    if not len(surface.triangles):
        return surface.triangles
    found = _sorted(surface)
    x, y, z = plane.normal
    reach = abs(y) * (found.high[1] - found.low[1]) / 2.0 + abs(z) * (found.high[2] - found.low[2]) / 2.0
    if reach >= abs(x) * (found.high[0] - found.low[0]) / 4.0:
        return surface.triangles  # it runs along the piece
    _, middle, up = (found.low + found.high) / 2.0 - plane.origin
    at, reach = float(plane.origin[0] - (y * middle + z * up) / x), reach / abs(x) + 1e-6
    first, last = np.searchsorted(found.starts, [at - reach - found.longest, at + reach])
    return surface.triangles[np.sort(found.order[first:last])]


def _pieces(crossed: Ints, high: NDArray[np.bool_]) -> tuple[Ints, Ints]:
    """The crossed edges on which each triangle's piece starts and ends, (m, 2) each, lower corner first.

    With the viewer above and triangles counter-clockwise from outside, the enclosed side lies to the
    left of a piece that runs from the edge where the triangle goes down to the edge where it comes up.
    """
    following = np.roll(crossed, -1, axis=1)
    rises = ~high[crossed] & high[following]
    falls = high[crossed] & ~high[following]
    starts = np.stack([following[falls], crossed[falls]], axis=1)
    ends = np.stack([crossed[rises], following[rises]], axis=1)
    return starts, ends


def _linked(starts: Ints, ends: Ints, corners: int) -> list[list[int]]:
    """Pieces joined edge to edge into loops, by their numbers: on every edge as many start as end.

    corners : of the surface, how many there are
    """
    start, end = (pair[:, 0] * corners + pair[:, 1] for pair in (starts, ends))
    by_start, by_end = np.argsort(start, kind="stable"), np.argsort(end, kind="stable")
    if not np.array_equal(start[by_start], end[by_end]):
        raise ValueError("the surface has a hole or a torn edge where the plane meets it; close it first")
    following = np.empty_like(by_start)
    following[by_end] = by_start
    after, free = following.tolist(), [True] * len(start)
    loops = []
    for first in range(len(after)):
        loop, here = [], first
        while free[here]:
            free[here] = False
            loop.append(here)
            here = after[here]
        if loop:
            loops.append(loop)
    return loops


def _without_repeats(loop: Array) -> Array:
    """A loop without points that repeat the one before."""
    return loop[np.abs(loop - np.roll(loop, 1, axis=0)).max(axis=1) > 1e-9]


def outline(surface: Mesh, plane: Plane) -> Array | None:
    """The outer outline of a section, in the piece's frame: (n, 3) [mm]; None where the plane misses it."""
    loops = section(surface, plane)
    return plane.to_piece(loops[0]) if loops and area(loops[0]) > 0.0 else None


def area(loop: Array) -> float:
    """Enclosed by a loop, positive where it runs counter-clockwise [mm2]: the shoelace formula."""
    x, y = (loop - loop[0]).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0


def girth(loop: Array) -> float:
    """Length around a loop, in the plane or in space [mm]."""
    return float(np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1).sum())


def kept(polygon: Array, plane: Plane) -> Array:
    """The part of a flat polygon below a plane, both in the piece's frame: (k, 3), perhaps none [mm].

    Source: I. E. Sutherland and G. W. Hodgman, Reentrant polygon clipping, CACM 17 (1974), 32-42.
    A polygon that falls apart stays joined by edges on the plane, which change neither its area nor what
    a line across it measures.
    """
    if not len(polygon):
        return polygon
    above = plane.above(polygon)
    following, next_above = np.roll(polygon, -1, axis=0), np.roll(above, -1)
    below = above <= 0.0
    meets = below != (next_above <= 0.0)
    share = above / np.where(meets, above - next_above, 1.0)
    # each corner that stays, and after it the place where its side meets the plane
    places = np.stack([polygon, polygon + (following - polygon) * share[:, None]], axis=1)
    return places[np.stack([below, meets], axis=1)]
