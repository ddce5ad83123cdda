"""The nut's surface as triangles: what printers and pictures are given.

Chords stay within CHORD of the surface in mm, whatever the size of the part: a tolerance
relative to the part leaves a wide crown visibly faceted.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.model import kernel
from nutgen.model.kernel import KernelError, Solid, making

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

CHORD = 0.01
"""Greatest distance between a facet and the surface [mm]."""

ANGLE = 0.3
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


def mesh_of(solid: Solid, *, chord: float = CHORD) -> Mesh:
    """Triangles over a solid, each node once.

    raises : KernelError where the mesh does not close
    """
    with making("the mesh"):
        points, normals, triangles, faces = kernel.facets(solid, chord=chord, angle=ANGLE)
    mesh = Mesh(points, triangles, faces, normals[triangles]).merged(SAME)
    if mesh.faults:
        raise KernelError(f"the mesh of the nut is not sound: {'; '.join(mesh.faults)}")
    return mesh
