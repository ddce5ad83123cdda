"""What is said of a laid block: where it is tightest, and what is short by how much."""

import math
from collections.abc import Sequence

from nutgen.geometry.pose import Pose
from nutgen.stock.lay.exact import Tight
from nutgen.stock.verdict import shortage

NEAR = 0.3
"""A point this close to a face lies on it [mm]."""


def place_words(tight: Tight, pose: Pose) -> str:
    """The place on the block, in words: an end, a face, an edge or a corner."""
    region = tight.region
    x, y, z = tight.at
    low_y, high_y = min(p[0] for p in region.outline), max(p[0] for p in region.outline)
    low_z, high_z = min(p[1] for p in region.outline), max(p[1] for p in region.outline)
    level = "top" if z > high_z - NEAR else "underside" if z < low_z + NEAR else ""
    side = "front" if y < low_y + NEAR else "back" if y > high_y - NEAR else ""
    if region.part == "front edge and slot floors" and level == "underside":
        return f"the {side} edge of the slot floors" if side else "the floor of the deepest slot"
    end = ""
    if x > region.high - NEAR or x < region.low + NEAR:
        toward_first = (x < 0.0) == (pose.axes[0, 0] > 0.0)
        end = f"the end toward the piece's {'first' if toward_first else 'last'} end"
    lower = {"underside": "lower"}.get(level, level)
    edge = f"the {lower} {side} edge" if level and side else f"the {level or side + ' face'}" if level or side else ""
    if edge and end:
        return f"{edge}, at {end}"
    return edge or end or "the inside of the block"


def tightest_words(tight: Tight, pose: Pose) -> str:
    """Where a block is tightest, against what, and where on the piece."""
    along = max(0.0, pose.apply(tight.at[None])[0, 0])
    return f"{place_words(tight, pose)}, against the {tight.region.against}, {along:.0f} mm along the piece"


def short_words(found: Sequence[Tight], pose: Pose) -> list[str]:
    """A sentence for each region that is short."""
    return [_short(tight, pose) for tight in found if tight.room < 0.0]


def _short(tight: Tight, pose: Pose) -> str:
    along = f"{max(0.0, pose.apply(tight.at[None])[0, 0]):.0f} mm along the piece"
    missing = f"{shortage(tight.room)} mm"
    place = place_words(tight, pose)
    place += "," if "," in place else ""
    begun = place[0].upper() + place[1:]
    keep = tight.region.keep
    if tight.region.against == "skin":
        return f"{begun} is out of the skin by {missing}, {along}."
    if tight.region.part == "nut":
        return f"Of the nut, {place} is inside the core by {missing}, {along}, where no core is permitted."
    from_core = math.floor((tight.room + keep) * 100.0) / 100.0
    where = f"{abs(from_core):.2f} mm {'from' if from_core >= 0.0 else 'inside'} the core"
    return f"{begun} lies {where}, {along}; {keep:g} mm of compact material are asked for: {missing} are short."
