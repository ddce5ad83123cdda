"""Many poses at once: where they put a block's points, and how they turn.

A tries of poses is a pair of arrays: centres (p, 3) and axes (p, 3, 3), as in `Pose`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Region
from nutgen.stock.lay.field import PieceField
from nutgen.stock.lay.shapes import Samples, faces, nearest_in

_NEXT, _LAST = [1, 2, 0], [2, 0, 1]


@dataclass(frozen=True, slots=True, eq=False)
class Poses:
    """Poses side by side: centres (p, 3) [mm], axes (p, 3, 3)."""

    centres: Array
    axes: Array

    def __len__(self) -> int:
        return len(self.centres)

    def chosen(self, index: NDArray[Any]) -> "Poses":
        """Some of them."""
        return Poses(self.centres[index], self.axes[index])

    def pose(self, index: int) -> Pose:
        """One of them."""
        return Pose.of(self.centres[index], self.axes[index])


def poses_of(poses: Sequence[Pose]) -> Poses:
    """Single poses side by side."""
    return Poses(np.array([pose.at for pose in poses]), np.array([pose.axes for pose in poses]))


def cross(one: Array, other: Array) -> Array:
    """The vector product (..., 3): for a few vectors numpy's own takes ten times as long."""
    return one[..., _NEXT] * other[..., _LAST] - one[..., _LAST] * other[..., _NEXT]


def along_grain(field: PieceField, centres: Array, turns: Array, reversed_: NDArray[Any]) -> Poses:
    """Blocks that lie with the grain at their middle.

    turns     : of front-to-back about the piece, from sideways up (p,) [rad]
    reversed_ : whether the block's length runs from the last end to the first (p,)
    """
    grain = field.grain(centres[:, 0])
    up = np.array([0.0, 0.0, 1.0]) - grain * grain[:, 2:]
    up /= np.linalg.norm(up, axis=1, keepdims=True)
    side = cross(up, grain)
    length = np.where(reversed_[:, np.newaxis], -grain, grain)
    back = np.cos(turns)[:, np.newaxis] * side + np.sin(turns)[:, np.newaxis] * up
    return Poses(centres, np.stack([length, back, cross(length, back)], axis=1))


def turned(axes: Array, by: Array) -> Array:
    """Axes turned by small rotation vectors (p, 3) [rad], and square again."""
    fresh = axes + cross(by[:, np.newaxis], axes)
    length = fresh[:, 0] / np.linalg.norm(fresh[:, 0], axis=1, keepdims=True)
    back = fresh[:, 1] - length * np.einsum("ij,ij->i", fresh[:, 1], length)[:, np.newaxis]
    back /= np.linalg.norm(back, axis=1, keepdims=True)
    return np.stack([length, back, cross(length, back)], axis=1)


def with_grain(field: PieceField, tries: Poses, *, most: float) -> Poses:
    """The same poses, those that leave the grain by more than `most` [rad] turned back to it."""
    grain = field.grain(tries.centres[:, 0])
    length = tries.axes[:, 0]
    cosine = np.einsum("ij,ij->i", grain, length)
    grain = grain * np.where(cosine < 0.0, -1.0, 1.0)[:, np.newaxis]
    angle = np.arccos(np.clip(np.abs(cosine), 0.0, 1.0))
    axis = cross(length, grain)
    sine = np.linalg.norm(axis, axis=1)
    over = angle > most
    if not np.any(over):
        return tries
    back = np.where(over, angle - most, 0.0)
    unit = axis / np.maximum(sine, 1e-12)[:, np.newaxis]
    return Poses(tries.centres, rotated(tries.axes, unit, back))


def rotated(axes: Array, unit: Array, angle: Array) -> Array:
    """Axes turned about unit vectors (p, 3) by angles (p,) [rad]: the formula of Rodrigues."""
    u = unit[:, np.newaxis]
    c, s = np.cos(angle)[:, np.newaxis, np.newaxis], np.sin(angle)[:, np.newaxis, np.newaxis]
    return axes * c + cross(u, axes) * s + u * np.sum(u * axes, axis=-1, keepdims=True) * (1.0 - c)


BATCH = 500
"""Poses that what is unseen is held against at once."""


def rooms(field: PieceField, samples: Sequence[Samples], tries: Poses, *, seen_only: bool = False) -> Array:
    """The room that each point of each pose has, over what its region must keep: (p, n) [mm].

    seen_only : by the lattice alone
    """
    found = []
    for part in samples:
        wall = field.walls[part.region.against]
        found.append(wall.side * wall.lattice.at(placed(part, tries)) - part.region.keep)
        if len(wall.unseen[0]) and not seen_only:
            batches = (tries.chosen(np.arange(at, min(at + BATCH, len(tries)))) for at in range(0, len(tries), BATCH))
            found.append(np.concatenate([held(wall.unseen[0], part.region, batch)[0] for batch in batches]))
    return np.concatenate(found, axis=1)


def pushes(
    field: PieceField, samples: Sequence[Samples], tries: Poses, *, every: bool = False
) -> tuple[Array, Array, Array]:
    """Room of every point (p, n), the direction in which it grows, and the point's lever (p, n, 3).

    every : of the corners that the lattice does not see MANY are counted, and not a FEW
    """
    room, push, lever = [], [], []
    for part in samples:
        wall = field.walls[part.region.against]
        few, many = wall.unseen
        corners = many if every else few
        points = placed(part, tries)
        distance, gradient = wall.lattice.with_gradient(points)
        room.append(wall.side * distance - part.region.keep)
        push.append(wall.side * gradient)
        lever.append(points - tries.centres[:, np.newaxis])
        if len(corners):
            for column, seen in zip((room, push, lever), held(corners, part.region, tries), strict=True):
                column.append(seen)
    return np.concatenate(room, axis=1), np.concatenate(push, axis=1), np.concatenate(lever, axis=1)


SWAY = 0.3
"""A corner near an edge of a region leaves it by the face that the deepest corner leaves by, if that is not so much
farther [mm]: what crosses a block, a crack, is to leave it by one face."""


def held(corners: Array, region: Region, tries: Poses) -> tuple[Array, Array, Array]:
    """Corners of a surface (k, 3) held against a region: its room (p, k), which way that grows, the lever (p, k, 3).

    The surface stands still and the block moves: room grows as the face draws back that a corner lies beyond, or
    is to leave by.
    """
    lever = corners - tries.centres[:, np.newaxis]
    local = lever @ tries.axes.transpose(0, 2, 1)
    normals, offsets = faces(region)
    # a search over a last axis as short as the faces is slow
    over = np.ascontiguousarray((local @ normals.T - offsets).transpose(0, 2, 1))
    beyond = over.max(axis=1)
    inside = beyond <= 0.0
    every = np.arange(len(over))
    deepest = over[every, :, beyond.argmin(axis=1)].argmax(axis=1)
    leaning = over.copy()
    leaning[every, deepest] += np.where(inside.any(axis=1), SWAY, 0.0)[:, np.newaxis]
    face = leaning.argmax(axis=1)
    room = np.take_along_axis(over, face[:, np.newaxis], axis=1)[:, 0]
    outward = normals[face]
    least = room.min(axis=1, keepdims=True)
    apart = ~inside & (room > 0.0) & (room < np.maximum(least, 0.0) * np.sqrt(3.0) + 1.0)
    away = local[apart] - nearest_in(region, local[apart])
    room[apart] = np.linalg.norm(away, axis=1)
    outward[apart] = away / room[apart][:, np.newaxis]
    return room - region.keep, -(outward @ tries.axes), lever


def placed(part: Samples, tries: Poses) -> Array:
    """A region's points in the piece's frame: (p, n, 3) [mm]."""
    return part.points @ tries.axes + tries.centres[:, np.newaxis]
