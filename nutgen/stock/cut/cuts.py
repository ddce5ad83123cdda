"""How to get the blocks out of the piece: marks to draw, saw cuts in order, what is left to sand.

A stretch of the piece lies between two cross cuts, square to the block's length. The one nearer to the end where
work begins is sawn first; the rip cuts run from that fresh face while the rest of the piece is clamped as the
handle; the other cross cut comes last and frees the block. Where too little is left for a handle, a stick is
glued on the fresh face, the other cross cut follows, and the rips run from there toward the stick. Every plane
here is the line to keep; the kerf lies beyond it, on the waste side.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.geometry.mesh import Array
from nutgen.geometry.slices import Plane, area, outline, section
from nutgen.stock.block import Block
from nutgen.stock.cut.cross_cuts import CrossCut, bites, clear_of_others, cross_cuts, in_row, left_beyond
from nutgen.stock.cut.rips import OTHER, End, Held, LaidBlock, Rip, Sections, flat_area, rips, within
from nutgen.stock.cut.turns import Lengthwise, before_back_line, lengthwise, skin_outline
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece

Entry = tuple[float, float] | None


@dataclass(frozen=True, slots=True, eq=False)
class RipCut:
    """A rip cut with its lines on the two end faces of the stretch.

    entries : on the first and on the last end face, where the line enters and leaves the outline: along the
              outline from the back mark, to the left positive [mm]; None at an end before which the line runs
              out on the skin; None in all where the cut runs across the stretch
    reach   : from where to where it is sawn, along the straightedge [mm]
    depths  : how deep the saw goes at the first and the last end, in what is still there [mm]
    length  : along the stretch [mm]
    area    : of the cut [mm2]
    """

    rip: Rip
    entries: tuple[Entry, Entry] | None
    reach: tuple[float, float]
    depths: tuple[float, float]
    length: float
    area: float


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """A length of the piece that holds one block, or several side by side.

    number      : from the first end on
    nuts        : numbers of the nuts in it
    first, last : its cross cuts; their planes seen from outside
    cuts        : rip cuts in order
    start       : the end whose face the rips start from
    held        : what sits in the vise, at the other end: the rest of the piece, or a stick
    handle      : how long what is left of the piece beyond the far cross cut is, as work goes on; clamped while the
                  stretch is ripped where it is held by the piece [mm]
    """

    number: int
    nuts: tuple[int, ...]
    first: CrossCut
    last: CrossCut
    cuts: tuple[RipCut, ...]
    start: End
    held: Held
    handle: float

    @property
    def face(self) -> CrossCut:
        """The cross cut from whose face the rips start."""
        return self.first if self.start == "first" else self.last

    @property
    def foot(self) -> CrossCut:
        """The cross cut at which they stop: sawn last, or glued on a stick."""
        return self.last if self.start == "first" else self.first


@dataclass(frozen=True, slots=True, eq=False)
class CutPlan:
    """Everything a maker draws and saws.

    stretches : from the first end on
    begins    : the end of the piece that is trimmed; stretches are sawn from there on
    order     : the cross cuts in the order they are sawn through; a cut that serves two stretches comes once
    blocks    : where each block lies
    kerf      : of the saw [mm]
    along     : the piece looked at along its length
    """

    stretches: tuple[Stretch, ...]
    begins: End
    order: tuple[CrossCut, ...]
    blocks: tuple[LaidBlock, ...]
    kerf: float
    along: Lengthwise

    @property
    def saw_area(self) -> float:
        """Of all the saw cuts [mm2]."""
        across = sum(cut.area for cut in self.order if cut.by == "saw")
        return across + sum(cut.area for s in self.stretches for cut in s.cuts if cut.rip.by == "saw")

    def saw_area_of(self, nut: int) -> float:
        """Of the cuts that free one block, its share of those that serve several [mm2]."""
        total = 0.0
        for cut in self.order:
            served = [n for s in self.stretches for n in s.nuts if cut.number in (s.first.number, s.last.number)]
            if cut.by == "saw" and nut in served:
                total += cut.area * served.count(nut) / len(served)
        return total + sum(
            cut.area for s in self.stretches for cut in s.cuts if cut.rip.by == "saw" and cut.rip.nut == nut
        )


@lru_cache(maxsize=2)  # the job and every drawing of it ask for the same plan
def cut_plan(piece: Piece, answer: Answer) -> CutPlan:
    """The cuts that free the blocks of an answer from a piece.

    answer : lays one block at least
    raises : CannotBeMade where a cut misses the skin, or where no straight cut parts two blocks
    """
    blocks = tuple(LaidBlock(n, answer.block, one.pose) for n, one in enumerate(answer.laid, start=1))
    seen = lengthwise(piece)
    groups = sorted(_groups(blocks), key=lambda group: min(one.pose.origin[0] for one in group))
    ends = clear_of_others(piece, seen, groups, [cross_cuts(piece, seen, group) for group in groups])
    if any(bites(cut, blocks, piece.permitted.kerf) for pair in ends for cut in pair):
        raise CannotBeMade([refusal("cut.not-parted", nuts=tuple(block.nut for block in blocks))])
    ends, begins = in_row(piece, groups, ends)
    drafts: list[tuple[Stretch, tuple[Rip, ...]]] = []
    for number, (group, (first, last)) in enumerate(zip(groups, ends, strict=True), start=1):
        handle = left_beyond(piece, last if begins == "first" else first)
        held: Held = "piece" if handle >= piece.permitted.handle_length else "stick"
        start = begins if held == "piece" else OTHER[begins]
        found = rips(group, (first.plane, last.plane), _sections(piece, first, last), start, held)
        nuts = tuple(one.nut for one in group)
        drafts.append((Stretch(number, nuts, first, last, (), start, held, handle), found))
    numbers = _numbers(drafts if begins == "first" else drafts[::-1])
    stretches = []
    for draft, found in drafts:
        first, last = (replace(cut, number=numbers[cut.number]) for cut in (draft.first, draft.last))
        cuts = [_rip_cut(piece, replace(rip, number=numbers[rip]), first, last) for rip in found]
        cuts.sort(key=lambda cut: cut.rip.number)
        stretches.append(replace(draft, first=first, last=last, cuts=tuple(cuts)))
    order = {cut.number: cut for stretch in stretches[::-1] for cut in (stretch.last, stretch.first)}
    across = tuple(order[number] for number in sorted(order))
    return CutPlan(tuple(stretches), begins, across, blocks, piece.permitted.kerf, seen)


def _numbers(drafts: Sequence[tuple[Stretch, tuple[Rip, ...]]]) -> dict[int | Rip, int]:
    """The cuts by the order in which they are done: cross cuts by their place in the row, and rips.

    What a stretch has on the piece is ripped before the cross cut that frees it; what it has on a stick comes after
    both its cross cuts, and an end that is sanded last.
    """
    turn: list[int | Rip] = []
    for stretch, found in drafts:
        near, far = (stretch.face, stretch.foot) if stretch.held == "piece" else (stretch.foot, stretch.face)
        on_piece, on_stick, free = ([rip for rip in found if rip.held == by] for by in ("piece", "stick", None))
        turn += [near.number, *on_piece, far.number, *on_stick, *free]
    return {cut: number for number, cut in enumerate(dict.fromkeys(turn), start=1)}


def _groups(blocks: tuple[LaidBlock, ...]) -> list[tuple[LaidBlock, ...]]:
    """Blocks that no cross cut parts go together."""
    groups: list[tuple[LaidBlock, ...]] = []
    for block in blocks:
        beside = [group for group in groups if any(_beside(block, other) for other in group)]
        groups = [group for group in groups if group not in beside]
        groups.append((*(one for group in beside for one in group), block))
    return [tuple(sorted(group, key=lambda one: one.nut)) for group in groups]


def _beside(one: LaidBlock, other: LaidBlock) -> bool:
    """Whether neither block lies wholly before or behind an end of the other."""
    return not any(
        float(a.plane(side).above(b.corners).min()) >= 0.0
        for a, b in ((one, other), (other, one))
        for side in ("first end", "last end")
    )


def _sections(piece: Piece, first: CrossCut, last: CrossCut) -> Sections:
    """Skin and core at both ends of a stretch and half way."""
    half = replace(first.plane, origin=(first.plane.origin + last.plane.origin) / 2.0)
    planes = (first.plane, half, last.plane)
    skins = [skin_outline(piece, plane) for plane in planes]
    cores = [outline(piece.core, plane) for plane in planes] if piece.core is not None else []
    return Sections(
        tuple(loop for loop in skins if loop is not None),
        tuple(loop for loop in cores if loop is not None),
        piece.permitted.kerf,
    )


def _rip_cut(piece: Piece, rip: Rip, first: CrossCut, last: CrossCut) -> RipCut:
    loops = section(piece.skin, rip.plane)
    sawn = [within(rip.plane.to_space(loop), rip.before) for loop in loops]
    cut_area = sum(math.copysign(flat_area(one), area(loop)) for one, loop in zip(sawn, loops, strict=True))
    met = np.vstack([np.empty((0, 3)), *sawn])
    reach = (float(met[:, 0].min()), float(met[:, 0].max())) if len(met) else (0.0, 0.0)
    if "end" in rip.side:
        return RipCut(rip, None, reach, (0.0, 0.0), 0.0, cut_area)
    length = float(-first.plane.above(last.plane.origin[None])[0])
    (start, deep), (end, deep_last) = (_line(piece, rip, cut) for cut in (first, last))
    if (start is None or end is None) and len(met):
        length = float(np.ptp(first.plane.above(met)))
    return RipCut(rip, (start, end), reach, (deep, deep_last), length, cut_area)


def _line(piece: Piece, rip: Rip, cut: CrossCut) -> tuple[Entry, float]:
    """The rip's line on an end face: its entries along the outline, and its length in what is there.

    Where the face stands out of the piece there, nothing is to be sawn and there is no line.
    """
    places, before = crossings(cut.outline, rip.plane)
    if len(places) < 2:
        return None, 0.0
    way = np.cross(rip.plane.normal, cut.plane.normal)
    order = np.argsort(places @ way)
    back = before_back_line(cut.outline, piece.axis)
    first, last = sorted(_from_back(float(before[k]) - back, cut) for k in order[[0, -1]])
    still, _ = crossings(within(cut.outline, rip.before), rip.plane)
    along = np.sort(still @ way) / float(np.linalg.norm(way))
    depth = float((along[1::2] - along[: len(along) - len(along) % 2 : 2]).sum())
    return (first, last), depth


def _from_back(distance: float, cut: CrossCut) -> float:
    """A distance along the outline as the shorter way from the back mark, to the left positive [mm].

    The outline runs counter-clockwise seen from the waste: to the left about the piece at a first end,
    to the right at a last end.
    """
    whole = cut.girth
    shorter = (distance + whole / 2.0) % whole - whole / 2.0
    return shorter if cut.toward == "first" else -shorter


def crossings(loop: Array, plane: Plane) -> tuple[Array, Array]:
    """Where a loop meets a plane: (k, 3) [mm], and (k,) how far along the loop from its first point [mm]."""
    if not len(loop):
        return np.empty((0, 3)), np.empty(0)
    above = plane.above(loop)
    sides = np.roll(loop, -1, axis=0) - loop
    there = np.flatnonzero((above >= 0.0) != (np.roll(above, -1) >= 0.0))
    share = above[there] / (above[there] - np.roll(above, -1)[there])
    lengths = np.linalg.norm(sides, axis=1)
    before = np.concatenate([[0.0], np.cumsum(lengths)])[there] + share * lengths[there]
    return loop[there] + share[:, None] * sides[there], before


def left_to_sand(block: Block) -> dict[str, tuple[float, float]]:
    """By face: what squaring takes off the sawn block, and what is sanded after that to the finished nut [mm]."""
    return {face: (block.to_square[face], block.to_sand[face] - block.to_square[face]) for face in block.to_sand}
