"""A scan made one closed body that faces outward, where that is simple; refused with the reason where not.

Its long edges are split, so that no place on it is far from a vertex.
"""

from dataclasses import dataclass

import numpy as np

from nutgen.finding import Finding, note, warning
from nutgen.geometry.mesh import (
    Array,
    Edges,
    Flags,
    Ints,
    Mesh,
    bodies_of,
    components,
    manifold_of,
    mesh_of_manifold,
    to_agree,
    welded,
)
from nutgen.geometry.rays import inside, overlap
from nutgen.stock.scan.header import MeshRefused

SAME = 1e-3
"""Vertices nearer than this are one [mm]; a scanner resolves a hundred times as much."""

CRUMB = 0.01
"""Share of the whole area below which a loose part is dropped."""

LOOSE = 0.05
"""Share of the whole area that loose parts may have in all."""

HOLE = 0.02
"""Share of the whole area up to which holes are closed."""

BULGE = 0.25
"""How far a hole's rim may leave a plane, so that a flat patch over it is near the truth [mm]."""

OVERLAP = 1e-3
"""Share of the volume that may be counted twice or inside out: folds of a scanned surface."""

LEAST = 10.0
"""Volume of a piece [mm3]."""

LARGEST = 2000.0
"""Of a mesh along an axis [mm]."""

LONGEST = 2.0
"""An edge of a skin [mm]."""

MOST = 1_500_000
"""Triangles that splitting may lead to; a larger surface keeps longer edges."""


@dataclass(frozen=True, slots=True, eq=False)
class Mended:
    """A closed surface, in the scan's frame [mm], and what was done to it."""

    mesh: Mesh
    notes: tuple[Finding, ...]


def mend(mesh: Mesh) -> Mended:
    """Mend a mesh where it is simple.

    mesh   : finite, no two vertices farther apart than LARGEST along an axis
    raises : MeshRefused with what stays open, or meets itself, and where

    Vertices in one place become one; triangles without extent or there twice, and loose crumbs, are
    dropped; those that face the wrong way are turned; small flat holes are closed.
    """
    notes = list[Finding]()
    mesh = _without_crumbs(_without_repeats(_merged(mesh), notes), notes)
    edges = mesh.edges
    _check_edges(mesh, edges)
    over = to_agree(edges)
    if over is None:
        raise MeshRefused("scan.one-sided")
    if over.any():
        mesh = mesh.flipped(over)
        notes.append(note("scan.triangles-turned", count=int(over.sum())))
        edges = mesh.edges
    if len(edges.open):
        mesh = _closed(mesh, edges, notes)
        edges = mesh.edges
        _check_edges(mesh, edges)
    mesh = _facing_outward(mesh, edges, notes).part()
    share, where = overlap(mesh)
    if share > OVERLAP:
        raise MeshRefused("scan.overlaps", twice_share=share, at=_place(where))
    if share > 0.0:
        notes.append(warning("scan.crosses-itself", at=_place(where)))
    return Mended(mesh, tuple(notes))


def _place(point: Array) -> tuple[float, ...]:
    """A place in the scan's own frame [mm]."""
    return tuple(map(float, point))


def _merged(mesh: Mesh) -> Mesh:
    """The mesh with vertices in one place made one, without triangles that have a corner twice."""
    mesh = mesh.part()
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    if np.max(high - low) > LARGEST:
        raise MeshRefused("scan.reaches-too-far", reach=float(np.max(high - low)), most=LARGEST)
    mesh, _ = welded(mesh, SAME, about=(low + high) / 2.0)
    edges = mesh.edges
    rim = np.unique(np.r_[edges.low[edges.open], edges.high[edges.open]])
    triangles = _joined(mesh.vertices, rim)[mesh.triangles] if len(rim) else mesh.triangles
    a, b, c = triangles.T
    return Mesh(mesh.vertices, triangles[(a != b) & (b != c) & (c != a)])


def _joined(vertices: Array, rim: Ints) -> Ints:
    """For each vertex the one it is to be: those of open edges that lie close, but in two cells, become one."""
    from scipy.spatial import cKDTree

    pairs = cKDTree(vertices[rim]).query_pairs(SAME, output_type="ndarray")
    _, label = components((pairs[:, 0], pairs[:, 1]), len(rim))
    _, first = np.unique(label, return_index=True)
    becomes = np.arange(len(vertices))
    becomes[rim] = rim[first[label]]
    return becomes


def _without_repeats(mesh: Mesh, notes: list[Finding]) -> Mesh:
    """Drop all but one of the triangles with the same corners."""
    if len(mesh.triangles) == 0:
        raise MeshRefused("scan.no-extent")
    low, middle, high = np.sort(mesh.triangles, axis=1).T
    order = np.lexsort((high, middle, low))
    same = (np.diff(low[order]) == 0) & (np.diff(middle[order]) == 0) & (np.diff(high[order]) == 0)
    if not same.any():
        return mesh
    keep = np.ones(len(mesh.triangles), bool)
    keep[order[1:][same]] = False
    notes.append(note("scan.triangles-twice", count=int(same.sum())))
    return Mesh(mesh.vertices, mesh.triangles[keep])


def _without_crumbs(mesh: Mesh, notes: list[Finding]) -> Mesh:
    edges = mesh.edges
    count, body = bodies_of(edges)
    if count == 1:
        return mesh
    area = np.bincount(body, weights=mesh.areas, minlength=count)
    share = area / max(float(area.sum()), 1e-300)
    crumb = share < CRUMB
    crumb[np.argmax(share)] = False
    crumb[_hollows(mesh, edges, body, crumb)] = False
    if not crumb.any():
        return mesh
    lost = float(share[crumb].sum())
    if lost > LOOSE:
        raise MeshRefused("scan.loose-parts", parts=count, crumb_share=lost, most_share=LOOSE)
    notes.append(note("scan.crumbs-dropped", count=int(crumb.sum()), lost_share=lost))
    return Mesh(mesh.vertices, mesh.triangles[~crumb[body]])


def _hollows(mesh: Mesh, edges: Edges, body: Ints, crumb: Flags) -> Ints:
    """Those of the crumbs that are closed and lie in the largest body: hollows, however small."""
    lone = edges.triangle[np.repeat(edges.count != 2, edges.count)]
    closed = np.setdiff1d(np.flatnonzero(crumb), body[lone])
    if not len(closed):
        return closed
    first = np.array([np.argmax(body == one) for one in closed])
    largest = mesh.corners[body == np.argmax(np.bincount(body, weights=mesh.areas))]
    return closed[inside(mesh.corners[first, 0], largest)]


def _check_edges(mesh: Mesh, edges: Edges) -> None:
    meet = edges.first[edges.count > 2]
    if len(meet):
        where = mesh.vertices[[edges.low[meet[0]], edges.high[meet[0]]]].mean(axis=0)
        raise MeshRefused("scan.edges-meet", count=len(meet), at=_place(where))


def _closed(mesh: Mesh, edges: Edges, notes: list[Finding]) -> Mesh:
    """Close small flat holes by a fan about their middle; raises MeshRefused where another stays open."""
    vertices, at = mesh.vertices, edges.open
    rising = edges.rising[at]
    start = np.where(rising, edges.low[at], edges.high[at])
    stop = np.where(rising, edges.high[at], edges.low[at])
    rim, ends = np.unique(np.r_[start, stop], return_inverse=True)
    begin, end = ends[: len(at)], ends[len(at) :]
    count, label = components((begin, end), len(rim))
    sums = np.column_stack([np.bincount(label, weights=vertices[rim, k]) for k in range(3)])
    middle = sums / np.bincount(label)[:, np.newaxis]
    fan = np.column_stack([stop, start, len(vertices) + label[begin]])
    patches = Mesh(np.vstack([vertices, middle]), fan)
    area = np.bincount(label[begin], weights=patches.areas, minlength=count)
    shapes = [_rim_shape(vertices[rim[label == hole]]) for hole in np.argsort(-area)[:50]]
    wide = max(width for width, _ in shapes)
    if area.sum() > HOLE * mesh.areas.sum() or max(bulge for _, bulge in shapes) > BULGE or count > 50:
        worst = int(np.argmax(area))
        width, _ = _rim_shape(vertices[rim[label == worst]])
        where = _place(middle[worst])
        raise MeshRefused("scan.open-mesh", openings=count, wide=width, at=where, most_share=HOLE)
    notes.append(note("scan.holes-closed", count=count, wide=wide))
    return Mesh(patches.vertices, np.vstack([mesh.triangles, fan]))


def _rim_shape(points: Array) -> tuple[float, float]:
    """Width of a hole, and how far its rim leaves its best plane [mm]."""
    from scipy.spatial.distance import pdist

    few = points[:: max(1, len(points) // 400)]
    centred = points - points.mean(axis=0)
    normal = np.linalg.svd(centred, full_matrices=False)[2][-1]
    return float(pdist(few).max()), float(np.abs(centred @ normal).max())


def _facing_outward(mesh: Mesh, edges: Edges, notes: list[Finding]) -> Mesh:
    """Turn bodies so that their skin faces outward; a body inside the largest is a hollow and faces into it."""
    count, body = bodies_of(edges)
    volume = np.bincount(body, weights=mesh.volumes, minlength=count)
    largest = int(np.argmax(np.abs(volume)))
    if abs(volume[largest]) < LEAST:
        raise MeshRefused("scan.encloses-nothing", enclosed_mm3=float(abs(volume[largest])))
    outward = np.ones(count)
    for other in range(count):
        if other == largest:
            continue
        point = mesh.vertices[mesh.triangles[body == other][:, 0]]
        outside = ~inside(point[:: max(1, len(point) // 5)], mesh.corners[body == largest])
        if outside.any():
            raise MeshRefused("scan.several-bodies", bodies=count, at=_place(point[0]))
        outward[other] = -1.0
    over = volume * outward < 0.0
    if over[largest]:
        notes.append(note("scan.faced-inward"))
    if count > 1:
        notes.append(note("scan.hollows", count=count - 1))
    return mesh.flipped(over[body])


def split(mesh: Mesh, *, longest: float = LONGEST) -> Mesh:
    """The same closed surface with no edge longer than that; as it is where none is."""
    # splitting reaches edges between half of the longest and the longest, so triangles of a quarter of its square
    longest = max(longest, float(np.sqrt(4.0 * mesh.areas.sum() / MOST)))
    while mesh.longest_edge > longest:
        mesh = mesh_of_manifold(manifold_of(mesh).refine_to_length(longest))
    return mesh
