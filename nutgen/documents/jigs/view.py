"""Bodies as lines: seen from the bridge, a little from above, what is behind left out."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from nutgen.formats.raster import rasterise
from nutgen.geometry.lines import Chain, Line, Point
from nutgen.geometry.mesh import Array, Flags, Mesh

TURN_DEG, ABOVE_DEG = 24.0, 34.0
PIXELS = 10.0
"""For each mm on paper: how finely it is told what hides what."""

CREASE_DEG = 20.0
"""Faces that meet at less make no line."""

PIECE = 3.0
"""Lines are broken into pieces of so many pixels, each seen or hidden."""

BEHIND = 0.25
"""A line is hidden where something is nearer to the eye by more [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """What a picture shows.

    layer : its kind of line
    label : its name, where it is told
    """

    layer: str
    mesh: Mesh
    label: str = ""


def seen(
    bodies: Sequence[Body], *, wide: float, high: float, above_deg: float = ABOVE_DEG
) -> tuple[tuple[Chain, ...], dict[str, Point]]:
    """The lines of bodies in one frame, each on its layer, to fit a size on paper; and where each label points to.

    above_deg : from how far above they are seen
    """
    turn, above = np.radians([TURN_DEG, above_deg])
    eye = np.array([-np.sin(turn) * np.cos(above), -np.cos(turn) * np.cos(above), np.sin(above)])
    right = np.array([np.cos(turn), -np.sin(turn), 0.0])
    axes = np.stack([right, np.cross(eye, right), eye])
    turned = [one.mesh.vertices @ axes.T for one in bodies]
    corner = np.min([points.min(axis=0) for points in turned], axis=0)
    room = np.max([points.max(axis=0) for points in turned], axis=0) - corner
    scale = min(wide / room[0], high / room[1])
    placed = [Mesh((points - corner) * scale, one.mesh.triangles) for points, one in zip(turned, bodies, strict=True)]
    size = (room[:2] * scale * PIXELS).astype(int) + 3
    nearest = _nearest(placed, (int(size[0]), int(size[1])))
    chains: list[Chain] = []
    places: dict[str, Point] = {}
    for one, mesh in zip(bodies, placed, strict=True):
        lines = _lines(mesh, nearest, BEHIND * scale)
        chains += [Chain(one.layer, (Line(*line),)) for line in lines]
        if one.label and lines:
            found = (*(_middle(line) for line in lines), places.get(one.label, (-1.0, 0.0)))
            places[one.label] = max(found, key=lambda place: place[0])
    return tuple(chains), places


def _middle(line: tuple[Point, Point]) -> Point:
    (a, b), (c, d) = line
    return (a + c) / 2.0, (b + d) / 2.0


def _nearest(meshes: Sequence[Mesh], size: tuple[int, int]) -> Array:
    """How near the nearest surface is at each pixel, the farthest of it and its neighbours: (rows, columns)."""
    corners = np.concatenate([mesh.corners for mesh in meshes])
    wide, high = size
    spots = rasterise(corners[:, :, :2] * PIXELS + 1.0, -corners[:, :, 2], width=wide, height=high)
    near = np.full(wide * high, -np.inf)
    near[spots.place] = -spots.depth
    padded = np.pad(near.reshape(high, wide), 1, constant_values=-np.inf)
    shifts = [padded[i : i + high, j : j + wide] for i in range(3) for j in range(3)]
    found: Array = np.min(shifts, axis=0)
    return found


def _lines(mesh: Mesh, nearest: Array, behind: float) -> "list[tuple[tuple[float, float], tuple[float, float]]]":
    """The visible stretches of the creases and outlines of a body."""
    edges = mesh.edges
    one, other = edges.pairs
    facing = mesh.facing
    a, b = facing[edges.triangle[one]], facing[edges.triangle[other]]
    crease = np.einsum("ij,ij->i", a, b) < np.cos(np.radians(CREASE_DEG))
    outline = (a[:, 2] > 0.0) != (b[:, 2] > 0.0)
    shown = (crease | outline) & ((a[:, 2] > 1e-9) | (b[:, 2] > 1e-9))
    found = []
    for low, high in zip(edges.low[one][shown], edges.high[one][shown], strict=True):
        start, stop = mesh.vertices[low], mesh.vertices[high]
        count = max(1, int(np.linalg.norm((stop - start)[:2]) * PIXELS / PIECE))
        open_to_eye = _in_sight(start, stop, count, nearest, behind)
        place = 0
        for sight, run in groupby(open_to_eye.tolist()):
            length = len(list(run))
            if sight:
                first, last = (start + (stop - start) * share / count for share in (place, place + length))
                if np.linalg.norm((last - first)[:2]) > 0.05:
                    found.append((_flat(first), _flat(last)))
            place += length
    return found


def _in_sight(start: Array, stop: Array, count: int, nearest: Array, behind: float) -> Flags:
    shares = (np.arange(count) + 0.5) / count
    points = start + (stop - start) * shares[:, np.newaxis]
    column, row = (points[:, :2] * PIXELS + 1.0).astype(int).T
    sight: Flags = points[:, 2] >= nearest[row, column] - behind
    return sight


def _flat(point: Array) -> tuple[float, float]:
    return round(float(point[0]), 3), round(float(point[1]), 3)
