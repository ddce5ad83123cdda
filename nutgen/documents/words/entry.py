"""What the catalogue holds of one finding, and how its sentence is made."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from nutgen.documents.words.quantities import Between, Said, Units, kind_of_name
from nutgen.finding import Finding, Span, Subject, Value, echoed


@dataclass(frozen=True, slots=True)
class Told:
    """A finding on its way into a sentence: `t["wall"]` and `{wall}` are values that know their unit.

    `{who}` is whom it is about, `{units}` the reader's units in words.
    """

    finding: Finding
    units: Units
    sentence: Callable[[Finding, Units], str]

    def __getitem__(self, name: str) -> Any:
        if name == "who":
            return who(self.finding.about)
        if name == "units":
            return {"mm": "mm", "in": "inches"}[self.units]
        return self._said(name, self.finding.value(name))

    def _said(self, name: str, value: Value) -> Any:
        match value:
            case bool() | int():
                return value
            case str():
                return echoed(value)
            case float():
                return Said(value, kind_of_name(name), self.units)
            case Span(least, most):
                return Between(self._said(name, least), self._said(name, most))
            case Finding():
                return self.sentence(value, self.units)
            case _:
                return tuple(self._said(name, item) for item in value)

    def raw(self, name: str) -> Any:
        """A value as it stands in the finding, to decide by; None where there is none."""
        return dict(self.finding.values).get(name)

    def fill(self, template: str) -> str:
        """A template with its values in place."""
        return template.format_map(self)


Sentence = str | Callable[[Told], str]


@dataclass(frozen=True, slots=True)
class Entry:
    """One code of the catalogue.

    says  : the sentence: a template over the finding's values and `{who}`, or a function where it has branches
    cause : why it comes up, in general
    cure  : what to do about it, in general; empty where there is nothing to do
    """

    says: Sentence
    cause: str
    cure: str = ""


def entries(prose: str) -> dict[str, Entry]:
    """Entries as they are read: each code on a line, below it, further in, what it says, "cause:" and "cure:"."""
    found = {}
    for part in re.split(r"\n(?=\S)", prose.strip()):
        code, *lines = part.split("\n")
        says, _, rest = " ".join(line.strip() for line in lines).partition(" cause: ")
        cause, _, cure = rest.partition(" cure: ")
        found[code] = Entry(says, cause, cure)
    return found


def alike(cause: str, cure: str, says: Mapping[str, Sentence]) -> dict[str, Entry]:
    """Codes that share cause and cure, each with its own sentence."""
    return {code: Entry(sentence, cause, cure) for code, sentence in says.items()}


def who(about: Sequence[Subject]) -> str:
    """Whom a finding is about, as its sentence begins."""
    strings = [subject for subject in about if subject.kind == "string"]
    if len(strings) == 1:
        return f"string {strings[0].number} ({strings[0].name})"
    if strings:
        numbers = numbered([subject.number or 0 for subject in strings])
        names = [subject.name for subject in strings]
        return f"strings {numbers} ({f'{names[0]} to {names[-1]}' if ' to ' in numbers else ', '.join(names)})"
    return ", ".join(subject.name for subject in about)


def numbered(numbers: Sequence[int]) -> str:
    """Two numbers or more: "1 to 4" where they follow one another, either way, "1, 2 and 4" elsewhere."""
    if len(numbers) > 2 and {b - a for a, b in pairwise(numbers)} in ({1}, {-1}):
        return f"{numbers[0]} to {numbers[-1]}"
    *first, last = map(str, numbers)
    return f"{', '.join(first)} and {last}"


ARRAYS = ("strings", "drones", "before.strings", "stations")
"""Keys that a file writes as one table each, under [[...]]."""


def table_named(key: str) -> str:
    """A table as its first line names it in the file."""
    return f"[[{key}]]" if key in ARRAYS else f"[{key}]"
