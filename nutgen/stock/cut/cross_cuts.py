"""The saw cuts across a piece: two to a stretch, and at which end of the piece the work begins.

Each lies square to its blocks, as close as they permit, and stays on the skin all round, so that it can be
marked on the four lines along the piece. Where the piece was sawn off flat and only a thin slice would come off, its
end serves as it is, and the rest is cut off the freed block.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.geometry.mesh import Array
from nutgen.geometry.slices import Plane, girth, plane_facing
from nutgen.stock.cut.rips import AGREE, LEAST_SLICE, By, End, LaidBlock, flat_area
from nutgen.stock.cut.turns import QUARTERS, Lengthwise, at_turns, skin_outline
from nutgen.stock.piece import Piece, square_to_straightedge

Four = tuple[float, float, float, float]
_UP = np.array([0.0, 0.0, 1.0])
_GRAZES = 0.01  # a plane nearer to a flat end would graze it [mm]

BITE_SHARE = 0.5
"""Of what squaring takes off an end: so far a saw may reach into a neighbour's block. Common practice, no source."""

THIN_SLICE = 3.0
"""A saw wanders that takes less than this off across a whole piece [mm]. Common practice, no source."""

FLAT = 0.9
"""A sawn end is flat enough for rip lines where it has this share of the section a thin slice farther in. Common
practice, no source."""


AS_THICK = 1.02
"""Ends whose areas differ by less are as thick as each other, and the first end is trimmed."""


@dataclass(frozen=True, slots=True, eq=False)
class CrossCut:
    """A cut through the whole piece.

    number    : in the order of all cuts, by when it is sawn through; one that serves two stretches has one number
    plane     : the line to keep, seen from the waste
    by        : the saw, sanding where less than a slice stands over, or the sawn end as it is
    outline   : (n, 3) of the skin in it [mm]
    marks     : distance of back, left, belly and right mark from the plane of the first end [mm]
    along_skin: the same along the skin, as a tape or a bent rule measures it; None where the first end is closed [mm]
    area      : within the skin [mm2]
    depth     : the saw's way through the piece, from back to belly [mm]
    """

    number: int
    plane: Plane
    by: By
    outline: Array
    marks: Four
    along_skin: Four | None
    area: float
    depth: float

    @property
    def toward(self) -> End:
        """The end of the piece that its waste is toward."""
        return "first" if self.plane.normal[0] < 0.0 else "last"

    @property
    def girth(self) -> float:
        """Around the skin in the cut [mm]."""
        return girth(self.outline)


def cross_cuts(piece: Piece, seen: Lengthwise, group: tuple[LaidBlock, ...]) -> tuple[CrossCut, CrossCut]:
    """The two cross cuts of a stretch, as close as all its blocks permit.

    A cut that would take off a thin slice, or run out of the flat end of the piece on one side, is not made: the sawn
    end serves, and what is left at the block's end is cut off last. Where the end is not flat, the cut is square to
    the straightedge instead: it can be marked all round.
    """
    length = np.sum([one.lengthwise for one in group], axis=0)
    length = length / np.linalg.norm(length)
    corners = np.vstack([one.corners for one in group])
    middle = np.mean([one.pose.at for one in group], axis=0)
    reach = (corners - middle) @ length
    first = plane_facing(middle + length * float(reach.min()), -length, up=_UP)
    last = plane_facing(middle + length * float(reach.max()), length, up=_UP)
    low, high = float(corners[:, 0].min()), float(corners[:, 0].max())
    return (
        _cross_cut(piece, seen, first, _sawn_end(piece, 0), square_to_straightedge(max(low, _GRAZES))),
        _cross_cut(piece, seen, last, _sawn_end(piece, 1), square_to_straightedge(min(high, piece.length - _GRAZES))),
    )


def _sawn_end(piece: Piece, end: int) -> Plane | None:
    """An end of the piece as a plane; None where it was not sawn off flat."""
    at, inward = ((_GRAZES, THIN_SLICE), (piece.length - _GRAZES, -THIN_SLICE))[end]
    if piece.ends[end] == "closed":
        return None
    face, inside = (skin_outline(piece, square_to_straightedge(along)) for along in (at, at + inward))
    if face is None or inside is None or flat_area(face) < FLAT * flat_area(inside):
        return None
    return square_to_straightedge(at)


def _cross_cut(piece: Piece, seen: Lengthwise, plane: Plane, sawn_end: Plane | None, square: Plane) -> CrossCut:
    over = float(plane.above(piece.skin.vertices).max())
    by: By = "saw" if over > piece.permitted.kerf + LEAST_SLICE else "sanding"
    otherwise = square if sawn_end is None else sawn_end
    try:
        loop, places = _marked(piece, plane)
        serves = sawn_end is not None and over <= piece.permitted.kerf + THIN_SLICE
        wanted = not serves and _clear_of_ends(piece, loop)
    except CannotBeMade:
        wanted = False
    if not wanted:
        plane = otherwise if plane.normal[0] < 0.0 else otherwise.turned_over()
        loop, places = _marked(piece, plane)
        by = by if sawn_end is None else "sawn end"
    back, left, belly, right = (float(x) for x in places[:, 0])
    skin: Four | None = None
    if piece.ends[0] == "cut":
        a, b, c, d = (seen.along_skin(line, float(places[line, 0])) for line in range(4))
        skin = a, b, c, d
    depth = float(np.linalg.norm(places[0] - places[2]))
    return CrossCut(0, plane, by, loop, (back, left, belly, right), skin, flat_area(loop), depth)


def _clear_of_ends(piece: Piece, loop: Array) -> bool:
    """Whether an outline stays on the skin all round, clear of the flat ends of the piece."""
    low, high = float(loop[:, 0].min()), float(loop[:, 0].max())
    first, last = (end == "closed" for end in piece.ends)
    return (first or low >= LEAST_SLICE) and (last or high <= piece.length - LEAST_SLICE)


def _marked(piece: Piece, plane: Plane) -> tuple[Array, Array]:
    """The outline in a plane, and where it meets the four lines along the piece: (4, 3) [mm]."""
    loop = skin_outline(piece, plane)
    if loop is None:
        raise CannotBeMade([refusal("cut.misses-the-skin", along=float(plane.origin[0]))])
    return loop, at_turns(loop, piece.axis, np.array(QUARTERS))


def clear_of_others(
    piece: Piece, seen: Lengthwise, groups: list[tuple[LaidBlock, ...]], ends: list[tuple[CrossCut, CrossCut]]
) -> list[tuple[CrossCut, CrossCut]]:
    """The cross cuts of neighbours that lie slant to each other: where one would bite into the other's blocks, theirs
    serves for both, and what it leaves at the block's end is cut off last.
    """
    kerf, cleared = piece.permitted.kerf, list(ends)

    def as_well(cut: CrossCut) -> CrossCut:
        plane = cut.plane.moved(kerf).turned_over()
        return _cross_cut(piece, seen, plane, None, square_to_straightedge(float(plane.origin[0])))

    for n, (here, there) in enumerate(pairwise(groups)):
        (before, last), (first, after) = cleared[n : n + 2]
        if bites(last, there, kerf):
            last = as_well(first)
        elif bites(first, here, kerf):
            first = as_well(last)
        cleared[n : n + 2] = (before, last), (first, after)
    return cleared


def bites(cut: CrossCut, blocks: Sequence[LaidBlock], kerf: float) -> bool:
    """Whether a saw cut takes more off any of some blocks than squaring makes good."""
    most = BITE_SHARE * blocks[0].block.to_square["end"]
    over = [cut.plane.above(block.corners) for block in blocks]
    return cut.by == "saw" and any(up.max() > most and up.min() < kerf - most for up in over)


def in_row(
    piece: Piece, groups: list[tuple[LaidBlock, ...]], ends: list[tuple[CrossCut, CrossCut]]
) -> tuple[list[tuple[CrossCut, CrossCut]], End]:
    """The cross cuts numbered by their place in the piece, one for two stretches once; and where work begins."""
    kerf = piece.permitted.kerf
    begins = _begins(piece, ends[0][0], ends[-1][1])
    cuts = [ends[0][0]]
    places = [0]
    thin: set[int] = set()  # places in the row after which hardly anything stands over the next cut
    for (_, last), (first, _), group in zip(ends[:-1], ends[1:], groups[1:], strict=True):
        cuts += [last, first]
        one = _one_cut(last, first, group, kerf)
        places += [places[-1] + 1, places[-1] + (1 if one else 2)]
        if not one and float(last.plane.above(first.outline).max()) - kerf <= kerf + LEAST_SLICE:
            thin.add(places[-2])
    cuts.append(ends[-1][1])
    places.append(places[-1] + 1)
    later = {place + 1 if begins == "first" else place for place in thin}
    numbered = [
        replace(cut, number=place, by="sanding" if place in later else cut.by)
        for cut, place in zip(cuts, places, strict=True)
    ]
    return list(zip(numbered[::2], numbered[1::2], strict=True)), begins


def left_beyond(piece: Piece, cut: CrossCut) -> float:
    """How much of the piece is left beyond a cross cut and its kerf, on the waste side [mm]."""
    toward_last = cut.plane.normal[0] > 0.0
    along = cut.outline[:, 0]
    beyond = piece.length - float(along.max()) if toward_last else float(along.min())
    return beyond - piece.permitted.kerf / abs(float(cut.plane.normal[0]))


def _begins(piece: Piece, first: CrossCut, last: CrossCut) -> End:
    """The end that is trimmed: the thick one where the other leaves a handle, else the one that leaves the longer."""
    at_first, at_last = left_beyond(piece, first), left_beyond(piece, last)
    if min(at_first, at_last) >= piece.permitted.handle_length:
        return "first" if first.area * AS_THICK >= last.area else "last"
    return "first" if at_last >= at_first else "last"


def _one_cut(last: CrossCut, first: CrossCut, behind: tuple[LaidBlock, ...], kerf: float) -> bool:
    """Whether the saw that ends one stretch begins the next: its kerf clears the blocks behind, by little."""
    clear = min(float(last.plane.above(solid.corners).min()) for solid in behind)
    return clear >= kerf - 0.05 and float(last.plane.above(first.outline).max()) <= kerf + AGREE
