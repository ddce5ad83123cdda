"""The part itself: frozen numbers in mm, in the frame of the front face.

   z                      top: an arc (crown) turned about its own axis
   |  ______land          y = 0       front face, toward the bridge
   | |      \\___ bevel    y = land    where the bevel starts
---+-|----------\\--- y    y = thickness   back face, toward the headstock
   | |__________|         z = 0       board surface on the centre line
"""

import math
from dataclasses import dataclass, replace
from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike

from nutgen.finding import Finding
from nutgen.geometry.pose import Pose
from nutgen.nut.places import End, Kind
from nutgen.nut.seat import SeatHeights, Underside
from nutgen.nut.shelf import LEAST_STRETCH, NO_SHELVES, Shelf, Shelves
from nutgen.nut.slot import Slot
from nutgen.nut.strung import Strung
from nutgen.nut.swing import Swing
from nutgen.spec.playing import OldNut
from nutgen.theory import Array
from nutgen.theory.crown import Crown


@dataclass(frozen=True, slots=True)
class Allowances:
    """Material left on for a later step, per face; `floors` is left in each slot [mm]."""

    top: float = 0.0
    back: float = 0.0
    ends: float = 0.0
    floors: float = 0.0


@dataclass(frozen=True, slots=True)
class Blank:
    """The squared block that the nut is made from [mm]."""

    length: float
    thickness: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """The part to its final sizes, and all that is known of how it is played; `rough()` has its allowances on.

    Parameters
    ----------
    title : str
        Of the job, as the file has it.
    strung : "right" or "left"
        Which side the bass is on.
    kind : "bass", "steel" or "nylon"
        Practice that its heights are judged by.
    material : str
        What it is made of, a name that `bench.materials` knows.
    scale_length : (float, float)
        Nut to saddle, of the bass-most and the treble-most string [mm].
    frets : int
        Number of the last fret.
    relief : float
        Dip of the crowns below the line from fret 1 to the last [mm].
    crowns : tuple of float
        What each stands over the arc of the relief, from fret 1 on; empty where they lie on it [mm].
    tops : float, optional
        Of the strings over the board on the centre line, where a bar lies on them; none is pressed on a fret then [mm].
    seat : SeatHeights
        What it sits in, and the board before it.
    slant_deg : float
        Turn of the nut in the neck, 0 as a rule; positive where its -x end lies nearer the headstock [deg].
    left, right : End
        Upright ends along the board's edges, at -x and at +x.
    thickness : float
        Front face to back face, along y [mm].
    crown : Crown
        The top over the land.
    underside : Underside
        The face that sits in the neck.
    land : float
        Flat strip behind the front top edge, along y [mm].
    bevel_deg : float
        Fall of the top behind the land [deg].
    edge_radius : float
        Of the eased edges, as asked for [mm].
    slots : tuple of Slot
        Bass to treble.
    strings : Strung
        The set that it is made for, at its tuning.
    swing : Swing
        How the strings are played.
    allowances : Allowances
        What `rough()` has on.
    shelves : Shelves
        What stands before the front face, for strings that start there.
    """

    title: str
    strung: str
    kind: Kind
    material: str
    scale_length: tuple[float, float]
    frets: int
    relief: float
    seat: SeatHeights
    slant_deg: float
    left: End
    right: End
    thickness: float
    crown: Crown
    underside: Underside
    land: float
    bevel_deg: float
    edge_radius: float
    slots: tuple[Slot, ...]
    strings: Strung
    swing: Swing
    allowances: Allowances
    shelves: Shelves = NO_SHELVES
    crowns: tuple[float, ...] = ()
    tops: float | None = None

    @property
    def board_radius(self) -> float:
        """Of the board across the nut; inf where flat [mm]."""
        return float(np.asarray(self.seat.board_radius))

    @property
    def in_neck(self) -> Pose:
        """Its frame in the neck's: x across it, y along its centre line; both begin where that crosses the face."""
        s, c = math.sin(math.radians(self.slant_deg)), math.cos(math.radians(self.slant_deg))
        return Pose(((c, -s, 0.0), (s, c, 0.0), (0.0, 0.0, 1.0)))

    @property
    def length(self) -> float:
        """End to end along the front face [mm]."""
        return self.right.x - self.left.x

    @property
    def foremost(self) -> float:
        """Where the block that it is made from begins: the front face, or where a string set before it starts [mm]."""
        return min((self.shelves.front, *(slot.start_y for slot in self.slots)))

    @property
    def steps(self) -> tuple[Shelf, ...]:
        """The front from end to end; a stretch that a leaning end cuts off goes to its neighbour."""
        left, *rest = self.shelves.steps(self.reach_of(self.foremost, self.thickness))
        while rest and left.right - self.reach_inside(left, rest[0])[0] < LEAST_STRETCH:
            left, *rest = replace(rest[0], left=left.left), *rest[1:]
        *rest, right = left, *rest
        while rest and self.reach_inside(right, rest[-1])[1] - right.left < LEAST_STRETCH:
            *rest, right = *rest[:-1], replace(rest[-1], right=right.right)
        return *rest, right

    @property
    def standing(self) -> tuple[Shelf, ...]:
        """The steps that stand before the front face, left to right."""
        return tuple(step for step in self.steps if step.front < 0.0)

    @property
    def reach(self) -> tuple[float, float]:
        """From its end farthest to -x to that farthest to +x, seen from above [mm]."""
        first, last = self.steps[0].front, self.steps[-1].front
        return self.reach_of(first, self.thickness)[0], self.reach_of(last, self.thickness)[1]

    def reach_inside(self, *steps: Shelf) -> tuple[float, float]:
        """The innermost place of either end before some steps [mm]."""
        return max(self.end_x(-1, one.front) for one in steps), min(self.end_x(1, one.front) for one in steps)

    def reach_of(self, *planes: float) -> tuple[float, float]:
        """The same over some planes y, and between them [mm]."""
        return min(self.end_x(-1, y) for y in planes), max(self.end_x(1, y) for y in planes)

    @property
    def extent(self) -> float:
        """Room that it takes along x: its length, and more where its ends lean [mm]."""
        return self.reach[1] - self.reach[0]

    def end(self, side: float) -> End:
        """The end at -x for a negative side, else that at +x."""
        return self.left if side < 0 else self.right

    @property
    def bass_and_treble(self) -> tuple[End, End]:
        """The bass end and the treble end."""
        return (self.left, self.right) if self.strung == "right" else (self.right, self.left)

    @property
    def bass_first(self) -> int:
        """Step through what runs from -x to +x that begins at the bass."""
        return 1 if self.strung == "right" else -1

    @property
    def outward_deg(self) -> tuple[float, float]:
        """How far the bass end and the treble end turn outward from square on the way back; negative inward [deg]."""
        left, right = -self.left.lean_deg, self.right.lean_deg
        return (left, right) if self.strung == "right" else (right, left)

    def end_x(self, side: float, y: Any = 0.0) -> Any:
        """Where an end stands over a plane y, or several [mm]."""
        end = self.end(side)
        return end.x + y * end.per_y

    @property
    def height(self) -> float:
        """Lowest point of the underside to the highest of the top [mm]."""
        level = self.crown.highest(*self.reach_of(self.foremost, self.land))
        return max(level, self.highest_at_back) - self.lowest_z

    @property
    def highest_at_back(self) -> float:
        """Highest point of the top at the back face; over the front where leaning ends reach up a sloped top [mm]."""
        left, right = self.reach_of(self.thickness)
        summit = min(right, max(left, self.crown.centre[0])) if self.crown.curvature else left
        return max(float(self.top_z(x, self.thickness)) for x in (left, summit, right))

    @property
    def lowest_z(self) -> float:
        """Lowest point of the underside [mm]."""
        return min(self.lowest_at(y) for y in (0.0, self.thickness))

    def lowest_at(self, y: float) -> float:
        """Lowest point of the underside over a plane y [mm]."""
        return min(float(self.underside.z(self.end_x(side, y), y)) for side in (-1, 1))

    @property
    def bevel_fall(self) -> float:
        """Fall of the bevel from the land to the back face, on the crown [mm]."""
        return (self.thickness - self.land) * math.tan(math.radians(self.bevel_deg))

    @property
    def top_radius(self) -> float:
        """Radius of the crown; inf where flat [mm]."""
        return 1.0 / self.crown.curvature if self.crown.curvature else math.inf

    def from_bass_end(self, slot: Slot) -> float:
        """Centre of a slot from the bass end of the board, at the front face [mm]."""
        return slot.face_x - self.left.x if self.strung == "right" else self.right.x - slot.face_x

    def old_centres(self, old: OldNut) -> Array:
        """Slot centres of the old nut from its bass end, along the front face, whichever way they were measured [mm].

        A caliper's jaw lies flat on the end, so that edges are read square to it; widths lie square to the slots.
        """
        if old.edges is None:
            return np.array(old.centres)
        lean = math.radians(self.bass_and_treble[0].lean_deg)
        fans = np.radians([slot.fan_deg for slot in self.slots])
        return np.asarray(np.array(old.edges) / math.cos(lean) + np.array(old.widths) / 2.0 / np.cos(fans))

    def floor_over_seat(self, slot: Slot) -> float:
        """A slot's floor at its start over the seat floor [mm]."""
        return slot.floor_z - float(self.underside.z(slot.face_x))

    def floor_wall(self, slot: Slot) -> float:
        """Least thickness between a slot's floor and the underside [mm]."""
        y = np.linspace(0.0, self.thickness, 9)
        under = self.underside.z(np.clip(slot.x_at(y), self.end_x(-1, y), self.end_x(1, y)), y)
        return float(np.min(slot.floor_at(y) - under))

    def wall_between(self, a: Slot, b: Slot) -> float:
        """Least thickness of the wall between neighbouring slots, along x; below 0 where they meet or cross [mm]."""
        side = math.copysign(1.0, b.x - a.x)
        apart = min(side * float(b.x_at(y) - a.x_at(y)) for y in (min(a.start_y, b.start_y), self.thickness))
        return apart - a.half_width_along_x - b.half_width_along_x

    def end_wall(self, slot: Slot) -> float:
        """Least thickness between a slot and the nearer end of the nut, along x [mm]."""
        rooms = (
            side * (self.end_x(side, y) - slot.x_at(y)) for side in (-1, 1) for y in (slot.start_y, self.thickness)
        )
        return float(min(rooms)) - slot.half_width_along_x

    def top_z(self, x: ArrayLike, y: ArrayLike) -> Array:
        """The top at a place in plan, before its edges are eased [mm]."""
        fall = np.maximum(np.asarray(y, float) - self.land, 0.0) * math.tan(math.radians(self.bevel_deg))
        if self.crown.curvature == 0.0:
            return self.crown.z(x) - fall / math.cos(math.radians(self.crown.slope_deg))
        xc, zc = self.crown.centre
        with np.errstate(invalid="ignore"):
            height: Array = zc + np.sqrt((1.0 / self.crown.curvature - fall) ** 2 - (np.asarray(x, float) - xc) ** 2)
        return height

    def rough(self) -> Self:
        """The same with its allowances on and none left to add."""
        a = self.allowances
        return replace(
            self,
            left=self.left.moved(-a.ends),
            right=self.right.moved(a.ends),
            thickness=self.thickness + a.back,
            crown=self.crown.raised(a.top),
            slots=tuple(slot.raised(a.floors, top=a.top) for slot in self.slots),
            allowances=Allowances(),
        )

    def mirrored(self) -> Self:
        """The same with x reversed, as a left-strung nut is made."""
        return replace(
            self,
            slant_deg=-self.slant_deg,
            left=self.right.mirrored(),
            right=self.left.mirrored(),
            slots=tuple(replace(s, x=-s.x, fan_deg=-s.fan_deg, bend_deg=-s.bend_deg) for s in self.slots),
            crown=self.crown.mirrored(),
            seat=self.seat.mirrored(),
            shelves=self.shelves.mirrored(),
            underside=replace(self.underside, axis_deg=-self.underside.axis_deg),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Nut(Part):
    """A solved nut: the part, and what follows from it.

    Parameters
    ----------
    edge_radius : float
        Of the eased edges, as far as they can be; 0 where they are left crisp [mm].
    blank : Blank
        The least block that it is made from.
    findings : tuple of Finding
        What will make or play badly, and what was taken for granted.
    """

    blank: Blank
    findings: tuple[Finding, ...] = ()

    @property
    def unmeasured(self) -> tuple[Finding, ...]:
        """Readings that were not taken, each with what it may cost."""
        return tuple(one for one in self.findings if one.code.startswith("reading.not-measured"))
