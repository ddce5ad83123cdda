"""Piece file in, PieceSpec out: a natural piece of bone, antler or the like, by calipers or by scan."""

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, ClassVar, Literal, Self

from nutgen.errors import Fault, SpecFaults
from nutgen.spec.cross_piece import piece_faults
from nutgen.spec.fields import Reading
from nutgen.spec.piece_tables import Ends, Permit, Scan, Station
from nutgen.spec.read import canonical, parse_toml, read_text
from nutgen.spec.table import Field, Table
from nutgen.spec.workshop import MaterialName


class PieceSpec(Table):
    """A whole piece file, every length in mm."""

    folder: ClassVar[Path] = Path()
    """Where the piece file stands; its meshes are found from there."""

    title: Annotated[str, Field(min_length=1, max_length=80, description="what the piece is called")]
    units: Literal["mm", "in"] = Field(default="mm", description="of every bare length")
    material: MaterialName = Field(default="bone", description="what it is")
    back_line: Annotated[str, Field(min_length=1, max_length=120)] | None = Field(
        default=None, description="how to find the line drawn along the back, in words"
    )
    first_end: Annotated[str, Field(min_length=1, max_length=120)] | None = Field(
        default=None, description="how to tell the first end from the last, in words"
    )
    ends: Ends = Field(default=Ends(), description="how the piece ends")
    stations: Annotated[tuple[Station, ...], Field(min_length=1, max_length=200)] = Field(
        default=(), description="by calipers, from the first end on, two at least; or a [scan]"
    )
    scan: Scan | None = Field(default=None, description="the piece as a mesh, instead of stations")
    permit: Permit = Field(default=Permit(), description="what the blank may do")

    def beside(self, name: str) -> Path:
        """The path of a file that the piece file names."""
        return self.folder / name

    @classmethod
    def json_schema(cls) -> dict[str, Any]:
        """The piece file as JSON Schema: stations, two at least, or a scan."""
        schema = super().json_schema()
        schema["properties"]["stations"]["minItems"] = 2
        return schema | {"oneOf": [{"required": ["stations"]}, {"required": ["scan"]}]}

    def changed(self, **values: Any) -> Self:
        """The same piece with other values, from the same folder."""
        table = super().changed(**values)
        table.__dict__["folder"] = self.folder
        return table


def read_piece(path: Path) -> PieceSpec:
    """Read a piece file.

    raises : SpecFaults with every fault: unreadable, not TOML, keys, ranges, and what does not go
             together. Whether a scan's mesh is there is for the one who opens it
    """
    spec = parse_piece(read_text(path, what="piece file"), source=str(path))
    spec.__dict__["folder"] = path.parent
    return spec


def parse_piece(text: str, *, source: str) -> PieceSpec:
    """Read the text of a piece file; `source` names it in faults. Raises SpecFaults."""
    raw = parse_toml(text, source=source, what="piece file")
    if "fretboard" in raw or "strings" in raw:
        words = "is an instrument file; a piece file has [[stations]] or a [scan]; `nutgen presets` lists pieces"
        raise SpecFaults(source, [Fault("", words)])
    reading = Reading(units=raw["units"] if raw.get("units") in ("mm", "in") else "mm")
    parts, faults = PieceSpec.read_keys(raw, reading)
    faults += piece_faults(parts, given=frozenset(raw), places=_places(raw.get("stations"), reading))
    if faults:
        raise SpecFaults(source, faults)
    return PieceSpec.from_keys(parts, given=raw)


def _places(stations: object, reading: Reading) -> list[float]:
    """Where the stations stand, though they may have other faults; nothing where one cannot be read."""
    rows = stations if isinstance(stations, list) else []
    read = Station.keys()["at"].read
    found = [read(row["at"], reading, ()) for row in rows if isinstance(row, Mapping) and "at" in row]
    whole = len(found) == len(rows) and not any(faults for _, faults in found)
    return [float(place) for place, _ in found] if whole else []


def piece_hash(spec: PieceSpec) -> str:
    """Twelve hex digits that name the values of a piece, and the bytes of its meshes where they are there."""
    digest = hashlib.sha256(canonical(spec).encode())
    for name in (spec.scan.file, spec.scan.core) if spec.scan else ():
        if name is not None and spec.beside(name).is_file():
            with spec.beside(name).open("rb") as file:
                digest.update(hashlib.file_digest(file, "sha256").digest())
    return digest.hexdigest()[:12]
