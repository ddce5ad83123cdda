"""A surface moved by the same distance everywhere within parallel planes: what a printer's error undoes.

Every face moves along its own normal within the plane; a node goes where all of its faces go:

        | face b
        |     each face moved by d: the node moves to the crossing of the two,
   -----+     d * n for a node within one face, the mitre at an edge
   face a
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from nutgen.model.mesh import Mesh

Array = NDArray[np.float64]

LEVEL = 0.02
"""A face whose normal has less than this within the planes lies along them and does not move."""

MITRE = 3.0
"""A node moves no farther than this many times the distance, however sharp its edge."""

_SAME_NORMAL = 1e-4  # share of the greater one; a smaller second direction is rounding


def grown(mesh: Mesh, by: float, *, across: int) -> Mesh:
    """Move a surface outward within the planes square to one axis.

    by      : outward where positive [mm]
    across  : the axis that the planes stand square to: 0, 1 or 2
    returns : the same triangles; exact within faces, by their true normals, and at edges between two
    """
    if by == 0.0:
        return mesh
    plane = [axis for axis in range(3) if axis != across]
    normal = mesh.normals[:, :, plane]
    size = np.linalg.norm(normal, axis=2)
    weight = np.where(size > LEVEL, _corner_angles(mesh), 0.0)
    unit = normal / np.maximum(size, LEVEL)[:, :, None]
    squares = np.zeros((len(mesh.vertices), 2, 2))
    wanted = np.zeros((len(mesh.vertices), 2))
    for corner in range(3):
        w, n = weight[:, corner], unit[:, corner]
        np.add.at(squares, mesh.triangles[:, corner], w[:, None, None] * n[:, :, None] * n[:, None, :])
        np.add.at(wanted, mesh.triangles[:, corner], (w * by)[:, None] * n)
    values, vectors = np.linalg.eigh(squares)
    least = values[:, 1:] * _SAME_NORMAL
    inverse = np.where((values > least) & (values > 0.0), 1.0 / np.where(values > 0.0, values, 1.0), 0.0)
    move = np.einsum("nij,nj,nkj,nk->ni", vectors, inverse, vectors, wanted)
    far = np.linalg.norm(move, axis=1)
    move *= np.minimum(1.0, MITRE * abs(by) / np.maximum(far, 1e-12))[:, None]
    vertices = mesh.vertices.copy()
    vertices[:, plane] += move
    return replace(mesh, vertices=vertices)


def swept_area(mesh: Mesh, *, across: int) -> float:
    """How much the volume grows for each mm that `grown` moves the surface outward [mm2]."""
    plane = [axis for axis in range(3) if axis != across]
    a, b, c = mesh.vertices[mesh.triangles].transpose(1, 0, 2)
    doubled = np.cross(b - a, c - a)
    within = np.linalg.norm(doubled[:, plane], axis=1)
    return float(within[within > LEVEL * np.linalg.norm(doubled, axis=1)].sum() / 2.0)


def _corner_angles(mesh: Mesh) -> Array:
    """Angle of each triangle at each of its corners, shape (m, 3) [rad]."""
    corners = mesh.vertices[mesh.triangles]
    ahead = np.roll(corners, -1, axis=1) - corners
    behind = np.roll(corners, 1, axis=1) - corners
    sine = np.linalg.norm(np.cross(ahead, behind), axis=2)
    return np.arctan2(sine, np.einsum("mij,mij->mi", ahead, behind))
