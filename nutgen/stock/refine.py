"""One pose brought to where it has most room: a linear programme for each small move.

Near a pose, the room of every point of the block changes linearly with the move: room + push . move.
The move that leaves the least of them largest, within a step that the last one earned, is a linear
programme of seven unknowns: three of the shift, three of the turn, and the least room itself.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog

from nutgen.stock.ground import Ground
from nutgen.stock.laid import Pose
from nutgen.stock.piece import Array
from nutgen.stock.poses import crowd_of, placed, turned
from nutgen.stock.shapes import Samples

ENOUGH = 0.002
"""A step below which nothing is gained [mm]."""

Look = Callable[[Pose], tuple[Array, Array, Array]]
"""A pose -> room of each point (n,), where it grows (n, 3), the point (n, 3) [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Bound:
    """What the length of a block may not leave: a cone about the grain.

    most : half its opening [rad]
    """

    ground: Ground
    most: float

    def rows(self, pose: Pose) -> tuple[Array, Array]:
        """Linear bounds on a turn: coefficients (8, 3) and limits (8,)."""
        grain = self.ground.grain(pose.centre[:1])[0]
        length = pose.axes[0] * (1.0 if pose.axes[0] @ grain > 0.0 else -1.0)
        one = np.cross(grain, [0.0, 0.6, 0.8])
        one /= np.linalg.norm(one)
        other = np.cross(grain, one)
        angles = np.arange(8) * np.pi / 4.0
        outward = np.cos(angles)[:, np.newaxis] * one + np.sin(angles)[:, np.newaxis] * other
        return np.cross(length, outward), np.maximum(0.0, np.sin(self.most) - outward @ length)

    def holds(self, pose: Pose) -> bool:
        """Whether a pose keeps to it."""
        grain = self.ground.grain(pose.centre[:1])[0]
        return bool(abs(pose.axes[0] @ grain) >= np.cos(self.most + 1e-6))


def coarse_look(ground: Ground, samples: Sequence[Samples]) -> Look:
    """Room as the lattice tells it."""

    def look(pose: Pose) -> tuple[Array, Array, Array]:
        crowd = crowd_of([pose])
        rows = []
        for part in samples:
            wall = ground.walls[part.region.against]
            points = placed(part, crowd)[0]
            distance, gradient = wall.lattice.with_gradient(points)
            rows.append((wall.side * distance - part.region.keep, wall.side * gradient, points))
        return _joined(rows)

    return look


def fine_look(ground: Ground, samples: Sequence[Samples]) -> Look:
    """Room as the triangles tell it, for the points that the lattice finds tight."""

    def look(pose: Pose) -> tuple[Array, Array, Array]:
        crowd = crowd_of([pose])
        known = []
        for part in samples:
            wall = ground.walls[part.region.against]
            points = placed(part, crowd)[0]
            known.append((part, wall, points, wall.side * wall.lattice.at(points) - part.region.keep))
        least = min(float(room.min()) for *_, room in known)
        rows = []
        for part, wall, points, room in known:
            points = points[room < least + 0.8]
            if len(points):
                distance, gradient = wall.distances.near(points)
                rows.append((wall.side * distance - part.region.keep, wall.side * gradient, points))
        return _joined(rows)

    return look


def _joined(rows: Sequence[tuple[Array, Array, Array]]) -> tuple[Array, Array, Array]:
    room, push, points = (np.concatenate(column) for column in zip(*rows, strict=True))
    return room, push, points


def refined(look: Look, pose: Pose, bound: Bound, *, reach: float, step: float, moves: int = 14) -> tuple[Pose, float]:
    """The pose near a given one that has most room, and that room.

    look  : how room is told
    reach : lever of a turn [mm]
    step  : the first move may be this long [mm]
    """
    room, push, points = look(pose)
    margin = float(room.min())
    for _ in range(moves):
        move = _best_move(room, push, points - pose.centre, *bound.rows(pose), reach=reach, step=step)
        fresh = Pose(pose.centre + move[:3], turned(pose.axes[np.newaxis], move[np.newaxis, 3:6])[0])
        seen = look(fresh)
        gained = float(seen[0].min()) - margin
        if gained > 0.0 and bound.holds(fresh):
            pose, margin = fresh, margin + gained
            room, push, points = seen
            step *= 1.5 if gained > 0.5 * (move[6] - margin + gained) else 0.7
        else:
            step *= 0.3
        if step < ENOUGH or (0.0 <= gained < ENOUGH / 10.0 and move[6] - margin < ENOUGH / 4.0):
            break
    return pose, margin


def _best_move(
    room: Array, push: Array, lever: Array, turn_rows: Array, turn_limits: Array, *, reach: float, step: float
) -> Array:
    """The linear programme: shift (3), turn (3), least room."""
    near = room < room.min() + 2.5 * step
    room, push, lever = room[near], push[near], lever[near]
    slope = np.hstack([push, np.cross(lever, push) / reach, np.full((len(room), 1), -1.0)])
    grain = np.hstack([np.zeros((len(turn_rows), 3)), turn_rows / reach, np.zeros((len(turn_rows), 1))])
    found = linprog(
        np.array([0.0] * 6 + [-1.0]),
        A_ub=np.vstack([-slope, grain]),
        b_ub=np.concatenate([room, turn_limits]),
        bounds=[(-step, step)] * 6 + [(None, None)],
        method="highs-ds",
    )
    if not found.success:
        return np.zeros(7)
    return np.concatenate([found.x[:3], found.x[3:6] / reach, found.x[6:]])
