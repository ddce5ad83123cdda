"""Several blocks from one piece: alone, or side by side in bundles that are ripped apart later."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose
from nutgen.stock import MOST_BLOCKS
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import ERROR
from nutgen.stock.lay.apart import beside, between
from nutgen.stock.lay.laying import ACROSS, AT_FIRST, COARSE_STEP, FINE_STEP, HOPELESS, SAME, Laying, across, unlike
from nutgen.stock.lay.poses import Poses
from nutgen.stock.lay.refine import OVERLAP, refined
from nutgen.stock.lay.search import SEED

WIDEST_BUNDLE = 4

PER_BUNDLE = 120
"""Places of each kind of bundle that sets are put together from."""

SETS, ROOMIEST = 600, 300
"""Sets drawn at random, of rows shared out along the piece and of rows where it is roomiest."""

OVERLAY = 6.0
"""Places that overlap by more than this are not pushed apart [mm]."""

OVERHANG = 4.0
"""A row of blocks and cuts longer than the piece by up to this is tried all the same, for what it is short by [mm]."""

SHIFT = 0.1
"""What a millimetre counts by which a place is shifted into its stretch."""


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
        return [Pose.of(pose.at + offset @ pose.axes[1:], pose.axes) for offset in self.offsets]


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
    """Places for bundles of every kind.

    kind    : (p,) which bundle
    weights : (p,) how many blocks it holds
    margins : (p,) [mm]
    widths  : (p, p) the cut along the piece that parts any two, were they in one stretch [mm]
    """

    bundles: tuple[Bundle, ...]
    kind: NDArray[np.int64]
    weights: NDArray[np.int64]
    tries: Poses
    margins: Array
    widths: Array


@dataclass(frozen=True, slots=True)
class _Choice:
    """A place of the pool, shifted into a stretch of the piece: its number, and where its middle is [mm]."""

    place: int
    stretch: int
    along: float


_Settled = tuple[float, Sequence[_Choice], Sequence[Pose]]
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
    pool = _pool(laying, block, count)
    settled: list[_Settled] = []
    for chosen in _sets(laying, pool, block, count)[: laying.effort.hopeful]:
        movers = [laying.coarse(pool.bundles[pool.kind[one.place]].whole) for one in chosen]
        starts = [_start(laying, pool, one) for one in chosen]
        stretches = [one.stretch for one in chosen]
        poses, _, worth = refined(movers, starts, laying.rules, step=2.0 * COARSE_STEP, moves=20, stretches=stretches)
        settled.append((worth, chosen, poses))
    near = _unlike(pool, settled)
    tries = [_finished(laying, pool, block, chosen, poses) for _, chosen, poses in near[: laying.effort.last]]
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


def _unlike(pool: _Pool, settled: Sequence[_Settled]) -> list[_Settled]:
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

    chosen: Sequence[_Choice]
    places: Sequence[Pose]
    tightest: int
    worth: float
    together: Together


def _finished(
    laying: Laying, pool: _Pool, block: Block, chosen: Sequence[_Choice], poses: Sequence[Pose], *, moves: int = 12
) -> _Try:
    kinds = [pool.bundles[pool.kind[one.place]] for one in chosen]
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
    best = laying.best(kind.whole, laying.near_best(kind.whole, laying.found(kind.whole)))
    return [(margin, Together(kind.poses(pose), 0.0)) for pose, margin in best]


def _start(laying: Laying, pool: _Pool, one: _Choice) -> Pose:
    """A place of the pool, shifted along the grain into its stretch."""
    pose = pool.tries.pose(one.place)
    grain = laying.field.grain(pose.at[:1])[0]
    return Pose.of(pose.at + grain * (one.along - pose.origin[0]) / grain[0], pose.axes)


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


def _pool(laying: Laying, block: Block, count: int) -> _Pool:
    kinds: list[Bundle] = []
    pools, margins, index = [], [], []
    for broad, high in _shapes(count):
        one = bundle(block, broad, high, kerf=laying.rules.kerf)
        found = laying.found(one.whole)
        chosen = unlike(found.tries, PER_BUNDLE)
        if kinds and found.margins[0] < -2.0:
            continue
        index += [len(kinds)] * len(chosen)
        kinds.append(one)
        pools.append(found.tries.chosen(np.array(chosen)))
        margins.append(found.margins[chosen])
    tries = Poses(np.concatenate([c.centres for c in pools]), np.concatenate([c.axes for c in pools]))
    kind = np.array(index)
    weights = np.array([len(one.offsets) for one in kinds])[kind]
    sizes = np.array([kinds[k].whole.size for k in kind])
    return _Pool(tuple(kinds), kind, weights, tries, np.concatenate(margins), _widths(tries, sizes))


def _shapes(count: int) -> list[tuple[int, int]]:
    sides = range(1, min(count, WIDEST_BUNDLE) + 1)
    return sorted(((a, b) for a in sides for b in sides if a * b <= count), key=lambda shape: shape[0] * shape[1])


def _widths(tries: Poses, sizes: Array) -> Array:
    """The cut along the piece that would part any two, were they in one stretch, as `apart.between` has it: (p, p)."""
    half = sizes / 2.0
    middle = tries.centres[np.newaxis] - tries.centres[:, np.newaxis]
    middle[..., 0] = 0.0
    cosines = np.einsum("pak,qbk->pqab", tries.axes, tries.axes)
    along = np.abs(np.einsum("pak,pqk->pqa", tries.axes, middle))
    spread = half[:, np.newaxis] + np.einsum("pqab,qb->pqa", np.abs(cosines), half)
    width = (along - spread)[..., 1:].max(axis=2)
    return np.maximum(width, width.T)


def _sets(laying: Laying, pool: _Pool, block: Block, count: int) -> list[list[_Choice]]:
    """Sets of places that hold the count together, the most promising first, no two alike.

    Stretches are drawn first: how many, and where; then each place is shifted into the nearest.
    """
    random = np.random.default_rng(SEED)
    found: dict[tuple[tuple[int, int], ...], tuple[float, list[_Choice]]] = {}
    for middles, over, stray in _rows(laying, pool, block, count, random):
        away = np.abs(pool.tries.centres[:, :1] - middles)
        stretch = away.argmin(axis=1)
        promise = pool.margins - SHIFT * away.min(axis=1)
        order = promise + random.gumbel(scale=stray, size=len(promise))
        chosen, worth = _picked(pool, promise, order, stretch, count, laying.rules.kerf)
        worth -= over / 2.0
        key = tuple(sorted((place, int(stretch[place])) for place in chosen))
        if key not in found or found[key][0] < worth:  # the same, shifted less
            found[key] = worth, [_Choice(p, int(stretch[p]), float(middles[stretch[p]])) for p in chosen]
    return [chosen for _, chosen in sorted(found.values(), key=lambda one: -one[0])]


def _rows(
    laying: Laying, pool: _Pool, block: Block, count: int, random: np.random.Generator
) -> Iterator[tuple[Array, float, float]]:
    """Rows of stretches: shared out along the piece, then where it is roomiest, which may be nowhere near.

    yields : their middles, by how much their row is longer than the piece, how far places may stray from the best [mm]
    """
    kerf, along = laying.rules.kerf, pool.tries.centres[:, 0]
    most = int(max(1, min(count, (laying.piece.length + kerf + OVERHANG) // (block.length + kerf))))
    for draw in range(SETS):
        first = draw < most
        middles, over = _row(1 + draw % most, block.length, laying, None if first else random)
        yield middles, over, 0.0 if first else 0.3 + draw / SETS
    for draw in range(ROOMIEST):
        turn, kind = divmod(draw, len(pool.bundles))
        own = pool.kind == kind
        likely = pool.margins[own] + random.gumbel(scale=draw / ROOMIEST, size=own.sum())
        middles = _roomiest(along[own][np.argsort(-likely)], 1 + turn % most, block.length + kerf)
        yield middles, 0.0, 0.0 if turn < most else 0.3 + draw / ROOMIEST


def _row(blocks: int, length: float, laying: Laying, random: np.random.Generator | None) -> tuple[Array, float]:
    """Middles of blocks one behind the other along the piece, and by how much their row is longer than it [mm].

    random : shares out what is left of the piece by chance; evenly without
    """
    pitch = length + laying.rules.kerf
    spare = laying.piece.length + laying.rules.kerf - blocks * pitch  # there is a cut less than blocks
    shares = np.linspace(0.0, 1.0, blocks + 2)[1:-1] if random is None else np.sort(random.random(blocks))
    middles = max(0.0, spare) * shares + pitch * np.arange(blocks) + (length + min(0.0, spare)) / 2.0
    return middles, max(0.0, -spare)


def _roomiest(along: Array, blocks: int, pitch: float) -> Array:
    """The first of some middles, that many at most, which leave one another a pitch, along the piece [mm]."""
    middles: list[float] = []
    for middle in along.tolist():
        if len(middles) < blocks and all(abs(middle - other) >= pitch for other in middles):
            middles.append(middle)
    return np.array(sorted(middles))


def _picked(
    pool: _Pool, promise: Array, order: Array, stretch: NDArray[np.int64], count: int, kerf: float
) -> tuple[list[int], float]:
    """Places one after the other until they hold the count, and what they promise together.

    Where no more can be parted, the rest are taken as they come, and count for very little.
    """
    chosen: list[int] = []
    left, lack = count, 0.0
    for forced in (False, True):
        for index in np.argsort(-order, kind="stable"):
            if pool.weights[index] > left or (not forced and index in chosen):
                continue
            same = [other for other in chosen if stretch[other] == stretch[index]]
            gaps = kerf - pool.widths[index, same]
            if not forced and len(gaps) and gaps.max() > OVERLAY:
                continue
            lack += float(np.maximum(0.0, gaps).sum())
            chosen.append(int(index))
            left -= int(pool.weights[index])
            if left == 0:
                return chosen, float(promise[chosen].min()) - lack / 4.0
    return chosen, -np.inf
