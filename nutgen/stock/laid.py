"""A block laid in a piece, and the answer to whether the piece yields it."""

from dataclasses import dataclass

from nutgen.finding import Finding
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block, Region
from nutgen.theory import Array as Array  # whoever lays a block has its arrays

ERROR = 0.01
"""What a measured room may be off: only where there is more does a block fit [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Tight:
    """Where a region has least room, over what it must keep.

    room : negative where it is out, then how far [mm]
    at   : (3,) the point of the region, in the block's frame [mm]
    """

    region: Region
    room: float
    at: Array


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A block in its place.

    pose        : where the block's frame lies in the piece's
    margin      : the least spare room anywhere; negative where it does not fit, then how far it is out [mm]
    skin_margin : least distance from the block to the skin [mm]
    core_margin : least distance from what must be compact to the core, over the stated one; None without a core [mm]
    tightest    : where it is tightest
    tightest_at : (3,) the point of the block where it is tightest, in the piece's frame [mm]
    grain_deg   : between the block's length and the grain [deg]
    waste       : of the piece, cut off and not fit for another such block [mm3]
    saw_area    : cut by the saw in all [mm2]
    rooms       : the least room of each region that the piece can violate, the tightest first
    """

    pose: Pose
    margin: float
    skin_margin: float
    core_margin: float | None
    tightest: Finding
    tightest_at: Array
    grain_deg: float
    waste: float
    saw_area: float
    rooms: tuple[Tight, ...] = ()


@dataclass(frozen=True, slots=True)
class Largest:
    """The largest nut that the piece does yield.

    name     : what was made smaller; "permitting more" where something more would have to be permitted
    size     : of the sawn block [mm]
    finished : of the nut [mm]
    how      : what to do with it
    """

    name: str
    size: tuple[float, float, float]
    finished: tuple[float, float, float]
    how: Finding


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """Whether a piece yields what was asked for.

    block   : what was asked for
    laid    : one for each nut, from the first end on; where the answer is no, the best attempt
    margin  : the least of theirs [mm]
    short   : what is short by how much; empty where it fits
    largest : what would fit instead; empty where it fits
    notes   : what a maker should read before the saw
    profile : (k, 2) distance along the piece and the best margin of a block whose middle lies there [mm]
    unseen  : where no wall was measured: that there is no yes yet, and what each of some walls would give
    """

    block: Block
    laid: tuple[Laid, ...]
    margin: float
    short: tuple[Finding, ...]
    largest: tuple[Largest, ...]
    notes: tuple[Finding, ...]
    profile: Array
    unseen: tuple[Finding, ...] = ()

    @property
    def missing(self) -> float:
        """What is short in all; 0 where it fits [mm]."""
        return max(-self.margin, ERROR) if self.short else 0.0

    @property
    def fits(self) -> bool:
        """Whether the piece yields it."""
        return not self.short and not self.unseen
