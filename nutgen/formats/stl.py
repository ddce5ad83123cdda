"""Binary STL: triangles in single precision. The format knows no unit; ours is mm.

Written here, read by trimesh; what the triangles enclose, whether they close and how many bodies they are is
found from the file alone. A scan has a million triangles: corners are joined where all their bits agree, which takes a
tenth of the memory of a general mesh, and closed is what has no boundary: each side of a triangle runs once
there for every time that it runs back. Slivers that single precision folds flat change nothing of that.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from nutgen.formats.stamp import Stamp
from nutgen.geometry.mesh import Mesh, components, in_single_precision
from nutgen.theory import Array, Ints

_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_AT_ONCE = 1 << 16  # triangles


def stl_bytes(mesh: Mesh, stamp: Stamp) -> bytes:
    """A mesh as binary STL.

    80 bytes of header, a count, 50 bytes a triangle. The header carries the stamp and never
    begins with "solid", which would mark a text file.

    Parameters
    ----------
    mesh : Mesh
        Closed, facing outward [mm].
    stamp : Stamp
        Title, hash and program for the header.

    Returns
    -------
    bytes
        The file; it closes as the mesh does.

    Raises
    ------
    KernelError
        Where the mesh does not close once its nodes are rounded to single precision.
    """
    return corners_stl(in_single_precision(mesh).corners, stamp)


def corners_stl(corners: Array, stamp: Stamp) -> bytes:
    """Triangles as binary STL, as they are.

    Parameters
    ----------
    corners : ndarray, shape (n, 3, 3)
        Triangle, corner, axis; counterclockwise seen from outside [mm].
    stamp : Stamp
        Title, hash and program for the header.

    Returns
    -------
    bytes
        The file.
    """
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    rows = np.zeros(len(corners), _TRIANGLE)
    rows["normal"] = np.divide(normal, length, out=np.zeros_like(normal), where=length > 0.0)
    rows["corners"] = corners
    header = f"STL in mm | {stamp.ascii_line}".encode("ascii")[:80].ljust(80)
    return header + np.uint32(len(rows)).astype("<u4").tobytes() + rows.tobytes()


@dataclass(frozen=True, slots=True)
class StlContent:
    """What an STL file holds.

    lowest, highest : corners of a box around it [mm]
    volume          : enclosed, positive where it faces outward [mm3]
    closed          : every side of a triangle runs back as often as there
    """

    lowest: tuple[float, ...]
    highest: tuple[float, ...]
    volume: float
    closed: bool
    bodies: int


def read_stl(path: Path) -> StlContent:
    """Read a binary STL file.

    Parameters
    ----------
    path : Path
        Of the file.

    Returns
    -------
    StlContent
        Box, volume, whether it is closed, bodies [mm].

    Raises
    ------
    ValueError
        Where it is not one.
    """
    from trimesh.exchange.stl import HeaderError, load_stl_binary  # slow to load, and only this check needs it

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
    return StlContent(
        tuple(places.min(axis=0).tolist()),
        tuple(places.max(axis=0).tolist()),
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
    return components((triangles[:, :2].ravel(), triangles[:, 1:].ravel()), count)[0]
