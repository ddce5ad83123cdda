"""A string of an instrument file."""

from typing import Annotated, Literal

from nutgen.errors import shown_value
from nutgen.spec.fields import Door, Reading, fault, length, lengths, text_with_unit, tuner_post
from nutgen.spec.table import Field, Table
from nutgen.spec.values import Post
from nutgen.theory.notes import midi_number

WrapMetal = Literal[
    "nickel-plated steel", "nickel", "stainless steel", "phosphor bronze", "brass 85/15", "silvered copper"
]
KG_PER_M = {"kg/m": 1.0, "g/m": 1e-3, "lb/in": 17.857967, "lb/ft": 1.4881639}


def note_name() -> Door:
    """A note as written, refused where it is not one."""

    def read(value: object, _reading: Reading) -> str:
        try:
            midi_number(value if isinstance(value, str) else "")
        except ValueError:
            raise fault(f"{shown_value(value)} is not a note", 'write it like "E2", "F#3" or "Bb1"') from None
        return str(value)

    return Door(read, {"type": "string", "pattern": "^[A-Ga-g]"})


class String(Table):
    """One string."""

    note: Annotated[str, note_name()] = Field(description='open note, "E2", "F#3", "Bb1"')
    gauge: Annotated[float, length(0.12, 5.2, gauge=True)] = Field(
        description="diameter; a bare number is in gauge_units"
    )
    wound: bool = False
    course: Annotated[int, Field(ge=1, le=16)] | None = Field(
        default=None, description="strings of the same course stand together; 1 is the treble-most"
    )
    post: Annotated[Post, tuner_post()] | None = Field(default=None, description="tuner post: { y = , x = , drop = }")
    unit_mass: Annotated[float, text_with_unit(5e-5, 0.1, units=KG_PER_M, example="0.00198395 lb/in")] | None = Field(
        default=None, description="mass per length, as printed by the maker, with its unit [kg/m]"
    )
    material: Literal["steel", "stainless steel", "nylon", "fluorocarbon", "gut"] = Field(
        default="steel", description="of a plain string, or of the core of a wound one"
    )
    core: Annotated[float, length(0.1, 3.0, gauge=True)] | None = Field(
        default=None, description="core of a wound string"
    )
    core_shape: Literal["round", "hex"] | None = None
    wraps: Annotated[tuple[float, ...], lengths(0.03, 2.0, gauge=True)] | None = Field(
        default=None, description="wrap wires of a wound string, from the core outward"
    )
    wrap_metal: WrapMetal | None = None
