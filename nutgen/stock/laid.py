"""A block laid in a piece, and the answer to whether the piece yields it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.stock.block import Block

Array = NDArray[np.float64]


_CORNERS = np.array([[x, y, z] for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (-0.5, 0.5)])


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """Where a block lies in the piece's frame.

    centre : (3,) its middle [mm]
    axes   : (3, 3) rows: unit vectors of its length, of front to back, of underside to top; right-handed
    """

    centre: Array
    axes: Array

    def to_piece(self, points: Array) -> Array:
        """Points of the block's frame in the piece's: (n, 3) [mm]."""
        return points @ self.axes + self.centre

    def corners(self, size: tuple[float, float, float]) -> Array:
        """The corners of a block in the piece's frame: (8, 3), the top after the underside, then back after front."""
        return self.to_piece(_CORNERS * np.array(size))

    def to_block(self, points: Array) -> Array:
        """Points of the piece's frame in the block's: (n, 3) [mm]."""
        return (points - self.centre) @ self.axes.T


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A block in its place.

    margin      : the least spare room anywhere; negative where it does not fit, then how far it is out [mm]
    skin_margin : least distance from the block to the skin [mm]
    core_margin : least distance from what must be compact to the core, over the stated one; None without a core [mm]
    tightest    : in words, where it is tightest
    tightest_at : (3,) the point of the block where it is tightest, in the piece's frame [mm]
    grain_deg   : between the block's length and the grain [deg]
    waste       : of the piece, cut off and not fit for another such block [mm3]
    saw_area    : cut by the saw in all [mm2]
    """

    pose: Pose
    margin: float
    skin_margin: float
    core_margin: float | None
    tightest: str
    tightest_at: Array
    grain_deg: float
    waste: float
    saw_area: float


@dataclass(frozen=True, slots=True)
class Largest:
    """The largest nut that the piece does yield.

    name     : what was made smaller; "permitting more" where something more would have to be permitted
    size     : of the sawn block [mm]
    finished : of the nut [mm]
    words    : in a sentence, what to do with it
    """

    name: str
    size: tuple[float, float, float]
    finished: tuple[float, float, float]
    words: str


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """Whether a piece yields what was asked for.

    block   : what was asked for
    laid    : one for each nut, from the first end on; where the answer is no, the best attempt
    margin  : the least of theirs [mm]
    short   : sentences: what is short by how much; empty where it fits
    largest : what would fit instead; empty where it fits
    notes   : sentences that a maker should read before the saw
    profile : (k, 2) distance along the piece and the best margin of a block whose middle lies there [mm]
    """

    block: Block
    laid: tuple[Laid, ...]
    margin: float
    short: tuple[str, ...]
    largest: tuple[Largest, ...]
    notes: tuple[str, ...]
    profile: Array

    @property
    def fits(self) -> bool:
        """Whether the piece yields it."""
        return self.margin >= 0.0
