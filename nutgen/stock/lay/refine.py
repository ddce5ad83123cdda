"""Poses brought to where they have most room: a linear programme for each small move.

Near a pose, the room of every point of the block changes linearly with the move: room + push . move.
The move that leaves the least of them largest, within a step that the last one earned, is a linear
programme: three unknowns for the shift and three for the turn of each block, and the least room itself.
Several blocks of one piece move together, a cut's width kept between them.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose
from nutgen.stock.lay.apart import Between, between
from nutgen.stock.lay.field import UNSEEN, PieceField
from nutgen.stock.lay.poses import cross, held, placed, poses_of, pushes, turned, with_grain
from nutgen.stock.lay.programme import greatest
from nutgen.stock.lay.shapes import Samples

WIDE = 1.5
"""A point farther out than this is not in a crack: what is twice as wide the lattice sees [mm]."""

ENOUGH = 0.002
"""A step below which nothing is gained [mm]."""

LEVEL = 0.05
"""Blocks beside one another begin and end together within this [mm]."""

ASKEW = np.array([0.0, 0.6, 0.8])
AROUND = np.array([[np.cos(turn), np.sin(turn)] for turn in np.arange(8) * np.pi / 4.0])
"""A direction that no grain has, and eight about it."""

OVERLAP = 4.0
"""How much dearer a millimetre of too narrow a cut is than one of margin."""


@dataclass(frozen=True, slots=True, eq=False)
class Clearance:
    """What a pose sees: room of each point (n,), the direction in which it grows (n, 3), its lever (n, 3) [mm]."""

    room: Array
    push: Array
    lever: Array


Look = Callable[[Pose], Clearance]


@dataclass(frozen=True, slots=True, eq=False)
class Mover:
    """A block that is moved.

    look  : how its room is told
    size  : (3,) length, thickness, height [mm]
    """

    look: Look
    size: Array

    @property
    def reach(self) -> float:
        """Lever of a turn [mm]."""
        return float(self.size[0]) / 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Rules:
    """What every pose must keep to.

    most_off_grain : between a block's length and the grain [rad]
    kerf           : of a cut between two blocks [mm]
    """

    field: PieceField
    most_off_grain: float
    kerf: float

    def grain_rows(self, pose: Pose) -> tuple[Array, Array]:
        """Linear bounds on a turn: coefficients (8, 3) and limits (8,)."""
        grain = self.field.grain(pose.at[:1])[0]
        length = pose.axes[0] * (1.0 if pose.axes[0] @ grain > 0.0 else -1.0)
        one = cross(grain, ASKEW)
        one /= np.linalg.norm(one)
        outward = AROUND @ np.stack([one, cross(grain, one)])
        return cross(length, outward), np.maximum(0.0, np.sin(self.most_off_grain) - outward @ length)

    def hold(self, poses: Sequence[Pose]) -> bool:
        """Whether every pose lies with the grain."""
        return all(
            abs(pose.axes[0] @ self.field.grain(pose.at[:1])[0]) >= np.cos(self.most_off_grain + 1e-6) for pose in poses
        )


def coarse_look(field: PieceField, samples: Sequence[Samples]) -> Look:
    """Room as the lattice tells it, and the corners that it does not see."""

    def look(pose: Pose) -> Clearance:
        room, push, lever = pushes(field, samples, poses_of([pose]), every=True)
        return Clearance(room[0], push[0], lever[0])

    return look


def fine_look(field: PieceField, samples: Sequence[Samples]) -> Look:
    """Room as the triangles tell it, for the points that the lattice finds tight."""

    def look(pose: Pose) -> Clearance:
        tries = poses_of([pose])
        known, rows = [], []
        for part in samples:
            wall = field.walls[part.region.against]
            points = placed(part, tries)[0]
            known.append((part, wall, points, wall.side * wall.lattice.at(points) - part.region.keep))
            if len(wall.unseen[1]):
                rows.append(tuple(column[0] for column in held(wall.unseen[1], part.region, tries)))
        least = min(float(room.min()) for *_, room in known)
        for part, wall, points, room in known:
            close = room < least + 0.8
            if np.any(close):
                distance, gradient = wall.distances.near(points[close])
                told = wall.side * distance - part.region.keep
                # where the lattice tells of room that is not there a crack is nearer, and its corners are held
                seen = (told < -WIDE) | (room[close] - told < UNSEEN) | (len(wall.unseen[1]) == 0)
                rows.append((told[seen], wall.side * gradient[seen], (points[close] - pose.at)[seen]))
        return Clearance(*(np.concatenate(column) for column in zip(*rows, strict=True)))

    return look


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Poses, what they see, and how good that is.

    margin : the least room of any [mm]
    worth  : the same, less what the cuts between blocks lack
    pairs  : what parts the blocks, two by two
    """

    poses: tuple[Pose, ...]
    views: tuple[Clearance, ...]
    margin: float
    worth: float
    pairs: tuple["Pair", ...]


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """What parts two blocks.

    beside : whether they lie beside one another, in one stretch; they must then begin and end together
    cut    : the room for it
    ahead  : of the one's middle before the other's, along the piece [mm]
    """

    one: int
    other: int
    beside: bool
    cut: Between
    ahead: float

    def lack(self, kerf: float) -> float:
        """What is missing for the saw to part them [mm]."""
        return max(0.0, kerf - self.cut.width) + (max(0.0, abs(self.ahead) - LEVEL) if self.beside else 0.0)


def refined(
    movers: Sequence[Mover],
    poses: Sequence[Pose],
    rules: Rules,
    *,
    step: float,
    moves: int = 14,
    stretches: Sequence[int] = (0,),
) -> tuple[tuple[Pose, ...], float, float]:
    """The poses near given ones that have most room.

    step      : the first move may be this long [mm]
    stretches : of the piece, numbered, in which each block lies
    returns   : the poses, within what the rules permit, the least room [mm], and the same less what the cuts
                between them lack
    """

    def lawful(poses: Sequence[Pose]) -> list[Pose]:
        turned_back = with_grain(rules.field, poses_of(poses), most=rules.most_off_grain)
        return [turned_back.pose(index) for index in range(len(poses))]

    poses = lawful(poses)
    sides = {(i, j): stretches[i] == stretches[j] for i, j in combinations(range(len(poses)), 2)}
    now = _standing(movers, poses, rules, sides)
    for _ in range(moves):
        shifts, hoped = _best_move(movers, now, rules, step=step)
        fresh = lawful(
            [
                Pose.of(pose.at + shift[:3], turned(pose.axes[np.newaxis], shift[np.newaxis, 3:])[0])
                for pose, shift in zip(now.poses, shifts, strict=True)
            ]
        )
        seen = _standing(movers, fresh, rules, sides)
        gained, promised = seen.worth - now.worth, hoped - now.margin
        if gained > 0.0:
            now = seen
            step *= 1.5 if gained > 0.5 * promised else 0.7
        else:
            step *= 0.3
        if step < ENOUGH or (0.0 <= gained < ENOUGH / 10.0 and promised < ENOUGH / 4.0):
            break
    return now.poses, now.margin, now.worth


def _standing(
    movers: Sequence[Mover], poses: Sequence[Pose], rules: Rules, sides: Mapping[tuple[int, int], bool]
) -> Standing:
    views = tuple(mover.look(pose) for mover, pose in zip(movers, poses, strict=True))
    margin = min(float(view.room.min()) for view in views)
    pairs = tuple(
        Pair(
            one=i,
            other=j,
            beside=side,
            cut=between(poses[i], movers[i].size, poses[j], movers[j].size, beside=side),
            ahead=poses[j].origin[0] - poses[i].origin[0],
        )
        for (i, j), side in sides.items()
    )
    lack = sum(pair.lack(rules.kerf) for pair in pairs)
    return Standing(tuple(poses), views, margin, margin - OVERLAP * lack, pairs)


def _best_move(movers: Sequence[Mover], now: Standing, rules: Rules, *, step: float) -> tuple[list[Array], float]:
    """The linear programme: shift (3) and turn (3) of each block, and the least room that they promise."""
    unknowns = 6 * len(movers) + 1
    rows, limits = [], []
    for index, (mover, pose, view) in enumerate(zip(movers, now.poses, now.views, strict=True)):
        near = view.room <= now.margin + 2.5 * step  # the others a move cannot make the tightest
        room, push, lever = view.room[near], view.push[near], view.lever[near]
        part = np.zeros((len(room), unknowns))
        part[:, 6 * index : 6 * index + 3] = -push
        part[:, 6 * index + 3 : 6 * index + 6] = -cross(lever, push) / mover.reach
        part[:, -1] = 1.0
        turn, limit = rules.grain_rows(pose)
        grain = np.zeros((len(turn), unknowns))
        grain[:, 6 * index + 3 : 6 * index + 6] = turn / mover.reach
        rows += [part, grain]
        limits += [room, limit]
    for pair in now.pairs:
        part, limit = _pair_rows(pair, movers, now.poses, rules.kerf, step, unknowns)
        rows.append(part)
        limits.append(limit)
    found = greatest(np.vstack(rows), np.concatenate(limits), within=step)
    if found is None:
        return [np.zeros(6) for _ in movers], now.margin
    moves = found[:-1].reshape(-1, 6)
    levers = [np.array([1.0, 1.0, 1.0, *[1.0 / mover.reach] * 3]) for mover in movers]
    return [move * lever for move, lever in zip(moves, levers, strict=True)], float(found[-1])


def _pair_rows(
    pair: Pair, movers: Sequence[Mover], poses: Sequence[Pose], kerf: float, step: float, unknowns: int
) -> tuple[Array, Array]:
    """Linear bounds that keep a cut's width between two blocks, and those beside one another level."""
    rows = np.zeros((3, unknowns))
    for index, point, sign in ((pair.one, pair.cut.first, 1.0), (pair.other, pair.cut.second, -1.0)):
        lever = point - poses[index].at
        rows[0, 6 * index : 6 * index + 3] = sign * pair.cut.across
        rows[0, 6 * index + 3 : 6 * index + 6] = sign * cross(lever, pair.cut.across) / movers[index].reach
        rows[1, 6 * index], rows[2, 6 * index] = -sign, sign
    width = pair.cut.width
    off = max(0.0, abs(pair.ahead) - step)
    limits = [width - min(kerf, width + step), off - pair.ahead, off + pair.ahead]
    count = 3 if pair.beside else 1
    return rows[:count], np.array(limits[:count])
