"""Binary STL: triangles in single precision. The format knows no unit; ours is mm."""

import io
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.formats.stamp import Stamp
from nutgen.geometry.mesh import Mesh, in_single_precision

_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_bytes(mesh: Mesh, stamp: Stamp) -> bytes:
    """A mesh as binary STL.

    raises : ValueError where the mesh does not close once its nodes are rounded to single precision

    80 bytes of header, a count, 50 bytes a triangle. The header carries the stamp and never
    begins with "solid", which would mark a text file. Nodes that single precision cannot tell
    apart become one and triangles without area are left out, so that the file closes as the
    mesh does.
    """
    return corners_stl(in_single_precision(mesh).corners, stamp)


def corners_stl(corners: NDArray[np.float64], stamp: Stamp) -> bytes:
    """Triangles as binary STL, as they are: corners, (n, 3, 3), counter-clockwise seen from outside."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    rows = np.zeros(len(corners), _TRIANGLE)
    rows["normal"] = np.divide(normal, length, out=np.zeros_like(normal), where=length > 0.0)
    rows["corners"] = corners
    header = f"STL in mm | {stamp.ascii_line}".encode("ascii")[:80].ljust(80)
    return header + np.uint32(len(rows)).astype("<u4").tobytes() + rows.tobytes()


@dataclass(frozen=True, slots=True)
class StlReading:
    """What another reader finds in an STL file: sizes and volume in mm, closed or not, bodies."""

    triangles: int
    lowest: tuple[float, float, float]
    highest: tuple[float, float, float]
    volume: float
    watertight: bool
    bodies: int


def read_back_stl(data: bytes) -> StlReading:
    """Read an STL file with trimesh, as a check on what was written."""
    import trimesh  # slow to load, and only this check needs it

    mesh = trimesh.load(io.BytesIO(data), file_type="stl", force="mesh")
    low, high = mesh.bounds
    return StlReading(
        triangles=len(mesh.faces),
        lowest=(float(low[0]), float(low[1]), float(low[2])),
        highest=(float(high[0]), float(high[1]), float(high[2])),
        volume=float(mesh.volume),
        watertight=bool(mesh.is_watertight and mesh.is_winding_consistent),
        bodies=int(mesh.body_count),
    )
