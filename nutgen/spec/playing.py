"""The tables that only playing needs: the pluck, reading errors, the strings before, the old nut.

None of them is needed to make a nut. Their defaults are assumptions, and whoever prints a number
that rests on one says so: a key that the maker wrote is in the table's `given`.
"""

from typing import Annotated, Any, Literal

from nutgen.errors import shown_value
from nutgen.spec.fields import Door, Reading, fault, length, length_across, lengths, number, read_entries
from nutgen.spec.strings import String, note_name
from nutgen.spec.table import Field, Table
from nutgen.spec.values import Across

MOST_STRINGS = 16


def length_across_or_lowest(low: float, high: float) -> Door:
    """A length across the nut, list included, or the word "lowest"."""
    door = length_across(low, high, each=True)

    def read(value: object, reading: Reading) -> Any:
        if isinstance(value, str) and value.strip().lower() == "lowest":
            return "lowest"
        return door.read(value, reading)

    return Door(read, {"anyOf": [*door.schema["anyOf"], {"const": "lowest"}]})


def notes() -> Door:
    """A list of note names."""
    one = note_name()

    def read(value: object, reading: Reading) -> tuple[str, ...]:
        if not isinstance(value, list) or not value:
            raise fault(
                f"{shown_value(value)} is not a list of notes", 'write them bass first, ["E1", "A1", "D2", "G2"]'
            )
        return read_entries(value, one.read, reading)

    return Door(read, {"type": "array", "items": one.schema, "minItems": 1, "maxItems": MOST_STRINGS})


class Pluck(Table):
    """How hard, and where, the strings are plucked; how far behind a fret the finger presses."""

    force_n: Annotated[float, number(0.05, 20.0)] | None = Field(
        default=None,
        description="force at release, square to the board [N]; by kind of instrument where not given: an assumption",
    )
    height: Annotated[Across, length_across(0.02, 6.0, each=True)] | None = Field(
        default=None, description="displacement at release, square to the board, instead of the force"
    )
    from_bridge: Annotated[float, length(8.0, 400.0)] | None = Field(
        default=None, description="pluck point; an eighth of the scale length where not given: an assumption"
    )
    margin: Annotated[float, length(0.0, 1.0)] = Field(
        default=0.05, description="room left over every fret by the lowest floor"
    )
    finger: Annotated[float, length(0.0, 30.0)] = Field(
        default=8.0, description="finger behind the fret; half the fret's space where that is less"
    )


class Errors(Table):
    """How far a reading, or a cut, may be off to either side; every value in between is as likely.

    Defaults: common practice, no source.
    """

    depth: Annotated[float, length(0.0, 1.0)] = Field(default=0.05, description="of seat.depth")
    fret_height: Annotated[float, length(0.0, 0.5)] = Field(default=0.05, description="of fretboard.fret_height")
    fret_plane: Annotated[float, length(0.0, 0.5)] = Field(default=0.04, description="of seat.fret_plane")
    radius: Annotated[float, number(0.0, 0.5, unit="share")] = Field(
        default=0.05, description="of fretboard.radius, as a share of it"
    )
    relief: Annotated[float, length(0.0, 0.5)] = Field(default=0.03, description="of setup.relief")
    action: Annotated[float, length(0.0, 1.0)] = Field(
        default=0.10, description="of setup.action, as the saddle is set"
    )
    floors: Annotated[float, length(0.0, 0.5)] = Field(default=0.03, description="of each slot floor, as it is filed")


class Before(Table):
    """What was strung before: another set, another tuning, or both."""

    strings: Annotated[tuple[String, ...], Field(max_length=MOST_STRINGS)] = Field(
        default=(), description="the old set, bass to treble; the same gauges as now where not given"
    )
    tuning: Annotated[tuple[str, ...], notes()] | None = Field(
        default=None, description="the old notes, bass first; those of the strings where not given"
    )
    a4_hz: Annotated[float, number(380.0, 500.0)] | None = Field(
        default=None, description="pitch of A4 before; the same as now where not given"
    )


class OldNut(Table):
    """The old nut as measured, bass to treble."""

    centres: Annotated[tuple[float, ...], lengths(0.3, 130.0)] = Field(
        description="slot centres from the bass end of the nut"
    )
    widths: Annotated[tuple[float, ...], lengths(0.1, 6.0)] = Field(
        description="slot widths at the front face: the thickest gauge or drill shank that enters"
    )
    floors: Annotated[tuple[float, ...], lengths(-2.0, 25.0)] = Field(
        description="slot floors at the front face, above what floors_from says"
    )
    floors_from: Literal["seat floor", "fret plane"] = Field(
        default="seat floor",
        description="seat floor: caliper over nut and slot, nut out; fret plane: straightedge on frets 1 and 2",
    )
