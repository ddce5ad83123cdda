"""What a key may hold, where pydantic has no type for it: lengths with units, values across the nut, gauges.

Each stands beside the Python type, `Annotated[float, length(2.0, 15.0)]`, and brings the reading, the range,
the likely slips and the JSON Schema.
"""

import math
from collections.abc import Callable, Mapping
from copy import copy
from dataclasses import dataclass, replace
from typing import Any, Literal

from pydantic_core import core_schema

from nutgen.errors import Unreadable
from nutgen.finding import Value, echoed, unshowable
from nutgen.spec.stacks import read_gap
from nutgen.spec.toml_table import TomlTable
from nutgen.spec.values import (
    MM_PER,
    Across,
    BareUnits,
    ByKind,
    OnFret,
    WrittenLength,
    nearest,
    plain_number,
    read_length,
    shown,
    shown_value,
)

Measured = Literal["", "gauge", "leaf", "gap", "piece"]
"""What is measured, which decides the slips: a gauge may be in thousandths, a leaf too, a piece in metres. A leaf or a
gap may be written as the stack that fills it."""

Likely = tuple[tuple[str, str], ...]
"""Slips by name, each with what was meant, as it would stand in the file."""


@dataclass(frozen=True, slots=True, eq=False)
class FieldType:
    """How a value of the file is read, and its JSON Schema.

    ways : tables that may be written instead, and are turned into the value before it is read
    """

    core: core_schema.CoreSchema
    schema: dict[str, Any]
    ways: tuple[type[TomlTable], ...] = ()

    def __get_pydantic_core_schema__(self, _source: object, _handler: object) -> core_schema.CoreSchema:
        return copy(self.core)  # pydantic writes into it

    def __get_pydantic_json_schema__(self, _core: object, _handler: object) -> dict[str, Any]:
        if not self.ways:
            return dict(self.schema)
        alternatives = self.schema.get("anyOf") or [self.schema]
        return {**self.schema, "anyOf": [*alternatives, *(way.json_schema() for way in self.ways)]}


def read_by(read: Callable[[Any, BareUnits | None], Any], schema: dict[str, Any]) -> FieldType:
    """A value read by a function of what is written and of the units of bare numbers.

    The units are None where the value comes from Python: lengths are mm then, and a flat radius is inf.
    """
    core = core_schema.with_info_plain_validator_function(lambda value, info: read(value, info.context))
    return FieldType(core, schema)


def _out_of_range(given: WrittenLength, low: float, high: float, likely: Likely) -> Unreadable:
    return Unreadable(
        f"reading.{'below' if given.mm < low else 'above'}-range",
        written=f"{shown(given.number)} {given.unit}".rstrip(),
        allowed=(low, high),
        unit=given.unit,
        likely=likely,
    )


def _length_meant(given: WrittenLength, low: float, high: float, *, what: Measured, bare: str) -> Likely:
    """The slips that would make a length fit: the likeliest alone, but all of a leaf."""
    number, unit, leaf = given.number, given.unit, what == "leaf"
    guesses = (
        (what == "piece" and unit == bare == "mm", "metres", 1000.0 * number, "mm", bare),
        (what in ("gauge", "leaf"), "thousandths", number / 1000.0, "in", bare),
        (leaf and unit == "mm", "hundredths", number / 100.0, "mm", bare),
        (not leaf and unit == "mm", "inches", number, "in", ""),
        (unit == "in", "millimetres", number, "mm", ""),
        (unit == "in" and what not in ("gauge", "leaf"), "thousandths", number / 1000.0, "in", bare),
        (leaf and number < 0.0, "no-leaf", 0.0, unit, unit),
        (number < 0.0, "other-way", -number, unit, bare),
    )
    fitting = tuple(
        (slip, shown(meant) if as_unit == beside else f'"{shown(meant)} {as_unit}"')
        for may_be, slip, meant, as_unit, beside in guesses
        if may_be and low <= meant * MM_PER[as_unit] <= high
    )
    return fitting if leaf and number > 0.0 else fitting[:1]


def length_reader(low: float, high: float, *, what: Measured = "", inches: bool = False) -> Callable[..., float]:
    """Reads a length between two bounds, see `length`; raises Unreadable."""

    def read(value: object, units: BareUnits | None) -> float:
        bare = "mm" if units is None else "in" if inches else units.gauges if what == "gauge" else units.lengths
        given = read_gap(value, units, bare) if units and what in ("leaf", "gap") else read_length(value, bare)
        if not low <= given.mm <= high:
            raise _out_of_range(given, low, high, _length_meant(given, low, high, what=what, bare=bare))
        return given.mm

    return read


def length(low: float, high: float, *, what: Measured = "", inches: bool = False) -> FieldType:
    """A length between two bounds [mm].

    what   : a gauge is read in `gauge_units`
    inches : bare numbers are inches, whatever the file's units
    """
    schema = {
        "anyOf": [
            {"type": "number", "minimum": round(low / 25.4, 9) if low > 0.0 else low, "maximum": high},
            {"type": "string", "pattern": "[0-9]"},
        ],
        "x-range-mm": [low, high],
    }
    return read_by(length_reader(low, high, what=what, inches=inches), schema)


def number(low: float, high: float, *, unit: str = "") -> FieldType:
    """A plain number between two bounds; unit "deg" or "share" tells which slips to look for."""
    bounds: dict[str, Value] = {"allowed": (low, high), "unit": unit if unit == "deg" else ""}

    def read(value: Any, _units: BareUnits | None) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise Unreadable("reading.not-a-number", written=shown_value(value), **bounds)
        if not abs(value) < 1e12:
            raise Unreadable("reading.not-finite", written=shown_value(value), **bounds)
        if not low <= value <= high:
            guesses = (
                (unit == "deg", "radians", math.degrees(value), ".3g"),
                (unit == "share", "per-cent", value / 100.0, ".6g"),
                (True, "other-way", -value, ".6g"),
            )
            fitting = [
                (slip, format(meant, form)) for may, slip, meant, form in guesses if may and low <= meant <= high
            ]
            raise _out_of_range(WrittenLength(value, str(bounds["unit"]), value), low, high, tuple(fitting[:1]))
        return float(value)

    return read_by(read, {"type": "number", "minimum": low, "maximum": high})


def whole(low: int, high: int) -> FieldType:
    """A whole number between two bounds."""
    schema = {"type": "integer", "minimum": low, "maximum": high}
    return FieldType(core_schema.int_schema(strict=True, ge=low, le=high), schema)


def text_with_unit(low: float, high: float, *, units: Mapping[str, float], example: str) -> FieldType:
    """A quantity that is never a bare number: text with one of these units.

    low, high : bounds in the inner unit
    units     : unit word -> factor to the inner unit
    """

    def read(value: object, bare: BareUnits | None) -> float:
        if bare is None and isinstance(value, float):
            return value
        parts = value.split() if isinstance(value, str) else []
        try:
            figures, unit = parts
            factor = units[unit]
            inner = plain_number(figures) * factor
        except (ValueError, KeyError):
            raise Unreadable(
                "reading.without-unit", written=shown_value(value), allowed=tuple(units), likely=f'"{example}"'
            ) from None
        if not low <= inner <= high:
            bounds = tuple(f"{shown(bound / factor)} {unit}" for bound in (low, high))
            raise Unreadable("reading.out-of-range", written=shown_value(value), allowed=bounds)
        return inner

    return read_by(read, {"type": "string", "pattern": f"^[0-9.eE+-]+ ({'|'.join(units)})$"})


def words(most: int) -> FieldType:
    """A few words on one line, every letter of which can be shown."""

    def read(value: object, _units: BareUnits | None) -> str:
        if not isinstance(value, str):
            raise Unreadable("reading.not-text", written=shown_value(value))
        if not value.strip():
            raise Unreadable("reading.empty-text")
        if len(value) > most:
            raise Unreadable("reading.long-text", most=most)
        if letter := unshowable(value):
            raise Unreadable("reading.unshowable-text", letter=echoed(letter), place=value.index(letter) + 1)
        return value

    return read_by(read, {"type": "string", "minLength": 1, "maxLength": most, "pattern": r"\S"})


def one_of(*words: str, unknown: Mapping[str, str] | None = None) -> FieldType:
    """One of a few words; `unknown` are others that may be written, each with the code of why it is refused."""

    def read(value: object, _units: BareUnits | None) -> str:
        if value in words:
            return str(value)
        if unknown and isinstance(value, str) and value in unknown:
            raise Unreadable(unknown[value], written=shown_value(value))
        written = shown_value(value)
        raise Unreadable(
            "reading.not-one-of", written=written, allowed=words, likely=nearest(written.strip('"'), words)
        )

    return read_by(read, {"enum": list(words)})


def several(one: FieldType, *, least: int = 1, most: int | None = None, like: list[Any] | None = None) -> FieldType:
    """A list of values, as a tuple; `like` is an example of one."""
    items = core_schema.list_schema(one.core, min_length=least, max_length=most)
    core = core_schema.no_info_after_validator_function(tuple, items)
    limits = {"minItems": least} | ({"maxItems": most} if most else {}) | ({"examples": [like]} if like else {})
    return FieldType(core, {"type": "array", "items": one.schema, **limits})


def in_parts(
    kind: type,
    make: Callable[..., Any],
    keys: Mapping[str, FieldType],
    *,
    alone: FieldType | None = None,
    each: bool = False,
    free: str = "",
) -> FieldType:
    """A value written as an inline table, or shorter where one value does for all of it.

    kind  : of the value
    make  : makes it of the values of the keys, or of the one alone
    alone : what may be written instead of the table
    each  : whether a list may be written, one a string; `kind` is Across then
    free  : key that may be left out
    """
    after = core_schema.no_info_after_validator_function
    parts = core_schema.typed_dict_schema(
        {key: core_schema.typed_dict_field(one.core, required=key != free) for key, one in keys.items()},
        extra_behavior="forbid",
    )
    table = {
        "type": "object",
        "properties": {key: one.schema for key, one in keys.items()},
        "required": [key for key in keys if key != free],
        "additionalProperties": False,
    }
    choices: dict[Any, core_schema.CoreSchema] = {
        "<read>": core_schema.is_instance_schema(kind),
        "<table>": after(lambda read: make(*read.values()), parts),
    }
    schemas = [table]
    if alone:
        choices["<alone>"] = after(make, alone.core)
        schemas.insert(0, alone.schema)
    if alone and each:
        choices["<each>"] = after(lambda read: Across(read, each=True), several(alone).core)
        schemas.append(several(alone).schema)

    def shape(value: object) -> str:
        if isinstance(value, kind):
            return "<read>"
        if isinstance(value, list) and "<each>" in choices:
            return "<each>"
        return "<table>" if isinstance(value, Mapping) or not alone else "<alone>"

    schema = {"anyOf": schemas} if alone else table
    return FieldType(core_schema.tagged_union_schema(choices, discriminator=shape), schema)


def across(one: FieldType, *, each: bool = False) -> FieldType:
    """A value, a bass/treble pair or, where `each`, a list of one a string."""
    return in_parts(Across, lambda *values: Across(values), {"bass": one, "treble": one}, alone=one, each=each)


def across_board(one: FieldType) -> FieldType:
    """A value for both edges of the board, a bass/treble pair, or these with one on the centre line."""
    keys = dict.fromkeys(("bass", "middle", "treble"), one)
    return in_parts(Across, lambda *values: Across(values), keys, alone=one, free="middle")


def by_kind(one: FieldType) -> FieldType:
    """A value for all strings, or one for wound and one for plain."""

    def make(wound: float, plain: float | None = None) -> ByKind:
        return ByKind(wound, wound if plain is None else plain)

    return in_parts(ByKind, make, {"wound": one, "plain": one}, alone=one)


def or_word(one: FieldType, word: str, *, means: str | float) -> FieldType:
    """A value, or a word instead of it, which stands for another value inside."""

    def read_word(value: object, units: BareUnits | None) -> str | float:
        if units is not None and not isinstance(value, str):
            raise Unreadable("reading.not-finite", written=shown_value(value))
        return means

    def shape(value: object) -> str:
        text = value.strip().lower() if isinstance(value, str) else value
        return "<word>" if text in (word, means) else "<value>"

    choices: dict[Any, core_schema.CoreSchema] = {"<word>": read_by(read_word, {}).core, "<value>": one.core}
    schema = one.schema | {"anyOf": [*one.schema["anyOf"], {"const": word}]}
    return FieldType(core_schema.tagged_union_schema(choices, discriminator=shape), schema)


def or_way(one: FieldType, *ways: type[TomlTable]) -> FieldType:
    """A value, or how it was read instead, an inline table that is turned into the value before it is read."""
    return replace(one, ways=ways)


_FRETS = frozenset(map(str, range(1, 37)))


def by_fret(one: FieldType) -> FieldType:
    """Lengths by the numbers of their frets: { 7 = 0.08 }."""

    def made(read: dict[str, float]) -> tuple[OnFret, ...]:
        if wrong := [key for key in read if key not in _FRETS]:
            raise Unreadable("reading.no-fret", written=shown_value(wrong[0]))
        return tuple(sorted(OnFret(int(key), value) for key, value in read.items()))

    table = core_schema.dict_schema(core_schema.str_schema(), one.core)
    read = core_schema.no_info_after_validator_function(made, table)
    known = core_schema.is_instance_schema(tuple)
    core = core_schema.tagged_union_schema(
        {"<read>": known, "<table>": read},
        discriminator=lambda value: "<read>" if isinstance(value, tuple) else "<table>",
    )
    return FieldType(core, {"type": "object", "additionalProperties": one.schema})
