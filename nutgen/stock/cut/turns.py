"""The four lines along a piece that every mark is measured on: back, left side, belly, right side.

Each is where the skin is met at a quarter turn about the piece's axis, counted from the back line to the left:

            back 0
              |
    left 90 --+-- right 270     seen from the first end
              |
          belly 180
"""

from dataclasses import dataclass

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.geometry.mesh import Array, Ints
from nutgen.geometry.slices import Plane, area, hull, outline, section
from nutgen.stock.piece import Axis, Piece, square_to_straightedge

LINES = ("back", "left", "belly", "right")
"""The lines in the order of their turns, a quarter turn apart."""

QUARTERS = (0.0, 90.0, 180.0, 270.0)
"""Their turns [deg]."""

STEP = 4.0
"""Between the places where the skin is looked at along the piece, at most [mm]."""


def skin_outline(piece: Piece, plane: Plane) -> Array | None:
    """The skin in a plane, as a thread around the axis: (n, 3) [mm]; None where the plane misses it.

    Where a crack parts the section, or the axis lies in one, the thread is pulled tight over its mouth.
    """
    loops = [loop for loop in section(piece.skin, plane) if area(loop) > 0.0]
    if not loops:
        return None
    there = plane.to_space(loops[0])
    sideways, up = _from_axis(there, piece.axis)
    turned = np.unwrap(np.arctan2(np.append(sideways, sideways[0]), np.append(up, up[0])))
    if len(loops) == 1 and abs(turned[-1] - turned[0]) > np.pi:
        return there
    return plane.to_space(hull(np.vstack(loops)))


def turns(points: Array, axis: Axis) -> Array:
    """Turn of points about the axis, from the back line to the left, 0 to 360: (n,) [deg]."""
    sideways, up = _from_axis(points, axis)
    return np.degrees(np.arctan2(sideways, up)) % 360.0


def at_turn(loop: Array, axis: Axis, turn_deg: float) -> Array:
    """Where an outline around the axis is met at a turn, the outermost place where there are several.

    loop    : (n, 3) closed, in the piece's frame [mm]
    returns : (3,) [mm]
    raises  : CannotBeMade where the outline does not go round the axis
    """
    return at_turns(loop, axis, np.array([turn_deg]))[0]


def at_turns(loop: Array, axis: Axis, turns_deg: Array) -> Array:
    """The same at many turns: (k, 3) [mm]."""
    best, share = _met(loop, axis, turns_deg)
    sides = np.roll(loop, -1, axis=0) - loop
    return loop[best] + share[:, None] * sides[best]


def before_back_line(loop: Array, axis: Axis) -> float:
    """How far along an outline from its first point the back line meets it [mm]."""
    (best,), (share,) = _met(loop, axis, np.zeros(1))
    sides = np.linalg.norm(np.roll(loop, -1, axis=0) - loop, axis=1)
    return float(sides[:best].sum() + share * sides[best])


def _met(loop: Array, axis: Axis, turns_deg: Array) -> tuple[Ints, Array]:
    """Sides of an outline that are met at turns, and the share of the way along each: (k,) both."""
    turn = np.radians(turns_deg)[:, None]
    sideways, up = _from_axis(loop, axis)
    off_line = sideways * np.cos(turn) - up * np.sin(turn)
    outward = sideways * np.sin(turn) + up * np.cos(turn)
    next_off, next_out = np.roll(off_line, -1, axis=1), np.roll(outward, -1, axis=1)
    crossing = (off_line >= 0.0) != (next_off >= 0.0)
    share = off_line / np.where(crossing, off_line - next_off, 1.0)
    reach = np.where(crossing, outward + share * (next_out - outward), -np.inf)
    rows, best = np.arange(len(turn)), np.argmax(reach, axis=1)
    if (reach[rows, best] <= 0.0).any():
        raise CannotBeMade([refusal("cut.not-around-the-axis")])
    return best, share[rows, best]


def _from_axis(points: Array, axis: Axis) -> tuple[Array, Array]:
    along = points[:, 0]
    return points[:, 1] - np.interp(along, axis.along, axis.sideways), points[:, 2] - np.interp(
        along, axis.along, axis.up
    )


@dataclass(frozen=True, slots=True, eq=False)
class Lengthwise:
    """The piece looked at along its length.

    along : (k,) places, rising [mm]
    skin  : (k, 4) least and greatest sideways, least and greatest up, of the skin [mm]
    core  : (k, 4) likewise; nan where there is none
    lines : (4, k, 3) back, left, belly and right line [mm]
    """

    along: Array
    skin: Array
    core: Array
    lines: Array

    def along_skin(self, line: int, to: float) -> float:
        """How long the skin is along a line from the first end to a distance, as a tape measures it [mm]."""
        points = self.lines[line]
        rise = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
        slope = np.polyfit(points[:3, 0], rise[:3], 1)
        start = max(0.0, float(points[0, 0])) * float(slope[0])
        return start + float(np.interp(to, points[:, 0], rise))


def lengthwise(piece: Piece) -> Lengthwise:
    """Look at a piece every few millimetres."""
    edge = min(0.01, piece.length / 1000.0)
    count = max(12, int(np.ceil(piece.length / STEP)) + 1)
    rows = []
    for along in np.linspace(edge, piece.length - edge, count):
        plane = square_to_straightedge(float(along))
        loop = skin_outline(piece, plane)
        if loop is None:
            continue
        try:
            lines = at_turns(loop, piece.axis, np.array(QUARTERS))
        except CannotBeMade:
            continue  # the very tip of a closed end may lie beside the axis
        core = outline(piece.core, plane) if piece.core is not None else None
        rows.append((along, _extent(loop), np.full(4, np.nan) if core is None else _extent(core), lines))
    if len(rows) < 3:
        raise CannotBeMade([refusal("cut.skin-too-short")])
    along_rows, skin, core_rows, line_rows = zip(*rows, strict=True)
    return Lengthwise(np.array(along_rows), np.array(skin), np.array(core_rows), np.array(line_rows).transpose(1, 0, 2))


def _extent(loop: Array) -> Array:
    low, high = loop.min(axis=0), loop.max(axis=0)
    return np.array([low[1], high[1], low[2], high[2]])
