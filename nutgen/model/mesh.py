"""The nut's surface as triangles: what printers and pictures are given.

Chords stay within CHORD of the surface in mm, whatever the size of the part: a tolerance
relative to the part leaves a wide crown visibly faceted.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nutgen.errors import KernelError
from nutgen.geometry.mesh import Array, Ints, Mesh, welded

if TYPE_CHECKING:
    from nutgen.geometry.kernel import Solid

CHORD = 0.008
"""Greatest distance between a facet and the surface [mm]."""

FINE = 0.003
"""The same where a printer builds the floors of slots from it [mm]."""

LEAN = 0.0015
"""How far that mesh may be thinned out: with FINE, floors stay within 0.005 of the nut's [mm]."""

CLOSE = 5e-4
"""Greatest share by which the mesh's volume may miss the solid's; a small nut may need shorter chords."""

ANGLE = 0.4
"""Greatest turn from one facet of a curved face to the next [rad]."""

SAME = 1e-5
"""Nodes of neighbouring faces closer than this are one [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class SolidMesh(Mesh):
    """A closed mesh over the faces of a solid.

    faces   : (m,) number of the solid's face that each triangle lies on
    normals : (m, 3, 3) of the true surface, outward, at the corners of each triangle
    """

    faces: Ints
    normals: Array


def mesh_of(solid: "Solid", *, within: float = CHORD) -> SolidMesh:
    """Triangles over a solid, each node once, near it and within CLOSE of its volume.

    within : greatest distance between a facet and the surface [mm]
    raises : KernelError where the mesh does not close or does not fill the solid
    """
    from nutgen.geometry import kernel

    volume = kernel.volume(solid)
    for chord in (within, within / 4.0, within / 16.0):
        with kernel.making("the mesh"):
            points, normals, triangles, faces = kernel.facets(solid, chord=chord, angle=ANGLE)
        whole, kept = welded(Mesh(points, triangles), SAME)
        mesh = parted(SolidMesh(whole.vertices, whole.triangles, faces[kept], normals[triangles][kept]))
        faults = mesh.faults
        if abs(mesh.volume - volume) > CLOSE * volume:
            faults.append(f"it fills {mesh.volume:.3f} of {volume:.3f} mm3")
        if not faults:
            return mesh
    raise KernelError("the mesh", *faults)


def parted(mesh: SolidMesh) -> SolidMesh:
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


def _broken_once(mesh: SolidMesh) -> SolidMesh:
    """Break shared chords, at most one in each triangle; the mesh itself where there is none."""
    edges = mesh.edges
    vertices, triangles = list(mesh.vertices), [tuple(row) for row in mesh.triangles]
    faces, normals = list(mesh.faces), list(mesh.normals)
    touched: set[int] = set()
    for first in edges.first[edges.count == 4]:
        sides = edges.side[first : first + 4]
        lowest = mesh.faces[sides // 3].min()
        pair = [divmod(int(side), 3) for side in sides if mesh.faces[side // 3] == lowest]
        if len(pair) != 2 or touched & {t for t, _ in pair}:
            continue
        touched |= {t for t, _ in pair}
        vertices.append((mesh.vertices[edges.low[first]] + mesh.vertices[edges.high[first]]) / 2.0)
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
    return SolidMesh(np.array(vertices), np.array(triangles, np.int64), np.array(faces, np.int64), np.array(normals))
