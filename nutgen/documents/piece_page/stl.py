"""A piece and the blocks laid in it as STL files that overlay: all in the frame of the scan, or of the calipers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.documents.piece_page.scene import blocks_surface
from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import corners_stl
from nutgen.geometry.mesh import Mesh
from nutgen.geometry.pose import Pose
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece

Array = NDArray[np.float64]


COARSEST = 0.02
"""Between neighbouring numbers of single precision, at most: a scan farther out would lose its shape [mm]."""


@dataclass(frozen=True, slots=True)
class Solid:
    """An STL file and what it must say when read back.

    lowest, size : least corner and extent [mm]
    volume       : enclosed [mm3]
    step         : between neighbouring numbers of single precision there [mm]
    """

    content: bytes
    lowest: tuple[float, float, float]
    size: tuple[float, float, float]
    volume: float
    step: float
    bodies: int = 1


def stock_solids(piece: Piece, answer: Answer, stamp: Stamp) -> dict[str, Solid]:
    """`piece.stl`, `core.stl` where there is one, and `blank.stl`: the sawn blocks in their places.

    raises : CannotBeMade where a scan lies so far from its origin that single precision loses its shape
    """
    surfaces = {"piece.stl": piece.skin, "blank.stl": blocks_surface(answer)}
    if piece.core is not None:
        surfaces["core.stl"] = piece.core
    bodies = {"blank.stl": len(answer.laid)}
    return {
        name: _solid(surface, piece.to_source, stamp, bodies.get(name, 1)) for name, surface in sorted(surfaces.items())
    }


def _solid(surface: Mesh, to_source: Pose, stamp: Stamp, bodies: int) -> Solid:
    places = to_source.apply(surface.vertices)
    low, high = places.min(axis=0), places.max(axis=0)
    far = float(max(np.abs(low).max(), np.abs(high).max()))
    step = float(np.spacing(np.float32(far)))
    if step > COARSEST:
        raise CannotBeMade([refusal("piece.far-from-origin", away=far, step=step)])
    placed = Mesh(places, surface.triangles)
    return Solid(corners_stl(placed.corners, stamp), _three(low), _three(high - low), placed.volume, step, bodies)


def _three(values: Array) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])
