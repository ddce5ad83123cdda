"""Points over a region of the block, and how far points lie from it."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from nutgen.geometry.mesh import Array
from nutgen.stock.block import Region

WITHIN = 1.5
"""Between points within a region: no core is thinner than twice that and goes unseen [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """Points on the surface of a region, in the block's frame: (n, 3) [mm]."""

    region: Region
    points: Array


def corners(region: Region) -> Array:
    """The corners of a region: (2 k, 3) [mm]."""
    return _swept(np.array(region.outline), np.array([region.low, region.high]))


@lru_cache(maxsize=64)  # a block is measured in many places
def sample(region: Region, step: float) -> Samples:
    """A lattice over all faces, edges and corners, neighbours no farther apart than the step [mm].

    A region that keeps away from a core has points within, too: a thin core could pass through it unseen.
    """
    outline = np.array(region.outline)
    along = _spaced(region.low, region.high, step)
    parts = [_swept(_rim(outline, step), along)]
    parts.append(_swept(_filled(outline, step), np.array([region.low, region.high])))
    if region.against == "core":
        parts.append(_swept(_inside(outline, WITHIN), _spaced(region.low, region.high, 2.0 * WITHIN)))
    return Samples(region, np.vstack(parts))


def frame_samples(region: Region, step: float) -> Samples:
    """The long edges and the middles of the long faces, for a core the inside too: enough to find a place [mm]."""
    outline = np.array(region.outline)
    along = _spaced(region.low, region.high, step)
    rim = np.vstack([outline, (outline + np.roll(outline, -1, axis=0)) / 2.0])
    if region.against == "core":
        rim = np.vstack([rim, _inside(outline, 2.0 * WITHIN)])
    return Samples(region, _swept(rim, along))


def _swept(section: Array, along: Array) -> Array:
    x = np.repeat(along, len(section))
    return np.column_stack([x, np.tile(section, (len(along), 1))])


def _spaced(low: float, high: float, step: float) -> Array:
    return np.linspace(low, high, max(2, int(np.ceil((high - low) / step)) + 1))


def _rim(outline: Array, step: float) -> Array:
    sides = []
    for start, stop in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        count = max(1, int(np.ceil(np.linalg.norm(stop - start) / step)))
        sides.append(start + (stop - start) * (np.arange(count) / count)[:, np.newaxis])
    return np.vstack(sides)


def _filled(outline: Array, step: float) -> Array:
    low, high = outline.min(axis=0), outline.max(axis=0)
    y, z = np.meshgrid(_spaced(low[0], high[0], step), _spaced(low[1], high[1], step), indexing="ij")
    lattice = np.column_stack([y.ravel(), z.ravel()])
    return lattice[_beyond(lattice, outline) <= 1e-12]


def _inside(outline: Array, step: float) -> Array:
    """The points of a lattice that lie well within an outline, its middle at least."""
    lattice = _filled(outline, step)
    deep = lattice[_beyond(lattice, outline) < -step / 3.0]
    return deep if len(deep) else outline.mean(axis=0, keepdims=True)


def _outward(outline: Array) -> Array:
    """Unit normals of the sides of a convex outline (k, 2)."""
    sides = np.roll(outline, -1, axis=0) - outline
    return np.column_stack([sides[:, 1], -sides[:, 0]]) / np.linalg.norm(sides, axis=1, keepdims=True)


def _beyond(points: Array, outline: Array) -> Array:
    """How far points lie beyond the worst side of a convex outline; negative inside: (n,) [mm]."""
    outward = _outward(outline)
    return np.max(points @ outward.T - np.einsum("ij,ij->i", outline, outward), axis=1)


@lru_cache(maxsize=256)
def faces(region: Region) -> tuple[Array, Array]:
    """Unit normals of the faces of a region (k, 3), and how far each face lies along its own (k,) [mm]."""
    outline = np.array(region.outline)
    across = _outward(outline)
    normals = np.vstack([np.column_stack([np.zeros(len(across)), across]), [[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]]])
    return normals, np.append(np.einsum("ij,ij->i", outline, across), [-region.low, region.high])


def nearest_in(region: Region, points: Array) -> Array:
    """The nearest points of a region, in the block's frame; a point inside is its own: (n, 3) [mm]."""
    y, z = np.array(region.outline).T[..., np.newaxis]  # side by side: a sum over two is slow
    long, high = np.roll(y, -1, axis=0) - y, np.roll(z, -1, axis=0) - z
    across, up = points[:, 1] - y, points[:, 2] - z
    share = np.clip((across * long + up * high) / (long**2 + high**2), 0.0, 1.0)
    on_rim = np.stack([y + share * long, z + share * high])
    away = (points[:, 1] - on_rim[0]) ** 2 + (points[:, 2] - on_rim[1]) ** 2
    nearest = on_rim[:, away.argmin(axis=0), np.arange(len(points))].T
    normals, offsets = faces(region)
    inside = np.all(points[:, 1:] @ normals[:-2, 1:].T <= offsets[:-2], axis=1, keepdims=True)
    section = np.where(inside, points[:, 1:], nearest)
    return np.column_stack([np.clip(points[:, 0], region.low, region.high), section])


def distance_to(region: Region, points: Array) -> Array:
    """Signed distance from points of the block's frame to a region, negative inside it: (n,) [mm].

    Inside, it is to the nearest face.
    """
    away = np.linalg.norm(points - nearest_in(region, points), axis=1)
    normals, offsets = faces(region)
    return np.where(away > 0.0, away, np.minimum((points @ normals.T - offsets).max(axis=1), 0.0))
