"""Blocks that come out of one piece: how far apart they lie, as the saw sees it.

Blocks behind one another are parted by a cut across the piece. Blocks beside one another start and
end together, in one stretch between two cuts across, and are parted by a cut along it. Anything
else could not be sawn without cutting into one of them.
"""

from dataclasses import dataclass

import numpy as np

from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose


@dataclass(frozen=True, slots=True, eq=False)
class Between:
    """The widest straight cut between two blocks, along a face of one of them.

    width  : room for the cut; negative where the blocks overlap [mm]
    across : (3,) unit vector from the one block to the other
    first  : (3,) the point of the one that comes nearest [mm]
    second : (3,) that of the other [mm]
    """

    width: float
    across: Array
    first: Array
    second: Array


def beside(one: Pose, other: Pose, *, length: float) -> bool:
    """Whether two blocks of a length lie rather beside than behind one another."""
    return abs(one.origin[0] - other.origin[0]) < length / 2.0


def between(one: Pose, size: Array, other: Pose, other_size: Array, *, beside: bool) -> Between:
    """The cut between two blocks.

    size, other_size : (3,) length, thickness, height [mm]
    beside           : whether a cut along the piece parts them, or one across it

    Of the directions that such a cut may have the one with most room is taken.
    """
    chosen = slice(1, 3) if beside else slice(0, 1)
    best: Between | None = None
    for axis in (*one.axes[chosen], *other.axes[chosen]):
        across = axis if axis @ (other.at - one.at) >= 0.0 else -axis
        first = one.at + (np.sign(one.axes @ across) * size / 2.0) @ one.axes
        second = other.at - (np.sign(other.axes @ across) * other_size / 2.0) @ other.axes
        width = float(across @ (second - first))
        if best is None or width > best.width:
            best = Between(width, across, first, second)
    assert best is not None
    return best
