"""What a table of an instrument file is: frozen values, read key by key, every slip told.

A table is written as a class, its keys as annotated attributes:

    class Seat(Table):
        kind: Literal["channel", "ledge"]
        thickness: Annotated[float, length(2.0, 15.0)] = Field(description="front face to back face")

A general validation library would do the same and was used first; building its models took longer
than all the rest of `check`.
"""

import math
import types
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Annotated, Any, ClassVar, Literal, Self, Union, get_args, get_origin

from nutgen.errors import Fault, nearest, path_of, shown_value, unknown_key_words
from nutgen.spec.fields import Door, Reading, Slip

REQUIRED = object()
Place = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Bounds:
    """What `Field` says of a key beside its type."""

    default: Any = REQUIRED
    description: str = ""
    ge: int | None = None
    le: int | None = None
    min_length: int = 0
    max_length: int | None = None


def Field(  # noqa: N802
    *,
    default: Any = REQUIRED,
    description: str = "",
    ge: int | None = None,
    le: int | None = None,
    min_length: int = 0,
    max_length: int | None = None,
) -> Any:
    """The default, the words and the bounds of a key.

    ge, le                 : bounds of a whole number
    min_length, max_length : of a text or a list of tables
    """
    return Bounds(default, description, ge, le, min_length, max_length)


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a table: how its value is read, what it may hold in words and as JSON Schema.

    Words and schema are made when they are asked for: a good file needs neither.
    """

    read: Callable[[object, Reading, Place], tuple[Any, list[Fault]]]
    schema: Callable[[], dict[str, Any]]
    default: Any
    allowed: Callable[[], str]

    @property
    def required(self) -> bool:
        """Whether the file must hold it."""
        return self.default is REQUIRED


class Table:
    """Base of the tables: frozen, no unknown key, equal where all values are."""

    given: ClassVar[frozenset[str]] = frozenset()
    """The keys that the file held; the rest are defaults."""

    def __init__(self, **values: Any) -> None:
        keys = self.keys()
        unknown = set(values) - set(keys)
        missing = [name for name, key in keys.items() if key.required and name not in values]
        if unknown or missing:
            raise TypeError(f"{type(self).__name__}: unknown {sorted(unknown)}, missing {missing}")
        for name, key in keys.items():
            self.__dict__[name] = values.get(name, key.default)
        self.__dict__["given"] = frozenset(values)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self) and other.values() == self.values()

    def __hash__(self) -> int:
        return hash(tuple(self.values().values()))

    def __repr__(self) -> str:
        return f"{type(self).__name__}({', '.join(f'{key}={value!r}' for key, value in self.values().items())})"

    def values(self) -> dict[str, Any]:
        """Every key with its value, in the order of the class."""
        return {name: self.__dict__[name] for name in self.keys()}

    @classmethod
    @cache
    def keys(cls) -> dict[str, Key]:
        """The keys of this table, those of its bases first."""
        found: dict[str, Key] = {}
        for base in reversed(cls.__mro__):
            for name, annotation in vars(base).get("__annotations__", {}).items():
                if get_origin(annotation) is not ClassVar:
                    found[name] = _key(annotation, vars(base).get(name, REQUIRED))
        return found

    @classmethod
    def read(cls, raw: object, reading: Reading, at: Place) -> tuple[Self | None, list[Fault]]:
        """Read a table of the file.

        raw     : what stands there
        reading : the units of bare numbers
        at      : where in the file, for faults
        returns : the table, None where it has faults; all its faults
        """
        if not isinstance(raw, Mapping):
            words = f"{shown_value(raw)} is not a table; write [{path_of(at)}] above its keys"
            return None, [Fault(path_of(at), words)]
        values, faults = cls.read_keys(raw, reading, at)
        return (None if faults else cls.from_keys(values, given=raw)), faults

    @classmethod
    def read_keys(cls, raw: Mapping[str, Any], reading: Reading, at: Place = ()) -> tuple[dict[str, Any], list[Fault]]:
        """Read key by key: the values without a fault, defaults for what is not there, and all faults."""
        values: dict[str, Any] = {}
        faults: list[Fault] = []
        for name, key in cls.keys().items():
            path = (*at, name)
            if name in raw:
                value, found = key.read(raw[name], reading, path)
                faults += found
                if not found:
                    values[name] = value
            elif key.required:
                faults.append(
                    Fault(
                        path_of(path), f"missing; {key.allowed().replace('PATH', path_of(path)).replace('NAME', name)}"
                    )
                )
            else:
                values[name] = key.default
        known = cls.keys()
        for name in raw:
            if name not in known:
                faults.append(Fault(path_of((*at, name)), unknown_key_words(name, known)))
        return values, faults

    @classmethod
    def from_keys(cls, values: Mapping[str, Any], *, given: Iterable[str]) -> Self:
        """A table from its values; `given` are the keys that the file held."""
        table = cls(**values)
        table.__dict__["given"] = frozenset(given)
        return table

    def changed(self, **values: Any) -> Self:
        """The same table with other values."""
        return type(self)(**{**self.values(), **values})

    @classmethod
    def json_schema(cls) -> dict[str, Any]:
        """This table as JSON Schema."""
        keys = cls.keys()
        return {
            "type": "object",
            "description": (cls.__doc__ or "").split("\n")[0],
            "properties": {name: key.schema() for name, key in keys.items()},
            "required": [name for name, key in keys.items() if key.required],
            "additionalProperties": False,
        }


def _key(annotation: Any, given: Any) -> Key:
    """The key behind an annotated attribute."""
    bounds = given if isinstance(given, Bounds) else Bounds(default=given)
    kind, notes = _bare(annotation)
    for note in notes:
        if isinstance(note, Bounds):
            bounds = replace(note, default=bounds.default, description=note.description or bounds.description)
    door = next((note for note in notes if isinstance(note, Door)), None)
    read, schema, allowed = _through_door(door, bounds) if door else _by_type(kind, bounds)

    def described() -> dict[str, Any]:
        words = {"description": bounds.description} if bounds.description else {}
        plain = isinstance(bounds.default, str | int | float) and bounds.default != math.inf
        return schema() | words | ({"default": bounds.default} if plain else {})

    return Key(read, described, bounds.default, allowed)


def _bare(annotation: Any) -> tuple[Any, tuple[Any, ...]]:
    """A type without `Annotated` and `| None`, and what was noted beside it."""
    notes: tuple[Any, ...] = ()
    while True:
        if get_origin(annotation) is Annotated:
            annotation, *more = get_args(annotation)
            notes += tuple(more)
        elif get_origin(annotation) in (types.UnionType, Union):
            annotation = next(part for part in get_args(annotation) if part is not type(None))
        else:
            return annotation, notes


Read = tuple[Any, list[Fault]]
How = tuple[Callable[[object, Reading, Place], Read], Callable[[], dict[str, Any]], Callable[[], str]]


def _wrong(at: Place, words: str) -> Read:
    return None, [Fault(path_of(at), words)]


def _write_words(bounds: Bounds) -> str:
    return f"write NAME = ... ({bounds.description})" if bounds.description else "write NAME = ..."


def _through_door(door: Door, bounds: Bounds) -> How:
    def read(value: object, reading: Reading, at: Place) -> Read:
        try:
            return door.read(value, reading), []
        except Slip as slip:
            return _wrong(at, str(slip))

    return read, lambda: door.schema, lambda: _write_words(bounds)


def _by_type(kind: Any, bounds: Bounds) -> How:
    if get_origin(kind) is Literal:
        return _choice(get_args(kind))
    if get_origin(kind) is tuple:
        return _tables(get_args(kind)[0], bounds)
    if kind is bool:
        return _yes_or_no()
    if kind is int:
        return _whole_number(bounds)
    if kind is str:
        return _text(bounds)
    if isinstance(kind, type) and issubclass(kind, Table):
        return kind.read, kind.json_schema, lambda: f"write [PATH] with {', '.join(kind.keys())}"
    raise TypeError(f"a table cannot hold {kind}")


def _choice(words: tuple[str, ...]) -> How:
    allowed = ", ".join(f'"{word}"' for word in words)

    def read(value: object, _reading: Reading, at: Place) -> Read:
        if isinstance(value, str) and value in words:
            return value, []
        near = nearest(str(value), words)
        cure = f'; did you mean "{near}"?' if near else ""
        return _wrong(at, f"{shown_value(value)} is not one of {allowed}{cure}")

    return read, lambda: {"enum": list(words)}, lambda: f"one of {allowed}"


def _yes_or_no() -> How:
    def read(value: object, _reading: Reading, at: Place) -> Read:
        if isinstance(value, bool):
            return value, []
        return _wrong(at, f"{shown_value(value)} is not true or false; write true or false, without quotes")

    return read, lambda: {"type": "boolean"}, lambda: "true or false"


def _whole_number(bounds: Bounds) -> How:
    low, high = bounds.ge, bounds.le
    allowed = f"allowed is {low} to {high}"

    def read(value: object, _reading: Reading, at: Place) -> Read:
        if isinstance(value, bool) or not isinstance(value, int):
            return _wrong(at, f"{shown_value(value)} is not a whole number; {allowed}")
        if low is not None and value < low:
            return _wrong(at, f"{shown_value(value)} is below {low}; {allowed}")
        if high is not None and value > high:
            return _wrong(at, f"{shown_value(value)} is above {high}; {allowed}")
        return value, []

    limits = {name: limit for name, limit in (("minimum", low), ("maximum", high)) if limit is not None}
    return read, lambda: {"type": "integer", **limits}, lambda: f"{_write_words(bounds)}; {allowed}"


def _text(bounds: Bounds) -> How:
    def read(value: object, _reading: Reading, at: Place) -> Read:
        if not isinstance(value, str):
            return _wrong(at, f"{shown_value(value)} is not text; put it in quotes")
        if len(value.strip()) < bounds.min_length:
            return _wrong(at, "is empty; write a few words")
        if bounds.max_length is not None and len(value) > bounds.max_length:
            return _wrong(at, f"has more than {bounds.max_length} letters; shorten it")
        return value, []

    limits = {"minLength": bounds.min_length} | ({"maxLength": bounds.max_length} if bounds.max_length else {})
    return read, lambda: {"type": "string", **limits}, lambda: _write_words(bounds)


def _tables(kind: type[Table], bounds: Bounds) -> How:
    """A list of tables; a fault in one does not hide those of another."""

    def read(value: object, reading: Reading, at: Place) -> Read:
        if not isinstance(value, list) or len(value) < bounds.min_length:
            return _wrong(at, f"{shown_value(value)} is not a list of tables; write one [[{path_of(at)}]] each")
        if bounds.max_length is not None and len(value) > bounds.max_length:
            return _wrong(at, f"{len(value)} are more than {bounds.max_length}")
        read_one = [kind.read(item, reading, (*at, index)) for index, item in enumerate(value)]
        faults = [fault for _, found in read_one for fault in found]
        return (None if faults else tuple(table for table, _ in read_one)), faults

    def schema() -> dict[str, Any]:
        most = {"maxItems": bounds.max_length} if bounds.max_length else {}
        return {"type": "array", "items": kind.json_schema(), "minItems": bounds.min_length} | most

    return read, schema, lambda: f"write one [[PATH]] each ({bounds.description})"
