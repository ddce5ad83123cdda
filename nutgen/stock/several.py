"""Several blocks from one piece: alone, or side by side in bundles that are ripped apart later."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from nutgen.stock.apart import beside, between
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import Pose
from nutgen.stock.laying import COARSE_STEP, FINE_STEP, SAME, Laying, unlike
from nutgen.stock.piece import Array
from nutgen.stock.poses import Crowd
from nutgen.stock.refine import OVERLAP, refined
from nutgen.stock.search import SEED

MOST = 12
WIDEST_BUNDLE = 4

PER_BUNDLE = 90
"""Places of each kind of bundle that sets are put together from."""

SETS, REFINED, LAST = 1200, 14, 2
"""Sets drawn at random, those refined over the lattice, those refined over the triangles."""

OVERLAY = 8.0
"""Places that overlap by more than this cannot be pushed apart [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Bundle:
    """Blocks side by side with a cut's width between them, moved as one.

    whole   : the bundle as one block, with the regions of each in it
    offsets : (n, 2) middles of the blocks in it, front to back and up [mm]
    """

    whole: Block
    offsets: Array

    def poses(self, pose: Pose) -> list[Pose]:
        """The poses of its blocks."""
        return [Pose(pose.centre + offset @ pose.axes[1:], pose.axes) for offset in self.offsets]


def bundle(block: Block, across: int, up: int, *, kerf: float) -> Bundle:
    """A bundle of across * up blocks."""
    pitch = np.array([block.thickness + kerf, block.height + kerf])
    places = [(i - (across - 1) / 2.0, j - (up - 1) / 2.0) for i in range(across) for j in range(up)]
    offsets = np.array(places) * pitch
    regions = tuple(_shifted(region, offset) for offset in offsets for region in block.regions)
    whole = replace(
        block,
        thickness=block.thickness + (across - 1) * pitch[0],
        height=block.height + (up - 1) * pitch[1],
        regions=regions,
    )
    return Bundle(whole, offsets)


def _shifted(region: Region, offset: Array) -> Region:
    return replace(region, outline=tuple((y + float(offset[0]), z + float(offset[1])) for y, z in region.outline))


@dataclass(frozen=True, slots=True, eq=False)
class _Pool:
    """Places for bundles of every kind: which kind (p,), the pose, the margin (p,), the cuts between any two (p, p)."""

    bundles: tuple[Bundle, ...]
    kind: Array
    crowd: Crowd
    margins: Array
    widths: Array


def lay_several(laying: Laying, block: Block, count: int) -> list[Pose]:
    """Where several blocks have most room together, one pose for each.

    raises : ValueError where more than MOST are asked for
    """
    if count > MOST:
        raise ValueError(f"{count} blocks are more than {MOST}; lay the piece in two goes")
    pool = _pool(laying, block, count)
    starts = _sets(pool, count, kerf=laying.rules.kerf)[:REFINED]
    settled = []
    for chosen in starts:
        movers = [laying.coarse(pool.bundles[pool.kind[index]].whole) for index in chosen]
        poses, _, worth = refined(
            movers, [pool.crowd.pose(index) for index in chosen], laying.rules, step=2.0 * COARSE_STEP, moves=20
        )
        settled.append((worth, chosen, poses))
    settled.sort(key=lambda one: -one[0])
    best: tuple[float, list[Pose]] | None = None
    for _, chosen, poses in settled[:LAST]:
        kinds = [pool.bundles[pool.kind[index]] for index in chosen]
        movers = [laying.fine(kind.whole) for kind in kinds]
        last, margin, worth = refined(movers, poses, laying.rules, step=FINE_STEP, moves=10)
        single = [one for kind, pose in zip(kinds, last, strict=True) for one in kind.poses(pose)]
        worth = min(laying.margin(block, pose) for pose in single) + (worth - margin)
        if best is None or worth > best[0]:
            best = worth, single
    assert best is not None
    return _closed_up(laying, block, best[1])


def _closed_up(laying: Laying, block: Block, poses: Sequence[Pose]) -> list[Pose]:
    """The same blocks with less waste: each stretch moved toward the first end while the least margin lasts."""
    mover, kerf = laying.fine(block), laying.rules.kerf
    least = min(float(mover.look(pose).room.min()) for pose in poses) - SAME
    stretches: list[list[Pose]] = []
    for pose in sorted(poses, key=lambda one: float(one.centre[0])):
        if stretches and beside(stretches[-1][0], pose, length=block.length):
            stretches[-1].append(pose)
        else:
            stretches.append([pose])
    done: list[list[Pose]] = []
    for here in stretches:
        before = done[-1] if done else []
        step, moved = laying.piece.length, list(here)
        while step > 0.2:
            fresh = [Pose(pose.centre - step * laying.ground.grain(pose.centre[:1])[0], pose.axes) for pose in moved]
            free = all(
                between(a, mover.size, b, mover.size, beside=False).width >= kerf for a in before for b in fresh
            ) and all(not before or b.centre[0] > before[0].centre[0] for b in fresh)
            if free and all(float(mover.look(pose).room.min()) >= least for pose in fresh):
                moved = fresh
            else:
                step /= 2.0
        done.append(moved)
    fresh = [pose for here in done for pose in here]
    spare = laying.cost(block, fresh)[0] < laying.cost(block, poses)[0]
    return fresh if spare else list(poses)


def _pool(laying: Laying, block: Block, count: int) -> _Pool:
    kinds: list[Bundle] = []
    crowds, margins, index = [], [], []
    for across, up in _shapes(count):
        one = bundle(block, across, up, kerf=laying.rules.kerf)
        found = laying.found(one.whole)
        chosen = unlike(found.crowd, PER_BUNDLE)
        if kinds and found.margins[0] < -2.0:
            continue
        index += [len(kinds)] * len(chosen)
        kinds.append(one)
        crowds.append(found.crowd.chosen(np.array(chosen)))
        margins.append(found.margins[chosen])
    crowd = Crowd(np.concatenate([c.centres for c in crowds]), np.concatenate([c.axes for c in crowds]))
    kind = np.array(index)
    sizes = np.array([kinds[k].whole.size for k in kind])
    return _Pool(tuple(kinds), kind, crowd, np.concatenate(margins), _widths(crowd, sizes))


def _shapes(count: int) -> list[tuple[int, int]]:
    sides = range(1, min(count, WIDEST_BUNDLE) + 1)
    return sorted(((a, b) for a in sides for b in sides if a * b <= count), key=lambda shape: shape[0] * shape[1])


def _widths(crowd: Crowd, sizes: Array) -> Array:
    """The room for the cut between any two, as `apart.between` has it: (p, p) [mm].

    Places beside one another that do not begin together are counted as too close by as much.
    """
    half = sizes / 2.0
    middle = crowd.centres[np.newaxis] - crowd.centres[:, np.newaxis]
    cosines = np.einsum("pak,qbk->pqab", crowd.axes, crowd.axes)
    along = np.abs(np.einsum("pak,pqk->pqa", crowd.axes, middle))
    spread = half[:, np.newaxis] + np.einsum("pqab,qb->pqa", np.abs(cosines), half)
    width = np.maximum(along - spread, np.swapaxes(along - spread, 0, 1))
    ahead = np.abs(middle[..., 0])
    return np.where(ahead < half[:, :1], width[..., 1:].max(axis=2) - ahead, width[..., 0])


def _sets(pool: _Pool, count: int, *, kerf: float) -> list[list[int]]:
    """Sets of places that hold the count together, the most promising first, no two alike."""
    random = np.random.default_rng(SEED)
    weights = np.array([len(kind.offsets) for kind in pool.bundles])[pool.kind]
    found: dict[tuple[int, ...], float] = {}
    for draw in range(SETS):
        noise = random.gumbel(scale=0.0 if draw == 0 else 0.5 + draw / SETS, size=len(weights))
        chosen: list[int] = []
        left, lack = count, 0.0
        for index in np.argsort(-(pool.margins + noise), kind="stable"):
            if weights[index] > left:
                continue
            gaps = kerf - pool.widths[index, chosen]
            if len(gaps) and gaps.max() > OVERLAY:
                continue
            lack += float(np.maximum(0.0, gaps).sum())
            chosen.append(int(index))
            left -= int(weights[index])
            if left == 0:
                break
        if left == 0:
            worth = float(pool.margins[chosen].min()) - lack / 4.0 * min(1.0, OVERLAP)
            found.setdefault(tuple(sorted(chosen)), worth)
    if not found:
        return [_side_by_side(pool, count)]
    return [list(chosen) for chosen in sorted(found, key=lambda one: -found[one])]


def _side_by_side(pool: _Pool, count: int) -> list[int]:
    """A set for a piece that is too small for the count: the best place, taken as often as needed."""
    single = np.flatnonzero(pool.kind == 0)
    return [int(single[index % len(single)]) for index in range(count)]
