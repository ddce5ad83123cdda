"""What a table of a file is: frozen values, read key by key, each alone, so that every fault comes out at once.

A table is a class, its keys are attributes: range, default, and below them what they mean, which the schema says too:

    class Seat(TomlTable):
        kind: Literal["channel", "ledge"]
        thickness: Annotated[float, length(2.0, 15.0)]
        \"\"\"front face to back face\"\"\"
"""

import ast
import inspect
import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import is_dataclass
from functools import cache
from itertools import pairwise
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue, SkipJsonSchema
from pydantic_core import ErrorDetails, core_schema

from nutgen.errors import Unreadable
from nutgen.finding import Finding, of_key, refusal
from nutgen.spec.values import BareUnits, nearest, path_of, shown_value

Place = tuple[str | int, ...]


class TomlTable(BaseModel):
    """A table of a file: frozen, no unknown key."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)

    @classmethod
    def json_schema(cls) -> dict[str, Any]:
        """This table as JSON Schema."""
        return cls.model_json_schema(schema_generator=_FileSchema)


class TomlFile(TomlTable):
    """A whole file, and what it leaves to its defaults."""

    assumed: SkipJsonSchema[frozenset[str]] = Field(frozenset(), exclude=True)
    """paths of the keys that the file did not give"""


class _FileSchema(GenerateJsonSchema):
    """The schema of what may be written: no null, no names of classes, no default that is not written so."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        default = schema.get("default")
        plain = isinstance(default, str | int | float) and default != float("inf")
        return super().default_schema(schema) if plain else self.generate_inner(schema["schema"])

    def field_title_should_be_set(self, schema: object) -> bool:
        return False

    def model_schema(self, schema: core_schema.ModelSchema) -> JsonSchemaValue:
        table = super().model_schema(schema)
        for one in (one for one in schema["cls"].__mro__ if issubclass(one, TomlTable)):
            for key, meaning in _meanings(one.__module__).get(one.__name__, {}).items():
                if key in table["properties"]:
                    table["properties"][key].setdefault("description", meaning)
        return table


@cache
def _meanings(module: str) -> dict[str, dict[str, str]]:
    """What stands below the keys of a module's tables, by table and key.

    Pydantic's own `use_attribute_docstrings` reads the source whenever a table is made, which every command would wait
    for; here it is read where a schema is wanted.
    """
    found: dict[str, dict[str, str]] = {}
    for table in ast.parse(inspect.getsource(sys.modules[module])).body:
        for key, below in pairwise(getattr(table, "body", ())):
            match table, key, below:
                case ast.ClassDef(name), ast.AnnAssign(ast.Name(attribute)), ast.Expr(ast.Constant(str(meaning))):
                    found.setdefault(name, {})[attribute] = " ".join(meaning.split())
    return found


def keys_of(table: type[TomlTable]) -> list[str]:
    """The keys that may stand in the file, in the order of the class."""
    return [name for name, field in table.model_fields.items() if not field.exclude]


def own_values(table: TomlTable) -> dict[str, Any]:
    """What a table says other than where its keys are left out; of a set no name, as the strings hold what it says."""
    fields = type(table).model_fields
    keys = (key for key in keys_of(type(table)) if key != "string_set")
    return {key: value for key in keys if (value := getattr(table, key)) != fields[key].default}


def canonical(value: Any) -> str:
    """A text that is the same for the same values, whatever the order of keys in the file.

    Values that are as where a key is left out are left out: a key that comes later changes no file's text.
    """
    if isinstance(value, TomlTable):
        return canonical(own_values(value))
    if is_dataclass(value):
        return canonical([getattr(value, name) for name in value.__dataclass_fields__])
    if isinstance(value, dict):
        return "{" + ",".join(f"{key}:{canonical(value[key])}" for key in sorted(value)) + "}"
    if isinstance(value, list | tuple):
        return "[" + ",".join(map(canonical, value)) + "]"
    return repr(value)


@cache
def _schema(table: type[TomlTable]) -> dict[str, Any]:
    """Its schema, to be read only."""
    return table.json_schema()


@cache
def _alone(table: type[TomlTable], name: str) -> TypeAdapter[Any]:
    """Reads one key without the others."""
    field = table.model_fields[name]
    annotation: Any = field.annotation
    return TypeAdapter(Annotated[annotation, *field.metadata] if field.metadata else annotation)


def read_keys(
    table: type[TomlTable], raw: Mapping[str, Any], bare: BareUnits | None, *, at: Place = ()
) -> tuple[dict[str, Any], list[Finding]]:
    """Read a table key by key.

    raw     : what stands in the file
    bare    : units of bare numbers; None for values from Python, in mm
    at      : where the table stands in the file
    returns : the values without a fault, defaults for what is not there; all faults in the order of the table
    """
    values: dict[str, Any] = {}
    errors: list[ErrorDetails] = []
    for name in keys_of(table):
        if name in raw:
            try:
                values[name] = _alone(table, name).validate_python(raw[name], context=bare)
            except ValidationError as error:
                errors += [{**one, "loc": (name, *one["loc"])} for one in error.errors(include_url=False)]
        elif table.model_fields[name].is_required():
            errors.append(ErrorDetails(type="missing", loc=(name,), msg="", input=raw))
        else:
            values[name] = table.model_fields[name].default
    unknown = [name for name in raw if name not in keys_of(table)]
    errors += [ErrorDetails(type="extra_forbidden", loc=(name,), msg="", input=raw[name]) for name in unknown]
    return values, list(_refusals(errors, table, at)) if errors else []


def left_out(table: TomlTable, at: Place = ()) -> Iterator[str]:
    """Paths of all keys that were not given, those of its own tables too."""
    for name in keys_of(type(table)):
        place, value = (*at, name), getattr(table, name)
        if name not in table.model_fields_set:
            yield path_of(place)
        inner = enumerate(value) if isinstance(value, tuple) else [(None, value)]
        for index, one in inner:
            if isinstance(one, TomlTable):
                yield from left_out(one, place if index is None else (*place, index))


def _refusals(errors: Sequence[ErrorDetails], table: type[TomlTable], at: Place) -> Iterator[Finding]:
    """What pydantic found, as findings about keys; the shape that a value was read as is no part of its path."""
    schema = _schema(table)
    for error in errors:
        loc = tuple(part for part in error["loc"] if not str(part).startswith("<"))
        if error["type"] == "too_short" and len(error["input"]) >= error["ctx"]["min_length"]:
            continue  # the entries are there, but have faults of their own
        refused = _refused(error, loc, schema)
        yield refusal(refused.code, of_key(path_of((*at, *loc))), **dict(refused.values))


def _refused(error: ErrorDetails, loc: Place, schema: dict[str, Any]) -> Finding:
    """One error in the codes of the house, whatever it is about."""
    written, kind = shown_value(error["input"]), error["type"]
    if kind == "value_error" and isinstance(error["ctx"]["error"], Unreadable):
        return error["ctx"]["error"].finding
    if kind == "extra_forbidden":
        known = tuple(next(one["properties"] for one in _schema_at(schema, loc[:-1]) if "properties" in one))
        key = str(loc[-1])
        return refusal("reading.unknown-key", allowed=known, likely=nearest(key, known), elsewhere=_homes(schema, key))
    here = _schema_at(schema, loc)[0]
    bounds, of_tables = (here.get("minimum", 0), here.get("maximum", 0)), "$ref" in here.get("items", {})
    match kind:
        case "missing":
            return _missing(str(loc[-1]), here)
        case "literal_error":
            words = tuple(here["enum"])
            return refusal("reading.not-one-of", written=written, allowed=words, likely=nearest(written, words))
        case "bool_type":
            return refusal("reading.not-yes-or-no", written=written)
        case "int_type":
            return refusal("reading.not-whole", written=written, allowed=bounds)
        case "greater_than_equal" | "less_than_equal":
            code = "reading.below-range" if kind == "greater_than_equal" else "reading.above-range"
            return refusal(code, written=written, allowed=bounds, unit="", likely=())
        case "dict_type" if "properties" not in here:
            return refusal("reading.no-fret", written=written)
        case "dict_type":
            return refusal("reading.not-in-parts", written=written, allowed=tuple(here["properties"]))
        case "model_type" if isinstance(loc[-1], int):
            return refusal("reading.not-tables", written=written, name=path_of(loc[:-1]))
        case "model_type":
            return refusal("reading.not-a-table", written=written, name=path_of(loc))
        case "tuple_type" | "list_type" | "too_short" if of_tables:
            return refusal("reading.not-tables", written=written, name=path_of(loc))
        case "list_type":
            may_be_empty = here["minItems"] == 0
            return refusal("reading.not-a-list", written=written, likely=_like(here), may_be_empty=may_be_empty)
        case "too_short" | "too_long":
            limits = (here.get("minItems", 0), here.get("maxItems", 0))
            return refusal("reading.wrong-count", count=len(error["input"]), allowed=limits, likely=_like(here))
    raise NotImplementedError(kind)


def _homes(schema: dict[str, Any], name: str) -> tuple[str, ...]:
    """The tables of a file that have a key of that name, "" for its top."""
    inner = [(key, part) for key in schema["properties"] for part in ((key,), (key, 0))]
    found = [key for key, place in inner for one in _schema_at(schema, place) if name in one.get("properties", {})]
    return tuple(dict.fromkeys([""] * (name in schema["properties"]) + found))


def _like(here: dict[str, Any]) -> str:
    """The example of a list, as it would stand in the file; empty where there is none."""
    return json.dumps(here["examples"][0]) if "examples" in here else ""


def _missing(name: str, here: dict[str, Any]) -> Finding:
    """What to write where a key is missing: the keys of a table, the words of a choice, the range of a count."""
    if "properties" in here:
        return refusal("reading.missing-table", name=name, allowed=tuple(here["properties"]))
    if "$ref" in here.get("items", {}):
        return refusal("reading.missing-tables", name=name, means=here["description"])
    if "enum" in here:
        return refusal("reading.missing-choice", allowed=tuple(here["enum"]))
    allowed = (here["minimum"], here["maximum"]) if here.get("type") == "integer" else ()
    return refusal("reading.missing", name=name, means=here.get("description", ""), allowed=allowed)


def _schema_at(schema: dict[str, Any], loc: Place) -> list[dict[str, Any]]:
    """The part of a schema that is about a place, and its alternatives."""

    def alternatives(one: dict[str, Any]) -> Iterator[dict[str, Any]]:
        if "$ref" in one:
            one = schema["$defs"][one["$ref"].rpartition("/")[2]] | one
        yield one
        for other in one.get("anyOf", ()):
            yield from alternatives(other)

    here = schema
    for part in loc:
        key = "items" if isinstance(part, int) else "properties"
        inner = (one[key] for one in alternatives(here) if key in one and (key == "items" or part in one[key]))
        found: dict[str, Any] = next(inner, {})
        here = found if isinstance(part, int) else found.get(part, {})
    return list(alternatives(here))
