"""Places that hold several blocks together: which bundles, in which stretches of the piece."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block, Region
from nutgen.stock.lay.laying import Laying, unlike
from nutgen.stock.lay.poses import Poses
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
class Pool:
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

    def bundle(self, one: "Choice") -> Bundle:
        """The bundle that a place is for."""
        return self.bundles[self.kind[one.place]]


@dataclass(frozen=True, slots=True)
class Choice:
    """A place of the pool, shifted into a stretch of the piece: its number, and where its middle is [mm]."""

    place: int
    stretch: int
    along: float


def pool_of(laying: Laying, block: Block, count: int) -> Pool:
    """The roomiest places for bundles of so many blocks at most."""
    kinds: list[Bundle] = []
    pools, margins, index = [], [], []
    for across, up in _shapes(count):
        one = bundle(block, across, up, kerf=laying.rules.kerf)
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
    return Pool(tuple(kinds), kind, weights, tries, np.concatenate(margins), _widths(tries, sizes))


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


def sets_of(laying: Laying, pool: Pool, block: Block, count: int) -> list[list[Choice]]:
    """Sets of places that hold the count together, the most promising first, no two alike.

    Stretches are drawn first: how many, and where; then each place is shifted into the nearest.
    """
    random = np.random.default_rng(SEED)
    found: dict[tuple[tuple[int, int], ...], tuple[float, list[Choice]]] = {}
    for middles, over, stray in _rows(laying, pool, block, count, random):
        away = np.abs(pool.tries.centres[:, :1] - middles)
        stretch = away.argmin(axis=1)
        promise = pool.margins - SHIFT * away.min(axis=1)
        order = promise + random.gumbel(scale=stray, size=len(promise))
        chosen, worth = _picked(pool, promise, order, stretch, count, laying.rules.kerf)
        worth -= over / 2.0
        key = tuple(sorted((place, int(stretch[place])) for place in chosen))
        if key not in found or found[key][0] < worth:  # the same, shifted less
            found[key] = worth, [Choice(p, int(stretch[p]), float(middles[stretch[p]])) for p in chosen]
    return [chosen for _, chosen in sorted(found.values(), key=lambda one: -one[0])]


def _rows(
    laying: Laying, pool: Pool, block: Block, count: int, random: np.random.Generator
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
    pool: Pool, promise: Array, order: Array, stretch: NDArray[np.int64], count: int, kerf: float
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


def in_stretch(laying: Laying, pool: Pool, one: Choice) -> Pose:
    """A place of the pool, shifted along the grain into its stretch."""
    pose = pool.tries.pose(one.place)
    grain = laying.field.grain(pose.at[:1])[0]
    return Pose.of(pose.at + grain * (one.along - pose.origin[0]) / grain[0], pose.axes)
