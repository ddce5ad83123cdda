"""Planes, and what they cut out of closed meshes and flat polygons."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np

from nutgen.geometry.mesh import Array, Mesh, manifold_of

if TYPE_CHECKING:
    from manifold3d import Manifold

Loops = tuple[Array, ...]

ON = 1e-6
"""A corner that is nearer to a plane lies on it [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """A plane with its own frame, seen from the side that its normal points to.

    Parameters
    ----------
    origin : ndarray, (3,)
        A point of it [mm].
    across, up : ndarray, (3,)
        Unit vectors to the right and up, square to each other.
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
        """How far points (n, 3) lie on the normal's side: (n,) [mm]."""
        return (points - self.origin) @ self.normal

    def to_plane(self, points: Array) -> Array:
        """Points (n, 3) seen square on: (n, 2) [mm]."""
        return (points - self.origin) @ np.stack([self.across, self.up], axis=1)

    def to_space(self, points: Array) -> Array:
        """Points of the plane (n, 2) in space: (n, 3) [mm]."""
        return self.origin + points @ np.stack([self.across, self.up])

    def moved(self, distance: float) -> "Plane":
        """The parallel plane, farther toward the viewer [mm]."""
        return replace(self, origin=self.origin + distance * self.normal)

    def turned_over(self) -> "Plane":
        """The same plane seen from its other side."""
        return replace(self, across=-self.across)


def plane_facing(origin: Array, normal: Array, *, up: Array) -> Plane:
    """The plane through a point with a normal, seen with a direction upright.

    Parameters
    ----------
    origin : ndarray, (3,)
        The point [mm].
    normal : ndarray, (3,)
        Toward the viewer, of any length.
    up : ndarray, (3,)
        A direction that shall stand upright, of any length.

    Returns
    -------
    Plane
        Through the point.

    Raises
    ------
    ValueError
        Where the normal runs along that direction.
    """
    facing = normal / np.linalg.norm(normal)
    upright = up - (up @ facing) * facing
    length = float(np.linalg.norm(upright))
    if length < 1e-9:
        raise ValueError("the plane is seen along the direction that was to stand upright")
    upright = upright / length
    return Plane(np.asarray(origin, float), np.cross(upright, facing), upright)


def section(mesh: Mesh, plane: Plane) -> Loops:
    """The outlines in which a plane meets a closed mesh, in the plane's frame.

    Parameters
    ----------
    mesh : Mesh
        Closed, facing outward.
    plane : Plane
        The cut, seen from the side that its normal points to.

    Returns
    -------
    tuple of ndarray, (n, 2) each
        Closed loops without the first point again, the greatest area first; counter-clockwise
        around what the mesh encloses, clockwise around a hole; none where the plane misses [mm].

    Raises
    ------
    ValueError
        Where the mesh is open.

    Notes
    -----
    Sliced by manifold3d: exact on the triangles to 1e-8 mm. A corner that lies on the plane counts as
    above it.
    """
    turned = _turned(mesh, (*plane.across.tolist(), *plane.up.tolist(), *plane.normal.tolist()))
    middle = plane.to_plane(np.zeros((1, 3)))
    found = turned.slice(float(plane.normal @ plane.origin)).to_polygons()
    return tuple(sorted((np.asarray(loop) + middle for loop in found), key=area, reverse=True))


_TURNED: WeakKeyDictionary[Mesh, tuple[tuple[float, ...], "Manifold"]] = WeakKeyDictionary()
"""How each mesh was turned last: a piece is sliced a hundred times and more, mostly square to its length."""


def _turned(mesh: Mesh, rows: tuple[float, ...]) -> "Manifold":
    """A mesh seen along the third of some axes, given row by row."""
    if (last := _TURNED.get(mesh)) is None or last[0] != rows:
        last = rows, manifold_of(mesh).transform(np.hstack([np.array(rows).reshape(3, 3), np.zeros((3, 1))]))
        _TURNED[mesh] = last
    return last[1]


def outline(mesh: Mesh, plane: Plane) -> Array | None:
    """The outer outline of a section, in space: (n, 3) [mm]; None where the plane misses the mesh."""
    loops = section(mesh, plane)
    return plane.to_space(loops[0]) if loops and area(loops[0]) > 0.0 else None


@dataclass(frozen=True, slots=True, eq=False)
class Slices:
    """What the outer contours of parallel sections measure; planes that meet nothing are left out.

    Parameters
    ----------
    along : ndarray, (k,)
        Where the planes are [mm].
    area : ndarray, (k,)
        Within the outer contours [mm2].
    middle : ndarray, (k, 2)
        Their centroid, along the two axes across [mm].
    low, high : ndarray, (k, 2)
        Their extent along them [mm].
    """

    along: Array
    area: Array
    middle: Array
    low: Array
    high: Array


def slices(mesh: Mesh, axes: Array, along: Sequence[float] | Array) -> Slices:
    """Cut a closed mesh by parallel planes.

    Parameters
    ----------
    mesh : Mesh
        Closed, facing outward.
    axes : ndarray, (3, 3)
        Rows: the direction along, then the two across, right-handed.
    along : array_like, (k,)
        Places of the planes on the first axis [mm].

    Returns
    -------
    Slices
        A bore or a hollow does not count; what a crack parts counts together.
    """
    rows = []
    for place in along:
        loops = [loop for loop in section(mesh, Plane(place * axes[0], axes[1], axes[2])) if area(loop) > 1e-9]
        if loops:
            areas, points = np.array([area(loop) for loop in loops]), np.vstack(loops)
            middle = areas @ np.array([centroid(loop) for loop in loops]) / areas.sum()
            rows.append((place, areas.sum(), middle, points.min(axis=0), points.max(axis=0)))
    if not rows:
        return Slices(*np.empty((2, 0)), *np.empty((3, 0, 2)))
    return Slices(*(np.array(column) for column in zip(*rows, strict=True)))


def area(loop: Array) -> float:
    """Enclosed by a flat loop (n, 2), positive where it runs counter-clockwise [mm2]: the shoelace formula."""
    x, y = (loop - loop[0]).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0


def centroid(loop: Array) -> Array:
    """Middle of what a flat loop (n, 2) encloses: (2,) [mm]."""
    first = loop - loop[0]
    following = np.roll(first, -1, axis=0)
    cross = first[:, 0] * following[:, 1] - first[:, 1] * following[:, 0]
    return loop[0] + cross @ (first + following) / (3.0 * cross.sum())


def girth(loop: Array) -> float:
    """Length around a loop, in the plane or in space [mm]."""
    return float(np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1).sum())


def from_rim(points: Array, loop: Array) -> Array:
    """Distances of points (n, 2) from the nearest side of a flat loop: (n,) [mm]."""
    x, y = loop.T
    long, high = np.roll(x, -1) - x, np.roll(y, -1) - y
    across, up = points[:, :1] - x, points[:, 1:] - y
    share = np.clip((across * long + up * high) / np.maximum(long**2 + high**2, 1e-18), 0.0, 1.0)
    return np.sqrt(((across - share * long) ** 2 + (up - share * high) ** 2).min(axis=1))


def hull(points: Array) -> Array:
    """Convex hull of points in a plane (n, 2), counter-clockwise: (k, 2)."""
    from scipy.spatial import ConvexHull

    return points[ConvexHull(points).vertices]


def kept(polygon: Array, plane: Plane) -> Array:
    """The part of a flat polygon below a plane.

    Parameters
    ----------
    polygon : ndarray, (n, 3)
        Flat, without the first corner again [mm].
    plane : Plane
        What lies on the side that its normal points to goes.

    Returns
    -------
    ndarray, (k, 3)
        What is left, perhaps nothing [mm].

    Notes
    -----
    A polygon that falls apart stays joined by edges on the plane, which change neither its area nor what
    a line across it measures.

    References
    ----------
    I. E. Sutherland and G. W. Hodgman, Reentrant polygon clipping, CACM 17 (1974), 32-42.
    """
    if not len(polygon):
        return polygon
    above = plane.above(polygon)
    above[np.abs(above) < ON] = 0.0  # a polygon in the plane itself stays whole
    following, next_above = np.roll(polygon, -1, axis=0), np.roll(above, -1)
    below = above <= 0.0
    meets = below != (next_above <= 0.0)
    share = above / np.where(meets, above - next_above, 1.0)
    # each corner that stays, and after it the place where its side meets the plane
    places = np.stack([polygon, polygon + (following - polygon) * share[:, None]], axis=1)
    return places[np.stack([below, meets], axis=1)]
