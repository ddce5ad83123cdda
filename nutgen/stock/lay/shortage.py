"""What is found of a laid block: where it is tightest, and what is short by how much."""

from nutgen.finding import Finding, Value, note, refusal
from nutgen.geometry.pose import Pose
from nutgen.stock.laid import ERROR, Tight

NEAR = 0.3
"""A point this close to a face lies on it [mm]."""


def tightest_place(tight: Tight, pose: Pose) -> Finding:
    """Where a block is tightest, against what, and where on the piece."""
    return note("piece.tightest", against=tight.region.against, **_place(tight, pose))


def shortage(tight: Tight, pose: Pose) -> Finding:
    """What a region is short by, and where."""
    place, missing, keep = _place(tight, pose), max(-tight.room, ERROR), tight.region.keep
    if tight.region.against == "skin":
        return refusal("piece.out-of-skin", missing=missing, **place)
    if tight.region.part == "nut":
        return refusal("piece.nut-in-core", missing=missing, **place)
    away = {"from_core": tight.room + keep, "inside_core": -tight.room - keep}
    return refusal("piece.core-too-near", missing=missing, keep=keep, **away, **place)


def _place(tight: Tight, pose: Pose) -> dict[str, Value]:
    """The place on the block (an end, a face, an edge or a corner of a part of it), and how far along the piece."""
    region = tight.region
    x, y, z = tight.at
    low_y, high_y = min(p[0] for p in region.outline), max(p[0] for p in region.outline)
    low_z, high_z = min(p[1] for p in region.outline), max(p[1] for p in region.outline)
    at_end = x > region.high - NEAR or x < region.low + NEAR
    return {
        "part": region.part,
        "level": "top" if z > high_z - NEAR else "underside" if z < low_z + NEAR else "",
        "side": "front" if y < low_y + NEAR else "back" if y > high_y - NEAR else "",
        "end": ("first" if (x < 0.0) == (pose.rotation[0][0] > 0.0) else "last") if at_end else "",
        "along": max(0.0, float(pose.apply(tight.at)[0])),
    }
