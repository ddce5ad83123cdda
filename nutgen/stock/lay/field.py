"""A piece made ready for the search: its surfaces with their distances, and its grain."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from nutgen.geometry.distance import Distances, Lattice, distances_of, lattice
from nutgen.geometry.mesh import Array, Ints, Mesh, bodies_of
from nutgen.stock.piece import Piece

REACH = 3.0
"""How far beyond the skin the lattice reaches [mm]."""

NODES = 40_000
"""Of the lattice: a node every millimetre and a half in a shin bone."""

STEP = 1.0
"""From place to place where the grain and the sections are tabled [mm]."""


UNSEEN = 0.1
"""A corner of a surface where the lattice tells of this much room is not seen by it: a crack, a small hollow [mm]."""

BLURRED = {-1.0: 0.2, 1.0: 0.4}
"""The corners of a sound skin, and the sharp edges of a core, are off in the lattice by less than this share of its
step; a crack or a hollow by more."""

FEW, MANY = 250, 4000
"""So many of such corners every try of the search is held against, and a single pose against so many of those where
the lattice tells of any room."""


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """One surface of a piece, and on which side of it there is room.

    side   : -1 for the skin, which has room inside it; 1 for the core
    unseen : corners of the surface that the lattice does not see, a FEW (k, 3) and MANY (l, 3) [mm]
    """

    distances: Distances
    lattice: Lattice
    side: float
    unseen: tuple[Array, Array]

    @classmethod
    def of(cls, distances: Distances, lattice: Lattice, side: float) -> "Wall":
        """A surface with what its lattice overlooks."""
        corners = distances.surface.vertices
        told = side * lattice.at(corners)
        told[_of_hollows(distances.surface)] = np.inf
        order = np.argsort(-told, kind="stable")
        if told.max() < BLURRED[side] * lattice.step:
            order = order[:0]
        few, many = (corners[order[told[order] > least]] for least in (UNSEEN, 0.0))
        return cls(distances, lattice, side, (_strewn(few, FEW), _strewn(many, MANY)))


def _of_hollows(surface: Mesh) -> Ints:
    """The corners of closed hollows: a block could enclose one and its faces see nothing of it."""
    _, body = bodies_of(surface.edges)
    hollow = np.bincount(body, surface.volumes) < 0.0
    return np.unique(surface.triangles[hollow[body]])


def _strewn(points: Array, most: int) -> Array:
    """So many of the points at most, the first in each cell of a lattice that is as fine as that permits."""
    cell, chosen = 0.25, points
    while len(chosen) > most:
        _, first = np.unique(np.floor(points / cell), axis=0, return_index=True)
        chosen, cell = points[np.sort(first)], cell * 1.3
    return chosen


class PieceField:
    """A piece as the search sees it.

    span : of the blank along the grain, over which its direction counts [mm]
    """

    def __init__(self, piece: Piece, *, span: float) -> None:
        self.piece = piece
        skin = distances_of(piece.skin)
        low, high = piece.skin.vertices.min(axis=0) - REACH, piece.skin.vertices.max(axis=0) + REACH
        around = lattice(skin, low, high, nodes=NODES)
        self.walls = {"skin": Wall.of(skin, around, -1.0)}
        if piece.core is not None:
            core = Distances(piece.core)
            self.walls["core"] = Wall.of(core, lattice(core, low, high, nodes=NODES, within=around), 1.0)
        self._along = np.arange(0.0, piece.length + STEP, STEP)
        self._grain = np.array([piece.axis.direction(float(along), span=span) for along in self._along])

    def grain(self, along: Array) -> Array:
        """Unit vectors of the grain at places along the piece: (n, 3)."""
        between = np.stack([np.interp(along, self._along, part) for part in self._grain.T], axis=-1)
        return between / np.linalg.norm(between, axis=-1, keepdims=True)

    @cached_property
    def inside(self) -> Array:
        """Nodes of the lattice inside the skin: (n, 3) [mm]."""
        grid = self.walls["skin"].lattice
        index = np.argwhere(grid.values < 0.0)
        return grid.low + grid.step * index

    @cached_property
    def section_areas(self) -> tuple[Array, Array]:
        """Places along the piece [mm] and the area of its section there [mm2], from the lattice."""
        grid = self.walls["skin"].lattice
        filled = np.clip(0.5 - grid.values / grid.step, 0.0, 1.0)
        area = filled.sum(axis=(1, 2)) * grid.step**2
        return grid.low[0] + grid.step * np.arange(len(area)), area

    def volume(self, low: float, high: float) -> float:
        """Of the piece between two places along it, core and all [mm3]."""
        along, area = self.section_areas
        places = np.linspace(max(0.0, low), min(self.piece.length, high), 64)
        return float(np.trapezoid(np.interp(places, along, area), places)) if high > low else 0.0
