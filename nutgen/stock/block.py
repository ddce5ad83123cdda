"""The block as it leaves the saw: its sizes, what is sanded off each face, and what must lie where.

Its own frame: zero in the middle of the block, x along it, y from the front face to the back,
z from the underside to the top.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Face = Literal["end", "front", "back", "underside", "top"]

_CORNERS = np.array([[x, y, z] for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (-0.5, 0.5)])

Part = Literal["block", "nut", "front edge and slot floors"]


@dataclass(frozen=True, slots=True)
class Region:
    """A part of the block that must keep away from a surface: a prism along x.

    part    : what of the block it is
    against : "skin", which must stay outside it, or "core", likewise
    low, high: its ends along x [mm]
    outline : convex, counter-clockwise, points (y, z) [mm]
    keep    : least distance to that surface, before any margin [mm]
    """

    part: Part
    against: Literal["skin", "core"]
    low: float
    high: float
    outline: tuple[tuple[float, float], ...]
    keep: float


@dataclass(frozen=True, slots=True)
class Block:
    """What is to be sawn out of a piece.

    length, thickness, height : as it leaves the saw [mm]
    squared   : the same once it is squared [mm]
    finished  : of the finished nut, over all [mm]
    to_sand   : from each face of the sawn block to the finished nut; "end" is either end [mm]
    to_square : part of that which squaring takes off [mm]
    wane      : how far down its back face the top back edge may be missing [mm]
    regions   : what must keep away from skin and core
    """

    length: float
    thickness: float
    height: float
    squared: tuple[float, float, float]
    finished: tuple[float, float, float]
    to_sand: dict[Face, float]
    to_square: dict[Face, float]
    wane: float
    regions: tuple[Region, ...]

    @property
    def size(self) -> tuple[float, float, float]:
        """Length, thickness, height [mm]."""
        return self.length, self.thickness, self.height

    @property
    def corners(self) -> NDArray[np.float64]:
        """(8, 3) in its own frame [mm]: the top after the underside, then back after front."""
        return _CORNERS * np.array(self.size)

    def section(self, off: Mapping[Face, float]) -> NDArray[np.float64]:
        """Its outline seen from its end, less what comes off each face: (4, 2) of (y, z), from front below [mm]."""
        y, z = self.thickness / 2.0, self.height / 2.0
        front, back = -y + off.get("front", 0.0), y - off.get("back", 0.0)
        under, top = -z + off.get("underside", 0.0), z - off.get("top", 0.0)
        return np.array([[front, under], [back, under], [back, top], [front, top]])
