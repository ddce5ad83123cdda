"""Where a block could lie: many tries over the whole piece, the promising ones pushed to where they have most room.

A try is pushed by the walls that are nearest to it, each point of the block by its own; what is
tightest pushes most. So all tries settle together, and no order of moves is preferred.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nutgen.geometry.mesh import Array
from nutgen.stock.block import Block, Region
from nutgen.stock.lay.field import PieceField
from nutgen.stock.lay.poses import Poses, along_grain, cross, pushes, rooms, turned, with_grain
from nutgen.stock.lay.shapes import Samples, corners, frame_samples

SEED = 20240229
TRIES = 24_000
KEPT = 6_000
"""Tries at random, and those looked at more closely."""

STATIONS, PER_STATION = 24, 10
"""Stretches of the piece that each keep their best tries, so that none is overlooked, and how many."""


@dataclass(frozen=True, slots=True)
class Push:
    """How poses are pushed.

    apart  : between the points of a block that are looked at [mm]
    steps  : how often
    soft   : how much farther than the tightest point another may be and still push, at first and at last [mm]
    stride : of a push, at first and at last [mm]
    """

    apart: float
    steps: int
    soft: tuple[float, float]
    stride: tuple[float, float]


BOLD, GENTLE = Push(4.0, 22, (0.8, 0.08), (1.2, 0.06)), Push(3.0, 16, (0.2, 0.03), (0.3, 0.02))
"""From anywhere to about the right place, and from there to nearly the best."""


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Settled tries, the roomiest first.

    margins : (p,) over the points that the search looks at [mm]
    profile : (k, 2) middle along the piece, best margin there [mm]
    """

    tries: Poses
    margins: Array
    profile: Array


def relevant(field: PieceField, block: Block) -> tuple[Region, ...]:
    """The regions that this piece can violate."""
    return tuple(region for region in block.regions if region.against in field.walls)


def search(field: PieceField, block: Block, *, most_off_grain: float) -> Found:
    """Find where a block has most room.

    most_off_grain : between its length and the grain [rad]
    returns        : at most STATIONS * PER_STATION places; the same for the same piece and block
    """
    tries = _promising(field, relevant(field, block))
    tries, margins = settled(field, block, tries, BOLD, most_off_grain=most_off_grain)
    return Found(tries, margins, _profile(field, tries, margins))


def settled(field: PieceField, block: Block, tries: Poses, how: Push, *, most_off_grain: float) -> tuple[Poses, Array]:
    """Poses pushed, the roomiest first, and their margins [mm]."""
    samples = [frame_samples(region, how.apart) for region in relevant(field, block)]
    tries = settle(field, samples, tries, how, reach=block.length / 2.0, most_off_grain=most_off_grain)
    margins = rooms(field, samples, tries).min(axis=1)
    order = np.argsort(-margins, kind="stable")
    return tries.chosen(order), margins[order]


def _promising(field: PieceField, regions: Sequence[Region]) -> Poses:
    """The best tries of every stretch of the piece."""
    random = np.random.default_rng(SEED)
    nodes = field.inside
    centres = nodes[random.integers(len(nodes), size=TRIES)]
    centres = centres + random.uniform(-0.5, 0.5, size=(TRIES, 3)) * field.walls["skin"].lattice.step
    tries = along_grain(field, centres, random.uniform(0.0, 2.0 * np.pi, TRIES), random.random(TRIES) < 0.5)
    skin = [Samples(region, corners(region)) for region in regions if region.against == "skin"]
    middle = random.permutation(TRIES)  # ties in a stable order that prefers no place
    tries = tries.chosen(middle)
    first = _least_mean(rooms(field, skin, tries, seen_only=True))
    tries = tries.chosen(np.argsort(-first, kind="stable")[:KEPT])
    samples = [frame_samples(region, 10.0) for region in regions]
    score = _least_mean(rooms(field, samples, tries))
    station = np.clip(tries.centres[:, 0] / field.piece.length * STATIONS, 0, STATIONS - 1).astype(np.int64)
    order = np.argsort(-score, kind="stable")
    rank = np.empty(len(order), np.int64)
    for index in range(STATIONS):
        here = order[station[order] == index]
        rank[here] = np.arange(len(here))
    return tries.chosen(order[rank[order] < PER_STATION])


def _least_mean(room: Array) -> Array:
    """A measure of promise: the mean of what is short, for a try may be pushed."""
    return np.minimum(room, 0.5).mean(axis=1) + 0.3 * room.min(axis=1)


def settle(
    field: PieceField, samples: Sequence[Samples], tries: Poses, how: Push, *, reach: float, most_off_grain: float
) -> Poses:
    """Push poses to where they have most room.

    reach : lever of a turn [mm]
    """
    for step in range(how.steps):
        share = step / max(1, how.steps - 1)
        soft, stride = (first * (last / first) ** share for first, last in (how.soft, how.stride))
        room, push, lever = pushes(field, samples, tries)
        weight = np.exp(-(room - room.min(axis=1, keepdims=True)) / soft)
        weight /= weight.sum(axis=1, keepdims=True)
        force = np.einsum("pn,pnk->pk", weight, push)
        torque = np.einsum("pn,pnk->pk", weight, cross(lever, push)) / reach
        size = np.sqrt(np.sum(force**2 + torque**2, axis=1, keepdims=True))
        scale = stride / np.maximum(size, 0.25)
        axes = turned(tries.axes, torque * scale / reach)
        tries = with_grain(field, Poses(tries.centres + force * scale, axes), most=most_off_grain)
    return tries


def _profile(field: PieceField, tries: Poses, margins: Array) -> Array:
    """The best margin of each stretch of the piece that any try settled in."""
    width = field.piece.length / STATIONS
    station = np.clip(tries.centres[:, 0] / width, 0, STATIONS - 1).astype(np.int64)
    rows = []
    for index in np.unique(station):
        here = np.flatnonzero(station == index)
        best = here[np.argmax(margins[here])]
        rows.append((tries.centres[best, 0], margins[best]))
    return np.array(sorted(rows)).reshape(-1, 2)
