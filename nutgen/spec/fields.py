"""The kinds of value a table may hold: each reads, checks its range, and names the likely slip."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from nutgen.errors import shown_value, unknown_key_words
from nutgen.spec.values import MM_PER, Across, ByKind, Post, Written, read_length


class Slip(Exception):
    """What is wrong with one value, in words for the person who wrote it."""


@dataclass(frozen=True, slots=True)
class Reading:
    """How bare numbers of the file are read: the units of lengths and of gauges."""

    units: str = "mm"
    gauge_units: str = "in"


Reader = Callable[[object, Reading], float]
T = TypeVar("T")


@dataclass(frozen=True, slots=True, eq=False)
class Door:
    """What stands beside a field's type: how to read its value, and its JSON Schema."""

    read: Callable[[object, Reading], Any]
    schema: dict[str, Any]


def fault(message: str, cure: str = "") -> Slip:
    """A slip of the door: what is wrong and allowed, then the cure."""
    return Slip(f"{message}; {cure}" if cure else message)


def shown(number: float) -> str:
    """A number as a maker would write it, six digits at most."""
    return f"{number:.6g}"


def _range_words(low: float, high: float, unit: str, *, given: float) -> str:
    side, bound = ("below", low) if given < low else ("above", high)
    unit = f" {unit}" if unit else ""
    return f"{shown(given)}{unit} is {side} {shown(bound)}{unit}"


def _length_cure(written: Written, low: float, high: float, *, gauge: bool, units: str) -> str:
    def fits(mm: float) -> bool:
        return low <= mm <= high

    number, as_file = written.number, written.unit == units
    if gauge and fits(number / 1000.0 * 25.4):
        inches = shown(number / 1000.0)
        return f"thousandths? write {inches if units == 'in' else chr(34) + inches + ' in' + chr(34)}"
    if written.unit == "mm" and fits(number * 25.4):
        return f'inches? write "{shown(number)} in"'
    if written.unit == "in" and fits(number):
        return f'millimetres? write "{shown(number)} mm"' if as_file else f'write "{shown(number)} mm"'
    if number < 0.0 and fits(-written.mm):
        return f"measured the other way? write {shown(-number)}"
    return f"allowed is {shown(low / MM_PER[written.unit])} to {shown(high / MM_PER[written.unit])}"


def _length_reader(low: float, high: float, *, gauge: bool) -> Reader:
    def read(value: object, reading: Reading) -> float:
        units = reading.gauge_units if gauge else reading.units
        try:
            written = read_length(value, units)
        except ValueError as error:
            given = shown_value(value)
            raise fault(f"{given} {error}") from None
        if not low <= written.mm <= high:
            scale = MM_PER[written.unit]
            words = _range_words(low / scale, high / scale, written.unit, given=written.number)
            raise fault(words, _length_cure(written, low, high, gauge=gauge, units=units))
        return written.mm

    return read


def _number_reader(low: float, high: float, *, unit: str) -> Reader:
    def cure(number: float) -> str:
        if unit == "deg" and low <= math.degrees(number) <= high:
            return f"radians? write {math.degrees(number):.3g}"
        if unit == "share" and low <= number / 100.0 <= high:
            return f"per cent? write {shown(number / 100.0)}"
        if low <= -number <= high:
            return f"measured the other way? write {shown(-number)}"
        return f"allowed is {shown(low)} to {shown(high)}"

    def read(value: object, reading: Reading) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            given = shown_value(value)
            raise fault(f"{given} is not a number", f"allowed is {shown(low)} to {shown(high)}")
        number = float(value) if abs(value) < 1e12 else math.inf
        if not math.isfinite(number):
            raise fault(f"{value!r:.20} is not a finite number", f"allowed is {shown(low)} to {shown(high)}")
        if not low <= number <= high:
            raise fault(_range_words(low, high, unit if unit == "deg" else "", given=number), cure(number))
        return number

    return read


def _length_schema(low: float, high: float) -> dict[str, Any]:
    return {
        "anyOf": [
            {"type": "number", "minimum": round(low / 25.4, 9) if low > 0.0 else low, "maximum": high},
            {"type": "string", "pattern": "[0-9]"},
        ],
        "x-range-mm": [low, high],
    }


def _number_schema(low: float, high: float) -> dict[str, Any]:
    return {"type": "number", "minimum": low, "maximum": high}


def _with_pair(one: dict[str, Any], *, each: bool) -> dict[str, Any]:
    pair = {
        "type": "object",
        "properties": {"bass": one, "treble": one},
        "required": ["bass", "treble"],
        "additionalProperties": False,
    }
    kinds = [one, pair] + ([{"type": "array", "items": one, "minItems": 1}] if each else [])
    return {"anyOf": kinds}


def _table(
    value: Mapping[str, Any], keys: tuple[str, ...], readers: tuple[Reader, ...], reading: Reading
) -> list[float]:
    """Read an inline table with exactly these keys; every fault of it in one message."""
    words: list[str] = []
    numbers: list[float] = []
    for key, read in zip(keys, readers, strict=True):
        if key not in value:
            words.append(f"{key} is missing")
            continue
        try:
            numbers.append(read(value[key], reading))
        except Slip as error:
            words.append(f"{key}: {error}")
    words += [f"{key}: {unknown_key_words(key, keys)}" for key in value if key not in keys]
    if words:
        raise fault("; ".join(words), f"allowed is {{ {', '.join(f'{key} = ' for key in keys)}}}")
    return numbers


def read_entries(
    entries: list[Any], read: Callable[[object, Reading], T], reading: Reading, *, cure: str = ""
) -> tuple[T, ...]:
    """Read a list entry by entry; every fault of it in one message."""
    found, words = [], []
    for number, entry in enumerate(entries, 1):
        try:
            found.append(read(entry, reading))
        except Slip as slip:
            words.append(f"entry {number}: {slip}")
    if words:
        raise fault("; ".join(words), cure)
    return tuple(found)


def _across_reader(read: Reader, *, each: bool) -> Callable[[object, Reading], Across]:
    def read_across(value: object, reading: Reading) -> Across:
        if isinstance(value, Mapping):
            return Across(tuple(_table(value, ("bass", "treble"), (read, read), reading)))
        if isinstance(value, list) and each:
            cure = "write one value a string, bass first"
            if not value:
                raise fault("the list is empty", cure)
            return Across(read_entries(value, read, reading, cure=cure), each=True)
        return Across((read(value, reading),))

    return read_across


def _by_kind_reader(read: Reader) -> Callable[[object, Reading], ByKind]:
    def read_by_kind(value: object, reading: Reading) -> ByKind:
        if isinstance(value, Mapping):
            return ByKind(*_table(value, ("wound", "plain"), (read, read), reading))
        one = read(value, reading)
        return ByKind(one, one)

    return read_by_kind


def length(low: float, high: float, *, gauge: bool = False) -> Door:
    """A length between two bounds [mm]; a gauge is read in `gauge_units`."""
    return Door(_length_reader(low, high, gauge=gauge), _length_schema(low, high))


def lengths(low: float, high: float, *, gauge: bool = False) -> Door:
    """A list of lengths between two bounds [mm]."""
    read = _across_reader(_length_reader(low, high, gauge=gauge), each=True)

    def read_list(value: object, reading: Reading) -> tuple[float, ...]:
        if not isinstance(value, list):
            raise fault(f"{shown_value(value)} is not a list", "write [first, second, ...]")
        return read(value, reading).values

    return Door(read_list, {"type": "array", "items": _length_schema(low, high), "minItems": 1})


def length_across(low: float, high: float, *, each: bool = False) -> Door:
    """A length, a bass/treble pair or, where `each`, a list of one a string."""
    read = _across_reader(_length_reader(low, high, gauge=False), each=each)
    return Door(read, _with_pair(_length_schema(low, high), each=each))


def number(low: float, high: float, *, unit: str = "") -> Door:
    """A plain number between two bounds; unit "deg" or "share" tells which slips to look for."""
    return Door(_number_reader(low, high, unit=unit), _number_schema(low, high))


def degrees_across(low: float, high: float) -> Door:
    """An angle, a bass/treble pair, or a list of one a string [deg]."""
    read = _across_reader(_number_reader(low, high, unit="deg"), each=True)
    return Door(read, _with_pair(_number_schema(low, high), each=True))


def _by_kind(read: Reader, schema: dict[str, Any]) -> Door:
    both = {"type": "object", "properties": {"wound": schema, "plain": schema}, "additionalProperties": False}
    return Door(_by_kind_reader(read), {"anyOf": [schema, both | {"required": ["wound", "plain"]}]})


def length_by_kind(low: float, high: float) -> Door:
    """A length for all strings, or one for wound and one for plain."""
    return _by_kind(_length_reader(low, high, gauge=False), _length_schema(low, high))


def share_by_kind(low: float, high: float) -> Door:
    """A share (0.5 is half) for all strings, or one for wound and one for plain."""
    return _by_kind(_number_reader(low, high, unit="share"), _number_schema(low, high))


def radius_or_flat(low: float, high: float) -> Door:
    """A radius, or "flat"; flat is inf inside."""
    read_number = _length_reader(low, high, gauge=False)

    def read(value: object, reading: Reading) -> float:
        if isinstance(value, str) and value.strip().lower() == "flat":
            return math.inf
        return read_number(value, reading)

    kinds = [*_length_schema(low, high)["anyOf"], {"const": "flat"}]
    return Door(read, {"anyOf": kinds, "x-range-mm": [low, high]})


def text_with_unit(low: float, high: float, *, units: Mapping[str, float], example: str) -> Door:
    """A quantity that is never a bare number: text with one of these units.

    low, high : bounds in the inner unit
    units     : unit word -> factor to the inner unit
    """
    words = ", ".join(units)

    def read(value: object, reading: Reading) -> float:
        parts = value.split() if isinstance(value, str) else []
        if len(parts) != 2 or parts[1] not in units:
            raise fault(f"{shown_value(value)} has no unit that is known ({words})", f'write it like "{example}"')
        try:
            inner = float(parts[0]) * units[parts[1]]
        except ValueError:
            raise fault(f"{parts[0][:20]!r} is not a number", f'write it like "{example}"') from None
        if not low <= inner <= high:
            factor = units[parts[1]]
            allowed = f"{shown(low / factor)} to {shown(high / factor)} {parts[1]}"
            raise fault(f"{value!s:.40} is out of range", f"allowed is {allowed}; is it the unit printed beside it?")
        return inner

    return Door(read, {"type": "string", "pattern": f"^[0-9.eE+-]+ ({'|'.join(units)})$"})


def tuner_post() -> Door:
    """Where a string meets its tuner post."""
    bounds = {"y": (5.0, 400.0), "x": (-100.0, 100.0), "drop": (-5.0, 120.0)}
    readers = tuple(_length_reader(*bound, gauge=False) for bound in bounds.values())

    def read(value: object, reading: Reading) -> Post:
        if not isinstance(value, Mapping):
            raise fault(f"{shown_value(value)} is not a tuner post", "allowed is { y = , x = , drop = }")
        return Post(*_table(value, tuple(bounds), readers, reading))

    return Door(
        read,
        {
            "type": "object",
            "properties": {key: _length_schema(*bound) for key, bound in bounds.items()},
            "required": list(bounds),
            "additionalProperties": False,
        },
    )
