"""What the saw costs: the stretch of the piece that is used up, and the area that is cut."""

from collections.abc import Sequence

import numpy as np

from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block
from nutgen.stock.lay.field import PieceField

LATTICE = 1.0
"""Between the points by which a cut's area is measured [mm]."""


def stretch(block: Block, pose: Pose, *, kerf: float) -> tuple[float, float]:
    """The part of the piece that a block uses up, both cross cuts with it: from, to, along the piece [mm]."""
    half = np.abs(pose.axes[:, 0]) @ (np.array(block.size) / 2.0) + kerf
    middle = pose.origin[0]
    return middle - float(half), middle + float(half)


def waste(field: PieceField, block: Block, poses: Sequence[Pose], *, kerf: float) -> float:
    """Volume that is cut off and no longer holds another such block [mm3].

    What remains of the piece before, between and behind the stretches counts where it is too short.
    """
    used = _joined(sorted(stretch(block, pose, kerf=kerf) for pose in poses))
    edges = [0.0, *(place for one in used for place in one), field.piece.length]
    lost = sum(field.volume(*one) for one in used) - len(poses) * float(np.prod(block.size))
    for low, high in zip(edges[::2], edges[1::2], strict=True):
        if high - low < block.length:
            lost += field.volume(low, high)
    return max(0.0, lost)


def _joined(stretches: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    joined: list[tuple[float, float]] = []
    for low, high in stretches:
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined


def saw_area(field: PieceField, block: Block, pose: Pose) -> float:
    """Area cut to free a block: two cuts across the piece, then four along it, in the cheaper order [mm2].

    The first two cuts along it pass through the whole piece; the other two only through what those left.
    """
    length, thickness, height = block.size
    ends = sum(_area(field, pose, axis=0, at=side * length / 2.0, half=np.inf) for side in (-1.0, 1.0))
    faces = sum(_area(field, pose, axis=1, at=side * thickness / 2.0, half=length / 2.0) for side in (-1.0, 1.0))
    flats = sum(_area(field, pose, axis=2, at=side * height / 2.0, half=length / 2.0) for side in (-1.0, 1.0))
    return ends + min(faces + 2.0 * length * thickness, flats + 2.0 * length * height)


def _area(field: PieceField, pose: Pose, *, axis: int, at: float, half: float) -> float:
    """Area of the piece in a plane square to one of the block's axes.

    half : no farther than this from the block's middle along it [mm]
    """
    skin = field.walls["skin"]
    size = np.array(skin.lattice.values.shape) * skin.lattice.step
    reach = float(np.linalg.norm(size[1:]) if axis == 0 else np.linalg.norm(size))
    others = [other for other in range(3) if other != axis]
    spans: list[Array] = []
    for other in others:
        far = min(reach, half) if other == 0 else float(np.linalg.norm(size[1:]))
        spans.append(np.arange(-far + LATTICE / 2.0, far, LATTICE))
    grid = np.meshgrid(*spans, indexing="ij")
    points = np.zeros((grid[0].size, 3))
    points[:, axis] = at
    for other, values in zip(others, grid, strict=True):
        points[:, other] = values.ravel()
    return float(np.count_nonzero(skin.lattice.at(pose.apply(points)) < 0.0)) * LATTICE**2
