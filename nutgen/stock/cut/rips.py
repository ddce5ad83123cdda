"""The saw cuts that free each block from its stretch, as the cheeks of a tenon are sawn, and what holds it meanwhile.

Each rip runs from the fresh end of the stretch to its other end, where the rest of the piece, or a stick that
is glued there, sits in the vise; a cut in from the side along that end then drops the offcut, as at a tenon's
shoulder. First comes what parts several blocks: the half that it leaves without a hold gets a stick of its own.
Then, block by block: one wide face, on the side where the core goes or the least is cut away, the two faces
square to it, and the one opposite. Common practice, no source.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.geometry.pose import Pose
from nutgen.geometry.slices import Plane, kept, plane_facing
from nutgen.stock.block import Block
from nutgen.stock.laid import Array

Side = Literal["first end", "last end", "front", "back", "underside", "top"]
LONG: tuple[Side, ...] = ("front", "back", "underside", "top")
OPPOSITE: dict[Side, Side] = {"front": "back", "back": "front", "underside": "top", "top": "underside"}

End = Literal["first", "last"]
OTHER: dict[End, End] = {"first": "last", "last": "first"}
ENDS: dict[End, Side] = {"first": "first end", "last": "last end"}

Held = Literal["piece", "stick"]
"""What sits in the vise while a stretch is ripped: the rest of the piece, or a stick glued to it."""

AGREE = 0.5
"""A face this far inside a cut that is there already needs no cut of its own [mm]."""

LEAST_SLICE = 0.3
"""A saw needs this much beyond its kerf to run in; less is sanded off [mm]. Common practice, no source."""

LEAST_OFF = 2.0
"""Where less than this stands over a face it is filed or sanded down: a rip so near the skin wanders, and has nothing
to hold it to its line [mm]. Common practice, no source."""

SNUG = 0.02
"""A kerf this little wider than its room only grazes a face that is squared later; no saw is truer [mm]."""

By = Literal["saw", "sanding", "sawn end"]


@dataclass(frozen=True, slots=True, eq=False)
class LaidBlock:
    """A block where it lies, with its planes.

    nut  : its number, from the first end on
    """

    nut: int
    block: Block
    pose: Pose

    @property
    def corners(self) -> Array:
        """(8, 3) in the piece's frame [mm]."""
        return self.pose.apply(self.block.corners)

    @property
    def lengthwise(self) -> Array:
        """(3,) unit vector of its length, toward the last end."""
        length = self.pose.axes[0]
        return length if length[0] >= 0.0 else -length

    def plane(self, side: Side) -> Plane:
        """The plane of a face, its normal out of the block."""
        toward, half = self._normal(side)
        up = np.array([0.0, 0.0, 1.0]) if "end" in side else self.lengthwise
        return plane_facing(self.pose.at + toward * half, toward, up=up)

    def face(self, side: Side) -> Array:
        """The four corners of a face (4, 3) [mm]."""
        plane = self.plane(side)
        return self.corners[np.abs(plane.above(self.corners)) < 1e-6]

    def size(self, side: Side) -> float:
        """Area of a face [mm2]."""
        length, thickness, height = self.block.size
        if "end" in side:
            return thickness * height
        return length * (height if side in ("front", "back") else thickness)

    def _normal(self, side: Side) -> tuple[Array, float]:
        length, thickness, height = self.block.size
        _, back, top = self.pose.axes
        return {
            "first end": (-self.lengthwise, length / 2.0),
            "last end": (self.lengthwise, length / 2.0),
            "front": (-back, thickness / 2.0),
            "back": (back, thickness / 2.0),
            "underside": (-top, height / 2.0),
            "top": (top, height / 2.0),
        }[side]


@dataclass(frozen=True, slots=True, eq=False)
class Rip:
    """A cut inside a stretch; the kerf lies on the side its plane's normal points to.

    number  : in the order of all cuts; 0 until that is known
    nut     : whose face it makes
    by      : the saw, or sanding where too little stands over for it
    plane   : the line to keep
    before  : planes that bound what is still there, their normals out of it
    over    : most that stands over the face [mm]
    length  : of the block, where this is an end of it and the other is made [mm]
    held    : what sits in the vise meanwhile; None where an end is sanded once the block is free
    opens   : whether it cuts the core off
    parts   : the nuts on the other side, where it parts blocks
    """

    number: int
    nut: int
    side: Side
    by: By
    plane: Plane
    before: tuple[Plane, ...]
    over: float
    length: float | None
    held: Held | None
    opens: bool
    parts: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Sections:
    """What the saw has before it: outlines of skin and core at a few places of a stretch, in the piece's frame.

    skins, cores : (n, 3) each [mm]
    kerf         : of the saw [mm]
    """

    skins: tuple[Array, ...]
    cores: tuple[Array, ...]
    kerf: float

    def over(self, plane: Plane, before: tuple[Plane, ...]) -> float:
        """Most of the skin that stands over a plane, of what is still there [mm]."""
        left = [within(skin, before) for skin in self.skins]
        return max((float(plane.above(one).max()) for one in left if len(one)), default=0.0)

    def offcut(self, plane: Plane, before: tuple[Plane, ...], *, core: bool = False) -> float:
        """Area of skin or core beyond a plane, over all the outlines [mm2]."""
        loops, beyond = self.cores if core else self.skins, (*before, plane.turned_over())
        return sum(flat_area(within(loop, beyond)) for loop in loops)


def flat_area(polygon: Array) -> float:
    """Of a flat polygon in space [mm2]."""
    if len(polygon) < 3:
        return 0.0
    arms = polygon - polygon[0]
    return float(np.linalg.norm(np.cross(arms, np.roll(arms, -1, axis=0)).sum(axis=0))) / 2.0


def within(polygon: Array, bounds: tuple[Plane, ...]) -> Array:
    """The part of a flat polygon (n, 3) below all of some planes [mm]."""
    for plane in bounds:
        polygon = kept(polygon, plane)
    return polygon


def rips(
    blocks: tuple[LaidBlock, ...], bounds: tuple[Plane, ...], sections: Sections, start: End, held: Held
) -> tuple[Rip, ...]:
    """The cuts in order.

    blocks : in one stretch
    bounds : the planes of its two cross cuts, their normals outward
    start  : the end they run from; what holds the stretch is at the other
    held   : what that is
    raises : CannotBeMade where no straight cut parts the blocks
    """
    if len(blocks) == 1:
        return _freed(blocks[0], bounds, sections, start, held)
    for solid in blocks:
        for side in sorted((*LONG, *ENDS.values()), key=solid.size, reverse=True):
            plane = solid.plane(side)
            heights = [plane.above(other.corners) for other in blocks]
            inside = tuple(b for b, h in zip(blocks, heights, strict=True) if h.max() <= 1e-6)
            beyond = tuple(b for b, h in zip(blocks, heights, strict=True) if h.min() >= sections.kerf - SNUG)
            if beyond and len(inside) + len(beyond) == len(blocks):
                cut = _rip(solid, side, bounds, sections, held, parts=tuple(b.nut for b in beyond))
                far = plane.moved(sections.kerf).turned_over()
                held_beyond = held if side == ENDS[OTHER[start]] else "stick"
                held_inside = "stick" if side == ENDS[OTHER[start]] else held
                return (
                    cut,
                    *rips(inside, (*bounds, plane), sections, start, held_inside),
                    *rips(beyond, (*bounds, far), sections, start, held_beyond),
                )
    raise CannotBeMade([refusal("cut.not-parted", nuts=tuple(solid.nut for solid in blocks))])


def _rip(
    solid: LaidBlock,
    side: Side,
    before: tuple[Plane, ...],
    sections: Sections,
    held: Held,
    *,
    parts: tuple[int, ...] = (),
) -> Rip:
    plane = solid.plane(side)
    over = sections.over(plane, before)
    opens = "end" not in side and sections.offcut(plane, before, core=True) > 0.0
    by: By = "saw" if parts or over >= max(LEAST_OFF, sections.kerf + LEAST_SLICE) else "sanding"
    at_end = "end" in side and not parts
    made = at_end and any(_done(solid, end, before) for end in ENDS.values())
    length = solid.block.length if made else None
    held_by = None if at_end and by == "sanding" else held
    return Rip(0, solid.nut, side, by, plane, before, over, length, held_by, opens, parts)


def _freed(solid: LaidBlock, bounds: tuple[Plane, ...], sections: Sections, start: End, held: Held) -> tuple[Rip, ...]:
    """The cuts that free one block, the end that is held last."""
    cuts: list[Rip] = []
    before = bounds
    for side in (*_ordered(solid, bounds, sections), ENDS[start], ENDS[OTHER[start]]):
        if not _done(solid, side, bounds):
            cuts.append(_rip(solid, side, before, sections, held))
            before = (*before, solid.plane(side))
    return tuple(cut for cut in cuts if cut.over > 0.0)


def _ordered(solid: LaidBlock, bounds: tuple[Plane, ...], sections: Sections) -> tuple[Side, ...]:
    """The long faces: the first, the two square to it, the one opposite."""

    def offcut(side: Side) -> float:
        return sections.offcut(solid.plane(side), bounds)

    def core(side: Side) -> float:
        return sections.offcut(solid.plane(side), bounds, core=True)

    done = [side for side in LONG if _done(solid, side, bounds)]
    widest = max(solid.size(side) for side in LONG)
    if done:
        first = max(done, key=solid.size)
    elif max(map(core, LONG)) > 1.0:
        first = max(LONG, key=core)
    else:
        first = min((side for side in LONG if solid.size(side) > widest - 1e-9), key=offcut)
    square = sorted((side for side in LONG if side not in (first, OPPOSITE[first])), key=offcut)
    return first, *square, OPPOSITE[first]


def _done(solid: LaidBlock, side: Side, bounds: tuple[Plane, ...]) -> bool:
    """Whether a cut that is there already makes a face."""
    corners = solid.face(side)
    heights = [plane.above(corners) for plane in bounds]
    return any(bool((height >= -AGREE).all() and (height <= SNUG).all()) for height in heights)
