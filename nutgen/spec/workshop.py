"""The maker's own bench: the tools that are there, and what the nut is made of."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from nutgen.spec.fields import Door, Reading, fault, length, read_entries
from nutgen.spec.table import Field, Table

MaterialName = Literal["bone", "antler", "horn", "hardwood", "brass", "phenolic", "printed plastic"]

MOST_TOOLS = 40


def _inches(*sizes: float) -> tuple[float, ...]:
    return tuple(round(size * 25.4, 6) for size in sizes)


TRADE_FILES = _inches(
    *(0.010, 0.013, 0.016, 0.020, 0.024, 0.026, 0.028, 0.032, 0.036, 0.042, 0.046),
    *(0.050, 0.056, 0.060, 0.065, 0.075, 0.085, 0.090, 0.105, 0.120, 0.130),
)
"""Gauged slotting files met in the trade [mm]. Common practice, no source."""

NUMBER_DRILLS = _inches(
    *(0.0135, 0.016, 0.020, 0.0225, 0.025, 0.028, 0.031, 0.035, 0.040, 0.043, 0.0465, 0.052, 0.055, 0.0595)
)
"""Number drills 80 to 53, the usual ones [mm]. Source: the number drill table of any engineering handbook."""

METRIC_DRILLS = (1.75, 2.0, 2.25, 2.5, 2.75, 3.0)
"""Drills of a household set that carry on where the number drills end [mm]. Common practice, no source."""

METRIC_LEAVES = (0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.60, 0.70, 0.80, 0.90, 1.00)
"""Feeler leaves of a usual metric set [mm]. From memory; DIN 2275 is the standard of such leaves."""

INCH_LEAVES = _inches(0.0015, *(n / 1000 for n in range(2, 26)), 0.035)
"""Feeler leaves of a usual inch set of 26 [mm]. From memory; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Needle:
    """A round-edged needle file, by caliper; the two are equal where it does not taper.

    tip   : width at the tip [mm]
    shank : width where the teeth end [mm]
    """

    tip: float
    shank: float


def _list_reader(read_one: Any, *, what: str) -> Any:
    """A list of tools, which may be empty: no such tool on this bench."""

    def read(value: object, reading: Reading) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise fault("is not a list", f"write [first, second, ...], one entry {what}, or [] where there is none")
        if len(value) > MOST_TOOLS:
            raise fault(f"{len(value)} entries are more than {MOST_TOOLS}", "keep those you would reach for")
        return read_entries(value, read_one, reading)

    return read


def _list_schema(item: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": item, "maxItems": MOST_TOOLS}


def tool_sizes(low: float, high: float, *, what: str, gauge: bool = False, inches: bool = False) -> Door:
    """The sizes of a set of tools between two bounds [mm]; an empty list is a bench without them.

    gauge  : bare numbers are in `gauge_units`
    inches : bare numbers are inches, whatever the file's units
    """
    one = length(low, high, gauge=gauge)

    def read(value: object, reading: Reading) -> float:
        bare = isinstance(value, int | float) and not isinstance(value, bool)
        return float(one.read(f"{value} in" if inches and bare else value, reading))

    return Door(_list_reader(read, what=what), _list_schema(one.schema))


def needles() -> Door:
    """A set of needle files, each a width or { tip = , shank = }."""
    one = length(0.2, 8.0)

    def read(value: object, reading: Reading) -> Needle:
        if not isinstance(value, Mapping):
            width = float(one.read(value, reading))
            return Needle(width, width)
        if set(value) != {"tip", "shank"}:
            raise fault(f"has {', '.join(value) or 'nothing'}", "write a width, or { tip = , shank = }")
        needle = Needle(float(one.read(value["tip"], reading)), float(one.read(value["shank"], reading)))
        if needle.tip > needle.shank:
            raise fault("the tip is wider than the shank", "measured the other way? change them round")
        return needle

    taper = {
        "type": "object",
        "properties": {"tip": one.schema, "shank": one.schema},
        "required": ["tip", "shank"],
        "additionalProperties": False,
    }
    return Door(_list_reader(read, what="a file"), _list_schema({"anyOf": [one.schema, taper]}))


class Tools(Table):
    """What is on the bench. A tool listed twice is there twice.

    The defaults are common practice, no source: they let a sheet be printed before the maker
    has listed the bench, and show which tool would serve.
    """

    files: Annotated[tuple[float, ...], tool_sizes(0.15, 5.5, what="a file", gauge=True)] = Field(
        default=TRADE_FILES, description="slotting files with a round edge; bare numbers are in gauge_units"
    )
    needle_files: Annotated[tuple[Needle, ...], needles()] = Field(
        default=(Needle(0.9, 3.0),), description="round needle files: a width, or { tip = , shank = }"
    )
    saws: Annotated[tuple[float, ...], tool_sizes(0.1, 2.0, what="a saw")] = Field(
        default=(0.30, 0.55), description="kerf of each fine saw: caliper a cut made in scrap"
    )
    drill_shanks: Annotated[tuple[float, ...], tool_sizes(0.2, 5.5, what="a drill")] = Field(
        default=NUMBER_DRILLS + METRIC_DRILLS, description="drills whose smooth shank can carry abrasive paper"
    )
    abrasive: Annotated[float, length(0.05, 0.6)] = Field(
        default=0.25, description="thickness of the abrasive paper for the shanks"
    )
    feeler: Annotated[tuple[float, ...], tool_sizes(0.01, 2.0, what="a leaf")] = Field(
        default=METRIC_LEAVES, description="feeler leaves; a leaf that is there twice is listed twice"
    )
    feeler_inch: Annotated[tuple[float, ...], tool_sizes(0.01, 2.0, what="a leaf", inches=True)] = Field(
        default=INCH_LEAVES, description="feeler leaves of an inch set; bare numbers are inches"
    )
    caliper: Annotated[float, length(0.005, 0.2)] = Field(
        default=0.02, description="smallest step in which the caliper can be trusted"
    )
    veneer: Annotated[tuple[float, ...], tool_sizes(0.03, 2.0, what="a sheet")] = Field(
        default=(0.6,), description="veneer, card or shim sheet for packing"
    )
