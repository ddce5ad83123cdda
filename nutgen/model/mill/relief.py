"""The nut seen from above: how high it stands at any place in plan, edges eased and slots cut.

Exact, and without the kernel: what a cutter that comes from above has to spare.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nutgen.model.surface import floor_surface, top_surface
from nutgen.nut.part import Nut
from nutgen.nut.shelf import front_steps

Array = NDArray[np.float64]


def height_above(nut: Nut, x: ArrayLike, y: ArrayLike) -> Array:
    """Height of the nut's upper surface at places in plan [mm].

    nut     : as it is to be made; `nut.rough()` with its allowances on
    x, y    : places, any shapes that go together [mm]
    returns : z of the surface; `nut.lowest_z`, the floor it stands on, beside the nut
    """
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    z = top_surface(nut, x, y)
    for slot in nut.slots:
        z = np.minimum(z, floor_surface(slot, x, y))
    return np.where(within(nut, x, y), np.maximum(z, nut.lowest_z), nut.lowest_z)


def within(nut: Nut, x: ArrayLike, y: ArrayLike) -> NDArray[np.bool_]:
    """Whether the nut, its shelves included, stands at a place in plan."""
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    steps = front_steps(nut)
    fronts = np.array([step.front for step in steps])
    step = np.searchsorted([step.right for step in steps[:-1]], x, side="left")
    across = (x >= nut.end_x(-1, y)) & (x <= nut.end_x(1, y))
    return across & (y >= fronts[step]) & (y <= nut.thickness)
