"""Triangles to pixels: a depth buffer over whole arrays, the same on every machine.

Pixels are counted from the top left; the middle of the first one is at (0.5, 0.5).
"""

from dataclasses import dataclass

import numpy as np

from nutgen.geometry.runs import runs
from nutgen.theory import Array, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Pixels:
    """What each covered pixel shows.

    place    : (n,) row * width + column, growing
    triangle : (n,) the nearest triangle there
    depth    : (n,) as given at the corners, smaller is nearer
    """

    place: Ints
    triangle: Ints
    depth: Array


def rasterise(corners: Array, depth: Array, *, width: int, height: int) -> Pixels:
    """Nearest triangle at each pixel.

    Parameters
    ----------
    corners : ndarray, shape (m, 3, 2)
        Pixel coordinates of triangles.
    depth : ndarray, shape (m, 3)
        Of each corner, smaller is nearer; taken as linear over the picture.
    width, height : int
        Of the picture, in pixels.

    Returns
    -------
    Pixels
        The covered ones.
    """
    triangle, row, start, count = _spans(corners, width, height)
    owner, number = runs(count)
    column = start[owner] + number
    place, owner = row[owner] * width + column, triangle[owner]
    base, slope_x, slope_y = plane_of(corners, depth)
    z = base[owner] + slope_x[owner] * (column + 0.5) + slope_y[owner] * (place // width + 0.5)
    nearest = np.full(width * height, np.inf)
    np.minimum.at(nearest, place, z)
    seen = np.flatnonzero(z == nearest[place])
    first = np.full(width * height, -1)
    first[place[seen]] = seen
    kept = first[first >= 0]
    return Pixels(place[kept], owner[kept], z[kept])


def plane_of(corners: Array, values: Array) -> tuple[Array, Array, Array]:
    """Value at the origin and slopes along x and y of a quantity given at the corners of triangles."""
    (x0, y0), (x1, y1), (x2, y2) = corners.transpose(1, 2, 0)
    v0, v1, v2 = values.T
    area = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
    area = np.where(np.abs(area) < 1e-12, 1e-12, area)
    slope_x = ((v1 - v0) * (y2 - y0) - (v2 - v0) * (y1 - y0)) / area
    slope_y = ((x1 - x0) * (v2 - v0) - (x2 - x0) * (v1 - v0)) / area
    return v0 - slope_x * x0 - slope_y * y0, slope_x, slope_y


def _spans(corners: Array, width: int, height: int) -> tuple[Ints, Ints, Ints, Ints]:
    """Triangle, row, first column and length of every stretch of pixels that a triangle covers."""
    order = np.argsort(corners[:, :, 1], axis=1)
    (x0, y0), (x1, y1), (x2, y2) = np.take_along_axis(corners, order[:, :, None], axis=1).transpose(1, 2, 0)
    top = np.clip(np.ceil(y0 - 0.5), 0, height).astype(np.int64)
    rows = np.clip(np.ceil(y2 - 0.5), 0, height).astype(np.int64) - top
    t, number = runs(rows)
    row = top[t] + number
    middle = row + 0.5
    long = x0[t] + (x2 - x0)[t] * ((middle - y0[t]) / (y2 - y0)[t])
    upper = middle < y1[t]
    xa, ya = np.where(upper, x0[t], x1[t]), np.where(upper, y0[t], y1[t])
    xb, yb = np.where(upper, x1[t], x2[t]), np.where(upper, y1[t], y2[t])
    short = xa + (xb - xa) * ((middle - ya) / np.where(yb > ya, yb - ya, 1.0))
    start = np.clip(np.ceil(np.minimum(long, short) - 0.5), 0, width).astype(np.int64)
    stop = np.clip(np.ceil(np.maximum(long, short) - 0.5), 0, width).astype(np.int64)
    filled = stop > start
    return t[filled], row[filled], start[filled], (stop - start)[filled]
