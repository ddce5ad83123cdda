"""The nut's surface as triangles: what printers and pictures are given.

Chords stay within CHORD of the surface in mm, whatever the size of the part: a tolerance
relative to the part leaves a wide crown visibly faceted.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from nutgen.geometry.kernel import Solid

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

CHORD = 0.008
"""Greatest distance between a facet and the surface [mm]."""

CLOSE = 5e-4
"""Greatest share by which the mesh's volume may miss the solid's; a small nut may need shorter chords."""

ANGLE = 0.4
"""Greatest turn from one facet of a curved face to the next [rad]."""

SAME = 1e-5
"""Nodes of neighbouring faces closer than this are one [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A closed surface of triangles.

    vertices  : (n, 3) [mm]
    triangles : (m, 3) rows of vertices, counter-clockwise seen from outside
    faces     : (m,) number of the solid's face that the triangle lies on
    normals   : (m, 3, 3) of the true surface, outward, at the corners of each triangle
    """

    vertices: Array
    triangles: Ints
    faces: Ints
    normals: Array

    def merged(self, same: float) -> "Mesh":
        """The mesh with nodes closer than `same` made one, without the triangles that thereby lose their area."""
        cell = np.round(self.vertices / same).astype(np.int64)
        _, first, number = np.unique(cell, axis=0, return_index=True, return_inverse=True)
        triangles = number.reshape(-1)[self.triangles]
        a, b, c = triangles.T
        whole = (a != b) & (b != c) & (c != a)
        return Mesh(self.vertices[first], triangles[whole], self.faces[whole], self.normals[whole])

    @property
    def volume(self) -> float:
        """Enclosed volume; negative where the mesh is inside out [mm3].

        Sum of signed tetrahedra from the middle: the divergence theorem.
        """
        a, b, c = (self.vertices - self.vertices.mean(axis=0))[self.triangles].transpose(1, 0, 2)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)

    @property
    def faults(self) -> list[str]:
        """What keeps this mesh from being one closed body; empty where nothing does."""
        words = []
        n = len(self.vertices)
        start, stop = self.triangles.ravel(), np.roll(self.triangles, -1, axis=1).ravel()
        there, back = np.sort(start * n + stop), np.sort(stop * n + start)
        if np.any(there[1:] == there[:-1]) or not np.array_equal(there, back):
            words.append("it has edges that are not shared by exactly two triangles")
        if bodies(self.triangles, n) != 1:
            words.append(f"it is in {bodies(self.triangles, n)} pieces")
        if self.volume <= 0.0:
            words.append("it is inside out")
        return words


def bodies(triangles: Ints, count: int) -> int:
    """How many pieces triangles over `count` vertices fall into, by shared vertices."""
    label = np.arange(count)
    while True:
        least = label[triangles].min(axis=1)
        before = label.copy()
        for column in triangles.T:
            np.minimum.at(label, column, least)
        label = label[label]
        if np.array_equal(label, before):
            return int(np.unique(label[triangles]).size)


def mesh_of(solid: "Solid") -> Mesh:
    """Triangles over a solid, each node once, within CHORD of it and within CLOSE of its volume.

    raises : KernelError where the mesh does not close or does not fill the solid
    """
    from nutgen.geometry import kernel

    volume = kernel.volume(solid)
    for chord in (CHORD, CHORD / 4.0, CHORD / 16.0):
        with kernel.making("the mesh"):
            points, normals, triangles, faces = kernel.facets(solid, chord=chord, angle=ANGLE)
        mesh = parted(Mesh(points, triangles, faces, normals[triangles]).merged(SAME))
        faults = mesh.faults
        if abs(mesh.volume - volume) > CLOSE * volume:
            faults.append(f"it fills {mesh.volume:.3f} of {volume:.3f} mm3")
        if not faults:
            return mesh
    raise kernel.KernelError(f"the mesh of the nut is not sound: {'; '.join(faults)}")


def parted(mesh: Mesh) -> Mesh:
    """The mesh without edges that four triangles share.

    Where the border of two faces is curved, both may be spanned by chords between the same nodes:
    each face is whole, but no reader can tell which two triangles of the four belong together. The
    chord of the lower-numbered face is then broken in the middle.
    """
    while True:
        broken = _broken_once(mesh)
        if broken is mesh:
            return mesh
        mesh = broken


def _broken_once(mesh: Mesh) -> Mesh:
    """Break shared chords, at most one in each triangle; the mesh itself where there is none."""
    n = len(mesh.vertices)
    start, stop = mesh.triangles, np.roll(mesh.triangles, -1, axis=1)
    key = (np.minimum(start, stop) * n + np.maximum(start, stop)).ravel()
    keys, times = np.unique(key, return_counts=True)
    vertices, triangles = list(mesh.vertices), [tuple(row) for row in mesh.triangles]
    faces, normals = list(mesh.faces), list(mesh.normals)
    touched: set[int] = set()
    for shared in keys[times == 4]:
        sides = np.flatnonzero(key == shared)
        lowest = mesh.faces[sides // 3].min()
        pair = [divmod(int(side), 3) for side in sides if mesh.faces[side // 3] == lowest]
        if len(pair) != 2 or touched & {t for t, _ in pair}:
            continue
        touched |= {t for t, _ in pair}
        vertices.append((mesh.vertices[shared // n] + mesh.vertices[shared % n]) / 2.0)
        for t, side in pair:
            turned = np.roll(np.arange(3), -side)  # the chord runs from the first to the second of these
            (a, b, c), (u, v, w) = mesh.triangles[t][turned], mesh.normals[t][turned]
            middle, half = len(vertices) - 1, (u + v) / np.linalg.norm(u + v)
            triangles[t], normals[t] = (a, middle, c), np.array([u, half, w])
            triangles.append((middle, b, c))
            normals.append(np.array([half, v, w]))
            faces.append(mesh.faces[t])
    if not touched:
        return mesh
    return Mesh(np.array(vertices), np.array(triangles, np.int64), np.array(faces, np.int64), np.array(normals))
