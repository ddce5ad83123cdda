"""The answer: does the piece yield the block, and where does it lie best."""

from collections.abc import Mapping, Sequence

import numpy as np

from nutgen.finding import Finding, refusal, warning
from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block
from nutgen.stock.laid import ERROR, Answer, Laid
from nutgen.stock.lay.exact import tightest
from nutgen.stock.lay.fewer import largest
from nutgen.stock.lay.laying import SAME, Laying
from nutgen.stock.lay.saw import waste
from nutgen.stock.lay.several import Together, lay_several
from nutgen.stock.lay.shortage import shortage
from nutgen.stock.piece import Piece

LITTLE = 0.5
"""A margin that a pencil line and a saw which wanders by its own kerf use up [mm]. Common practice, no source."""

GRAIN_ERROR = 0.001
"""What the angle to the grain may be off by rounding [deg]."""


def lay(
    piece: Piece, block: Block, *, count: int = 1, instead: Mapping[Finding, Block] | None = None, smaller: bool = True
) -> Answer:
    """Lay a block, or several, in a piece where they have most room.

    piece   : its skin closed and outward
    block   : with the regions that must keep away from skin and core
    count   : of blocks, with a cut's width between them
    instead : tried where one block does not fit: what could be permitted -> the same block with it
    smaller : whether to look for what would fit where the block does not
    returns : the answer; the same piece, block and count give the same one
    raises  : ValueError where the count is below one

    The largest least margin decides; where margins are the same to a saw, the least waste, then the
    least saw work. A margin is measured against every triangle, and never told larger than it is; a yes needs more
    than it may be off, and nothing of the block beyond the surface itself.
    """
    if count < 1:
        raise ValueError(f"{count} blocks cannot be laid; ask for one at least")
    laying = Laying.of(piece, block)
    found = laying.found(block)
    if count == 1:
        best = laying.roomiest(block)
        together = Together([_cheapest(laying, block, best)], 0.0)
    else:
        together, best = lay_several(laying, block, count), []
    poses = together.poses
    lost = waste(laying.field, block, poses, kerf=laying.rules.kerf) / count
    placed = sorted((laying.laid(block, pose, lost=lost) for pose in poses), key=lambda one: one.pose.origin[0])
    margin = min(one.margin for one in placed)
    short = [shortage(tight, one.pose) for one in placed for tight in one.rooms if tight.room <= ERROR]
    short += [
        refusal("piece.beyond-grain", off_deg=one.grain_deg, most_deg=piece.permitted.grain_deg)
        for one in placed
        if one.grain_deg > piece.permitted.grain_deg + GRAIN_ERROR
    ]
    if together.lack > 0.0:
        margin = min(margin, -together.lack)
        short.append(refusal("piece.no-room-between", blocks=count, missing=together.lack))
    return Answer(
        block=block,
        laid=tuple(placed),
        margin=margin,
        short=tuple(dict.fromkeys(short)),
        largest=largest(laying, block, found, best, count, instead or {}) if short and smaller else (),
        notes=tuple(_notes(placed, margin, piece)),
        profile=_with(found.profile, placed),
    )


def _cheapest(laying: Laying, block: Block, best: Sequence[tuple[Pose, float]]) -> Pose:
    """Of places with the same margin, the one with least waste, then least saw work, slid ones among them.

    Where the block does not fit, the one that is short in the fewest ways.
    """
    first, most = best[0]
    tied = [pose for pose, margin in best if margin >= most - SAME]
    if most <= ERROR:
        return min(tied, key=lambda pose: sum(one.room <= ERROR for one in tightest(laying.field, block, pose)))
    tied += [slid for side in (-1.0, 1.0) if (slid := _slid(laying, block, first, most, side)) is not None]
    return min(tied, key=lambda pose: laying.cost(block, [pose])) if len(tied) > 1 else first


def _slid(laying: Laying, block: Block, pose: Pose, most: float, side: float) -> Pose | None:
    """The pose slid along the grain as far as its margin lasts; None where it does not last for a little."""
    grain, mover = laying.field.grain(pose.at[:1])[0], laying.fine(block)

    def lasts(by: float) -> bool:
        slid = Pose.of(pose.at + side * by * grain, pose.axes)
        return laying.rules.hold([slid]) and float(mover.look(slid).room.min()) >= most - SAME

    if not lasts(2.0):
        return None
    low, high = 2.0, laying.piece.length
    while high - low > 0.5:
        middle = (low + high) / 2.0
        low, high = (middle, high) if lasts(middle) else (low, middle)
    slid = Pose.of(pose.at + side * low * grain, pose.axes)
    return slid if laying.margin(block, slid) >= most - SAME else None


def _notes(placed: Sequence[Laid], margin: float, piece: Piece) -> list[Finding]:
    notes = []
    if ERROR < margin < LITTLE:
        notes.append(warning("piece.little-to-spare", margin=margin, used=LITTLE))
    off, most = max(one.grain_deg for one in placed), piece.permitted.grain_deg
    if off > most / 2.0 and off > 3.0:
        notes.append(warning("piece.off-grain", blocks=len(placed), off_deg=off, most_deg=most))
    return notes


def _with(profile: Array, placed: Sequence[Laid]) -> Array:
    """The margins along the piece, the laid blocks' own among them."""
    rows = np.array([[one.pose.origin[0], one.margin] for one in placed])
    if not len(profile):
        return rows
    near = np.min(np.abs(profile[:, :1] - rows[:, 0]), axis=1) < 1.0
    joined = np.vstack([profile[~near], rows])
    return joined[np.argsort(joined[:, 0], kind="stable")]
