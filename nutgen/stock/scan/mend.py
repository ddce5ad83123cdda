"""A scan made one closed body that faces outward, where that is simple; refused with the reason where not."""

from dataclasses import dataclass

import numpy as np

from nutgen.geometry.edges import Edges, areas, bodies_of, compacted, edges_of, turned, volumes
from nutgen.geometry.rays import inside, overlap
from nutgen.stock.piece import Array, Ints, Surface
from nutgen.stock.scan.claims import Refused

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

MOST_CELLS = 2.0**20
"""Cells of SAME to either side of the middle that the merging can tell apart: 1 m."""


@dataclass(frozen=True, slots=True, eq=False)
class Mended:
    """A closed surface, in the scan's frame [mm], and what was done to it in sentences."""

    surface: Surface
    notes: tuple[str, ...]


def mend(vertices: Array, triangles: Ints) -> Mended:
    """Mend a mesh where it is simple.

    vertices  : (n, 3) finite [mm], no two farther apart than 2 m along an axis
    triangles : (m, 3) rows of vertices
    raises    : Refused with what stays open, or meets itself, and where

    Vertices in one place become one; triangles without extent or there twice, and loose crumbs, are
    dropped; those that face the wrong way are turned; small flat holes are closed.
    """
    notes = list[str]()
    vertices, triangles = _merge(vertices, triangles)
    triangles = _drop_needless(triangles, notes)
    triangles = _drop_crumbs(vertices, triangles, notes)
    edges = edges_of(triangles)
    _check_edges(vertices, edges)
    over = turned(edges, len(triangles))
    if over is None:
        raise Refused("has only one side (it is twisted in itself), so no inside: make a closed mesh of it")
    if over.any():
        triangles = np.where(over[:, np.newaxis], triangles[:, ::-1], triangles)
        notes.append(f"{_counted(over.sum(), 'triangle')} turned that faced the wrong way.")
        edges = edges_of(triangles)
    if np.any(edges.count == 1):
        vertices, triangles = _close(vertices, triangles, edges, notes)
        edges = edges_of(triangles)
        _check_edges(vertices, edges)
    triangles = _face_outward(vertices, triangles, edges, notes)
    surface = Surface(*compacted(vertices, triangles))
    share, where = overlap(surface)
    if share > OVERLAP:
        raise Refused(
            f"overlaps itself: {100 * share:.1f} % of its inside is counted twice or is inside out,"
            f" first {place(where)}: make one closed skin of it"
        )
    return Mended(surface, tuple(notes))


def _counted(number: int, what: str) -> str:
    return f"1 {what} was" if number == 1 else f"{number:,} {what}s were"


def place(point: Array) -> str:
    """A place in the scan's own frame, in words [mm]."""
    return "near x {:.1f}, y {:.1f}, z {:.1f} mm of the scan".format(*point)


def _merge(vertices: Array, triangles: Ints) -> tuple[Array, Ints]:
    """Make vertices in one place one."""
    vertices, triangles = compacted(vertices, triangles)
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    cell = np.round((vertices - (low + high) / 2.0) / SAME)
    if np.abs(cell).max() >= MOST_CELLS:
        raise Refused(f"reaches {np.max(high - low):,.0f} mm; at most 2,000 mm: are the units right?")
    cell = (cell + MOST_CELLS).astype(np.uint64)
    key = cell[:, 0] << np.uint64(42) | cell[:, 1] << np.uint64(21) | cell[:, 2]
    _, first, same = np.unique(key, return_index=True, return_inverse=True)
    vertices, triangles = vertices[first], same[triangles]
    edges = edges_of(triangles)
    rim = np.unique(np.r_[edges.low[edges.first[edges.count == 1]], edges.high[edges.first[edges.count == 1]]])
    return vertices, _joined(vertices, rim)[triangles] if len(rim) else triangles


def _joined(vertices: Array, rim: Ints) -> Ints:
    """For each vertex the one it is to be: those of open edges that lie close, but in two cells, become one."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    pairs = cKDTree(vertices[rim]).query_pairs(SAME, output_type="ndarray")
    graph = coo_array((np.ones(len(pairs), np.int8), (pairs[:, 0], pairs[:, 1])), shape=(len(rim), len(rim)))
    _, label = connected_components(graph, directed=False)
    _, first = np.unique(label, return_index=True)
    becomes = np.arange(len(vertices))
    becomes[rim] = rim[first[label]]
    return becomes


def _drop_needless(triangles: Ints, notes: list[str]) -> Ints:
    """Drop triangles with a corner twice, and all but one of those with the same corners."""
    a, b, c = triangles.T
    triangles = triangles[(a != b) & (b != c) & (c != a)]
    if len(triangles) == 0:
        raise Refused("has no triangle with any extent: are the units right?")
    low, middle, high = np.sort(triangles, axis=1).T
    order = np.lexsort((high, middle, low))
    same = (np.diff(low[order]) == 0) & (np.diff(middle[order]) == 0) & (np.diff(high[order]) == 0)
    if same.any():
        keep = np.ones(len(triangles), bool)
        keep[order[1:][same]] = False
        triangles = triangles[keep]
        notes.append(f"{_counted(same.sum(), 'triangle')} there twice and dropped.")
    return triangles


def _drop_crumbs(vertices: Array, triangles: Ints, notes: list[str]) -> Ints:
    count, body = bodies_of(edges_of(triangles), len(triangles))
    if count == 1:
        return triangles
    area = np.bincount(body, weights=areas(vertices, triangles), minlength=count)
    share = area / max(float(area.sum()), 1e-300)
    crumb = share < CRUMB
    crumb[np.argmax(share)] = False
    if not crumb.any():
        return triangles
    if share[crumb].sum() > LOOSE:
        raise Refused(
            f"falls into {count:,} loose parts; {100 * share[crumb].sum():.0f} % of its area is in crumbs, at most"
            f" {100 * LOOSE:.0f} %: keep the largest part, or join them, where it was scanned"
        )
    notes.append(f"{_counted(crumb.sum(), 'loose crumb')} dropped: {100 * share[crumb].sum():.2g} % of the area.")
    return triangles[~crumb[body]]


def _check_edges(vertices: Array, edges: Edges) -> None:
    meet = edges.first[edges.count > 2]
    if len(meet):
        where = vertices[[edges.low[meet[0]], edges.high[meet[0]]]].mean(axis=0)
        raise Refused(
            f"has {len(meet):,} {'edge' if len(meet) == 1 else 'edges'} where more than two triangles meet,"
            f" first {place(where)}: make one closed skin of it where it was scanned"
        )


def _close(vertices: Array, triangles: Ints, edges: Edges, notes: list[str]) -> tuple[Array, Ints]:
    """Close small flat holes by a fan about their middle; raises Refused where another stays open."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    at = edges.first[edges.count == 1]
    rising = edges.rising[at]
    start = np.where(rising, edges.low[at], edges.high[at])
    stop = np.where(rising, edges.high[at], edges.low[at])
    rim, ends = np.unique(np.r_[start, stop], return_inverse=True)
    begin, end = ends[: len(at)], ends[len(at) :]
    graph = coo_array((np.ones(len(at), np.int8), (begin, end)), shape=(len(rim), len(rim)))
    count, label = connected_components(graph, directed=False)
    sums = np.column_stack([np.bincount(label, weights=vertices[rim, k]) for k in range(3)])
    middle = sums / np.bincount(label)[:, np.newaxis]
    fan = np.column_stack([stop, start, len(vertices) + label[begin]])
    closed = np.vstack([vertices, middle])
    area = np.bincount(label[begin], weights=areas(closed, fan), minlength=count)
    whole = areas(vertices, triangles).sum()
    shapes = [_rim_shape(vertices[rim[label == hole]]) for hole in np.argsort(-area)[:50]]
    wide = max(width for width, _ in shapes)
    if area.sum() > HOLE * whole or max(bulge for _, bulge in shapes) > BULGE or count > 50:
        worst = int(np.argmax(area))
        width, _ = _rim_shape(vertices[rim[label == worst]])
        openings = "1 opening" if count == 1 else f"{count:,} openings"
        raise Refused(
            f"is not closed: it has {openings}, the largest {width:.1f} mm wide {place(middle[worst])};"
            f" only flat holes of less than {100 * HOLE:.0f} % of its area in all are closed here:"
            " close it where it was scanned"
        )
    notes.append(f"{_counted(count, 'small hole')} closed by flat patches, the widest {wide:.1f} mm wide.")
    return closed, np.vstack([triangles, fan])


def _rim_shape(points: Array) -> tuple[float, float]:
    """Width of a hole, and how far its rim leaves its best plane [mm]."""
    from scipy.spatial.distance import pdist

    few = points[:: max(1, len(points) // 400)]
    centred = points - points.mean(axis=0)
    normal = np.linalg.svd(centred, full_matrices=False)[2][-1]
    return float(pdist(few).max()), float(np.abs(centred @ normal).max())


def _face_outward(vertices: Array, triangles: Ints, edges: Edges, notes: list[str]) -> Ints:
    """Turn bodies so that their skin faces outward; a body inside the largest is a hollow and faces into it."""
    count, body = bodies_of(edges, len(triangles))
    volume = np.bincount(body, weights=volumes(vertices, triangles), minlength=count)
    largest = int(np.argmax(np.abs(volume)))
    if abs(volume[largest]) < LEAST:
        raise Refused(f"encloses {abs(volume[largest]):.2g} mm3, so nothing: it is flat, or its units are wrong")
    outward = np.ones(count)
    for other in range(count):
        if other == largest:
            continue
        point = vertices[triangles[body == other][:, 0]]
        outside = ~inside(point[:: max(1, len(point) // 5)], vertices[triangles[body == largest]])
        if outside.any():
            raise Refused(f"holds {count:,} bodies, one {place(point[0])}: keep the piece alone, as one closed skin")
        outward[other] = -1.0
    over = volume * outward < 0.0
    if over[largest]:
        notes.append("The skin faced inward and was turned.")
    if count > 1:
        hollows = "A closed hollow" if count == 2 else f"{count - 1} closed hollows"
        notes.append(f"{hollows} inside the scan counts as skin: the blank keeps out of it.")
    return np.where(over[body][:, np.newaxis], triangles[:, ::-1], triangles)
