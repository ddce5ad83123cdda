"""A large STL file, read back: what it encloses, whether it closes, of how many bodies it is.

A scan has a million triangles. Corners are joined where all their bits agree, which takes a tenth of the
memory of a general mesh, and closed is what has no boundary: each side of a triangle runs once there for
every time that it runs back. Slivers that single precision folds flat change nothing of that.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from nutgen.jobs.proof import Check, Proof, sizes
from nutgen.jobs.provers import MESHED, NEAR, Prover

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

_AT_ONCE = 1 << 16  # triangles


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """What an STL file holds.

    lowest, highest : corners of a box around it [mm]
    volume          : enclosed, positive where it faces outward [mm3]
    """

    lowest: Array
    highest: Array
    volume: float
    closed: bool
    bodies: int


def solid_file(
    size: Sequence[float], volume: float, *, lowest: Sequence[float], bodies: int, step: float = 0.0
) -> Prover:
    """An STL file: sizes and where it lies [mm], volume [mm3], closed bodies facing outward.

    step : between the numbers that single precision has there [mm]
    """

    def prove(name: str, path: Path) -> Proof:
        found = read_solid(path)
        near = max(NEAR, step)
        checks = (
            Check("closed, facing outward", found.closed and found.volume > 0.0, True),
            Check("bodies", found.bodies, bodies),
            Check("volume in mm3", found.volume, volume, MESHED * volume + step * _around(size)),
            *sizes((found.highest - found.lowest).tolist(), size, within=near),
            *(
                Check(f"lowest {axis}", a, b, near)
                for axis, a, b in zip("xyz", found.lowest.tolist(), lowest, strict=True)
            ),
        )
        return Proof(name, "trimesh's STL reader", checks)

    return prove


def _around(size: Sequence[float]) -> float:
    """Surface of a box [mm2]."""
    x, y, z = size
    return 2.0 * (x * y + y * z + z * x)


def read_solid(path: Path) -> Reading:
    """Read an STL file.

    raises : ValueError where it is not one
    """
    from trimesh.exchange.stl import HeaderError, load_stl_binary

    with path.open("rb") as file:
        try:
            data = load_stl_binary(file)
        except HeaderError as error:
            raise ValueError(f"is not a binary STL file: {error}") from None
    corners = np.asarray(data["vertices"], np.float32)
    triangles = np.asarray(data["faces"], np.int64)
    del data
    places, number = _joined(corners)
    triangles = number[triangles]
    return Reading(
        places.min(axis=0).astype(float),
        places.max(axis=0).astype(float),
        _volume(places, triangles),
        _closed(triangles, len(places)),
        _bodies(triangles, len(places)),
    )


def _joined(corners: NDArray[np.float32]) -> tuple[NDArray[np.float32], Ints]:
    """Corners that are the same to the last bit as one: the places, and the place of each corner."""
    bits = np.ascontiguousarray(corners + np.float32(0.0)).view(np.uint32)  # minus nothing is nothing
    order = np.lexsort(bits.T)
    ordered = bits[order]
    new = np.empty(len(order), bool)
    new[:1] = True
    new[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    number = np.empty(len(order), np.int64)
    number[order] = np.cumsum(new) - 1
    return corners[order[new]], number


def _volume(places: NDArray[np.float32], triangles: Ints) -> float:
    """Enclosed, by the divergence theorem: signed tetrahedra about the middle [mm3]."""
    middle = places.mean(axis=0, dtype=np.float64)
    total = 0.0
    for first in range(0, len(triangles), _AT_ONCE):
        a, b, c = (places[triangles[first : first + _AT_ONCE]] - middle).transpose(1, 0, 2)
        total += float(np.einsum("ij,ij->", a, np.cross(b, c)))
    return total / 6.0


def _closed(triangles: Ints, count: int) -> bool:
    """Whether every side runs back as often as there."""
    following = np.roll(triangles, -1, axis=1)
    there, back = (triangles * count + following).ravel(), (following * count + triangles).ravel()
    there.sort()
    back.sort()
    return np.array_equal(there, back)


def _bodies(triangles: Ints, count: int) -> int:
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    start, stop = triangles[:, :2].ravel().astype(np.int32), triangles[:, 1:].ravel().astype(np.int32)
    sides = coo_array((np.ones(len(start), bool), (start, stop)), shape=(count, count))
    return int(connected_components(sides, directed=False)[0])
