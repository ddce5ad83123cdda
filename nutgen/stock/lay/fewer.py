"""What the piece would yield instead: a smaller nut, or fewer of them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from nutgen.finding import Finding, remedy
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import ERROR, Largest
from nutgen.stock.lay.laying import BRISK, COARSE_STEP, HOPELESS, Laying
from nutgen.stock.lay.refine import refined
from nutgen.stock.lay.search import relevant
from nutgen.stock.lay.several import lay_several

STEP = 0.1
"""Sizes are told to a tenth, rounded down [mm]."""

LEAST_THICKNESS = 2.5
LEAST_HEIGHT = 3.0
LEAST_LENGTH = 20.0
"""Below these a nut no longer stands, or holds no strings [mm]. Common practice, no source."""

TRIES = 2


def largest(
    laying: Laying, block: Block, near: Sequence[Pose], count: int, instead: Mapping[Finding, Block]
) -> tuple[Largest, ...]:
    """The largest that fits, one for each size that may give; and what would fit if more were permitted.

    near    : places where the block itself has most room
    count   : of blocks that were asked for
    instead : what could be permitted -> the same block with it
    """
    if count > 1:
        return _fewer(laying, block, count)
    found = [
        *(
            _permitted(laying, what, other)
            for what, other in instead.items()
            if relevant(laying.field, other) != relevant(laying.field, block)
        ),
        _largest(laying, block, near, "lower", lower, block.finished[2] - LEAST_HEIGHT),
        _largest(laying, block, near, "thinner", thinner, block.finished[1] - LEAST_THICKNESS),
        _largest(laying, block, near, "shorter", shorter, block.finished[0] - LEAST_LENGTH),
    ]
    return tuple(one for one in found if one is not None)


def _permitted(laying: Laying, what: Finding, block: Block) -> Largest | None:
    """The block itself, were something more permitted, tried briskly; None where that does not help."""
    laying = replace(laying, effort=BRISK)
    near = laying.near_best(block, laying.found(block))
    margin = near[0][1] if near[0][1] < HOPELESS else laying.best(block, near)[0][1]
    if margin <= ERROR:
        return None
    how = remedy("instead.permitting-more", what=what, margin=margin)
    return Largest("permitting more", block.size, block.finished, how)


def _fewer(laying: Laying, block: Block, count: int) -> tuple[Largest, ...]:
    for fewer in range(count - 1, 0, -1):
        together = lay_several(laying, block, fewer)
        if together.lack == 0.0 and min(laying.margin(block, pose) for pose in together.poses) > ERROR:
            how = remedy("instead.fewer", fewer=fewer, blocks=count)
            return (Largest("fewer", block.size, block.finished, how),)
    return ()


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
    laying: Laying, block: Block, near: Sequence[Pose], name: str, smaller: Callable[[Block, float], Block], most: float
) -> Largest | None:
    """The least that must come off one size, found by halving; None where the most is not enough.

    Each trial starts from where the last one that was looked at had most room.
    """
    poses = list(near[:TRIES])

    def fits(by: float) -> bool:
        trial = smaller(block, by)
        mover = laying.coarse(trial)
        settled = [refined([mover], [pose], laying.rules, step=COARSE_STEP, moves=8) for pose in poses]
        (best,), margin, _ = max(settled, key=lambda one: one[1])
        if margin < 0.1:
            (best,), *_ = refined([laying.fine(trial)], [best], laying.rules, step=0.3, moves=8)
            margin = laying.margin(trial, best)
        if margin > ERROR:
            poses[0] = best
        return margin > ERROR

    steps = int(np.floor(most / STEP))
    if steps < 1 or not fits(steps * STEP):
        return None
    low, high = 0, steps
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle * STEP) else (middle, high)
    found = smaller(block, high * STEP)
    if laying.margin(found, poses[0]) <= ERROR:
        return None
    left = found.finished[("shorter", "thinner", "lower").index(name)]
    how = remedy(f"instead.{name}", by=high * STEP, sawn=found.size, left=left)
    return Largest(name, found.size, found.finished, how)
