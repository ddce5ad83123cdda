"""Long edges of a closed surface split, so that no place on it is far from a vertex."""

import numpy as np

from nutgen.geometry.mesh import Mesh, manifold_of, mesh_of_manifold

LONGEST = 2.0
"""An edge of a skin [mm]."""

MOST = 1_500_000
"""Triangles that splitting may lead to; a larger surface keeps longer edges."""


def split(mesh: Mesh, *, longest: float = LONGEST) -> Mesh:
    """The same closed surface with no edge longer than that; as it is where none is."""
    # splitting reaches edges between half of the longest and the longest, so triangles of a quarter of its square
    longest = max(longest, float(np.sqrt(4.0 * mesh.areas.sum() / MOST)))
    while mesh.longest_edge > longest:
        mesh = mesh_of_manifold(manifold_of(mesh).refine_to_length(longest))
    return mesh
