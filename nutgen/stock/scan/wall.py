"""The core of a scanned piece: what lies deeper than a constant wall, or a mesh of its own held against the skin."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nutgen.finding import Finding, note, warning
from nutgen.geometry.distance import Distances, distances_of
from nutgen.geometry.mesh import Array, Mesh, bodies_of
from nutgen.geometry.rays import inside, inside_lattice
from nutgen.stock.piece import End
from nutgen.stock.scan.header import MeshRefused

STEP = 0.8
"""Of the lattice on which the wall is measured [mm]; coarser where a piece is large."""

MOST_POINTS = 1_500_000
"""Of that lattice."""

LEAN = 40.0
"""Most that a saw cut may lean away from square [deg]."""

FLAT = 0.6
"""How far a saw cut's triangles may lie from its plane [mm]."""

PROUD = 2.0
"""How far a core may stand out of a sawn end [mm]."""

ASKED = 60
"""Vertices of a core that are held against the skin by rays."""

OUTSIDE = 0.1
"""How far a core's vertices may stand out of the skin elsewhere [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Cap:
    """The flat saw cut at an end.

    normal    : (3,) unit vector out of the piece
    offset    : where its plane lies along the normal [mm]
    triangles : (m,) which of the skin's belong to it
    """

    normal: Array
    offset: float
    triangles: NDArray[np.bool_]

    def depth(self, points: Array) -> Array:
        """How far points lie inside it: (n,) [mm]."""
        return self.offset - points @ self.normal


def caps_of(skin: Mesh, *, length: float, ends: tuple[End, End]) -> tuple[list[Cap], tuple[Finding, ...]]:
    """The saw cuts of a skin in the piece's frame, and a note on each end that is said to be cut but is not flat."""
    middle, area, normal = skin.corners.mean(axis=1), skin.areas, skin.facing
    found, notes = list[Cap](), list[Finding]()
    for name, outward, end, low in (("first", -1.0, ends[0], 0.0), ("last", 1.0, ends[1], length)):
        if end == "closed":
            continue
        near = (normal[:, 0] * outward > np.cos(np.radians(LEAN))) & (np.abs(middle[:, 0] - low) < length / 4.0)
        cap = _plane(normal, middle, area, near)
        if cap is None:
            notes.append(warning("scan.end-not-flat", end=name))
        else:
            found.append(cap)
    return found, tuple(notes)


def _plane(normal: Array, middle: Array, area: Array, near: NDArray[np.bool_]) -> Cap | None:
    """The plane on which most of some triangles lie; None where they do not lie on one."""
    chosen = near
    facing, offset = np.zeros(3), 0.0
    for _ in range(6):
        if area[chosen].sum() <= 0.0:
            return None
        facing = area[chosen] @ normal[chosen]
        facing /= np.linalg.norm(facing)
        height = middle @ facing
        order = np.flatnonzero(chosen)[np.argsort(height[chosen])]
        share = np.cumsum(area[order])
        offset = float(height[order[np.searchsorted(share, share[-1] / 2.0)]])
        chosen = near & (np.abs(height - offset) < FLAT)
    if area[chosen].sum() < 0.7 * area[near].sum():
        return None
    return Cap(facing, offset, chosen)


def core_behind_wall(skin: Mesh, wall: float, caps: list[Cap]) -> tuple[Mesh | None, tuple[Finding, ...]]:
    """What lies deeper than a wall beneath the skin; it runs out at the saw cuts.

    skin    : closed, in the piece's frame
    wall    : the same everywhere [mm]
    returns : the core's closed surface, None where nothing is that deep; notes

    A level surface of the exact distance to the skin (its saw cuts left out), on a lattice of STEP.
    """
    low, high = skin.vertices.min(axis=0), skin.vertices.max(axis=0)
    step = max(STEP, float(np.prod(high - low) / MOST_POINTS) ** (1.0 / 3.0))
    first = low - step * np.array([1.6603, 1.4142, 1.7321])
    count = tuple(int(n) for n in np.ceil((high - first) / step).astype(int) + 2)
    depth = _depths(skin, wall, caps, first, step, (count[0], count[1], count[2]))
    if depth.max() <= 0.0:
        return None, (note("scan.nowhere-thicker", wall=wall),)
    surface = _level(depth, first, step)
    for cap in caps:
        beyond = np.minimum(cap.depth(surface.vertices), 0.0)
        surface = Mesh(surface.vertices + beyond[:, np.newaxis] * cap.normal, surface.triangles)
    return _largest(surface)


def _depths(skin: Mesh, wall: float, caps: list[Cap], first: Array, step: float, count: tuple[int, int, int]) -> Array:
    """How much deeper than the wall the points of a lattice lie, near where that is zero: (count) [mm]."""
    from scipy.ndimage import binary_dilation

    inside = inside_lattice(skin, first, step, count)
    sides = np.ones(len(skin.triangles), bool)
    for cap in caps:
        sides &= ~cap.triangles
    distances = Distances(skin.part(sides))
    index = np.argwhere(inside)
    points = first + step * index
    # beside the level surface a node lies within a step of it, and its nearest vertex but so much farther than the skin
    deep = float(np.hypot(wall + step, distances.reach / np.sqrt(3.0)))
    rough, _ = distances.tree.query(points, distance_upper_bound=deep)
    close = (rough > wall - step) & (rough < deep)
    fine = np.minimum(rough, deep)
    for start in range(0, int(close.sum()), 20_000):
        some = np.flatnonzero(close)[start : start + 20_000]
        fine[some] = np.abs(distances.near(points[some], nearest=2)[0])
    over = fine - wall
    for cap in caps:
        over = np.minimum(over, cap.depth(points))
    depth = np.full(count, -step)
    depth[tuple(index.T)] = over
    # just outside, the depth runs on below zero, so that the level surface is found between lattice points
    rim = np.argwhere(binary_dilation(inside) & ~inside)
    points = first + step * rim
    over = -np.abs(distances.near(points)[0]) - wall
    for cap in caps:
        beyond = cap.depth(points)
        over = np.where(beyond < 0.0, beyond, over)
    depth[tuple(rim.T)] = over
    return depth


def _level(depth: Array, first: Array, step: float) -> Mesh:
    """The surface on which a lattice of depths is zero, facing outward, to where they are negative."""
    import vtkmodules.util.numpy_support as support
    from vtkmodules.vtkCommonDataModel import vtkImageData
    from vtkmodules.vtkFiltersCore import vtkFlyingEdges3D

    arrays: Any = support  # it has no types
    image = vtkImageData()
    image.SetDimensions(*depth.shape)
    image.SetOrigin(*(float(x) for x in first))
    image.SetSpacing(step, step, step)
    nudged = np.where(np.abs(depth) < 1e-6, 1e-6, depth)  # no vertex of the lattice on the surface itself
    flat = np.ascontiguousarray(nudged.ravel(order="F"), np.float64)
    image.GetPointData().SetScalars(arrays.numpy_to_vtk(flat, deep=True))
    contour = vtkFlyingEdges3D()
    contour.SetInputData(image)
    contour.ComputeNormalsOff()
    contour.ComputeScalarsOff()
    contour.SetValue(0, 0.0)
    contour.Update()
    found = contour.GetOutput()
    vertices = arrays.vtk_to_numpy(found.GetPoints().GetData()).astype(np.float64)
    triangles = arrays.vtk_to_numpy(found.GetPolys().GetConnectivityArray()).astype(np.int64).reshape(-1, 3)
    mesh = Mesh(vertices, triangles)
    return mesh.flipped() if mesh.volume < 0.0 else mesh


def _largest(surface: Mesh) -> tuple[Mesh, tuple[Finding, ...]]:
    """The largest body of a core, with a note where there are others."""
    count, body = bodies_of(surface.edges)
    if count == 1:
        return surface, ()
    volume = np.bincount(body, weights=surface.volumes, minlength=count)
    largest = int(np.argmax(volume))
    # what lies inside out is a wall about a hollow within the core: it belongs to it
    kept = (body == largest) | (volume < 0.0)[body]
    others = int(np.count_nonzero(volume > 0.0)) - 1
    part = surface.part(kept)
    if others == 0:
        return part, ()
    return part, (note("scan.core-parts", count=others + 1),)


def check_core(core: Mesh, skin: Mesh, caps: list[Cap]) -> None:
    """See that a core lies inside the skin; it may stand a little out of a saw cut. Raises MeshRefused."""
    points = core.vertices[:: max(1, len(core.vertices) // 20_000)]
    moved = points
    for cap in caps:
        depth = cap.depth(moved)
        proud = (depth < FLAT) & (depth >= -PROUD)
        moved = np.where(proud[:, np.newaxis], moved + (depth - FLAT)[:, np.newaxis] * cap.normal, moved)
    out, _ = distances_of(skin).near(moved)
    # over a jagged skin the quick answer can take the wrong side: where it says outside, rays have the last word
    far = np.flatnonzero(out > OUTSIDE)
    far = far[np.argsort(-out[far])][:: max(1, len(far) // ASKED)]
    truly = far[~inside(moved[far], skin.corners)]
    if len(truly) == 0:
        return
    share = float(np.mean(out > OUTSIDE) * len(truly) / len(far))
    worst, along = float(out[truly[0]]), float(points[truly[0], 0])
    raise MeshRefused("scan.core-outside", by=worst, along=along, out_share=share)
