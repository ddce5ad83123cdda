"""Why something cannot be read or made: the exceptions that carry what a room found."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from nutgen.findings import Finding


class CannotBeMade(Exception):
    """A nut, or a file for one, that cannot be made.

    findings : every reason; a room that has no findings yet gives sentences
    """

    def __init__(self, findings: Iterable[Finding | str]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(self.reasons))

    @property
    def reasons(self) -> tuple[str, ...]:
        """Codes, and sentences of rooms that have no findings yet."""
        return tuple(one if isinstance(one, str) else one.code for one in self.findings)


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

    def __init__(self, source: str, faults: Iterable[Fault | Finding]) -> None:
        self.source = source
        self.faults: tuple[Any, ...] = tuple(faults)
        super().__init__(source)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Those faults that are findings."""
        return tuple(fault for fault in self.faults if isinstance(fault, Finding))

    def __str__(self) -> str:
        return "\n".join(
            f"{self.source}: {fault.code if isinstance(fault, Finding) else fault}" for fault in self.faults
        )


def path_of(parts: Iterable[str | int]) -> str:
    """A place in the file as a maker counts: strings[2] is the third table of strings from the bass.

    Indices count from 1 so that strings[1] is the first one listed.
    """
    text = ""
    for part in parts:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


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
