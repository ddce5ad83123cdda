"""Words with values in them, not yet formatted: a length is a float in mm until a painter writes it."""

from collections.abc import Sequence
from dataclasses import dataclass
from string import Formatter
from typing import TypeAlias

from nutgen.documents.words.quantities import Kind
from nutgen.finding import Finding, Value


@dataclass(frozen=True, slots=True)
class Cell:
    """A value and what it is.

    value  : mm for lengths, else as the kind says; None where there is none
    sign   : show a plus too
    places : of decimals, where the kind's own do not serve
    none   : shown where there is no value, or one that is not finite
    """

    value: float | int | str | None
    kind: Kind = "text"
    sign: bool = False
    places: int | None = None
    none: str = "-"


@dataclass(frozen=True, slots=True)
class Phrase:
    """A template of words over values, as the catalogue has them: "{wall}", "{gap:leaf,bare}", "{units}"."""

    template: str
    values: tuple[tuple[str, Value], ...] = ()


@dataclass(frozen=True, slots=True)
class Run:
    """Texts one after the other.

    between : what stands between two of them
    capital : begins with a capital letter
    """

    parts: "tuple[Text, ...]"
    between: str = ""
    capital: bool = False


@dataclass(frozen=True, slots=True)
class Labelled:
    """Words after a label that stands out: "Papers:", "Take care:"."""

    label: "Text"
    text: "Text"


Text: TypeAlias = str | Cell | Phrase | Run | Labelled | Finding
"""Words for a painter to write; a cell in them wears its unit."""


def phrase(template: str, *of: object, **values: Value) -> Phrase:
    """A template of words with its values; floats are mm unless their name wears a unit.

    of : what the template tells of: names that are not given are its attributes
    """
    names = dict.fromkeys(name for _, name, _, _ in Formatter().parse(template) if name) if of else {}
    found = {name: getattr(one, name) for one in of for name in names if hasattr(one, name)}
    return Phrase(template, tuple((found | values).items()))


def capital(text: Text) -> Run:
    """The same words, beginning with a capital letter."""
    return Run((text,), capital=True)


def extent(sizes: Sequence[float], kind: Kind = "setting_out") -> Phrase:
    """Length, thickness and height: "46.04 × 6.35 × 5.64 mm"."""
    *first, last = (f"{{s{index}:{kind}" for index in range(len(sizes)))
    template = " \N{MULTIPLICATION SIGN} ".join([*(f"{one},bare}}" for one in first), f"{last}}}"])
    return Phrase(template, tuple((f"s{index}", size) for index, size in enumerate(sizes)))
