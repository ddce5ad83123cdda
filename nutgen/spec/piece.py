"""The tables of a piece file: stations by calipers, a scan, the ends, what is permitted."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import Annotated, Any, Literal

from pydantic import Field, StrictBool
from pydantic.json_schema import SkipJsonSchema
from pydantic_core import core_schema

from nutgen.errors import Unreadable
from nutgen.spec.fields import FieldType, in_parts, length, number, one_of, several, words
from nutgen.spec.toml_table import TomlFile, TomlTable
from nutgen.spec.workshop import GapTools, MaterialName

ScanUnits = Literal["mm", "cm", "m", "in"]
MESH_SUFFIXES = (".stl", ".obj", ".ply", ".3mf", ".glb")
HOLLOW: tuple[MaterialName, ...] = ("bone", "antler", "horn")
"""Materials that grow about a hollow or a porous core, which the outside does not show."""

CORE_PLACES = ("underside", "back")

WIDTH = length(3.0, 200.0, what="piece")
WALL = length(0.3, 100.0, what="piece")
CORE = length(0.2, 200.0, what="piece")
OFFSET = length(-200.0, 200.0)
WHOLE = length(5.0, 2000.0, what="piece")
PLACE = length(0.0, 2000.0)


@dataclass(frozen=True, slots=True)
class Walls:
    """Thickness of the compact wall at four sides [mm]."""

    left: float
    right: float
    back: float
    belly: float


def walls() -> FieldType:
    """The wall all round, or { left = , right = , back = , belly = }."""

    def make(left: float, *others: float) -> Walls:
        return Walls(left, *(others or (left, left, left)))

    return in_parts(Walls, make, dict.fromkeys(("left", "right", "back", "belly"), WALL), alone=WALL)


def direction() -> FieldType:
    """A direction in the scan's own frame: three numbers, not all zero; comes out as a unit vector."""
    three = several(number(-1e6, 1e6), least=3, most=3, like=[1, 0, 0])

    def unit(vector: tuple[float, ...]) -> tuple[float, ...]:
        size = math.hypot(*vector)
        if size < 1e-9:
            raise Unreadable("scan.no-direction")
        return tuple(part / size for part in vector)

    return FieldType(core_schema.no_info_after_validator_function(unit, three.core), three.schema)


def core_places() -> FieldType:
    """The parts of the nut that may hold core, in one order."""
    places = several(one_of(*CORE_PLACES), least=0, like=["underside"])

    def ordered(named: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(place for place in CORE_PLACES if place in named)

    return FieldType(core_schema.no_info_after_validator_function(ordered, places.core), places.schema)


class Ends(TomlTable):
    """How the piece ends: sawn off flat, or rounded off to a tip."""

    first: Literal["cut", "closed"] = "cut"
    """a flat saw cut, or rounded off to a tip; distances count from it either way"""
    last: Literal["cut", "closed"] = "cut"
    """likewise"""
    last_tip: Annotated[float, PLACE] | None = None
    """closed last end: distance of its tip from the first end; by default half the smaller diameter of the last
    station beyond it"""


class Core(TomlTable):
    """The porous or hollow inside, seen on a cut."""

    width: Annotated[float, CORE]
    """side to side; 0.2 where it has all but closed"""
    height: Annotated[float, CORE]
    """back to belly"""
    sideways: Annotated[float, OFFSET] = 0.0
    """its middle from the section's middle, to the left"""
    up: Annotated[float, OFFSET] = 0.0
    """its middle from the section's middle, toward the back"""


class Station(TomlTable):
    """The piece by calipers at one place."""

    at: Annotated[float, PLACE]
    """distance along the straightedge from the first end"""
    width: Annotated[float, WIDTH]
    """caliper, side to side"""
    height: Annotated[float, WIDTH]
    """caliper, back to belly, square to the width"""
    sideways: Annotated[float, OFFSET] = 0.0
    """the section's middle from the straightedge's line, to the left"""
    up: Annotated[float, OFFSET] = 0.0
    """the section's middle from the straightedge's line, toward the back"""
    gap_side: Annotated[float, length(0.0, 200.0, what="gap")] | None = None
    """instead of sideways: gap under a straightedge laid along the left side; 0 where it touches"""
    gap_back: Annotated[float, length(0.0, 200.0, what="gap")] | None = None
    """instead of up: gap under a straightedge laid along the back; 0 where it touches"""
    turn_deg: Annotated[float, number(-180.0, 180.0, unit="deg")] = 0.0
    """twist of the section about the piece, to the left positive, from the first end seen"""
    wall: Annotated[Walls, walls()] | None = None
    """compact wall all round, or { left = , right = , back = , belly = }; a cut end shows it, and where it is not
    given it runs on between those that are; given nowhere, bone, antler and horn get no yes"""
    core: Core | None = None
    """instead of wall: the porous or hollow inside itself"""

    def core_in_section(self) -> Core | None:
        """The core, given or left by the walls; its middle from the section's, along the section's own diameters."""
        if self.wall is None:
            return self.core
        wall = self.wall
        return Core.model_construct(
            width=self.width - wall.left - wall.right,
            height=self.height - wall.back - wall.belly,
            sideways=(wall.right - wall.left) / 2.0,
            up=(wall.belly - wall.back) / 2.0,
        )


class CaliperCheck(TomlTable):
    """A caliper reading that the scan must agree with."""

    at: Annotated[float, PLACE] | None = None
    """where width or height was taken: distance from the first end"""
    width: Annotated[float, WIDTH] | None = None
    """side to side, there"""
    height: Annotated[float, WIDTH] | None = None
    """back to belly, there"""
    length: Annotated[float, WHOLE] | None = None
    """of the whole piece, end to end"""


class Scan(TomlTable):
    """The piece as a mesh."""

    file: Annotated[str, words(200)]
    """its skin, beside the piece file: STL, OBJ, PLY, 3MF or GLB"""
    units: ScanUnits
    """what one unit of the mesh is; stated, never guessed"""
    core: Annotated[str, words(200)] | None = None
    """the porous or hollow inside as a mesh of its own, in the same place and units"""
    wall: Annotated[float, WALL] | None = None
    """instead of core: the same compact wall everywhere"""
    along: Annotated[tuple[float, ...], direction()] | None = None
    """direction in the mesh from the first end to the last; default: its longest axis"""
    back: Annotated[tuple[float, ...], direction()] | None = None
    """direction in the mesh toward the line along the back; default: z, or what is up"""
    check: CaliperCheck | None = None
    """one caliper reading to hold the mesh against: { at = , width = } or { length = }"""


class Permit(TomlTable):
    """What the maker permits the blank. Every default is common practice, no source."""

    grain_deg: Annotated[float, number(0.0, 90.0, unit="deg")] = 10.0
    """most between the length of the blank and the grain"""
    wane: Annotated[float, length(0.0, 20.0)] = 0.0
    """how far down its back face the top back edge may be missing; the bevel cuts it away"""
    core_in: Annotated[tuple[str, ...], core_places()] = ()
    """parts of the nut that may hold core: ["underside"], ["back"], both, or [] for nowhere"""
    compact: Annotated[float, length(0.0, 20.0)] = 1.0
    """least from the front edge and the slot floors to the core"""
    kerf: Annotated[float, length(0.1, 5.0)] = 0.8
    """width of the saw's cut"""
    handle_length: Annotated[float, length(40.0, 300.0, what="piece")] = 60.0
    """least of the piece that is clamped while a blank is ripped from the rest; where less is left, the stub is glued
    to a stick"""
    sawn_face: Annotated[float, length(0.5, 3.0)] | None = None
    """left on each face by the saw, for squaring; by default what the material needs"""


class PieceSpec(TomlFile):
    """A whole piece file, every length in mm."""

    folder: SkipJsonSchema[Path] = Field(Path(), exclude=True)
    """where the piece file stands; its meshes are found from there"""
    title: Annotated[str, words(80)]
    """what the piece is called"""
    units: Literal["mm", "in"] = "mm"
    """of every bare length"""
    material: MaterialName = "bone"
    """what it is"""
    no_core: StrictBool = False
    """true where both ends were sawn and looked at, and are compact all through: no pores, no hollow"""
    back_line: Annotated[str, words(120)] | None = None
    """how to find the line drawn along the back, in words"""
    first_end: Annotated[str, words(120)] | None = None
    """how to tell the first end from the last, in words"""
    ends: Ends = Ends()
    """how the piece ends"""
    stations: tuple[Station, ...] = Field((), min_length=1, max_length=200)
    """by calipers, from the first end on, two at least; or a [scan]"""
    scan: Scan | None = None
    """the piece as a mesh, instead of stations"""
    permit: Permit = Permit()
    """what the blank may do"""
    tools: GapTools = GapTools()
    """what a gap is filled with, as the instrument's file has it"""

    @property
    def inside_known(self) -> bool:
        """Whether the file tells what the piece is inside, or its material is the same all through."""
        scanned = self.scan is not None and (self.scan.wall is not None or self.scan.core is not None)
        seen = any(station.core_in_section() is not None for station in self.stations)
        return self.no_core or scanned or seen or self.material not in HOLLOW

    def beside(self, name: str) -> Path:
        """The path of a file that the piece file names."""
        return self.folder / name

    @classmethod
    def json_schema(cls) -> dict[str, Any]:
        """The piece file as JSON Schema: stations, two at least, or a scan."""
        schema = super().json_schema()
        schema["properties"]["stations"]["minItems"] = 2
        return schema | {"oneOf": [{"required": ["stations"]}, {"required": ["scan"]}]}


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
