"""The tables that only playing needs: the pluck, reading errors, the strings before, the old nut.

None of them is needed to make a nut. Their defaults are assumptions, and whoever prints a number
that rests on one says so: a key that the maker wrote is in the table's `given`.
"""

from typing import Annotated, Literal

from pydantic import Field

from nutgen.spec.fields import across, length, number, several
from nutgen.spec.strings import MOST_STRINGS, String, note_name
from nutgen.spec.toml_table import TomlTable
from nutgen.spec.values import Across
from nutgen.spec.workshop import MaterialName

NOTES = several(note_name(), most=MOST_STRINGS, like=["E1", "A1", "D2", "G2"])
"""Note names, bass to treble."""


class Pluck(TomlTable):
    """How hard, and where, the strings are plucked; how far behind a fret the finger presses."""

    force_n: Annotated[float, number(0.05, 20.0)] | None = Field(
        default=None,
        description="force at release, square to the board [N]; by kind of instrument where not given: an assumption",
    )
    height: Annotated[Across, across(length(0.02, 6.0), each=True)] | None = Field(
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


class Errors(TomlTable):
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


class Before(TomlTable):
    """What was strung before: another set, another tuning, or both."""

    strings: tuple[String, ...] = Field(
        default=(),
        max_length=MOST_STRINGS,
        description="the old set, bass to treble; the same gauges as now where not given",
    )
    tuning: Annotated[tuple[str, ...], NOTES] | None = Field(
        default=None, description="the old notes, bass first; those of the strings where not given"
    )
    a4_hz: Annotated[float, number(380.0, 500.0)] | None = Field(
        default=None, description="pitch of A4 before; the same as now where not given"
    )


class OldNut(TomlTable):
    """The old nut as measured, bass to treble."""

    centres: Annotated[tuple[float, ...], several(length(0.3, 130.0))] | None = Field(
        default=None, description="slot centres from the bass end of the nut, along its front face"
    )
    edges: Annotated[tuple[float, ...], several(length(0.1, 130.0))] | None = Field(
        default=None,
        description="instead of the centres, by caliper: one jaw flat on the bass end of the nut, the other in the"
        " bass-side edge of each slot at the front face, so square to that end",
    )
    widths: Annotated[tuple[float, ...], several(length(0.1, 6.0))] = Field(
        description="slot widths at the front face: the thickest gauge or drill shank that enters"
    )
    floors: Annotated[tuple[float, ...], several(length(-2.0, 25.0))] = Field(
        description="slot floors at the front face, above what floors_from says"
    )
    floors_from: Literal["seat floor", "fret plane"] = Field(
        default="seat floor",
        description="seat floor: caliper over nut and slot, nut out; fret plane: straightedge on frets 1 and 2",
    )
    material: MaterialName | None = Field(
        default=None, description="what the old nut is made of; as the new one where not given"
    )
