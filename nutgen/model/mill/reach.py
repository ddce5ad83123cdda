"""What a turning cutter that comes from above can clear, and what it leaves: on a grid, not guessed.

    heights        the surface that must stand, over a grid in plan
    lowest(tip)    how deep the cutter may go at each place without touching it
    reached        what is left standing once the cutter has been everywhere

The two steps are the dilation and the erosion of grey morphology with the cutter's own shape; together
they are the closing of the surface, that is, the opening of the room above it. Source: J. Serra, Image Analysis and
Mathematical Morphology, 1982 (from memory).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.spec.forming import Cutter

Array = NDArray[np.float64]


def rise(cutter: Cutter, distance: Array) -> Array:
    """Height of a cutter's end above its tip, at a distance from its axis [mm]."""
    if cutter.end == "flat":
        return np.zeros_like(distance)
    return cutter.radius - np.sqrt(np.maximum(0.0, cutter.radius**2 - distance**2))


@dataclass(frozen=True, slots=True, eq=False)
class Footprint:
    """The cutter's end sampled on a grid: steps from the axis (n, 2) as rows, columns; rise (n,) [mm]."""

    steps: NDArray[np.int64]
    rise: Array
    rows: int
    columns: int


def footprint(cutter: Cutter, *, pitch: tuple[float, float]) -> Footprint:
    """Sample a cutter on a grid.

    pitch : between rows, between columns [mm]
    """
    rows, columns = (math.floor(cutter.radius / step + 1e-9) for step in pitch)
    row, column = np.mgrid[-rows : rows + 1, -columns : columns + 1]
    distance = np.hypot(row * pitch[0], column * pitch[1])
    inside = distance <= cutter.radius * (1.0 + 1e-9)
    steps = np.stack([row[inside], column[inside]], axis=1)
    return Footprint(steps, rise(cutter, distance[inside]), rows, columns)


def reached(heights: Array, cutter: Cutter, *, pitch: tuple[float, float], beside: float) -> Array:
    """What stands once a cutter has cleared all it can above a surface.

    heights : surface to be spared, on a grid of rows and columns [mm]
    pitch   : between rows, between columns [mm]
    beside  : height all around the grid [mm]
    returns : never below the surface, and equal to it where the cutter reaches; same shape
    """
    foot = footprint(cutter, pitch=pitch)
    tip = lowest_tip(heights, foot, beside=beside)
    rows, columns = heights.shape
    standing = np.full(heights.shape, np.inf)
    room = np.empty_like(standing)
    for (row, column), up in zip(foot.steps, foot.rise, strict=True):
        window = tip[row + foot.rows :, column + foot.columns :][:rows, :columns]
        np.add(window, up, out=room)
        np.minimum(standing, room, out=standing)
    return standing


def lowest_tip(heights: Array, foot: Footprint, *, beside: float) -> Array:
    """How low the tip may go at every place of the grid and one radius around it [mm]."""
    rows, columns = heights.shape
    pad = ((2 * foot.rows,) * 2, (2 * foot.columns,) * 2)
    padded = np.pad(heights, pad, constant_values=beside)
    rows, columns = rows + 2 * foot.rows, columns + 2 * foot.columns
    lowest = np.full((rows, columns), -np.inf)
    room = np.empty_like(lowest)
    for (row, column), up in zip(foot.steps, foot.rise, strict=True):
        window = padded[row + foot.rows :, column + foot.columns :][:rows, :columns]
        np.subtract(window, up, out=room)
        np.maximum(lowest, room, out=lowest)
    return lowest
