"""What is wrong with a file, in words for the person who wrote it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: where it is, and what was given, is allowed and cures it."""

    path: str
    words: str

    def __str__(self) -> str:
        return f"{self.path}: {self.words}" if self.path else self.words


class SpecFaults(Exception):
    """A file that cannot be used, with every fault that was found in it.

    source : the file's name as the user gave it
    faults : all of them, in the order of the file
    """

    def __init__(self, source: str, faults: Iterable[Fault]) -> None:
        self.source = source
        self.faults = tuple(faults)
        super().__init__(source)

    def __str__(self) -> str:
        return "\n".join(f"{self.source}: {fault}" for fault in self.faults)


def path_of(parts: Iterable[str | int]) -> str:
    """A place in the file as a maker counts: strings[2] is the third table of strings from the bass.

    Indices count from 1 so that strings[1] is the first one listed.
    """
    text = ""
    for part in parts:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def faults_of(error: ValidationError, model: type[BaseModel], at: tuple[str | int, ...]) -> list[Fault]:
    """The faults behind a validation error of one table.

    model : the table that was validated
    at    : where the table stands in the file
    """
    return [_fault(detail, model, at) for detail in error.errors(include_url=False)]


def _fault(detail: ErrorDetails, model: type[BaseModel], at: tuple[str | int, ...]) -> Fault:
    keys = [part for part in detail["loc"] if isinstance(part, str) and part.isidentifier()][:1]
    index = [part for part in detail["loc"] if isinstance(part, int)]
    path = path_of((*at, *keys, *index))
    return Fault(path, _words(detail, model, keys[0] if keys else ""))


def _words(detail: ErrorDetails, model: type[BaseModel], key: str) -> str:
    given = shown_value(detail["input"])
    context = detail.get("ctx", {})
    match detail["type"]:
        case "nutgen":
            return str(context["text"])
        case "missing":
            return f"missing; {allowed_words(model, key)}"
        case "extra_forbidden":
            return unknown_key_words(str(detail["loc"][-1]), model.model_fields)
        case "literal_error":
            near = nearest(str(detail["input"]), literals(model, key))
            cure = f'; did you mean "{near}"?' if near else ""
            return f"{given} is not one of {allowed_words(model, key)}{cure}"
        case "greater_than_equal":
            return f"{given} is below {context['ge']}; {allowed_words(model, key)}"
        case "less_than_equal":
            return f"{given} is above {context['le']}; {allowed_words(model, key)}"
        case "string_too_short":
            return "is empty; write a few words"
        case "string_too_long":
            return f"has more than {context['max_length']} letters; shorten it"
        case "bool_type":
            return f"{given} is not true or false; write true or false, without quotes"
        case "int_type" | "int_from_float":
            return f"{given} is not a whole number; {allowed_words(model, key)}"
        case "string_type":
            return f'{given} is not text; put it in quotes, like "{detail["input"]}"'
        case "model_type" | "model_attributes_type":
            return f"{given} is not a table; write [{'.'.join(str(p) for p in detail['loc'])}]"
        case _:
            return f"{given}: {detail['msg'][0].lower()}{detail['msg'][1:]}"


def shown_value(value: object) -> str:
    """A value as it stands in the file, cut to a readable length."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, str):
        return f'"{value[:40]}"'
    return repr(value)[:40]


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word that is spelt most like this one; empty where none is near."""
    from difflib import get_close_matches

    return next(iter(get_close_matches(word.lower(), list(known), n=1, cutoff=0.5)), "")


def unknown_key_words(key: str, known: Iterable[str]) -> str:
    """What to say of a key that the file may not have."""
    near = nearest(key, known)
    return f"unknown key; did you mean {near}?" if near else f"unknown key; known are {', '.join(known)}"


def literals(model: type[BaseModel], key: str) -> list[str]:
    """The words that a field may hold; empty where it holds something else."""
    return [str(word) for word in _literal_args(model.model_fields[key].annotation)]


def _literal_args(annotation: Any) -> tuple[Any, ...]:
    words: tuple[Any, ...] = ()
    for part in get_args(annotation):
        words += (part,) if isinstance(part, str) and get_origin(annotation) is not None else _literal_args(part)
    return words


def allowed_words(model: type[BaseModel], key: str) -> str:
    """What a field may hold, in words."""
    field = model.model_fields[key]
    words = literals(model, key)
    if words:
        return ", ".join(f'"{word}"' for word in words)
    bounds = {type(m).__name__: m for m in field.metadata}
    if "Ge" in bounds and "Le" in bounds:
        return f"allowed is {bounds['Ge'].ge} to {bounds['Le'].le}"
    return f"write {key} = ... ({field.description})" if field.description else f"write {key} = ..."
