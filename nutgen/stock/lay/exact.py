"""The room that a laid block really has, against every triangle: what the maker is told."""

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from nutgen.geometry.mesh import manifold_of, mesh_of_manifold
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import Tight
from nutgen.stock.lay.field import PieceField, Wall
from nutgen.stock.lay.shapes import distance_to, sample

if TYPE_CHECKING:
    from manifold3d import Manifold

LATTICE = 0.5
"""Between the points of a region that are measured [mm]."""

TIED = 1e-9
"""Where both are the same, as out of a flat skin, the block's own place is told [mm]."""

DOUBTED = 24
"""So many of the tightest points are measured against every triangle that could be nearer than those about them, and
as many again until the tightest is one of them."""


def tightest(field: PieceField, block: Block, pose: Pose) -> list[Tight]:
    """The least room of each region that the piece can violate, the tightest first.

    Two ways are taken and the lesser counts: from a fine lattice over the region to the nearest triangles,
    and from every vertex of the surface to the region, so that neither a corner of the block between two
    vertices nor a bump of the skin between two points is overlooked; a vertex inside counts by how deep.
    """
    walls = field.walls
    found = [_tight_once(walls[region.against], region, pose) for region in block.regions if region.against in walls]
    return sorted(found, key=lambda tight: tight.room)


def proven(field: PieceField, found: Sequence[Tight], pose: Pose) -> list[Tight]:
    """What was found tightest at a pose, each room that would do held against the surface itself.

    What of a region lies beyond its surface is cut out by manifold3d, which neither samples nor knows of
    distances; where anything is left, the region is out, by how deep the deepest place of that lies.
    """
    held = [
        _beyond_once(field.walls[tight.region.against], tight, pose) if tight.room >= 0.0 else tight for tight in found
    ]
    return sorted(held, key=lambda tight: tight.room)


def _beyond_wall(wall: Wall, tight: Tight, pose: Pose) -> Tight:
    """The region with what it must keep, less what the surface leaves it."""
    region = tight.region
    surface = manifold_of(wall.distances.surface)
    shape = _prism(region).transform(np.column_stack([pose.axes.T, pose.at]))
    out = shape - surface if wall.side < 0.0 else shape ^ surface
    if out.is_empty():
        return tight
    places = pose.apply_inverse(mesh_of_manifold(out).vertices)
    deep = np.maximum(-distance_to(region, places), -wall.side * wall.distances.exact(pose.apply(places)))
    worst = int(np.argmax(deep))
    return Tight(region, -float(deep[worst]) - region.keep, places[worst])


def _prism(region: Region) -> "Manifold":
    """A region as a solid, in the block's frame."""
    from manifold3d import CrossSection, FillRule

    solid = CrossSection([list(region.outline)], FillRule.NonZero).extrude(region.high - region.low)
    return solid.transform([[0.0, 0.0, 1.0, region.low], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])


def _tight(wall: Wall, region: Region, pose: Pose) -> Tight:
    points = sample(region, LATTICE).points
    placed = pose.apply(points)
    rough = wall.side * wall.lattice.at(placed)
    close = np.flatnonzero(rough < rough.min() + 0.8)
    room = wall.side * wall.distances.near(placed[close], nearest=3)[0]
    doubted = np.full(len(close), True)
    while doubted[least := int(np.argmin(room))]:
        worst = np.argsort(np.where(doubted, room, np.inf), kind="stable")[:DOUBTED]
        room[worst] = wall.side * wall.distances.exact(placed[close[worst]])
        doubted[worst] = False
    tight = Tight(region, float(room[least]) - region.keep, points[close[least]])
    reach = max(0.0, float(room[least]))
    vertices = pose.apply_inverse(wall.distances.surface.vertices)
    low, high = np.array(region.outline).min(axis=0) - reach, np.array(region.outline).max(axis=0) + reach
    near = (vertices[:, 0] > region.low - reach) & (vertices[:, 0] < region.high + reach)
    near &= np.all((vertices[:, 1:] > low) & (vertices[:, 1:] < high), axis=1)
    if not np.any(near):
        return tight
    bumps = vertices[near]
    away = distance_to(region, bumps)
    bump = int(np.argmin(away))
    if away[bump] < room[least] - TIED:
        return Tight(region, float(away[bump]) - region.keep, bumps[bump])
    return tight


_tight_once, _beyond_once = lru_cache(64)(_tight), lru_cache(64)(_beyond_wall)  # the best places are asked for again
