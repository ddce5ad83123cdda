"""What the piece would yield instead: a smaller nut, or fewer of them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from nutgen.finding import Finding, remedy
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import ERROR, Largest
from nutgen.stock.lay.laying import COARSE_STEP, FINE_STEP, HOPELESS, Laying, unlike
from nutgen.stock.lay.refine import refined
from nutgen.stock.lay.search import BOLD, Found, relevant, settled
from nutgen.stock.lay.several import lay_several

STEP = 0.1
"""Sizes are told to a tenth, rounded down [mm]."""

LEAST_THICKNESS = 2.5
LEAST_HEIGHT = 3.0
LEAST_LENGTH, MOST_SHORTER = 20.0, 8.0
"""Below these a nut no longer stands, or holds no strings: its ends can give what lies beside the outer ones [mm].
Common practice, no source."""

TRIES, MOVES = 2, 8
"""Places where a smaller block is tried first, in the lumps of a scan each time, and how often it is moved in one."""

CLEAR = {"calipers": 0.03, "scan": -HOPELESS}
"""What over the lattice is short by more, less what it told too much before, is short over the triangles, too [mm]."""

NEAR, HOPEFUL = 80, 3
"""Places of the block itself from which it is tried with more permitted, and those that are followed to the end."""


def largest(
    laying: Laying,
    block: Block,
    found: Found,
    best: Sequence[tuple[Pose, float]],
    count: int,
    instead: Mapping[Finding, Block],
) -> tuple[Largest, ...]:
    """The largest that fits, one for each size that may give; and what would fit if more were permitted.

    found   : settled tries of the block itself
    best    : its roomiest places, with their margins [mm]
    count   : of blocks that were asked for
    instead : what could be permitted -> the same block with it
    """
    if count > 1:
        return _fewer(laying, block, count)
    smaller = [
        *(
            _permitted(laying, what, other, found)
            for what, other in instead.items()
            if relevant(laying.field, other) != relevant(laying.field, block)
        ),
        _largest(laying, block, best, "lower", lower, block.finished[2] - LEAST_HEIGHT),
        _largest(laying, block, best, "thinner", thinner, block.finished[1] - LEAST_THICKNESS),
        _largest(laying, block, best, "shorter", shorter, min(MOST_SHORTER, block.finished[0] - LEAST_LENGTH)),
    ]
    return tuple(one for one in smaller if one is not None)


def _permitted(laying: Laying, what: Finding, block: Block, found: Found) -> Largest | None:
    """The block itself, were something more permitted; None where that does not help.

    With core where none may be it can lie elsewhere, and is looked for anew; else near where it settled without.
    """
    tries = (laying.found(block) if what.code == "permit.core" else found).tries
    if what.code != "permit.core":
        tries, _ = settled(
            laying.field,
            block,
            tries.chosen(np.arange(min(NEAR, len(tries)))),
            BOLD,
            most_off_grain=laying.rules.most_off_grain,
        )
    near = laying.refined(block, [tries.pose(index) for index in unlike(tries, HOPEFUL)])
    margin = near[0][1] if near[0][1] < HOPELESS else laying.best(block, near[:1])[0][1]
    if margin <= ERROR:
        return None
    how = remedy("instead.permitting-more", what=what, margin=margin)
    return Largest("permitting more", block.size, block.finished, how)


def _fewer(laying: Laying, block: Block, count: int) -> tuple[Largest, ...]:
    for fewer in range(count - 1, 0, -1):
        if _yields(laying, block, fewer):
            how = remedy("instead.fewer", fewer=fewer, blocks=count)
            return (Largest("fewer", block.size, block.finished, how),)
    return ()


def _yields(laying: Laying, block: Block, count: int) -> bool:
    if count == 1:
        return laying.roomiest(block)[0][1] > ERROR
    together = lay_several(laying, block, count)
    return together.lack == 0.0 and min(laying.margin(block, pose) for pose in together.poses) > ERROR


def lower(block: Block, by: float) -> Block:
    """The block and its nut made lower from below: the top and the slots stay as they are."""

    def moved(region: Region) -> Region:
        low = min(z for _, z in region.outline)
        up = 0.0 if region.part == "front edge and slot floors" else by
        outline = tuple((y, z + (up if z == low else 0.0) - by / 2.0) for y, z in region.outline)
        return replace(region, outline=outline)

    return _resized(block, 2, by, moved)


def thinner(block: Block, by: float) -> Block:
    """The block and its nut made thinner from behind: the front stays as it is."""
    behind = block.thickness / 2.0 - block.to_sand["back"] - by

    def moved(region: Region) -> Region:
        if region.against == "skin":
            outline = tuple((y + (-by if y > 0.0 else 0.0) + by / 2.0, z) for y, z in region.outline)
        else:
            outline = tuple((min(y, behind) + by / 2.0, z) for y, z in region.outline)
        return replace(region, outline=outline)

    return _resized(block, 1, by, moved)


def shorter(block: Block, by: float) -> Block:
    """The block and its nut made shorter."""

    def moved(region: Region) -> Region:
        return replace(region, low=region.low + by / 2.0, high=region.high - by / 2.0)

    return _resized(block, 0, by, moved)


def _resized(block: Block, axis: int, by: float, moved: Callable[[Region], Region]) -> Block:
    def less(sizes: tuple[float, float, float]) -> tuple[float, float, float]:
        a, b, c = (size - (by if index == axis else 0.0) for index, size in enumerate(sizes))
        return a, b, c

    length, thickness, height = less(block.size)
    return replace(
        block,
        length=length,
        thickness=thickness,
        height=height,
        squared=less(block.squared),
        finished=less(block.finished),
        regions=tuple(moved(region) for region in block.regions),
    )


def _largest(
    laying: Laying,
    block: Block,
    best: Sequence[tuple[Pose, float]],
    name: str,
    smaller: Callable[[Block, float], Block],
    most: float,
) -> Largest | None:
    """The least that must come off one size; None where the most is not enough.

    Each trial starts from where the last one had most room.
    """
    starts, fitting = [pose for pose, _ in best[:TRIES]], best[0][0]
    always = starts if laying.piece.found_by == "scan" else []
    more = float(laying.coarse(block).look(fitting).room.min()) - best[0][1]

    def room(steps: int) -> float:
        nonlocal fitting, more, starts
        trial = smaller(block, steps * STEP)
        mover = laying.coarse(trial)
        tried = [refined([mover], [pose], laying.rules, step=COARSE_STEP, moves=MOVES) for pose in starts]
        (last,), rough, _ = max(tried, key=lambda one: one[1])
        starts = [last, *always]
        if rough - more < ERROR - CLEAR[laying.piece.found_by]:
            return rough - more
        margin = laying.margin(trial, last)
        if margin <= ERROR:
            (last,), margin, _ = refined([laying.fine(trial)], [last], laying.rules, step=FINE_STEP, moves=MOVES)
            starts = [last, *always]
            if margin > ERROR:  # measured in more places it is never more
                margin = laying.margin(trial, last)
        if margin > ERROR:
            fitting = last
        more = rough - margin
        return margin

    steps = _least(room, best[0][1], int(np.floor(most / STEP)))
    found = smaller(block, steps * STEP)
    if steps * STEP > most or laying.margin(found, fitting) <= ERROR:
        return None
    left = found.finished[("shorter", "thinner", "lower").index(name)]
    how = remedy(f"instead.{name}", by=steps * STEP, sawn=found.size, left=left)
    return Largest(name, found.size, found.finished, how)


def _least(room: Callable[[int], float], margin: float, most: int) -> int:
    """The fewest steps after which there is room; one more than the most where those are not enough.

    room   : after some steps, which grows with them, and ever more slowly [mm]
    margin : without any, which is none [mm]
    """
    low, high, gained = 0, most + 1, STEP / 2.0  # a face that is drawn in leaves half of that to either side
    while high - low > 1:
        likely = low + int(min((ERROR - margin) / gained, most)) + 1
        trial = (low + high) // 2 if high <= most else min(likely, most)
        left = room(trial)
        if left > ERROR:
            high = trial
        else:
            gained = max((left - margin) / (trial - low), 1e-6)
            low, margin = trial, left
    return high
