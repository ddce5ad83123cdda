"""What the nut sits in and what lies before it: seat floor, board and fret plane, as heights over the board.

fret plane  ------------------
board       ______ . |   |         z = 0 on the centre line, at the front face
                     |nut|
seat floor           |___|         z = -depth
"""

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array
from nutgen.theory.heights import crown_drop


@dataclass(frozen=True, slots=True)
class Underside:
    """The face that sits in the neck: flat, or a cylinder that lies along the neck.

    Parameters
    ----------
    z0 : float
        Height on its axis' line [mm].
    curvature : float
        1 / radius of the cylinder; 0 where flat [1/mm].
    axis_deg : float
        Turn of its axis in plan against y, positive toward +x on the way back [deg].
    """

    z0: float
    curvature: float
    axis_deg: float = 0.0

    def across(self, x: ArrayLike, y: ArrayLike = 0.0) -> Array:
        """Distance of a place in plan from the axis [mm]."""
        turn = math.radians(self.axis_deg)
        return np.asarray(x, float) * math.cos(turn) - np.asarray(y, float) * math.sin(turn)

    def z(self, x: ArrayLike, y: ArrayLike = 0.0) -> Array:
        """Height at a place in plan [mm]."""
        radius = 1.0 / self.curvature if self.curvature else math.inf
        return self.z0 - crown_drop(self.across(x, y), radius=radius)


@dataclass(frozen=True, slots=True)
class SeatHeights:
    """Heights of seat floor, board and fret plane across the nut, as read; lengths may be arrays.

    Parameters
    ----------
    kind : "channel", "ledge" or "surface"
        What holds the nut.
    edges : (float, float)
        Edges of the board, along the face [mm].
    slant_deg : float
        Turn of the face in the neck [deg].
    board_radius : array_like
        Of the board along the face, so larger than its own where the face is slanted; inf where flat [mm].
    depth : array_like
        Board surface on the centre line down to the seat floor; 0 for a surface nut [mm].
    floor_radius : array_like
        Of the seat floor along the face; inf where flat; the board's for a surface nut [mm].
    fret_height : array_like
        Crown of fret 1 over the board; counts where there is no `fret_plane` [mm].
    fret_plane : tuple of array_like, or None
        Fret plane over the seat floor: one height, for both edges of the board; those at either edge; or those at
        one edge, on the centre line and at the other [mm].
    """

    kind: Literal["channel", "ledge", "surface"]
    edges: tuple[float, float]
    slant_deg: float
    board_radius: ArrayLike
    depth: ArrayLike
    floor_radius: ArrayLike
    fret_height: ArrayLike
    fret_plane: tuple[ArrayLike, ...] | None

    def board_z(self, x: ArrayLike) -> Array:
        """Board surface at x [mm]."""
        return -self._drop(x, self.board_radius)

    def floor_z(self, x: ArrayLike) -> Array:
        """Seat floor at x [mm]."""
        return -np.asarray(self.depth, float) - self._drop(x, self.floor_radius)

    @property
    def read_at(self) -> tuple[float, ...]:
        """Where along the face the fret plane is read [mm]."""
        left, right = self.edges
        return (left, 0.0, right) if len(self.fret_plane or ()) == 3 else (left, right)

    def fret_plane_z(self, x: ArrayLike) -> Array:
        """Fret plane at x [mm]: as measured over the seat where it was, else the fret height over the board.

        Between the heights measured it runs with the board, and what it stands over the board runs as the polynomial
        through them (Lagrange): with three heights an arch that was read wrong in the board falls out of the floors,
        but for what is left of it between them.
        """
        if self.fret_plane is None:
            return self.board_z(x) + np.asarray(self.fret_height, float)
        read = self.fret_plane if len(self.fret_plane) > 1 else self.fret_plane * 2
        over_board = [
            np.asarray(height, float) + self.floor_z(place) - self.board_z(place)
            for height, place in zip(read, self.read_at, strict=True)
        ]
        return self.board_z(x) + sum(a * b for a, b in zip(self.plane_shares(x), over_board, strict=True))

    def plane_shares(self, x: ArrayLike) -> list[Array]:
        """How much of each height in `read_at` the fret plane at x takes; together 1."""
        at = np.asarray(x, float)
        return [
            np.prod([(at - other) / (place - other) for other in self.read_at if other != place], axis=0)
            for place in self.read_at
        ]

    def _drop(self, x: ArrayLike, radius: ArrayLike) -> Array:
        """Drop of a cylinder along the neck at x; its radius is that along the face [mm]."""
        cosine = math.cos(math.radians(self.slant_deg))
        return crown_drop(np.asarray(x, float) * cosine, radius=np.asarray(radius, float) * cosine**2)

    def mirrored(self) -> "SeatHeights":
        """The seat with x reversed."""
        left, right = self.edges
        plane = self.fret_plane and self.fret_plane[::-1]
        return replace(self, edges=(-right, -left), slant_deg=-self.slant_deg, fret_plane=plane)
