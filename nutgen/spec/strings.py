"""A string of an instrument file, over the nut or beside it, and what it lies on besides."""

from typing import Annotated, Literal

from pydantic import Field, StrictBool, StrictInt

from nutgen.errors import Unreadable
from nutgen.finding import unshowable
from nutgen.spec.fields import (
    FieldType,
    across,
    in_parts,
    length,
    number,
    read_by,
    several,
    text_with_unit,
    whole,
    words,
)
from nutgen.spec.toml_table import TomlFile, TomlTable
from nutgen.spec.values import Across, BareUnits, Post, shown_value
from nutgen.theory.frets import fret_position
from nutgen.theory.notes import midi_number

MOST_STRINGS = 16

WrapMetal = Literal[
    "nickel-plated steel", "nickel", "stainless steel", "phosphor bronze", "brass 85/15", "silvered copper"
]
KG_PER_M = {"kg/m": 1.0, "g/m": 1e-3, "lb/in": 17.857967, "lb/ft": 1.4881639}


def note_name() -> FieldType:
    """A note as written, refused where it is not one."""

    def read(value: object, _units: BareUnits | None) -> str:
        try:
            note = value.strip(" ") if isinstance(value, str) and not unshowable(value) else ""
            midi_number(note)
        except ValueError:
            raise Unreadable("reading.not-a-note", written=shown_value(value)) from None
        return note

    return read_by(read, {"type": "string", "pattern": "^[A-Ga-g]"})


def tuner_post() -> FieldType:
    """Where a string meets its tuner post."""
    return in_parts(Post, Post, {"y": length(5.0, 400.0), "x": length(-100.0, 100.0), "drop": length(-5.0, 120.0)})


class AnyString(TomlTable):
    """What a string is, wherever it runs."""

    note: Annotated[str, note_name()]
    """open note, "E2", "F#3", "Bb1" """
    gauge: Annotated[float, length(0.12, 5.2, what="gauge")]
    """diameter; a bare number is in gauge_units"""
    wound: StrictBool = False
    unit_mass: Annotated[float, text_with_unit(5e-5, 0.1, units=KG_PER_M, example="0.00202 lb/in")] | None = None
    """mass per length, as printed by the maker, with its unit [kg/m]"""
    material: Literal["steel", "stainless steel", "nylon", "fluorocarbon", "gut"] = "steel"
    """of a plain string, or of the core of a wound one"""
    core: Annotated[float, length(0.1, 3.0, what="gauge")] | None = None
    """core of a wound string"""
    core_shape: Literal["round", "hex"] | None = None
    wraps: Annotated[tuple[float, ...], several(length(0.03, 2.0, what="gauge"))] | None = None
    """wrap wires of a wound string, from the core outward"""
    wrap_metal: WrapMetal | None = None
    """of a wound string, off the packet; nickel-plated steel where not given, or silvered copper on a soft core"""


LONGEST_SET_NAME = 60


class String(AnyString):
    """One string over the nut."""

    course: StrictInt | None = Field(None, ge=1, le=MOST_STRINGS)
    """strings of the same course stand together; 1 is the treble-most"""
    post: Annotated[Post, tuner_post()] | None = None
    """where the string meets its tuner post: { y = , x = , drop = }, y along the centre line from where it crosses the
    front face, x from the centre line, bass side negative, drop down from the board's plane"""


class ZeroFret(TomlTable):
    """A fret in the nut's place: open strings start on its crown, and the nut behind it holds them apart.

    The scale length runs from it. It is mostly a little higher than the frets, or worn lower.
    """

    behind: Annotated[float, length(1.0, 20.0)]
    """crown of the zero fret back to the nut's front face, square to the face"""
    height: Annotated[Across, across(length(-0.5, 1.0))] | None = None
    """its crown over the plane of frets 1 and 2; minus the gap over it under a ruler that lies on both"""
    gap_at_1: Annotated[Across, across(length(0.0, 0.5, what="leaf"))] | None = None
    """instead, where it stands higher: ruler on it and on fret 2, the gap over fret 1"""
    below: Annotated[Across, across(length(0.05, 3.0), each=True)] | None = None
    """slot floors at the front face below the string's line over the board, carried on; where not given 0.3, or as
    much as bends the string down by 3 degrees"""

    @property
    def crown(self) -> Across:
        """Its crown over the plane of frets 1 and 2 [mm].

        Where a ruler lies on it and on fret 2, the gap over fret 1 is that times (u2 - u1) / u2.
        """
        if self.height is not None:
            return self.height
        assert self.gap_at_1 is not None
        one, two = (float(fret_position(number, scale_length=1.0)) for number in (1, 2))
        return Across(tuple(gap * two / (two - one) for gap in self.gap_at_1.values), self.gap_at_1.each)


OF_FRETS = ("setup", "crowns", "zero_fret", "clamped", "dry_fit", "trial", "tuner")
"""Tables that say something of strings pressed on frets."""


class Lap(TomlTable):
    """A nut raised for playing with a bar that lies on the strings: their tops are in one plane, no fret is pressed."""

    tops: Annotated[float, length(2.0, 25.0)]
    """string tops over the board at the nut's front face: straightedge across them, down on the centre line"""
    tops_at_12: Annotated[float, length(2.0, 40.0)]
    """the same at the mark of fret 12; as the bridge is to be set"""


class Guide(TomlTable):
    """What presses strings down between nut and tuners: a bar over all of them, or a string guide over one or two."""

    y: Annotated[float, length(5.0, 300.0)]
    """along the centre line, from where it crosses the front face to where it presses"""
    drop: Annotated[float, length(-5.0, 60.0)] | None = None
    """from the board's plane, carried on straight, down to its underside"""
    x: Annotated[float, length(-60.0, 60.0)] | None = None
    """where it holds its string aside, from the centre line, bass side negative; strings slide sideways under a bar"""
    strings: Annotated[tuple[int, ...], several(whole(1, MOST_STRINGS), like=[1, 2])] | None = None
    """strings under it, 1 the treble-most; all where not given"""
    wanted_deg: Annotated[float, number(1.0, 25.0, unit="deg")] | None = None
    """break angle at the nut that each of its strings is to have at least; drop may be left out then"""


class Drone(AnyString):
    """A string that does not cross the nut but pulls on the neck: the short fifth string of a banjo."""

    fret: StrictInt = Field(5, ge=0, le=24)
    """fret at which its own nut or peg stands"""


class SetString(AnyString):
    """One string of a set, whose note may be left to the instrument."""

    note: Annotated[str, note_name()] = ""
    """open note, where the instrument gives none"""

    def as_written(self) -> dict[str, object]:
        """Its keys as they would stand in an instrument file, each with its unit."""

        def told(key: str) -> object:
            value = getattr(self, key)
            if isinstance(value, tuple):
                return [f"{one!r} mm" for one in value]
            return f"{value!r} {'kg/m' if key == 'unit_mass' else 'mm'}" if isinstance(value, float) else value

        return {key: told(key) for key in AnyString.model_fields if key in self.model_fields_set}


class StringSet(TomlFile):
    """A set of strings of one's own, to be strung on more than one instrument."""

    title: Annotated[str, words(80)]
    """what the set is called"""
    gauge_units: Literal["mm", "in"] = "in"
    """of bare gauges"""
    strings: tuple[SetString, ...] = Field(min_length=1, max_length=MOST_STRINGS)
    """bass to treble"""
