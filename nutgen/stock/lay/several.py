"""Several blocks from one piece: alone, or side by side in bundles that are ripped apart later."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nutgen.geometry.pose import Pose
from nutgen.stock import MOST_BLOCKS
from nutgen.stock.block import Block
from nutgen.stock.laid import ERROR
from nutgen.stock.lay.apart import beside, between
from nutgen.stock.lay.laying import ACROSS, AT_FIRST, COARSE_STEP, FINE_STEP, HOPELESS, SAME, THOROUGH, Laying, across
from nutgen.stock.lay.refine import OVERLAP, refined
from nutgen.stock.lay.sets import Bundle, Choice, Pool, in_stretch, pool_of, sets_of

_Settled = tuple[float, Sequence[Choice], Sequence[Pose]]
"""What a set is worth over the lattice [mm], its places in the pool, and where its bundles are by then."""


@dataclass(frozen=True, slots=True, eq=False)
class Together:
    """Several blocks: one pose for each, and what is missing between them for the saw [mm]."""

    poses: list[Pose]
    lack: float


def lay_several(laying: Laying, block: Block, count: int) -> Together:
    """Where several blocks have most room together.

    raises : ValueError where more than MOST_BLOCKS are asked for
    """
    if count > MOST_BLOCKS:
        raise ValueError(f"{count} blocks are more than {MOST_BLOCKS}; lay the piece in two goes")
    pool = pool_of(laying, block, count)
    settled: list[_Settled] = []
    for chosen in sets_of(laying, pool, block, count)[: THOROUGH.hopeful]:
        movers = [laying.coarse(pool.bundle(one).whole) for one in chosen]
        starts = [in_stretch(laying, pool, one) for one in chosen]
        stretches = [one.stretch for one in chosen]
        poses, _, worth = refined(movers, starts, laying.rules, step=2.0 * COARSE_STEP, moves=20, stretches=stretches)
        settled.append((worth, chosen, poses))
    near = _unlike(pool, settled)
    tries = [_finished(laying, pool, block, chosen, poses) for _, chosen, poses in near[: THOROUGH.last]]
    tries.sort(key=lambda one: -one.worth)
    if laying.blind and near[0][0] > HOPELESS and tries[0].worth <= ERROR:
        for one in tries[:ACROSS]:
            tries += [_finished(laying, pool, block, one.chosen, poses, moves=AT_FIRST) for poses in _across(one)]
        best = max(tries, key=lambda one: one.worth)
        tries.append(_finished(laying, pool, block, best.chosen, best.places))
    found = [(one.worth, one.together) for one in tries]
    if HOPELESS < max(worth for worth, _ in found) <= ERROR:
        found += [one for kind in pool.bundles if len(kind.offsets) == count for one in _in_one(laying, kind)]
    most = max(worth for worth, _ in found)
    tied = [together for worth, together in found if worth >= most - SAME]
    if most < 0.0:
        return tied[0]
    closed = [_closed_up(laying, block, together.poses) for together in tied]
    return Together(min(closed, key=lambda poses: laying.cost(block, poses)), 0.0)


def _unlike(pool: Pool, settled: Sequence[_Settled]) -> list[_Settled]:
    """The most worth first; of bundles of the same kinds with the same worth, which lie a little along, one set."""
    found: dict[tuple[float, tuple[int, ...]], _Settled] = {}
    for worth, chosen, poses in sorted(settled, key=lambda one: -one[0]):
        kinds = sorted(int(pool.kind[one.place]) for one in chosen)
        found.setdefault((round(worth, 2), tuple(kinds)), (worth, chosen, poses))
    return list(found.values())


@dataclass(frozen=True, slots=True, eq=False)
class _Try:
    """A set brought to its best over the triangles.

    places   : of its bundles
    tightest : which of them has least room
    worth    : least room, less what the cuts between them lack, which counts more [mm]
    """

    chosen: Sequence[Choice]
    places: Sequence[Pose]
    tightest: int
    worth: float
    together: Together


def _finished(
    laying: Laying, pool: Pool, block: Block, chosen: Sequence[Choice], poses: Sequence[Pose], *, moves: int = 12
) -> _Try:
    kinds = [pool.bundle(one) for one in chosen]
    movers = [laying.fine(kind.whole) for kind in kinds]
    stretches = [one.stretch for one in chosen]
    places, margin, worth = refined(movers, poses, laying.rules, step=FINE_STEP, moves=moves, stretches=stretches)
    single = [kind.poses(place) for kind, place in zip(kinds, places, strict=True)]
    rooms = [min(laying.margin(block, pose) for pose in poses) for poses in single]
    lack = (margin - worth) / OVERLAP
    together = Together([pose for poses in single for pose in poses], lack if lack > SAME else 0.0)
    return _Try(chosen, places, int(np.argmin(rooms)), min(rooms) - OVERLAP * lack, together)


def _across(one: _Try) -> list[list[Pose]]:
    """Its places, the tightest of them pushed to the other side of a crack."""
    before, after = one.places[: one.tightest], one.places[one.tightest + 1 :]
    return [[*before, way, *after] for way in across(one.places[one.tightest])]


def _in_one(laying: Laying, kind: Bundle) -> list[tuple[float, Together]]:
    """A bundle that holds all, laid as a single block is: what each place is worth [mm], and its blocks."""
    return [(margin, Together(kind.poses(pose), 0.0)) for pose, margin in laying.roomiest(kind.whole)]


def _closed_up(laying: Laying, block: Block, poses: Sequence[Pose]) -> list[Pose]:
    """The same blocks with less waste: each stretch moved toward the first end while the least margin lasts."""
    mover, kerf = laying.fine(block), laying.rules.kerf
    least = min(float(mover.look(pose).room.min()) for pose in poses) - SAME
    stretches: list[list[Pose]] = []
    for pose in sorted(poses, key=lambda one: one.origin[0]):
        if stretches and beside(stretches[-1][0], pose, length=block.length):
            stretches[-1].append(pose)
        else:
            stretches.append([pose])
    done: list[list[Pose]] = []
    for here in stretches:
        before = done[-1] if done else []
        step, moved = laying.piece.length, list(here)
        while step > 0.1:
            fresh = [Pose.of(pose.at - step * laying.field.grain(pose.at[:1])[0], pose.axes) for pose in moved]
            free = all(
                between(a, mover.size, b, mover.size, beside=False).width >= kerf for a in before for b in fresh
            ) and all(not before or b.origin[0] > before[0].origin[0] for b in fresh)
            roomy = free and laying.rules.hold(fresh)
            if roomy and all(float(mover.look(pose).room.min()) >= least for pose in fresh):
                moved = fresh
            else:
                step /= 2.0
        done.append(moved)
    fresh = [pose for here in done for pose in here]
    if laying.cost(block, fresh)[0] >= laying.cost(block, poses)[0]:
        return list(poses)
    was, now = (min(laying.margin(block, pose) for pose in those) for those in (poses, fresh))
    return fresh if now >= was - SAME else list(poses)
