"""A scan made one closed body that faces outward, where that is simple; refused with the reason where not."""

from dataclasses import dataclass

import numpy as np

from nutgen.geometry.mesh import Array, Edges, Ints, Mesh, bodies_of, components, to_agree, welded
from nutgen.geometry.rays import inside, overlap
from nutgen.stock.scan.header import Refused

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


@dataclass(frozen=True, slots=True, eq=False)
class Mended:
    """A closed surface, in the scan's frame [mm], and what was done to it in sentences."""

    mesh: Mesh
    notes: tuple[str, ...]


def mend(mesh: Mesh) -> Mended:
    """Mend a mesh where it is simple.

    mesh   : finite, no two vertices farther apart than LARGEST along an axis
    raises : Refused with what stays open, or meets itself, and where

    Vertices in one place become one; triangles without extent or there twice, and loose crumbs, are
    dropped; those that face the wrong way are turned; small flat holes are closed.
    """
    notes = list[str]()
    mesh = _without_crumbs(_without_repeats(_merged(mesh), notes), notes)
    edges = mesh.edges
    _check_edges(mesh, edges)
    over = to_agree(edges)
    if over is None:
        raise Refused("has only one side (it is twisted in itself), so no inside: make a closed mesh of it")
    if over.any():
        mesh = mesh.flipped(over)
        notes.append(f"{_counted(over.sum(), 'triangle')} turned that faced the wrong way.")
        edges = mesh.edges
    if len(edges.open):
        mesh = _closed(mesh, edges, notes)
        edges = mesh.edges
        _check_edges(mesh, edges)
    mesh = _facing_outward(mesh, edges, notes).part()
    share, where = overlap(mesh)
    if share > OVERLAP:
        raise Refused(
            f"overlaps itself: {100 * share:.1f} % of its inside is counted twice or is inside out,"
            f" first {place(where)}: make one closed skin of it"
        )
    return Mended(mesh, tuple(notes))


def _counted(number: int, what: str) -> str:
    return f"1 {what} was" if number == 1 else f"{number:,} {what}s were"


def place(point: Array) -> str:
    """A place in the scan's own frame, in words [mm]."""
    return "near x {:.1f}, y {:.1f}, z {:.1f} mm of the scan".format(*point)


def _merged(mesh: Mesh) -> Mesh:
    """The mesh with vertices in one place made one, without triangles that have a corner twice."""
    mesh = mesh.part()
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    if np.max(high - low) > LARGEST:
        raise Refused(f"reaches {np.max(high - low):,.0f} mm; at most {LARGEST:,.0f} mm: are the units right?")
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


def _without_repeats(mesh: Mesh, notes: list[str]) -> Mesh:
    """Drop all but one of the triangles with the same corners."""
    if len(mesh.triangles) == 0:
        raise Refused("has no triangle with any extent: are the units right?")
    low, middle, high = np.sort(mesh.triangles, axis=1).T
    order = np.lexsort((high, middle, low))
    same = (np.diff(low[order]) == 0) & (np.diff(middle[order]) == 0) & (np.diff(high[order]) == 0)
    if not same.any():
        return mesh
    keep = np.ones(len(mesh.triangles), bool)
    keep[order[1:][same]] = False
    notes.append(f"{_counted(same.sum(), 'triangle')} there twice and dropped.")
    return Mesh(mesh.vertices, mesh.triangles[keep])


def _without_crumbs(mesh: Mesh, notes: list[str]) -> Mesh:
    count, body = bodies_of(mesh.edges)
    if count == 1:
        return mesh
    area = np.bincount(body, weights=mesh.areas, minlength=count)
    share = area / max(float(area.sum()), 1e-300)
    crumb = share < CRUMB
    crumb[np.argmax(share)] = False
    if not crumb.any():
        return mesh
    if share[crumb].sum() > LOOSE:
        raise Refused(
            f"falls into {count:,} loose parts; {100 * share[crumb].sum():.0f} % of its area is in crumbs, at most"
            f" {100 * LOOSE:.0f} %: keep the largest part, or join them, where it was scanned"
        )
    notes.append(f"{_counted(crumb.sum(), 'loose crumb')} dropped: {100 * share[crumb].sum():.2g} % of the area.")
    return Mesh(mesh.vertices, mesh.triangles[~crumb[body]])


def _check_edges(mesh: Mesh, edges: Edges) -> None:
    meet = edges.first[edges.count > 2]
    if len(meet):
        where = mesh.vertices[[edges.low[meet[0]], edges.high[meet[0]]]].mean(axis=0)
        raise Refused(
            f"has {len(meet):,} {'edge' if len(meet) == 1 else 'edges'} where more than two triangles meet,"
            f" first {place(where)}: make one closed skin of it where it was scanned"
        )


def _closed(mesh: Mesh, edges: Edges, notes: list[str]) -> Mesh:
    """Close small flat holes by a fan about their middle; raises Refused where another stays open."""
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
        openings = "1 opening" if count == 1 else f"{count:,} openings"
        raise Refused(
            f"is not closed: it has {openings}, the largest {width:.1f} mm wide {place(middle[worst])};"
            f" only flat holes of less than {100 * HOLE:.0f} % of its area in all are closed here:"
            " close it where it was scanned"
        )
    notes.append(f"{_counted(count, 'small hole')} closed by flat patches, the widest {wide:.1f} mm wide.")
    return Mesh(patches.vertices, np.vstack([mesh.triangles, fan]))


def _rim_shape(points: Array) -> tuple[float, float]:
    """Width of a hole, and how far its rim leaves its best plane [mm]."""
    from scipy.spatial.distance import pdist

    few = points[:: max(1, len(points) // 400)]
    centred = points - points.mean(axis=0)
    normal = np.linalg.svd(centred, full_matrices=False)[2][-1]
    return float(pdist(few).max()), float(np.abs(centred @ normal).max())


def _facing_outward(mesh: Mesh, edges: Edges, notes: list[str]) -> Mesh:
    """Turn bodies so that their skin faces outward; a body inside the largest is a hollow and faces into it."""
    count, body = bodies_of(edges)
    volume = np.bincount(body, weights=mesh.volumes, minlength=count)
    largest = int(np.argmax(np.abs(volume)))
    if abs(volume[largest]) < LEAST:
        raise Refused(f"encloses {abs(volume[largest]):.2g} mm3, so nothing: it is flat, or its units are wrong")
    outward = np.ones(count)
    for other in range(count):
        if other == largest:
            continue
        point = mesh.vertices[mesh.triangles[body == other][:, 0]]
        outside = ~inside(point[:: max(1, len(point) // 5)], mesh.corners[body == largest])
        if outside.any():
            raise Refused(f"holds {count:,} bodies, one {place(point[0])}: keep the piece alone, as one closed skin")
        outward[other] = -1.0
    over = volume * outward < 0.0
    if over[largest]:
        notes.append("The skin faced inward and was turned.")
    if count > 1:
        hollows = "A closed hollow" if count == 2 else f"{count - 1} closed hollows"
        notes.append(f"{hollows} inside the scan counts as skin: the blank keeps out of it.")
    return mesh.flipped(over[body])
