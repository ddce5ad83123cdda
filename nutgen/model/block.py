"""A squared block: stock for the router, and what is cut off a bar."""

from collections.abc import Sequence

import numpy as np

from nutgen.geometry import kernel
from nutgen.geometry.kernel import SharedEdges, Solid


def block(low: Sequence[float], high: Sequence[float]) -> Solid:
    """A block from its lowest corner to its highest [mm]."""
    (x0, y0, z0), (x1, y1, z1) = low, high
    edges = SharedEdges()
    points = [np.array([x, y, z0]) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    loop = [edges.line(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)]
    face = kernel.face(kernel.plane(points[0], (0.0, 0.0, 1.0)), loop)
    return kernel.prism(face, (0.0, 0.0, z1 - z0))
