"""TOML in, Spec out: the only door. All faults of a file come out at once."""

import hashlib
import tomllib
from dataclasses import is_dataclass
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from nutgen.spec.cross import cross_faults
from nutgen.spec.faults import Fault, SpecFaults, faults_of, path_of, shown_value, unknown_key_words
from nutgen.spec.tables import Head, Spec, String

LARGEST_FILE = 1_000_000  # bytes; a real file has a few thousand


def read_spec(path: Path) -> Spec:
    """Read an instrument file.

    raises : SpecFaults with every fault: unreadable, not TOML, keys, ranges, and what does not
             go together
    """
    return parse_spec(read_text(path), source=str(path))


def parse_spec(text: str, *, source: str) -> Spec:
    """Read the text of an instrument file; `source` names it in faults. Raises SpecFaults."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SpecFaults(source, [Fault("", f"not a TOML file: {_lower_first(str(error))}")]) from None
    except RecursionError:
        raise SpecFaults(source, [Fault("", "not an instrument file: nested too deeply")]) from None
    parts, faults = _validate(raw)
    faults += cross_faults(parts)
    if faults:
        raise SpecFaults(source, faults)
    return Spec.model_construct(**parts)


def read_text(path: Path) -> str:
    """The text of an instrument file; raises SpecFaults where it cannot be one."""
    try:
        if path.is_dir():
            raise SpecFaults(str(path), [Fault("", "is a folder; name the instrument file in it")])
        if not path.exists():
            raise SpecFaults(str(path), [Fault("", _missing_words(path))])
        if path.stat().st_size > LARGEST_FILE:
            words = f"is larger than {LARGEST_FILE // 1_000_000} MB; an instrument file has a few thousand bytes"
            raise SpecFaults(str(path), [Fault("", words)])
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise SpecFaults(str(path), [Fault("", f"cannot be read: {_lower_first(str(reason))}")]) from None
    if not data.strip():
        raise SpecFaults(str(path), [Fault("", "is empty; `nutgen new FILE --from KIND` writes one to edit")])
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise SpecFaults(str(path), [Fault("", "is not text in UTF-8, so not an instrument file")]) from None


def spec_hash(spec: Spec) -> str:
    """Twelve hex digits that name the values of a spec: same values, same digits."""
    return hashlib.sha256(_canonical(spec).encode()).hexdigest()[:12]


def _canonical(value: Any) -> str:
    """A text that is the same for the same values, whatever the order of keys in the file."""
    if isinstance(value, BaseModel):
        return _canonical(value.__dict__)
    if is_dataclass(value):
        return _canonical([getattr(value, name) for name in value.__dataclass_fields__])
    if isinstance(value, dict):
        return "{" + ",".join(f"{key}:{_canonical(value[key])}" for key in sorted(value)) + "}"
    if isinstance(value, list | tuple):
        return "[" + ",".join(map(_canonical, value)) + "]"
    return repr(value)


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]


def _missing_words(path: Path) -> str:
    near = (
        sorted(p.name for p in path.parent.glob("*.toml") if p.name != "pyproject.toml")[:6]
        if path.parent.is_dir()
        else []
    )
    beside = f"; beside it are {', '.join(near)}" if near else ""
    return f"no such file{beside}; `nutgen presets` lists the kinds to start from"


def _validate(raw: dict[str, Any]) -> tuple[dict[str, Any], list[Fault]]:
    """Validate table by table, so that a fault in one does not hide those of another."""
    context = {"units": "mm", "gauge_units": "in"}
    context |= {key: raw[key] for key in context if raw.get(key) in ("mm", "in")}
    faults = [Fault(key, unknown_key_words(key, Spec.model_fields)) for key in raw if key not in Spec.model_fields]
    parts: dict[str, Any] = {}
    try:
        parts |= Head.model_validate({key: raw[key] for key in Head.model_fields if key in raw}).__dict__
    except ValidationError as error:
        faults += faults_of(error, Head, ())
    for key, field in Spec.model_fields.items():
        if key in Head.model_fields:
            continue
        if key == "strings":
            value, found = _strings(raw.get(key), context)
        else:
            value, found = _table(raw, key, _model_of(field.annotation), context, required=field.is_required())
        faults += found
        if not found:
            parts[key] = value
    return parts, faults


def _table(
    raw: dict[str, Any], key: str, model: type[BaseModel], context: dict[str, str], *, required: bool
) -> tuple[Any, list[Fault]]:
    if key not in raw:
        words = f"missing; write the table [{key}] with {', '.join(model.model_fields)}"
        return (None, [Fault(key, words)]) if required else (Spec.model_fields[key].default, [])
    if not isinstance(raw[key], dict):
        return None, [Fault(key, f"{shown_value(raw[key])} is not a table; write [{key}] on a line of its own")]
    keys = dict(raw[key])
    nested: dict[str, Any] = {}
    faults: list[Fault] = []
    if "strings" in model.model_fields and "strings" in keys:
        nested["strings"], faults = _strings(keys.pop("strings"), context, (key, "strings"))
    try:
        table = model.model_validate(keys, context=context)
        return table.model_copy(update=nested) if nested else table, faults
    except ValidationError as error:
        return None, faults + faults_of(error, model, (key,))


def _model_of(annotation: Any) -> type[BaseModel]:
    """The table's class behind `Table` or `Table | None`."""
    kinds = get_args(annotation) or (annotation,)
    return next(kind for kind in kinds if isinstance(kind, type) and issubclass(kind, BaseModel))


def _strings(
    raw: object, context: dict[str, str], at: tuple[str, ...] = ("strings",)
) -> tuple[tuple[String, ...], list[Fault]]:
    most, name = 16, ".".join(at)
    if not isinstance(raw, list) or not raw or not all(isinstance(item, dict) for item in raw):
        return (), [Fault(name, f"missing; write one [[{name}]] a string, bass first")]
    if len(raw) > most:
        return (), [Fault(name, f"{len(raw)} strings are more than {most}")]
    strings, faults = [], []
    for index, item in enumerate(raw):
        try:
            strings.append(String.model_validate(item, context=context))
        except ValidationError as error:
            faults += faults_of(error, String, (*at, index))
    return tuple(strings), faults


__all__ = ["parse_spec", "path_of", "read_spec", "read_text", "spec_hash"]
