"""The natural piece: skin and porous core as closed surfaces, and the line along its middle.

The frame of a piece, right-handed, in mm, by which every mark is found on it:

    along    : from the plane of the first end, along the straightedge
    sideways : to the left, looking from the first end toward the last
    up       : toward the line drawn along the piece's back

A turn about the piece counts from that back line, to the left positive.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from nutgen.finding import Finding
from nutgen.geometry.mesh import Array, Mesh
from nutgen.geometry.pose import Pose
from nutgen.geometry.slices import Plane
from nutgen.spec.piece import Permit
from nutgen.spec.workshop import MaterialName

End = Literal["cut", "closed"]


def square_to_straightedge(along: float) -> Plane:
    """The plane at a distance from the first end, seen from there: left is left, the back line is up."""
    return Plane(np.array([along, 0.0, 0.0]), np.array([0.0, -1.0, 0.0]), np.array([0.0, 0.0, 1.0]))


@dataclass(frozen=True, slots=True, eq=False)
class Axis:
    """The middle of the piece, place by place; its direction is taken for that of the grain.

    along    : (k,) rising, k >= 2 [mm]
    sideways : (k,) [mm]
    up       : (k,) [mm]
    """

    along: Array
    sideways: Array
    up: Array

    def at(self, along: float) -> Array:
        """The point of the axis at a distance; beyond its ends it runs on level: (3,) [mm]."""
        return np.array([along, np.interp(along, self.along, self.sideways), np.interp(along, self.along, self.up)])

    def direction(self, along: float, *, span: float) -> Array:
        """Unit vector along the axis, from the chord of a span around a place: (3,)."""
        first, last = self.along[0], self.along[-1]
        low, high = max(first, along - span / 2.0), min(last, along + span / 2.0)
        if high - low < 1e-9:
            low, high = first, last
        chord = self.at(float(high)) - self.at(float(low))
        return chord / np.linalg.norm(chord)


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece of bone, antler or the like.

    found_by : "calipers" or "scan"
    skin     : its outside
    core     : the porous or hollow inside; None where it is compact all through
    axis     : the middle, along the grain
    length   : from the plane of the first end to that of the last, or to the tip [mm]
    ends     : how the first and the last end are
    first_end: how to tell the first end from the last on the piece itself
    back_line: how to find the line along the back
    permitted: what the maker permits the blank
    to_source: where the piece's frame lies in that of the scan; the identity by calipers
    """

    title: str
    material: MaterialName
    found_by: Literal["calipers", "scan"]
    skin: Mesh
    core: Mesh | None
    axis: Axis
    length: float
    ends: tuple[End, End]
    first_end: Finding
    back_line: Finding
    permitted: Permit
    to_source: Pose
