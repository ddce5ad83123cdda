"""The instrument file that a draft makes: plain values, then commented TOML."""

import json
from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from itertools import dropwhile
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT, Item, Table

from nutgen.ask.draft import Draft
from nutgen.ask.question import Path, Question
from nutgen.ask.questions import every_question
from nutgen.spec.tables import Spec
from nutgen.spec.values import path_of
from nutgen.spec.ways import WAYS

OF_THE_KIND_ALONE = ("before", "old_nut", "dry_fit", "trial")
"""Tables of a kind's file that say something of its own instrument."""

HEAD = "# Measured on the instrument, question by question. Every value may be edited.\n"
COMMENT_AT = 35


def values_of(draft: Draft) -> dict[str, Any]:
    """The file as plain values: the kind's, in the maker's units, with the answers in their places.

    raises : ValueError where an answer cannot be read
    """
    raw = _in_units(draft)
    raw["strings"] = [dict(raw["strings"][0]) for _ in range(draft.count)]
    asked = every_question(draft)
    for one in asked:
        if one.path and (draft.given(one.key) or not one.may_skip) and (draft.given(one.key) or one.default):
            _put(raw, one, draft)
        elif one.may_skip:
            _leave_out(raw, one.path)
    missing = dict.fromkeys(
        _written(one) for one in asked if one.reading and not one.may_skip and not draft.given(one.key)
    )
    return _without_contradictions(raw, draft, list(missing))


def _written(asked: Question) -> str:
    """The path of a reading in the file: a pair is one."""
    return path_of(asked.path if asked.path[0] == "strings" else asked.path[:2])


def _leave_out(raw: dict[str, Any], path: Path) -> None:
    """Take out what the kind has of a reading that may be left out; its table too, where nothing else is in it."""
    first, *rest = path
    held = raw.get(str(first))
    if rest and isinstance(held, dict):
        _leave_out(held, tuple(rest))
    if not rest or (len(rest) == 1 and not isinstance(held, dict)) or held == {}:
        raw.pop(str(first), None)


def _in_units(draft: Draft) -> dict[str, Any]:
    """The kind's values; where the maker uses the other unit, its lengths wear their own."""
    raw: dict[str, Any] = deepcopy({key: value for key, value in draft.kind.items() if key not in OF_THE_KIND_ALONE})
    written_in = raw.get("units", "mm")
    if written_in != draft.units:
        for table, key in _lengths():
            if table in raw and key in raw[table]:
                raw[table][key] = _worn(raw[table][key], written_in)
    raw["units"] = draft.units
    return raw


def _lengths() -> Iterator[tuple[str, str]]:
    """Table and key of every length that a file may hold."""
    schema = Spec.json_schema()
    for table, place in schema["properties"].items():
        keys = schema["$defs"].get(place.get("$ref", "").rpartition("/")[2], {}).get("properties", {})
        yield from ((table, key) for key, one in keys.items() if "x-range-mm" in json.dumps(one))


def _worn(value: Any, unit: str) -> Any:
    if isinstance(value, dict):
        return {key: _worn(item, unit) for key, item in value.items()}
    if isinstance(value, list):
        return [_worn(item, unit) for item in value]
    return f"{value} {unit}" if isinstance(value, int | float) else value


def _put(raw: dict[str, Any], asked: Question, draft: Draft) -> None:
    value = asked.read(draft.given(asked.key) or asked.default)
    *tables, last = asked.path
    if asked.path[0] == "strings" and len(asked.path) == 2:
        index = int(asked.path[1])
        raw["strings"][index] = _string(value, draft, index)
        return
    place: Any = raw
    for part in tables:
        if isinstance(part, int):
            place = place[part]
        else:
            if not isinstance(place.get(part), dict | list):
                place[part] = {}
            place = place[part]
    if value is None:
        place.pop(last, None)
    else:
        place[last] = value


def _string(value: Mapping[str, Any], draft: Draft, index: int) -> dict[str, Any]:
    """A string as answered; the rest of the kind's own where it is the same string, its wrap's metal in any gauge."""
    kind = draft.kind_table(index) or {}
    same = all(kind.get(key) == value.get(key) for key in ("note", "gauge", "wound", "material"))
    kept = {key: item for key, item in kind.items() if key != "post"} if same else {}
    if "wrap_metal" in kind and value.get("wound") and value.get("material") == kind.get("material"):
        kept["wrap_metal"] = kind["wrap_metal"]
    return {**kept, **value}


def _without_contradictions(raw: dict[str, Any], draft: Draft, missing: list[str]) -> dict[str, Any]:
    """Leave out what the answers have made void.

    missing : paths of the readings that were not taken
    """
    if draft.word("seat") == "surface":
        for key in ("depth", "fret_plane", "floor"):
            raw["seat"].pop(key, None)
    if raw["seat"].get("floor") == "flat" and "seat.floor" not in missing:
        raw["seat"].pop("floor")
    if plane := _plane(raw["seat"].get("fret_plane"), draft):
        raw["seat"]["fret_plane"] = plane
    else:
        raw["seat"].pop("fret_plane", None)
    raw["spacing"]["rule"] = draft.word("spacing")
    if draft.word("spacing") == "measured":
        raw["spacing"].pop("margin", None)
        raw["spacing"].pop("course_gap", None)
    else:
        raw["spacing"].pop("measured", None)
    setup = raw.get("setup", {})
    if setup.get("action_now") == setup.get("action") and "setup.action_now" not in missing:
        setup.pop("action_now", None)
    if draft.word("behind the nut") == "posts":
        raw["headstock"] = {key: value for key, value in raw.get("headstock", {}).items() if key != "break_angle_deg"}
    if raw.get("material") == "bone":
        raw.pop("material")
    raw["not_measured"] = [path for path in missing if _stands(raw, path)]
    return {key: value for key, value in raw.items() if value not in ({}, [])}


def _plane(read: Any, draft: Draft) -> Any:
    """The fret plane as the file holds it: of two edges one alone where only one was read; None where none was."""
    if not isinstance(read, dict):
        return read
    if draft.by_pencil:
        line = _of_edges(read.get("pencil"))
        return {"pencil": line, "lead": read.get("lead")} if line else None
    return _of_edges(read)


def _of_edges(read: Any) -> Any:
    return next(iter(read.values())) if isinstance(read, dict) and len(read) == 1 else read


def _stands(raw: Mapping[str, Any], path: str) -> bool:
    """Whether a path leads to a value: a key of a table, or a string's post."""
    table, _, key = path.partition(".")
    if table.startswith("strings["):
        return key in raw["strings"][int(table[len("strings[") : -1]) - 1]
    return key in raw.get(table, {})


def toml_of(raw: Mapping[str, Any], *, kind_text: str) -> str:
    """Plain values as a commented instrument file.

    kind_text : the kind's own file, whose comments stay beside the keys; what it says of itself above them goes
    """
    body = dropwhile(lambda line: line.startswith("#"), kind_text.splitlines(keepends=True))
    document = tomlkit.parse("".join([HEAD, *body]))
    _write(document, raw)
    for key in WAYS:
        table, name = key.split(".")
        value = raw.get(table, {}).get(name)
        if isinstance(value, dict) and not {"bass", "treble"} & set(value):
            trivia = document[table][name].trivia
            trivia.comment = trivia.comment_ws = ""  # it tells of another way
    return tomlkit.dumps(document)


def with_table(text: str, name: str, values: Mapping[str, Any]) -> str:
    """The text of a file with one table anew; comments, and all else that stands in it, stay as they are.

    raises : ValueError where the text is no TOML
    """
    document = tomlkit.parse(text)
    if not isinstance(document.get(name), Table):
        document.pop(name, None)
        document.add(tomlkit.nl())
        document.add(name, tomlkit.table())
    table = document[name]
    assert isinstance(table, Table)
    _write(table, values)
    return tomlkit.dumps(document)


def _write(table: TOMLDocument | Table, values: Mapping[str, Any]) -> None:
    """Put values in the places of a table's own, and take out what is not among them."""
    for key in [key for key in table if key not in values]:
        table.remove(key)
    for key, value in values.items():
        here = table.get(key)
        if isinstance(here, Table) and isinstance(value, dict):
            _write(here, value)
        elif key == "strings":
            table[key] = _strings(value)
        elif here is None and isinstance(value, dict) and isinstance(table, TOMLDocument):
            table.add(tomlkit.nl())
            table.add(key, tomlkit.table())
            _write(table[key], value)
        elif here is None or here.unwrap() != value:
            written = _item(value)
            if here is not None and here.trivia.comment:
                written.trivia.comment_ws = " " * max(2, COMMENT_AT - len(f"{key} = {written.as_string()}"))
            table[key] = written


def _strings(values: Sequence[Mapping[str, Any]]) -> AoT:
    strings = tomlkit.aot()
    for index, string in enumerate(values):
        table = tomlkit.table()
        table.update({key: _item(value) for key, value in string.items()})
        if index == 0:
            table.comment("bass to treble").trivia.comment_ws = " " * (COMMENT_AT - len("[[strings]]"))
        strings.append(table)
    return strings


def _item(value: Any) -> Item:
    """A value as it stands in the file; a table within a table on one line."""
    if not isinstance(value, Mapping):
        return tomlkit.item(value)
    return tomlkit.value(f"{{ {', '.join(f'{key} = {_item(inner).as_string()}' for key, inner in value.items())} }}")
