"""The readings of a dry fit: what feeler leaves say of a nut in its seat, strings at pitch."""

from typing import Annotated, Literal

from nutgen.errors import shown_value
from nutgen.spec.fields import Door, Reading, fault, length, length_across, read_entries, shown
from nutgen.spec.table import Field, Table
from nutgen.spec.values import MM_PER, Across, read_length

After = Literal["filing", "nothing", "fill", "shim", "new nut"]

HIGHEST_READING = 3.0  # mm; a leaf stack thicker than this is no gap under a string at fret 1
MOST_STRINGS = 16


def leaf_readings() -> Door:
    """Readings by feeler leaf, one a string from the bass; 0 where not even the thinnest leaf passes [mm]."""
    item = {
        "anyOf": [
            {"type": "number", "minimum": 0.0, "maximum": HIGHEST_READING},
            {"type": "string", "pattern": "[0-9]"},
        ],
        "x-range-mm": [0.0, HIGHEST_READING],
    }

    def read(value: object, reading: Reading) -> tuple[float, ...]:
        if not isinstance(value, list) or not value:
            raise fault("is not a list of readings", "write one a string, bass first, like [0.55, 0.50, 0.50, 0.45]")
        return read_entries(value, lambda entry, _: _one_reading(entry, reading.units), reading)

    return Door(read, {"type": "array", "items": item, "minItems": 1, "maxItems": MOST_STRINGS})


def _one_reading(value: object, units: str) -> float:
    try:
        written = read_length(value, units)
    except ValueError as error:
        raise fault(f"{shown_value(value)} {error}") from None
    given = f"{shown(written.number)} {written.unit}"
    if written.mm < 0.0:
        raise fault(f"{given} is below zero", "a leaf cannot read that: write 0 where none passes")
    if written.mm > HIGHEST_READING:
        limit = f"{shown(round(HIGHEST_READING / MM_PER[written.unit], 4))} {written.unit}"
        raise fault(f"{given} is above {limit}", too_large_cure(written.number, units=written.unit, bare=units))
    return written.mm


def too_large_cure(number: float, *, units: str, bare: str) -> str:
    """What a reading far above any leaf was meant to be.

    units : of the number
    bare  : units of a bare number in the file
    """
    thousandths, hundredths = number / 1000.0, number / 100.0
    guesses = []
    if thousandths * MM_PER["in"] <= HIGHEST_READING:
        text = shown(thousandths)
        guesses.append(f"thousandths of an inch? write {text if bare == 'in' else chr(34) + text + ' in' + chr(34)}")
    if units == "mm" and hundredths <= HIGHEST_READING:
        text = shown(hundredths)
        guesses.append(
            f"hundredths of a millimetre? write {text if bare == 'mm' else chr(34) + text + ' mm' + chr(34)}"
        )
    if units == "in" and number <= HIGHEST_READING:
        guesses.append(f'millimetres? write "{shown(number)} mm"')
    return "; ".join(guesses) or "read the leaf again"


class DryFit(Table):
    """The readings of a dry fit: nut in its seat, strings at pitch. Lists run bass to treble.

    A leaf passes where it slips in without lifting the string, and drags where it no longer does.
    """

    feeler: Annotated[tuple[float, ...], leaf_readings()] | None = Field(
        default=None, description="open string, over fret 1: thickest leaf or stack that passes; 0 where none does"
    )
    feeler_drags: Annotated[tuple[float, ...], leaf_readings()] | None = Field(
        default=None, description="thinnest that drags there; the next stack up where not given"
    )
    sliver: Annotated[tuple[float, ...], leaf_readings()] | None = Field(
        default=None, description="string pressed at fret 3, over fret 1: thickest leaf or stack that passes"
    )
    sliver_drags: Annotated[tuple[float, ...], leaf_readings()] | None = Field(
        default=None, description="thinnest that drags there; the next stack up where not given"
    )
    barred: Annotated[tuple[float, ...], leaf_readings()] | None = Field(
        default=None, description="barre at fret 1, over fret 2: thickest leaf that passes; goes with feeler"
    )
    relief: Annotated[float, length(0.0, 1.5)] | None = Field(
        default=None, description="thickest leaf under a straightedge from fret 1 to the last, as it is now"
    )
    action: Annotated[Across, length_across(0.2, 8.0, each=True)] | None = Field(
        default=None, description="open string's underside to the crown of fret 12, as it is now"
    )
    face_to_fret_1: Annotated[Across, length_across(8.0, 80.0)] | None = Field(
        default=None,
        description="nut position: front face to the crown of fret 1, along the bass-most string, or a pair",
    )
    after: After = Field(default="filing", description="what was done to the nut since the readings before")
