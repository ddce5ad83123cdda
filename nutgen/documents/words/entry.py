"""What the catalogue holds of one finding, and how its sentence is made."""

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


def alike(cause: str, cure: str, says: Mapping[str, Sentence]) -> dict[str, Entry]:
    """Codes that share cause and cure, each with its own sentence."""
    return {code: Entry(sentence, cause, cure) for code, sentence in says.items()}


def who(about: Sequence[Subject]) -> str:
    """Whom a finding is about, as its sentence begins."""
    strings = [subject for subject in about if subject.kind == "string"]
    if len(strings) == 1:
        return f"string {strings[0].number} ({strings[0].name})"
    steps = {(b.number or 0) - (a.number or 0) for a, b in pairwise(strings)}
    if len(strings) > 2 and len(steps) == 1 and steps <= {1, -1}:
        return f"strings {strings[0].number} to {strings[-1].number} ({strings[0].name} to {strings[-1].name})"
    if strings:
        *first, last = (str(subject.number) for subject in strings)
        return f"strings {', '.join(first)} and {last} ({', '.join(subject.name for subject in strings)})"
    return ", ".join(subject.name for subject in about)
