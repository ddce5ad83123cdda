"""Tools for the simulated work: bodies for manifold3d, and how far one goes until it touches."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Place = tuple[float, float, float]

TOUCH = 0.003
"""Of a tool into plastic, mm3 for each mm of its travel: what a touch of two meshes leaves."""


def bar(
    front: Place, back: Place, wide: float, high: float, *, past: float = 20.0, lean: float = 0.0, rounded: bool = False
) -> Any:
    """An upright bar whose lower edge runs through two places, in the middle of its width, and on past both.

    lean : aside for each mm up
    """
    from manifold3d import Manifold

    a, b = np.array(front), np.array(back)
    way = (b - a) / np.linalg.norm((b - a)[:2])
    side = np.array([-way[1], way[0], 0.0]) * wide / 2.0
    a, b = a - past * way, b + past * way
    turns = np.linspace(0.0, np.pi, 25) if rounded else np.array([])
    section = [(s, up) for s in (-1.0, 1.0) for up in (wide / 2.0 if rounded else 0.0, high)]
    section += [(float(np.cos(one)), wide / 2.0 * (1.0 - float(np.sin(one)))) for one in turns]
    corners = [end + s * side + [lean * up, 0.0, up] for end in (a, b) for s, up in section]
    return Manifold.hull_points(np.array(corners))


def farthest(touches: Callable[[float], bool], limit: float, rounds: int = 12) -> float:
    """How far something goes until it touches, at most a limit."""
    low, high = 0.0, limit
    for _ in range(rounds):
        far = (low + high) / 2.0
        low, high = (low, far) if touches(far) else (far, high)
    return low


def gaps(body: Any, y: float, z: float) -> list[tuple[float, float]]:
    """Open stretches of a body along x, between its outermost walls."""
    import trimesh

    from nutgen.geometry.mesh import mesh_of_manifold

    mesh = mesh_of_manifold(body)
    found = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    spots, _, _ = found.ray.intersects_location([[-300.0, y, z]], [[1.0, 0.0, 0.0]])
    xs = sorted(set(np.round(spots[:, 0], 6).tolist()))
    assert len(xs) % 2 == 0
    return list(zip(xs[1:-1:2], xs[2::2], strict=True))
