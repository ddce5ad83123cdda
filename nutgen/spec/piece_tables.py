"""The tables of a piece file: stations by calipers, a scan, the ends, what is permitted."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import Annotated, Literal

from nutgen.errors import shown_value, unknown_key_words
from nutgen.spec.fields import Door, Reading, Slip, fault, length, number, read_entries, shown
from nutgen.spec.table import Field, Table

ScanUnits = Literal["mm", "cm", "m", "in"]
MESH_SUFFIXES = (".stl", ".obj", ".ply", ".3mf", ".glb")
CORE_PLACES = ("underside", "back")

WIDTH = (3.0, 200.0)
WALL = (0.3, 100.0)
CORE = (0.2, 200.0)
OFFSET = (-200.0, 200.0)
PLACE = (0.0, 2000.0)


@dataclass(frozen=True, slots=True)
class Walls:
    """Thickness of the compact wall at four sides [mm]."""

    left: float
    right: float
    back: float
    belly: float


def measured(low: float, high: float) -> Door:
    """A length between two bounds [mm] that somebody may have written in metres."""
    door = length(low, high)

    def read(value: object, reading: Reading) -> float:
        try:
            return float(door.read(value, reading))
        except Slip:
            bare = isinstance(value, int | float) and not isinstance(value, bool)
            if bare and reading.units == "mm" and low <= float(value) * 1000.0 <= high:  # type: ignore[arg-type]
                metres = float(value)  # type: ignore[arg-type]
                raise fault(
                    f"{shown(metres)} mm is below {shown(low)} mm", f"metres? write {shown(metres * 1000.0)}"
                ) from None
            raise

    return Door(read, door.schema)


def walls() -> Door:
    """The wall all round, or { left = , right = , back = , belly = }."""
    one = measured(*WALL)
    sides = ("left", "right", "back", "belly")

    def read(value: object, reading: Reading) -> Walls:
        if not isinstance(value, Mapping):
            thickness = float(one.read(value, reading))
            return Walls(thickness, thickness, thickness, thickness)
        words, found = [f"{key}: {unknown_key_words(key, sides)}" for key in value if key not in sides], []
        for side in sides:
            try:
                if side not in value:
                    raise fault("missing")
                found.append(float(one.read(value[side], reading)))
            except Slip as slip:
                words.append(f"{side}: {slip}")
        if words:
            raise fault("; ".join(words), "allowed is { left = , right = , back = , belly = }")
        return Walls(*found)

    four = {
        "type": "object",
        "properties": dict.fromkeys(sides, one.schema),
        "required": list(sides),
        "additionalProperties": False,
    }
    return Door(read, {"anyOf": [*one.schema["anyOf"], four]})


def direction() -> Door:
    """A direction in the scan's own frame: three numbers, not all zero; comes out as a unit vector."""
    one = number(-1e6, 1e6)

    def read(value: object, reading: Reading) -> tuple[float, ...]:
        if not isinstance(value, list) or len(value) != 3:
            raise fault(f"{shown_value(value)} is not a direction", "write three numbers, like [1, 0, 0]")
        vector = read_entries(value, one.read, reading)
        size = math.hypot(*vector)
        if size < 1e-9:
            raise fault("points nowhere", "write three numbers, like [1, 0, 0]")
        return tuple(part / size for part in vector)

    return Door(read, {"type": "array", "items": one.schema, "minItems": 3, "maxItems": 3})


def core_places() -> Door:
    """The parts of the nut that may hold core."""

    def read_one(value: object, _reading: Reading) -> str:
        if isinstance(value, str) and value in CORE_PLACES:
            return value
        raise fault(f"{shown_value(value)} is not a part that may hold core", 'allowed are "underside" and "back"')

    def read(value: object, reading: Reading) -> tuple[str, ...]:
        if not isinstance(value, list):
            raise fault(f"{shown_value(value)} is not a list", 'write ["underside"], or [] for nowhere')
        named = read_entries(value, read_one, reading)
        return tuple(place for place in CORE_PLACES if place in named)

    return Door(read, {"type": "array", "items": {"enum": list(CORE_PLACES)}})


class Ends(Table):
    """How the piece ends: sawn off flat, or rounded off to a tip."""

    first: Literal["cut", "closed"] = Field(
        default="cut", description="a flat saw cut, or rounded off to a tip; distances count from it either way"
    )
    last: Literal["cut", "closed"] = Field(default="cut", description="likewise")
    last_tip: Annotated[float, length(*PLACE)] | None = Field(
        default=None,
        description="closed last end: distance of its tip from the first end; by default half the smaller"
        " diameter of the last station beyond it",
    )


class Core(Table):
    """The porous or hollow inside, seen on a cut."""

    width: Annotated[float, measured(*CORE)] = Field(description="side to side; 0.2 where it has all but closed")
    height: Annotated[float, measured(*CORE)] = Field(description="back to belly")
    sideways: Annotated[float, length(*OFFSET)] = Field(
        default=0.0, description="its middle from the section's middle, to the left"
    )
    up: Annotated[float, length(*OFFSET)] = Field(
        default=0.0, description="its middle from the section's middle, toward the back"
    )


class Station(Table):
    """The piece by calipers at one place."""

    at: Annotated[float, length(*PLACE)] = Field(description="distance along the straightedge from the first end")
    width: Annotated[float, measured(*WIDTH)] = Field(description="caliper, side to side")
    height: Annotated[float, measured(*WIDTH)] = Field(description="caliper, back to belly, square to the width")
    sideways: Annotated[float, length(*OFFSET)] = Field(
        default=0.0, description="the section's middle from the straightedge's line, to the left"
    )
    up: Annotated[float, length(*OFFSET)] = Field(
        default=0.0, description="the section's middle from the straightedge's line, toward the back"
    )
    gap_side: Annotated[float, length(0.0, 200.0)] | None = Field(
        default=None,
        description="instead of sideways: gap under a straightedge laid along the left side; 0 where it touches",
    )
    gap_back: Annotated[float, length(0.0, 200.0)] | None = Field(
        default=None, description="instead of up: gap under a straightedge laid along the back; 0 where it touches"
    )
    turn_deg: Annotated[float, number(-180.0, 180.0, unit="deg")] = Field(
        default=0.0, description="twist of the section about the piece, to the left positive, from the first end seen"
    )
    wall: Annotated[Walls, walls()] | None = Field(
        default=None,
        description="compact wall all round, or { left = , right = , back = , belly = }; a cut end shows it, and where"
        " it is not given it runs on between those that are; given nowhere: compact all through",
    )
    core: Core | None = Field(default=None, description="instead of wall: the porous or hollow inside itself")

    def core_in_section(self) -> Core | None:
        """The core, given or left by the walls; its middle from the section's, along the section's own diameters."""
        if self.wall is None:
            return self.core
        wall = self.wall
        return Core(
            width=self.width - wall.left - wall.right,
            height=self.height - wall.back - wall.belly,
            sideways=(wall.right - wall.left) / 2.0,
            up=(wall.belly - wall.back) / 2.0,
        )


class Check(Table):
    """A caliper reading that the scan must agree with."""

    at: Annotated[float, length(*PLACE)] | None = Field(
        default=None, description="where width or height was taken: distance from the first end"
    )
    width: Annotated[float, measured(*WIDTH)] | None = Field(default=None, description="side to side, there")
    height: Annotated[float, measured(*WIDTH)] | None = Field(default=None, description="back to belly, there")
    length: Annotated[float, measured(5.0, 2000.0)] | None = Field(
        default=None, description="of the whole piece, end to end"
    )


class Scan(Table):
    """The piece as a mesh."""

    file: Annotated[str, Field(min_length=1, max_length=200)] = Field(
        description="its skin, beside the piece file: STL, OBJ, PLY, 3MF or GLB"
    )
    units: ScanUnits = Field(description="what one unit of the mesh is; stated, never guessed")
    core: Annotated[str, Field(min_length=1, max_length=200)] | None = Field(
        default=None, description="the porous or hollow inside as a mesh of its own, in the same place and units"
    )
    wall: Annotated[float, measured(*WALL)] | None = Field(
        default=None, description="instead of core: the same compact wall everywhere"
    )
    along: Annotated[tuple[float, ...], direction()] | None = Field(
        default=None, description="direction in the mesh from the first end to the last; default: its longest axis"
    )
    back: Annotated[tuple[float, ...], direction()] | None = Field(
        default=None, description="direction in the mesh toward the line along the back; default: z, or what is up"
    )
    check: Check | None = Field(
        default=None, description="one caliper reading to hold the mesh against: { at = , width = } or { length = }"
    )


class Permit(Table):
    """What the maker permits the blank. Every default is common practice, no source."""

    grain_deg: Annotated[float, number(0.0, 90.0, unit="deg")] = Field(
        default=10.0, description="most between the length of the blank and the grain"
    )
    wane: Annotated[float, length(0.0, 20.0)] = Field(
        default=0.0, description="how far down its back face the top back edge may be missing; the bevel cuts it away"
    )
    core_in: Annotated[tuple[str, ...], core_places()] = Field(
        default=(), description='parts of the nut that may hold core: ["underside"], ["back"], both, or [] for nowhere'
    )
    compact: Annotated[float, length(0.0, 20.0)] = Field(
        default=1.0, description="least from the front edge and the slot floors to the core"
    )
    kerf: Annotated[float, length(0.1, 5.0)] = Field(default=0.8, description="width of the saw's cut")


def middles(stations: Sequence[Station]) -> list[tuple[float, float]]:
    """Where the middle of each section lies: (sideways, up) of the straightedge's line [mm].

    Given as such, or by the gaps under a straightedge along the left side and the back: then counted
    from the middle of the first section. A section w wide and h high that is turned by t reaches
    hypot(h/2 cos t, w/2 sin t) up and hypot(w/2 cos t, h/2 sin t) sideways of its middle, as the
    tangents of an ellipse do (any handbook of conics).
    """
    found = []
    for station in stations:
        reaches = [_reach(station), _reach(stations[0])]
        side, back = station.gap_side, station.gap_back
        first_side, first_back = stations[0].gap_side or 0.0, stations[0].gap_back or 0.0
        sideways = station.sideways if side is None else first_side + reaches[1][0] - side - reaches[0][0]
        up = station.up if back is None else first_back + reaches[1][1] - back - reaches[0][1]
        found.append((sideways, up))
    return found


def _reach(station: Station) -> tuple[float, float]:
    """How far a section reaches from its middle, sideways and up [mm]."""
    turn, half_width, half_height = math.radians(station.turn_deg), station.width / 2.0, station.height / 2.0
    cosine, sine = math.cos(turn), math.sin(turn)
    return math.hypot(half_width * cosine, half_height * sine), math.hypot(half_height * cosine, half_width * sine)


def is_mesh(name: str) -> bool:
    """Whether a file's name says that it is a mesh."""
    return PurePath(name).suffix.lower() in MESH_SUFFIXES
