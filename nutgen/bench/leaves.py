"""Stacks that stop a file: feeler leaves, or one strip of steel over sheets of paper and card.

       file, dipping toward the headstock
    ====================\\\\\\
    ---------------- |   \\\\ \\
    steel            |floor\\  nut
    ---------------- |     |
    board            |     |

No file touches paper, card or plastic: what it would stop on, it goes through.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from nutgen.finding import Finding, note
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.stacks import MOST_OF_ONE, stack_error
from nutgen.spec.values import Sheet
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

MOST_IN_STACK = MOST_OF_ONE
HIGHEST_PILE = 6.0  # mm; no stop is higher: the tallest fret and the highest floor
LEAVES_REACH = 4.5
"""Floors over the board from which a block goes under the leaves: those of strings pressed on frets are lower [mm]."""

FAR = 0.05
"""A stack that is out by more is no stop: so much a floor may be high [mm]. Common practice, no source."""
TINPLATE = 0.2
"""Side of a food tin, about, where no steel is listed [mm]. Common practice, no source."""

NO_WAY = 255  # no stack of leaves makes this sum

Counts = NDArray[np.uint8]
Marked = Literal["mm", "in", ""]


@dataclass(frozen=True, slots=True)
class LeafStack:
    """What is laid on one another, of one set.

    leaves : steel, thickest first; over sheets it is one alone; empty where none comes nearer than none, or none is
             listed [mm]
    sum    : height of the whole [mm]
    error  : sum minus the height that was asked for; positive leaves the floor high [mm]
    marked : unit that stands on the leaves; empty for strips by caliper
    sheets : of one's own, under the steel: how many of which, "3 card", thickest first
    spread : how far loose sheets may be off, unless the whole was measured as one [mm]
    summed : whether its parts tell its height; else it is measured as one alone
    """

    leaves: tuple[float, ...]
    sum: float
    error: float
    marked: Marked = "mm"
    sheets: tuple[str, ...] = ()
    spread: float = 0.0
    summed: bool = True

    @property
    def told(self) -> Finding:
        """What to lay, from the top down."""
        return note("stack.laid", leaves=self.leaves, marked=self.marked, sheets=self.sheets, summed=self.summed)


@dataclass(frozen=True, slots=True)
class StopStack:
    """What to lay on the board in front of the nut so that the file stops at the floor.

    number     : of the string, 1 = treble-most
    over_board : floor at the string's start, straight up from the board there [mm]
    height     : of the stack, square to the board under the string, on the block [mm]
    ahead      : of the string's start, where a neighbour's shelf keeps the leaves off it, else 0 [mm]
    metric     : of the leaves in `tools.feeler`
    inch       : of the leaves in `tools.feeler_inch`
    own        : steel strips and own sheets; None on a bench that has leaf sets alone
    block      : squared block below it, where floors are too high for leaves; 0 as a rule [mm]
    """

    number: int
    over_board: float
    height: float
    metric: LeafStack
    inch: LeafStack
    ahead: float
    own: LeafStack | None = None
    block: float = 0.0

    @property
    def best(self) -> LeafStack | None:
        """The surest of the stacks; None where no steel that is listed makes one."""
        stacks = [stack for stack in (self.metric, self.inch, self.own) if stack and stack.leaves and stack.summed]
        return min(stacks, key=lambda stack: (abs(stack.error) + stack.spread, len(stack.leaves)), default=None)


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
    sums = np.flatnonzero(layers[-1] < NO_WAY)
    away = np.abs(sums * unit - goal)
    nearest = min(sums[away == away.min()], key=lambda total: (layers[-1][total], -total))  # fewest leaves, or higher
    taken = _thickest_first(layers, steps, int(nearest))
    stack = tuple(leaf for (_, leaf), count in zip(reversed(sizes), reversed(taken), strict=True) for _ in range(count))
    total = math.fsum(stack)
    return LeafStack(leaves=stack, sum=total, error=total - target)


def sheet_stack(target: float, sheets: Sequence[Sheet], tops: Sequence[float] = (0.0,)) -> LeafStack:
    """The stack of own sheets under one of these strips that is surest to have a height; exact.

    target  : height wanted, up to 100 [mm]
    sheets  : own leaves; of each nine, and nine in a stack, are there
    tops    : strips of which one lies on top; 0 for none [mm]
    returns : of all such stacks the one that is out by the least at worst, |error| and what loose sheets may be off
              (0.03, and 0.01 a sheet) together: another sheet has to gain more than it may be off; of those the one
              with the fewest sheets, then the higher one
    """
    goal = round(target / GRID)
    order = sorted(sheets, key=lambda sheet: sheet.thickness)
    unit, layers = _piles(tuple(round(sheet.thickness / GRID) for sheet in order))
    sums = np.flatnonzero(layers[-1] <= MOST_IN_STACK)
    counts = layers[-1][sums].astype(np.int64)
    loose = np.array([round(stack_error(count) / GRID) for count in range(MOST_IN_STACK + 1)])[counts]

    def surest(top: float) -> tuple[tuple[int, int, int], int]:
        height = sums * unit + round(top / GRID)
        out = np.abs(height - goal) + loose
        best = min(np.flatnonzero(out == out.min()), key=lambda at: (counts[at], -height[at]))
        return (int(out[best]), int(counts[best]), -int(height[best])), int(sums[best])

    top, (_, pile) = min(((top, surest(top)) for top in tops), key=lambda found: (found[1][0], -found[0]))
    taken = _thickest_first(layers, [round(sheet.thickness / GRID) // unit for sheet in order], pile, MOST_IN_STACK)
    total = top + math.fsum(sheet.thickness * count for sheet, count in zip(order, taken, strict=True))
    named = [f"{count} {sheet.name}" for sheet, count in zip(order, taken, strict=True) if count]
    return LeafStack(
        leaves=(top,) if top else (),
        sum=total,
        error=total - target,
        sheets=tuple(reversed(named)),
        spread=stack_error(sum(taken)),
    )


def gap_stack(target: float, tools: Tools) -> LeafStack:
    """What fills a gap that no file goes near, and so needs no steel on top: leaves of one set, else own sheets."""
    if tools.feeler:
        return leaf_stack(target, tools.feeler)
    return inch_stack(target, tools) if tools.feeler_inch else sheet_stack(target, tools.own_leaves)


def inch_stack(target: float, tools: Tools) -> LeafStack:
    """Of the leaves that are marked in inches."""
    return replace(leaf_stack(target, tools.feeler_inch), marked="in")


def own_stack(target: float, tools: Tools) -> LeafStack | None:
    """A stop without a set of leaves: one steel strip, or a leaf, over own sheets, or strips alone.

    returns : None on a bench that has leaf sets alone; with no steel that is listed, sheets under a strip of tinplate
              that is still to be found; with too little of either, any packing under the strip
    """
    tops = tools.steel or tools.feeler or tools.feeler_inch
    marked: Marked = "" if tools.steel or not tops else "mm" if tools.feeler else "in"
    if tools.own_leaves:
        stack = sheet_stack(target, tools.own_leaves, tops or (TINPLATE,))
    elif tops and not tools.steel:
        return None
    else:
        stack = leaf_stack(target, tools.steel)
    if abs(stack.error) > FAR and (tops or not tools.own_leaves):
        below = [strip for strip in tops if strip < target]
        stack = replace(stack, leaves=(max(below),) if below else (), sheets=("packing",), summed=False)
    return replace(stack, marked=marked) if tops else replace(stack, leaves=(), marked="", summed=False)


@lru_cache(maxsize=8)
def _piles(sizes: tuple[int, ...]) -> tuple[int, list[Counts]]:
    """The unit of sheets' thicknesses on the grid, and the fewest of them, nine of each, that make each sum."""
    unit = math.gcd(*sizes) or 1
    steps = [size // unit for size in sizes]
    most = min(MOST_IN_STACK * max(steps, default=0), round(HIGHEST_PILE / GRID) // unit)
    return unit, _fewest_leaves(steps, most=most, times=MOST_IN_STACK)


def _fewest_leaves(steps: Sequence[int], *, most: int, times: int = 1) -> list[Counts]:
    """Fewest leaves, so many `times` each, that make each sum 0..most: one array for the 0, 1, 2, ... thinnest."""
    counts = np.full(most + 1, NO_WAY, np.uint8)
    counts[0] = 0
    layers = [counts]
    for step in steps:
        grown = counts.copy()
        for number in range(1, min(times, most // step) + 1):
            reach = counts[: most + 1 - number * step]
            with_leaf = np.where(reach < NO_WAY - number, reach + np.uint8(number), np.uint8(NO_WAY))
            np.minimum(grown[number * step :], with_leaf, out=grown[number * step :])
        counts = grown
        layers.append(counts)
    return layers


def _thickest_first(layers: Sequence[Counts], steps: Sequence[int], total: int, times: int = 1) -> list[int]:
    """How many of each leaf make a sum with the fewest of them, most of the thickest that can be used."""
    taken = [0] * len(steps)
    left = int(layers[-1][total])
    for index in range(len(steps) - 1, -1, -1):
        step, before = steps[index], layers[index]
        fits = (n for n in range(min(times, left, total // step), 0, -1) if before[total - n * step] == left - n)
        taken[index] = next(fits, 0)
        total, left = total - taken[index] * step, left - taken[index]
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
    block = block_under(nut)
    height = max(0.0, stack - block)
    return StopStack(
        number=slot.number,
        over_board=over_board,
        height=height,
        metric=leaf_stack(height, tools.feeler),
        inch=inch_stack(height, tools),
        own=own_stack(height, tools),
        ahead=ahead,
        block=block,
    )


def block_under(nut: Nut) -> float:
    """Squared block that all stop stacks of a nut lie on; 0 where leaves alone reach its lowest floor [mm]."""
    lowest = min(floor_over_board(nut, slot) for slot in nut.slots)
    return math.floor(lowest) - 1.0 if lowest > LEAVES_REACH else 0.0


def floor_over_board(nut: Nut, slot: Slot) -> float:
    """Floor at the string's start above the board straight below it: fret plane plus floor height [mm]."""
    return slot.floor_z - float(nut.seat.board_z(slot.face_x))
