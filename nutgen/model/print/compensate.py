"""A nut drawn larger or smaller by what a printer will be off, within each of its layers.

Lying on its back or front face the nut's sections y = const are the layers. In every one of them each
side moves outward by the same distance d:

    ends, top, underside : by d; the crown and an arched underside stay on their centres
    slots                : narrower by 2 d, floors higher by d
    shelves              : sides by d; the underside too, about the board's axis
    eased ends           : rounder by d, which keeps them tangent; sharp edges stay sharp

Along y nothing moves: land, bevel and thickness are the layers' own business. Only the eased back
edge, whose radius is that of the ends, is off by up to 0.4 d in the last tenths before the back face.
"""

import math
from dataclasses import replace

from nutgen.nut.part import Nut
from nutgen.nut.seat import Underside
from nutgen.nut.slot import Slot


def compensated(nut: Nut, per_side: float) -> Nut:
    """The nut with every side moved outward within its sections [mm]; inward where negative."""
    if per_side == 0.0:
        return nut
    return replace(
        nut,
        left=replace(nut.left, x=nut.left.x - per_side),
        right=replace(nut.right, x=nut.right.x + per_side),
        crown=nut.crown.grown(per_side),
        underside=_underside(nut.underside, per_side),
        edge_radius=max(0.0, nut.edge_radius + per_side) if nut.edge_radius else 0.0,
        slots=tuple(_slot(slot, per_side) for slot in nut.slots),
        shelves=nut.shelves.grown(per_side),
    )


def _underside(underside: Underside, per_side: float) -> Underside:
    curvature = underside.curvature
    curvature = curvature / (1.0 - per_side * curvature) if curvature else 0.0
    return replace(underside, z0=underside.z0 - per_side, curvature=curvature)


def _slot(slot: Slot, per_side: float) -> Slot:
    """Walls that fan are moved by `per_side` across the section, so by less across the slot."""
    return replace(
        slot,
        width=slot.width - 2.0 * per_side * math.cos(math.radians(slot.fan_deg)),
        floor_z=slot.floor_z + per_side,
        floor_height=slot.floor_height + per_side,
    )
