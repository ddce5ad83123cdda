"""A piece and the blocks laid in it as STL files that overlay: all in the frame of the scan, or of the calipers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.export.stamp import Stamp
from nutgen.export.stl import corners_stl
from nutgen.export.stock_scene import blocks_surface
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece, Surface

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Solid:
    """An STL file and what it must say when read back.

    lowest, size : least corner and extent [mm]
    volume       : enclosed [mm3]
    """

    content: bytes
    lowest: tuple[float, float, float]
    size: tuple[float, float, float]
    volume: float
    bodies: int = 1


def stock_solids(piece: Piece, answer: Answer, stamp: Stamp) -> dict[str, Solid]:
    """`piece.stl`, `core.stl` where there is one, and `blank.stl`: the sawn blocks in their places."""
    surfaces = {"piece.stl": piece.skin, "blank.stl": blocks_surface(answer)}
    if piece.core is not None:
        surfaces["core.stl"] = piece.core
    bodies = {"blank.stl": len(answer.laid)}
    return {
        name: _solid(surface, piece.to_source, stamp, bodies.get(name, 1)) for name, surface in sorted(surfaces.items())
    }


def _solid(surface: Surface, to_source: Array, stamp: Stamp, bodies: int) -> Solid:
    places = surface.vertices @ to_source[:3, :3].T + to_source[:3, 3]
    low, high = places.min(axis=0), places.max(axis=0)
    corners = places[surface.triangles]
    a, b, c = (corners - places.mean(axis=0)).transpose(1, 0, 2)
    volume = float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0  # signed tetrahedra: the divergence theorem
    return Solid(corners_stl(corners, stamp), _three(low), _three(high - low), volume, bodies)


def _three(values: Array) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])
