"""The answer: does the piece yield the block, and where does it lie best."""

from collections.abc import Mapping, Sequence

import numpy as np

from nutgen.finding import Finding, refusal, warning
from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block
from nutgen.stock.laid import Answer, Laid
from nutgen.stock.lay.exact import tightest
from nutgen.stock.lay.fewer import largest
from nutgen.stock.lay.laying import SAME, Laying
from nutgen.stock.lay.saw import waste
from nutgen.stock.lay.several import Together, lay_several
from nutgen.stock.lay.shortage import shortage
from nutgen.stock.piece import Piece

LITTLE = 0.5
"""A margin that a pencil line and a saw which wanders by its own kerf use up [mm]. Common practice, no source."""


def lay(piece: Piece, block: Block, *, count: int = 1, instead: Mapping[Finding, Block] | None = None) -> Answer:
    """Lay a block, or several, in a piece where they have most room.

    piece   : its skin closed and outward
    block   : with the regions that must keep away from skin and core
    count   : of blocks, with a cut's width between them
    instead : tried where one block does not fit: what could be permitted -> the same block with it
    returns : the answer; the same piece, block and count give the same one
    raises  : ValueError where the count is below one

    The largest least margin decides; where margins are the same to a saw, the least waste, then the
    least saw work. A margin is measured against every triangle, and never told larger than it is.
    """
    if count < 1:
        raise ValueError(f"{count} blocks cannot be laid; ask for one at least")
    laying = Laying.of(piece, block)
    found = laying.found(block)
    if count == 1:
        near = laying.near_best(block, found)
        together = Together([_cheapest(laying, block, laying.best(block, near))], 0.0)
        smaller = [pose for pose, _ in near]
    else:
        together, smaller = lay_several(laying, block, count), []
    poses = together.poses
    lost = waste(laying.field, block, poses, kerf=laying.rules.kerf) / count
    placed = sorted((laying.laid(block, pose, lost=lost) for pose in poses), key=lambda one: one.pose.origin[0])
    margin = min(one.margin for one in placed)
    out = [one.pose for one in placed if one.margin < 0.0]
    short = [shortage(one, pose) for pose in out for one in tightest(laying.field, block, pose) if one.room < 0.0]
    if together.lack > 0.0:
        margin = min(margin, -together.lack)
        short.append(refusal("piece.no-room-between", blocks=count, missing=together.lack))
    return Answer(
        block=block,
        laid=tuple(placed),
        margin=margin,
        short=tuple(dict.fromkeys(short)),
        largest=() if margin >= 0.0 else largest(laying, block, smaller, count, instead or {}),
        notes=tuple(_notes(placed, margin, piece)),
        profile=_with(found.profile, placed),
    )


def _cheapest(laying: Laying, block: Block, best: Sequence[tuple[Pose, float]]) -> Pose:
    """Of places with the same margin, the one with least waste, then least saw work, slid ones among them.

    Where the block does not fit, the one that is short in the fewest ways.
    """
    first, most = best[0]
    tied = [pose for pose, margin in best if margin >= most - SAME]
    if most < 0.0:
        return min(tied, key=lambda pose: sum(one.room < 0.0 for one in tightest(laying.field, block, pose)))
    tied += [slid for side in (-1.0, 1.0) if (slid := _slid(laying, block, first, most, side)) is not None]
    return min(tied, key=lambda pose: laying.cost(block, [pose])) if len(tied) > 1 else first


def _slid(laying: Laying, block: Block, pose: Pose, most: float, side: float) -> Pose | None:
    """The pose slid along the grain as far as its margin lasts; None where it does not last for a little."""
    grain, mover = laying.field.grain(pose.at[:1])[0], laying.fine(block)

    def lasts(by: float) -> bool:
        return float(mover.look(Pose.of(pose.at + side * by * grain, pose.axes)).room.min()) >= most - SAME

    if not lasts(2.0):
        return None
    low, high = 2.0, laying.piece.length
    while high - low > 0.5:
        middle = (low + high) / 2.0
        low, high = (middle, high) if lasts(middle) else (low, middle)
    return Pose.of(pose.at + side * low * grain, pose.axes)


def _notes(placed: Sequence[Laid], margin: float, piece: Piece) -> list[Finding]:
    notes = []
    if 0.0 <= margin < LITTLE:
        notes.append(warning("piece.little-to-spare", margin=margin))
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
