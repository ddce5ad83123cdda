"""Files of the kinds with some values changed, each named by its key."""

import pickle
import tomllib
from collections.abc import Mapping
from functools import cache
from typing import Any

import tomlkit

from nutgen.spec.presets import kind_names, kind_path


def without(*tables: str) -> list[str]:
    """The kinds whose files have none of some tables: without `lap` strings are pressed on frets, without `zero_fret`
    too they start on the nut, so that leaves over fret 1 tell of its slots."""
    read = {kind: tomllib.loads(kind_path(kind).read_text("utf-8")) for kind in kind_names()}
    return [kind for kind, said in read.items() if said.keys().isdisjoint(tables)]


@cache
def _read(kind: str) -> bytes:
    """The file of a kind as tomlkit reads it, pickled, which is ten times faster to have anew than read again."""
    return pickle.dumps(tomlkit.parse(kind_path(kind).read_text("utf-8")))


def text_of(kind: str, changes: Mapping[str, Any] | None = None, more: str = "") -> str:
    """The file of a kind as text, changed and with more lines behind it.

    changes : new values by key, `"fretboard.width": 14.0`, `"strings.0.gauge": 85` (0 is bass-most), and
    tables that the kind leaves out, `"pluck": {"height": 6.0}`; None takes a key away
    """
    document = pickle.loads(_read(kind))
    for path, value in (changes or {}).items():
        *tables, key = path.split(".")
        table: Any = document
        for name in tables:
            table = table[int(name)] if name.isdigit() else table[name]
        if value is None:
            del table[key]
        else:
            table[key] = value
    return tomlkit.dumps(document) + more
