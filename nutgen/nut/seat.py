"""What the nut sits in and what lies before it: seat floor, board and fret plane, as heights over the board.

fret plane  ------------------
board       ______ . |   |         z = 0 on the centre line, at the front face
                     |nut|
seat floor           |___|         z = -depth
"""

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
    half_width : float
        Centre line to either edge of the board, along the nut [mm].
    board_radius : array_like
        Of the board across the nut, so larger than its own where the nut is slanted (within 0.001 mm of the true
        ellipse for any slant that strings allow); inf where flat [mm].
    depth : array_like
        Board surface on the centre line down to the seat floor; 0 for a surface nut [mm].
    floor_radius : array_like
        Of the seat floor across the nut; inf where flat; the board's for a surface nut [mm].
    fret_height : array_like
        Crown of fret 1 over the board; counts where there is no `fret_plane` [mm].
    fret_plane : tuple of array_like, or None
        Fret plane over the seat floor: one height, or those at -half_width and at +half_width [mm].
    """

    kind: Literal["channel", "ledge", "surface"]
    half_width: float
    board_radius: ArrayLike
    depth: ArrayLike
    floor_radius: ArrayLike
    fret_height: ArrayLike
    fret_plane: tuple[ArrayLike, ...] | None

    def board_z(self, x: ArrayLike) -> Array:
        """Board surface at x [mm]."""
        return -crown_drop(x, radius=self.board_radius)

    def floor_z(self, x: ArrayLike) -> Array:
        """SeatHeights floor at x [mm]."""
        return -np.asarray(self.depth, float) - crown_drop(x, radius=self.floor_radius)

    def fret_plane_z(self, x: ArrayLike) -> Array:
        """Fret plane at x [mm]: as measured over the seat where it was, else the fret height over the board."""
        if self.fret_plane is None:
            return self.board_z(x) + np.asarray(self.fret_height, float)
        left, right = (np.asarray(height, float) for height in (self.fret_plane[0], self.fret_plane[-1]))
        edge = self.floor_z(self.half_width) - self.board_z(self.half_width)
        across = (left + right) / 2.0 + (right - left) / (2.0 * self.half_width) * np.asarray(x, float)
        return self.board_z(x) + edge + across

    def mirrored(self) -> "SeatHeights":
        """The seat with x reversed."""
        return replace(self, fret_plane=self.fret_plane and self.fret_plane[::-1])
