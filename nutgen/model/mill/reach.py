"""What a turning cutter that comes from above can clear, and what it leaves: on a grid, not guessed.

How deep the cutter may go at each place, and what is left standing once it has been everywhere, are the dilation and
the erosion of grey morphology with the cutter's own shape; together they are the closing of the surface, that is, the
opening of the room above it. Source: J. Serra, Image Analysis and Mathematical Morphology, 1982 (from memory).
"""

import math

import numpy as np
from numpy.typing import NDArray

from nutgen.spec.forming import Cutter

Array = NDArray[np.float64]


def rise(cutter: Cutter, distance: Array) -> Array:
    """Height of a cutter's end above its tip, at a distance from its axis [mm]."""
    if cutter.end == "flat":
        return np.zeros_like(distance)
    return cutter.radius - np.sqrt(np.maximum(0.0, cutter.radius**2 - distance**2))


def reached(heights: Array, cutter: Cutter, *, pitch: tuple[float, float], beside: float) -> Array:
    """What stands once a cutter has cleared all it can above a surface.

    heights : surface to be spared, on a grid of rows and columns [mm]
    pitch   : between rows, between columns [mm]
    beside  : height all around the grid [mm]
    returns : never below the surface, and equal to it where the cutter reaches; same shape
    """
    from scipy.ndimage import grey_closing

    rows, columns = (math.floor(cutter.radius / step + 1e-9) for step in pitch)
    row, column = np.mgrid[-rows : rows + 1, -columns : columns + 1]
    distance = np.hypot(row * pitch[0], column * pitch[1])
    under = distance <= cutter.radius * (1.0 + 1e-9)
    around = np.pad(heights, ((rows, rows), (columns, columns)), constant_values=beside)
    stands = grey_closing(around, footprint=under, structure=-rise(cutter, distance), mode="constant", cval=beside)
    return stands[rows : rows + heights.shape[0], columns : columns + heights.shape[1]]
