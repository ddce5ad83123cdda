"""Stacks of feeler leaves: the height to stop a file at, made of steel instead of guessed.

       file, dipping toward the headstock
    ====================\\\\\\
    ---------------- |   \\\\ \\
    leaves           |floor\\  nut
    ---------------- |     |
    board            |     |
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.stacks import MOST_OF_ONE
from nutgen.spec.workshop import Tools

GRID = 1e-5
"""Leaves and targets are compared on this grid [mm]; a hundredth of a micrometre, on which leaves
in micrometres and in ten-thousandths of an inch (0.00254 mm) both lie exactly."""

LARGEST_TARGET = 100.0
LOW_WORTH_A_WORD = 0.015
"""What a stack is lower by is lost, below this, in how hard the hand presses [mm]. Common practice, no source."""

EXACT = 0.00127
"""Half a ten-thousandth of an inch: a stack that is out by less is exact to any hand [mm]."""
LEAF_WIDTH = 12.7
"""Of a feeler leaf: half an inch. Common practice, no source [mm]."""

NO_WAY = 255  # no stack of leaves makes this sum

Counts = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class LeafStack:
    """Some leaves of a set, laid on one another.

    leaves : thickest first; empty where no leaf comes nearer than none [mm]
    sum    : their height [mm]
    error  : sum minus the height that was asked for; positive leaves the floor high [mm]
    """

    leaves: tuple[float, ...]
    sum: float
    error: float


@dataclass(frozen=True, slots=True)
class StopStack:
    """What to lay on the board in front of the nut so that the file stops at the floor.

    number     : of the string, 1 = treble-most
    over_board : floor at the string's start, straight up from the board there [mm]
    height     : of the stack, square to the board under the string [mm]
    ahead      : of the string's start, where a neighbour's shelf keeps the leaves off it, else 0 [mm]
    metric     : of the leaves in `tools.feeler`
    inch       : of the leaves in `tools.feeler_inch`
    """

    number: int
    over_board: float
    height: float
    metric: LeafStack
    inch: LeafStack
    ahead: float

    @property
    def best(self) -> LeafStack | None:
        """The nearer of the two stacks; None where neither set has a leaf for it."""
        stacks = [stack for stack in (self.metric, self.inch) if stack.leaves]
        return min(stacks, key=lambda stack: (abs(stack.error), len(stack.leaves)), default=None)


def leaf_stack(target: float, leaves: Sequence[float]) -> LeafStack:
    """The stack of leaves that comes nearest to a height; exact.

    target  : height wanted, up to 100 [mm]
    leaves  : the set; each entry is one leaf and serves once [mm]
    returns : of all subsets the one with the least |error|; of those the one with the fewest
              leaves; then the higher rather than the lower one (what is left on can still come
              off); then the one whose thickest leaves are thickest
    raises  : ValueError where the target is not a height, or a leaf no thickness

    Every sum a subset can make is followed on a grid, with the least count of leaves for each
    (the 0/1 knapsack by dynamic programming), so a large set takes no longer than its heights are
    many: sums above twice the target are worse than no leaf at all and are never looked at.
    """
    if not 0.0 <= target <= LARGEST_TARGET:
        raise ValueError(f"a stack's height must lie between 0 and {LARGEST_TARGET:g} mm, not {target}")
    sizes = sorted((round(leaf / GRID), leaf) for leaf in leaves)
    if any(size < 1 for size, _ in sizes):
        raise ValueError(f"every leaf must be at least {GRID} mm thick")
    goal = round(target / GRID)
    unit = math.gcd(*(size for size, _ in sizes)) or 1
    steps = [size // unit for size, _ in sizes]
    layers = _fewest_leaves(steps, most=min(2 * goal // unit, sum(steps)))
    taken = _thickest_first(layers, steps, _nearest(layers[-1], unit=unit, goal=goal))
    stack = tuple(sizes[index][1] for index in taken)
    total = math.fsum(stack)
    return LeafStack(leaves=stack, sum=total, error=total - target)


def _fewest_leaves(steps: Sequence[int], *, most: int) -> list[Counts]:
    """Fewest leaves that make each sum 0..most: one array for the 0, 1, 2, ... thinnest leaves."""
    counts = np.full(most + 1, NO_WAY, np.uint8)
    counts[0] = 0
    layers = [counts]
    for step in steps:
        grown = counts.copy()
        if step <= most:
            reach = counts[: most + 1 - step]
            with_leaf = np.where(reach < NO_WAY, reach + np.uint8(1), np.uint8(NO_WAY))
            np.minimum(grown[step:], with_leaf, out=grown[step:])
        counts = grown
        layers.append(counts)
    return layers


def _nearest(counts: Counts, *, unit: int, goal: int) -> int:
    """The sum that can be made and comes nearest to the goal: fewest leaves, then the higher one."""
    sums = np.flatnonzero(counts < NO_WAY)
    away = np.abs(sums * unit - goal)
    best = sums[away == away.min()]
    return int(min(best, key=lambda s: (counts[s], -s)))


def _thickest_first(layers: Sequence[Counts], steps: Sequence[int], total: int) -> list[int]:
    """Which leaves make a sum with the fewest of them, the thickest leaf that can be used first."""
    taken = []
    left = int(layers[-1][total])
    for index in range(len(steps) - 1, -1, -1):
        step = steps[index]
        if left and total >= step and layers[index][total - step] == left - 1:
            taken.append(index)
            total, left = total - step, left - 1
    return taken


def loose_sheets(tools: Tools) -> tuple[float, ...]:
    """Every sheet of the maker's own that a stack may take, thinnest first [mm]."""
    return tuple(sorted(sheet.thickness for sheet in tools.own_leaves for _ in range(MOST_OF_ONE)))


def stop_height(x: float, width: float, *, board_radius: float, over_board: float) -> float:
    """Height of the stack on which a slotting file stops with its lowest line at a height.

    x, width     : where the stack stands across the board, and of the slot [mm]
    board_radius : across the nut; inf where flat [mm]
    over_board   : of the file's lowest line, straight up from the board under the string [mm]
    returns      : thickness of the stack [mm]

    Assumes that the leaves lie along the string, centred under it and pushed up to the nut, so that
    they lie tangent to the board, at a slope p with sin p = x / R; that the file is as wide as the
    slot, has a round edge and is held upright. Its edge, of radius r = width / 2, then rests beside
    its lowest line, which is r (1 / cos p - 1) above the leaf there. Geometry.
    """
    cosine = math.sqrt(1.0 - (x / board_radius) ** 2)
    return over_board * cosine - width / 2.0 * (1.0 - cosine)


def stop_stack(nut: Nut, slot: Slot, tools: Tools, *, over: float = 0.0) -> StopStack:
    """The stop of one slot.

    over    : left above the final floor [mm]
    returns : the stack; without leaves where the floor lies no higher than the board

    The leaves stand against the foremost shelf that their width meets. From the string's start the file goes on
    straight toward them, rising by the slot's tilt.
    """
    over_board = floor_over_board(nut, slot) + over
    half = LEAF_WIDTH / 2.0
    ahead = max(0.0, slot.start_y - nut.shelves.foremost(slot.x - half, slot.x + half))
    rise = -slot.run(slot.start_y - ahead) * math.tan(math.radians(slot.tilt_deg))
    stack = stop_height(slot.face_x, slot.width, board_radius=nut.board_radius, over_board=over_board + rise)
    height = max(0.0, stack)
    return StopStack(
        number=slot.number,
        over_board=over_board,
        height=height,
        metric=leaf_stack(height, tools.feeler),
        inch=leaf_stack(height, tools.feeler_inch),
        ahead=ahead,
    )


def floor_over_board(nut: Nut, slot: Slot) -> float:
    """Floor at the string's start above the board straight below it: fret plane plus floor height [mm]."""
    return slot.floor_z - float(nut.board_z(slot.face_x))
