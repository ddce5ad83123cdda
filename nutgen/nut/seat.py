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
from numpy.typing import ArrayLike, NDArray

from nutgen.theory.heights import crown_drop

Array = NDArray[np.float64]


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
        Fret plane over the seat floor: one height, or those at either edge [mm].
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

    def fret_plane_z(self, x: ArrayLike) -> Array:
        """Fret plane at x [mm]: as measured over the seat where it was, else the fret height over the board."""
        if self.fret_plane is None:
            return self.board_z(x) + np.asarray(self.fret_height, float)
        left, right = (np.asarray(height, float) for height in (self.fret_plane[0], self.fret_plane[-1]))
        start, stop = self.edges
        at_left, at_right = (
            height + self.floor_z(edge) - self.board_z(edge) for height, edge in ((left, start), (right, stop))
        )
        return self.board_z(x) + at_left + (at_right - at_left) * (np.asarray(x, float) - start) / (stop - start)

    def _drop(self, x: ArrayLike, radius: ArrayLike) -> Array:
        """Drop of a cylinder along the neck at x; its radius is that along the face [mm]."""
        cosine = math.cos(math.radians(self.slant_deg))
        return crown_drop(np.asarray(x, float) * cosine, radius=np.asarray(radius, float) * cosine**2)

    def mirrored(self) -> "SeatHeights":
        """The seat with x reversed."""
        left, right = self.edges
        plane = self.fret_plane and self.fret_plane[::-1]
        return replace(self, edges=(-right, -left), slant_deg=-self.slant_deg, fret_plane=plane)
