"""The room that a laid block really has, against every triangle: what the maker is told."""

from dataclasses import dataclass

import numpy as np

from nutgen.geometry.mesh import Array
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block, Region
from nutgen.stock.lay.field import PieceField, Wall
from nutgen.stock.lay.shapes import distance_to, sample

LATTICE = 0.5
"""Between the points of a region that are measured [mm]."""


DOUBTED = 24
"""The tightest points, which are measured against every triangle that could be nearer than those about them."""


@dataclass(frozen=True, slots=True, eq=False)
class Tight:
    """Where a region has least room, over what it must keep.

    room : negative where it is out, then how far [mm]
    at   : (3,) the point of the region, in the block's frame [mm]
    """

    region: Region
    room: float
    at: Array


def tightest(field: PieceField, block: Block, pose: Pose) -> list[Tight]:
    """The least room of each region that the piece can violate, the tightest first.

    Two ways are taken and the lesser counts: from a fine lattice over the region to the nearest triangles,
    and from every vertex of the surface to the region, so that neither a corner of the block between two
    vertices nor a bump of the skin between two points is overlooked.
    """
    found = [
        _tight(field.walls[region.against], region, pose) for region in block.regions if region.against in field.walls
    ]
    return sorted(found, key=lambda tight: tight.room)


def _tight(wall: Wall, region: Region, pose: Pose) -> Tight:
    points = sample(region, LATTICE).points
    placed = pose.apply(points)
    rough = wall.side * wall.lattice.at(placed)
    close = np.flatnonzero(rough < rough.min() + 0.8)
    room = wall.side * wall.distances.near(placed[close], nearest=3)[0]
    doubted = np.argsort(room, kind="stable")[:DOUBTED]
    room[doubted] = np.minimum(room[doubted], wall.side * wall.distances.exact(placed[close[doubted]]))
    least = int(np.argmin(room))
    tight = Tight(region, float(room[least]) - region.keep, points[close[least]])
    if room[least] <= 0.0:
        return tight
    vertices = pose.apply_inverse(wall.distances.surface.vertices)
    reach = float(room[least])
    low, high = np.array(region.outline).min(axis=0) - reach, np.array(region.outline).max(axis=0) + reach
    inside = (vertices[:, 0] > region.low - reach) & (vertices[:, 0] < region.high + reach)
    inside &= np.all((vertices[:, 1:] > low) & (vertices[:, 1:] < high), axis=1)
    if not np.any(inside):
        return tight
    bumps = vertices[inside]
    away = distance_to(region, bumps)
    bump = int(np.argmin(away))
    if away[bump] < reach:
        return Tight(region, float(away[bump]) - region.keep, bumps[bump])
    return tight
