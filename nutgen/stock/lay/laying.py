"""A block and a piece made ready for each other: what every way of laying needs."""

import dataclasses
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block
from nutgen.stock.laid import ERROR, Laid
from nutgen.stock.lay.exact import proven, tightest
from nutgen.stock.lay.field import PieceField
from nutgen.stock.lay.poses import Poses, poses_of
from nutgen.stock.lay.refine import Mover, Rules, coarse_look, fine_look, refined
from nutgen.stock.lay.saw import saw_area, waste
from nutgen.stock.lay.search import GENTLE, Found, relevant, search, settled
from nutgen.stock.lay.shapes import sample
from nutgen.stock.lay.shortage import tightest_place
from nutgen.stock.piece import Piece

COARSE, FINE = 1.0, 0.75
"""Between the points of a block, while it is brought near its best place and for the last moves [mm]."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How many places are carried how far.

    starts  : settled tries that are pushed on gently
    hopeful : those that are refined over the lattice
    last    : those refined over the triangles
    """

    starts: int
    hopeful: int
    last: int


BRISK, THOROUGH = Effort(28, 8, 3), Effort(80, 30, 10)
"""For the smooth skin of a piece by calipers; for the lumps of a scan and for sets: many places are nearly best."""

ROLLED = 6
"""Of the starts, those that are also tried the other ways round in their place."""

ACROSS, ASIDE = 4, 0.8
"""Where cracks let no block lie, so many of the best places are tried again from so far aside [mm]."""

MOVES, AT_FIRST = 14, 6
"""At most, to bring a place to its best, and one that was tried aside."""

SAME = 0.01
"""Margins that differ by less are the same to a saw: then waste and saw work decide [mm]."""

HARDLY = 0.05
"""What the moves see of a place's room is over fewer points: more than it has as a rule, or less by no more [mm]."""

HOPELESS = -0.5
"""What over the lattice is short by more has no room over the triangles either: the lattice is off by less [mm]."""

COARSE_STEP, FINE_STEP = 1.0, 0.3
"""The first move over the lattice and over the triangles [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Laying:
    """A piece, made ready once, and by which rules blocks are laid in it.

    known : what was found for each block, which is asked for again where fewer of them are laid
    """

    piece: Piece
    field: PieceField
    rules: Rules
    effort: Effort
    known: dict[Hashable, Found] = dataclasses.field(default_factory=dict)

    @classmethod
    def of(cls, piece: Piece, block: Block) -> "Laying":
        """Make a piece ready for blocks of a length."""
        field = PieceField(piece, span=block.length)
        rules = Rules(field, float(np.radians(piece.permitted.grain_deg)), piece.permitted.kerf)
        return cls(piece, field, rules, THOROUGH if piece.found_by == "scan" else BRISK)

    @property
    def blind(self) -> bool:
        """Whether there are cracks that the lattice does not see."""
        return any(len(few) for few, _ in (wall.unseen for wall in self.field.walls.values()))

    def found(self, block: Block) -> Found:
        """Settled tries."""
        key = block.size, block.regions  # of a block the search sees nothing else
        if key not in self.known:
            self.known[key] = search(self.field, block, most_off_grain=self.rules.most_off_grain)
        return self.known[key]

    def coarse(self, block: Block) -> Mover:
        """A block seen over the lattice."""
        samples = [sample(region, COARSE) for region in relevant(self.field, block)]
        return Mover(coarse_look(self.field, samples), np.array(block.size))

    def fine(self, block: Block, *, apart: float = FINE) -> Mover:
        """A block seen over the triangles, in points so far apart [mm]."""
        samples = [sample(region, apart) for region in relevant(self.field, block)]
        return Mover(fine_look(self.field, samples), np.array(block.size))

    def roomiest(self, block: Block) -> list[tuple[Pose, float]]:
        """Where a single block has most room, with its margins over all triangles [mm], the roomiest first."""
        return self.best(block, self.near_best(block, self.found(block)))

    def near_best(self, block: Block, found: Found) -> list[tuple[Pose, float]]:
        """The roomiest places over the lattice, each from a start of its own, with their margins [mm]."""
        poses = [found.tries.pose(index) for index in unlike(found.tries, self.effort.starts)]
        other_ways = [way for pose in poses[:ROLLED] for way in rolled(pose)]
        starts = poses_of(poses + other_ways)
        tries, margins = settled(self.field, block, starts, GENTLE, most_off_grain=self.rules.most_off_grain)
        return self.refined(block, [tries.pose(index) for index in unlike_places(tries, margins, self.effort.hopeful)])

    def refined(self, block: Block, poses: Sequence[Pose]) -> list[tuple[Pose, float]]:
        """Each pose brought to its best over the lattice, with its margin there, the roomiest first, none twice."""
        found, mover = list[tuple[Pose, float]](), self.coarse(block)
        for pose in poses:
            (last,), margin, _ = refined([mover], [pose], self.rules, step=COARSE_STEP)
            if not any(_same(last, margin, *other) for other in found):
                found.append((last, margin))
        return sorted(found, key=lambda one: -one[1])

    def best(self, block: Block, near: Sequence[tuple[Pose, float]]) -> list[tuple[Pose, float]]:
        """The roomiest places over the triangles, with their margins over all of them [mm].

        All are brought on in few points, the best one then in more. Among cracks a block that finds no room, and
        could, is tried on their other side, too.
        """
        rough = self.fine(block, apart=2.0 * FINE)

        def brought(poses: Iterable[Pose], mover: Mover, moves: int = MOVES) -> list[tuple[Pose, float]]:
            lasts = (refined([mover], [pose], self.rules, step=FINE_STEP, moves=moves) for pose in poses)
            return self._proven(block, [(last, seen) for (last,), seen, _ in lasts])

        found = brought((pose for pose, _ in near[: self.effort.last]), rough)
        if self.blind and near[0][1] > HOPELESS and found[0][1] <= ERROR:
            found += brought((way for pose, _ in found[:ACROSS] for way in across(pose)), rough, AT_FIRST)
        found += brought([max(found, key=lambda one: one[1])[0]], self.fine(block))
        return sorted(found, key=lambda one: -one[1])

    def _proven(self, block: Block, seen: Iterable[tuple[Pose, float]]) -> list[tuple[Pose, float]]:
        """Poses with their margins [mm], the roomiest first; one that falls behind another's is not proven further.

        seen : with the room that their moves told of, which is hardly ever less than they have [mm]
        """
        found, most = list[tuple[Pose, float]](), -np.inf
        for pose, margin in sorted(seen, key=lambda one: -one[1]):
            if margin >= most - HARDLY:
                rooms = tightest(self.field, block, pose)
                margin = (proven(self.field, rooms, pose) if rooms[0].room >= most - SAME else rooms)[0].room
            found.append((pose, margin))
            most = max(most, margin)
        return sorted(found, key=lambda one: -one[1])

    def margin(self, block: Block, pose: Pose) -> float:
        """The room that a block really has [mm]."""
        return self._proven(block, [(pose, np.inf)])[0][1]

    def cost(self, block: Block, poses: Sequence[Pose]) -> tuple[float, float, float]:
        """What decides between equal margins: waste, saw work, then how far from the first end, coarsely."""
        lost = waste(self.field, block, poses, kerf=self.rules.kerf)
        sawn = sum(saw_area(self.field, block, pose) for pose in poses)
        return round(lost, -2), round(sawn, -1), round(sum(pose.origin[0] for pose in poses), 1)

    def laid(self, block: Block, pose: Pose, *, lost: float) -> Laid:
        """All that is known of a block in its place.

        lost : its share of the waste [mm3]
        """
        found = proven(self.field, tightest(self.field, block, pose), pose)
        rooms = {against: [t.room for t in found if t.region.against == against] for against in ("skin", "core")}
        grain = self.field.grain(pose.at[:1])[0]
        return Laid(
            pose=pose,
            rooms=tuple(found),
            margin=found[0].room,
            skin_margin=min(rooms["skin"]),
            core_margin=min(rooms["core"]) if rooms["core"] else None,
            tightest=tightest_place(found[0], pose),
            tightest_at=pose.apply(found[0].at[np.newaxis])[0],
            grain_deg=float(np.degrees(np.arccos(min(1.0, abs(float(pose.axes[0] @ grain)))))),
            waste=lost,
            saw_area=saw_area(self.field, block, pose),
        )


def _same(one: Pose, margin: float, other: Pose, other_margin: float) -> bool:
    """Whether two places are one, though perhaps the other way round."""
    return abs(margin - other_margin) < 1e-3 and float(np.linalg.norm(one.at - other.at)) < 0.5


def unlike_places(tries: Poses, margins: Array, count: int) -> list[int]:
    """The first poses of a tries that are not one place, though perhaps the other way round."""

    def same(one: int, other: int) -> bool:
        return _same(tries.pose(one), float(margins[one]), tries.pose(other), float(margins[other]))

    return _first_unlike(len(tries), count, same)


def across(pose: Pose) -> list[Pose]:
    """A pose pushed to either side, forward and back, up and down: to the other side of a crack."""
    return [Pose.of(pose.at + by * axis, pose.axes) for axis in pose.axes[1:] for by in (-ASIDE, ASIDE)]


def rolled(pose: Pose) -> list[Pose]:
    """A pose the other five ways round: a quarter and half a turn about its length, and end for end."""
    length, back, up = pose.axes
    ways = [(length, up, -back), (length, -up, back), (length, -back, -up), (-length, -back, up), (-length, back, -up)]
    return [Pose.of(pose.at, np.array(axes)) for axes in ways]


def unlike(tries: Poses, count: int, *, apart: float = 3.0, turn: float = 0.25) -> list[int]:
    """The first poses of a tries that differ from each other.

    apart : their middles [mm]
    turn  : or their axes [rad]
    """

    def same(one: int, other: int) -> bool:
        away = float(np.linalg.norm(tries.centres[one] - tries.centres[other]))
        cosines: Array = np.abs(np.einsum("ij,ij->i", tries.axes[one], tries.axes[other]))
        return away <= apart and bool(np.all(cosines >= np.cos(turn)))

    return _first_unlike(len(tries), count, same)


def _first_unlike(tries: int, count: int, same: Callable[[int, int], bool]) -> list[int]:
    """The first tries, so many of them, of which no two are the same."""
    chosen: list[int] = []
    for index in range(tries):
        if not any(same(index, other) for other in chosen):
            chosen.append(index)
        if len(chosen) == count:
            break
    return chosen
