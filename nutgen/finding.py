"""What a room has to say, as data: never a sentence, always a code, whom it is about, and numbers.

`nutgen/documents/words` makes the sentences; tests and programs look at code and values.
"""

import unicodedata
from dataclasses import dataclass
from typing import Literal, NamedTuple, TypeAlias

Severity = Literal["refusal", "warning", "remedy", "caution", "step", "note", "assumption"]

Value: TypeAlias = "bool | int | float | str | Finding | tuple[Value, ...]"
"""A float is mm unless its name wears a unit: `slant_deg`, `pull_n`, `buried_share`. An int is a count."""


_UNSHOWN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")


def unshowable(text: str) -> str:
    """The first letter that steers a terminal, breaks a line or shows nothing; empty where there is none."""
    unknown = "\N{REPLACEMENT CHARACTER}"
    if text.isprintable() and unknown not in text:
        return ""
    return next((one for one in text if one == unknown or unicodedata.category(one) in _UNSHOWN), "")


def echoed(text: str, most: int = 0) -> str:
    """What came from outside as it may be shown: letters as in `unshowable` by their numbers, on one line.

    most : letters beyond which the middle is left out; 0 shows all
    """
    if most and len(text) > most:
        text = f"{text[: most // 2]} ... {text[len(text) - most // 2 :]}"
    if not unshowable(text):
        return text
    return "".join(one.encode("unicode_escape").decode() if unshowable(one) else one for one in text)


class Span(NamedTuple):
    """The least and the greatest value of findings that are told as one."""

    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Subject:
    """Whom a finding is about.

    kind : "string" (number, note), "stage" (number, name), "key" (a path in the file), "file", "size", "piece", ...
    """

    kind: str
    name: str = ""
    number: int | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to say.

    code     : stable, "room.what-is-so": `slots.break-into-each-other`; the catalogue of words knows it
    severity : what it does to the job
    about    : strings, keys, stages, files; empty where it is about the whole nut
    values   : name and value, in the order in which they are told; a refusal of a reading
               also keeps `written`, `allowed` and `likely`
    """

    code: str
    severity: Severity
    about: tuple[Subject, ...] = ()
    values: tuple[tuple[str, Value], ...] = ()

    def __str__(self) -> str:
        """Whom it is about, its code and its values: for tracebacks, not for makers."""
        about = "".join(f"{who.name or who.number}: " for who in self.about)
        values = ", ".join(f"{name} {value}" for name, value in self.values)
        return f"{about}{self.code}{f' ({values})' if values else ''}"

    def value(self, name: str) -> Value:
        """One value by its name; KeyError where there is none."""
        return dict(self.values)[name]

    @property
    def strings(self) -> tuple[int, ...]:
        """Numbers of the strings it is about."""
        return tuple(who.number for who in self.about if who.kind == "string" and who.number is not None)


def warning(code: str, *about: Subject, **values: Value) -> Finding:
    """Something that will play or make badly."""
    return Finding(code, "warning", about, tuple(values.items()))


def refusal(code: str, *about: Subject, **values: Value) -> Finding:
    """A reason why it cannot be made or read."""
    return Finding(code, "refusal", about, tuple(values.items()))


def remedy(code: str, *about: Subject, **values: Value) -> Finding:
    """A way back, or what to do about something."""
    return Finding(code, "remedy", about, tuple(values.items()))


def caution(code: str, *about: Subject, **values: Value) -> Finding:
    """What can hurt."""
    return Finding(code, "caution", about, tuple(values.items()))


def step(code: str, *about: Subject, **values: Value) -> Finding:
    """Something to do at the bench, in its place among others."""
    return Finding(code, "step", about, tuple(values.items()))


def note(code: str, *about: Subject, **values: Value) -> Finding:
    """Something worth knowing."""
    return Finding(code, "note", about, tuple(values.items()))


def assumption(code: str, *about: Subject, **values: Value) -> Finding:
    """Something that the file does not say and that was taken for granted."""
    return Finding(code, "assumption", about, tuple(values.items()))


def of_string(number: int, note: str) -> Subject:
    """A string by the trade's count and its note."""
    return Subject("string", note, number)


def of_key(path: str) -> Subject:
    """A place in the maker's file."""
    return Subject("key", path)
