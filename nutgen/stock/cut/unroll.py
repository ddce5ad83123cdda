"""The skin of a stretch unrolled: a strip of paper that is wrapped around the piece.

Paper pulled tight around a round thing lies on the convex hull. Between two planes square to the
straightedge the hull's side is made of flat triangles: where both outlines run in the same direction, a
straight ruling joins them. Laying the triangles down one beside the other keeps every length.

Source: development by triangulation, the usual way with a transition piece in sheet-metal drawing
(any textbook of engineering drawing, from memory); rulings at parallel tangents of the two curves
follow from the side being tangent to both (H. Pottmann and J. Wallner, Computational Line Geometry,
2001, developable surfaces).

The unrolled frame shows the printed side: across runs to the left about the piece, up toward the first end.
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.geometry.mesh import Array
from nutgen.geometry.slices import from_rim, girth, hull
from nutgen.stock.cut.turns import QUARTERS, at_turns, skin_outline, turns
from nutgen.stock.piece import Piece, square_to_straightedge

LOOKS = 5
"""Planes between the two edges of a strip where it is compared with the skin."""

_SKIP = 8


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """The unrolled skin between two distances from the first end.

    near, far : of its two edges [mm]
    on_piece  : (2, k, 3) ends of the rulings on the near and on the far edge; the last is the first again [mm]
    on_paper  : (2, k, 2) the same laid down [mm]
    misfit    : most by which a line on the paper, laid from the back line on, can be off its place on the skin:
                half of what the girth differs, or what the length along the piece does [mm]
    stand_off : most by which the skin stands over the paper's own shape or lies below it [mm]
    """

    near: float
    far: float
    on_piece: Array
    on_paper: Array
    misfit: float
    stand_off: float

    @property
    def girths(self) -> tuple[float, float]:
        """Around the near and the far edge [mm]."""
        near, far = (float(np.linalg.norm(np.diff(edge, axis=0), axis=1).sum()) for edge in self.on_piece)
        return near, far

    def to_paper(self, points: Array) -> tuple[Array, Array]:
        """Where points of the skin come to lie.

        points  : (n, 3), between the two edges [mm]
        returns : (n, 2) on the paper [mm], and (n,) the ruling before each plus the share of the way to the next

        Each goes to the nearest place of the paper at the same distance from the first end; it is looked
        for around the nearest of a few rulings.
        """
        share = ((points[:, 0] - self.near) / (self.far - self.near))[:, None, None]
        near, far = self.on_piece[:, :, 1:]
        some = near[None, ::_SKIP] * (1.0 - share) + far[None, ::_SKIP] * share
        around = ((points[:, None, 1:] - some) ** 2).sum(axis=2).argmin(axis=1) * _SKIP
        sides = (around[:, None] + np.arange(-_SKIP - 2, _SKIP + 3)) % (len(near) - 1)
        start = near[sides] * (1.0 - share) + far[sides] * share
        side = near[sides + 1] * (1.0 - share) + far[sides + 1] * share - start
        there = points[:, None, 1:] - start
        length2 = np.maximum((side**2).sum(axis=2), 1e-18)
        along_side = np.clip((there * side).sum(axis=2) / length2, 0.0, 1.0)
        apart = ((there - along_side[:, :, None] * side) ** 2).sum(axis=2)
        rows = np.arange(len(points))
        column = apart.argmin(axis=1)
        nearest, part = sides[rows, column], along_side[rows, column][:, None]
        above, below = self.on_paper
        level = share[:, 0]
        first, second = (above[at] * (1.0 - level) + below[at] * level for at in (nearest, nearest + 1))
        return first * (1.0 - part) + second * part, nearest + part[:, 0]


def strip(piece: Piece, near: float, far: float) -> Strip:
    """Unroll the skin between two planes square to the straightedge.

    near, far : their distances from the first end, both where the piece has skin [mm]
    raises    : CannotBeMade where a plane misses the skin
    """
    edges = [_taut(piece, along) for along in (near, far)]
    on_piece = _seam_at_belly(_rulings(*edges), piece, near=near, far=far)
    flat = Strip(near, far, on_piece, _laid_down(on_piece), 0.0, 0.0)
    misfit, stand_off = _compared(piece, flat)
    return replace(flat, misfit=misfit, stand_off=stand_off)


def strips(piece: Piece, near: float, far: float, *, misfit: float, longest: float) -> tuple[Strip, ...]:
    """One strip, or as many as it takes, edge to edge.

    misfit  : strips that fit worse are halved, once: lumps are no better on narrow paper [mm]
    longest : from edge to edge [mm]
    """
    count = max(1, int(np.ceil((far - near) / longest)))
    found = _row(piece, near, far, count)
    return found if max(one.misfit for one in found) <= misfit else _row(piece, near, far, 2 * count)


def _row(piece: Piece, near: float, far: float, count: int) -> tuple[Strip, ...]:
    """Strips of one width, edge to edge."""
    edges = np.linspace(near, far, count + 1)
    return tuple(strip(piece, float(a), float(b)) for a, b in pairwise(edges))


def _taut(piece: Piece, along: float) -> Array:
    """The outline as a thread pulled tight around it: (k, 2) of (up, sideways), counter-clockwise, turning left."""
    loop = skin_outline(piece, square_to_straightedge(along))
    if loop is None:
        raise CannotBeMade([refusal("cut.misses-the-skin", along=along)])
    return hull(loop[:, [2, 1]])


def _rulings(near: Array, far: Array) -> Array:
    """Both outlines walked together, an edge at a time in the order of their directions: (2, k + 1, 2)."""
    walks = []
    for edge in (near, far):
        sides = np.roll(edge, -1, axis=0) - edge
        directions = np.arctan2(sides[:, 1], sides[:, 0])
        first = int(directions.argmin())
        walks.append((np.roll(edge, -first, axis=0), np.roll(directions, -first)))
    order = np.argsort(np.concatenate([walk[1] for walk in walks]), kind="stable")
    on_near = order < len(near)
    steps = [np.concatenate([[0], np.cumsum(mine)]) for mine in (on_near, ~on_near)]
    return np.stack([walk[0][step % len(walk[0])] for walk, step in zip(walks, steps, strict=True)])


def _seam_at_belly(rulings: Array, piece: Piece, *, near: float, far: float) -> Array:
    """The rulings in the piece's frame, from the one nearest to the belly line on, round, and back to it."""
    along = np.broadcast_to(np.array([near, far])[:, None], rulings.shape[:2])
    on_piece = np.stack([along, rulings[:, :, 1], rulings[:, :, 0]], axis=2)[:, :-1]
    off_belly = np.abs(turns(on_piece.mean(axis=0), piece.axis) - 180.0)
    on_piece = np.roll(on_piece, -int(off_belly.argmin()), axis=1)
    return np.concatenate([on_piece, on_piece[:, :1]], axis=1)


def _laid_down(on_piece: Array) -> Array:
    """Triangle by triangle, each beside the one before: (2, k, 2); the whole turned until it lies level."""
    near, far = on_piece
    base = near - far
    moves_near = (near[1:] != near[:-1]).any(axis=1)
    tip = np.where(moves_near[:, None], near[1:], far[1:]) - far[:-1]
    long = np.linalg.norm(base, axis=1)
    along = (tip * base[:-1]).sum(axis=1) / long[:-1]
    off = np.linalg.norm(np.cross(tip, base[:-1]), axis=1) / long[:-1]
    (x, y), (u, v) = (0.0, 0.0), (0.0, -float(long[0]))  # here, on the near edge, and there, on the far one
    laid = [((x, y), (u, v))]
    for moves, a, b in zip(moves_near.tolist(), along.tolist(), off.tolist(), strict=True):
        size = math.hypot(x - u, y - v)
        across, up = (x - u) / size, (y - v) / size
        place = u + across * a + up * b, v + up * a - across * b
        if moves:
            x, y = place
        else:
            u, v = place
        laid.append(((x, y), (u, v)))
    paper = np.array(laid).transpose(1, 0, 2)
    middle = paper.mean(axis=0)
    level = middle[-1] - middle[0]
    x, y = level / np.linalg.norm(level)
    return paper @ np.array([[x, -y], [y, x]])


def _compared(piece: Piece, flat: Strip) -> tuple[float, float]:
    """Misfit and stand-off of a strip against the skin between its edges."""
    misfit = stand_off = 0.0
    lines = []
    for along in np.linspace(flat.near, flat.far, LOOKS + 2):
        plane = square_to_straightedge(float(along))
        loop = skin_outline(piece, plane)
        if loop is None:
            raise CannotBeMade([refusal("cut.misses-the-skin", along=float(along))])
        share = (along - flat.near) / (flat.far - flat.near)
        paper = flat.on_piece[0, :-1] * (1.0 - share) + flat.on_piece[1, :-1] * share
        misfit = max(misfit, abs(girth(hull(loop[:, 1:])) - girth(paper)) / 2.0)
        stand_off = max(stand_off, float(from_rim(loop[:: max(1, len(loop) // 200), 1:], paper[:, 1:]).max()))
        lines.append(at_turns(loop, piece.axis, np.array(QUARTERS)))
    for line in np.array(lines).transpose(1, 0, 2)[:3:2]:  # back and belly; the seam may part the belly's paper
        on_skin = np.linalg.norm(np.diff(line, axis=0), axis=1)
        on_paper = np.linalg.norm(np.diff(flat.to_paper(line)[0], axis=0), axis=1)
        parted = on_paper > on_skin + girth(flat.on_piece[0]) / 4.0
        misfit = max(misfit, abs(float((on_skin - on_paper)[~parted].sum())))
    return misfit, stand_off
