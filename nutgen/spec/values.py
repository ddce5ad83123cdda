"""What a value of the file turns into: lengths in mm, values that run across the nut."""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import NamedTuple

from nutgen.errors import Unreadable
from nutgen.finding import echoed

MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4}
"""1 in = 25.4 mm exactly (international yard and pound agreement, 1959)."""

DIGITS = 9
"""Of what is summed from readings, in mm: the rest is what binary numbers miss of decimal ones."""

_UNIT_WORDS = {'"': "in", "″": "in", "inch": "in", "inches": "in"} | {unit: unit for unit in MM_PER}

_TEXT = re.compile(
    r"""^\s* (?P<sign>[-+]?) \s*
        (?: (?P<whole>\d+) (?:\s+|-) (?=\d+\s*/) )?
        (?: (?P<top>\d+) \s*/\s* (?P<bottom>\d*[1-9]\d*) | (?P<decimal>\d*\.?\d+ | \d+\.) )
        \s* (?P<unit>[a-z"″]*) \s*$""",
    re.VERBOSE | re.ASCII,
)
_PLAIN_NUMBER = re.compile(r"\s*[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?\s*", re.ASCII | re.IGNORECASE)


def path_of(parts: Iterable[str | int]) -> str:
    """A place in the file as a maker counts: strings[2] is the second string from the bass."""
    text = ""
    for part in parts:
        text += f"[{part + 1}]" if isinstance(part, int) else "." * bool(text) + _key(part)
    return text


def _key(name: str) -> str:
    """A key as it may be shown: in quotes where it is none that is plain, and cut to a readable length."""
    return name if re.fullmatch(r"[\w-]{1,40}", name, re.ASCII) else f'"{echoed(name, 40)}"'


def shown_value(value: object) -> str:
    """A value as it stands in the file, cut to a readable length."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, str):
        return f'"{echoed(value, 40)}"'
    try:
        return echoed(repr(value), 40)
    except ValueError:  # a whole number, or one in a list, of more digits than Python writes out
        return "a number of thousands of digits"


def plain_number(text: str) -> float:
    """A number in figures 0 to 9, with or without a point and an exponent; raises ValueError."""
    if not _PLAIN_NUMBER.fullmatch(text):
        raise ValueError(text)
    return float(text)


def shown(number: float) -> str:
    """A number as a maker would write it, six digits at most."""
    return f"{number:.6g}"


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word that is spelt most like this one; empty where none is near."""
    return next(iter(get_close_matches(word.lower(), list(known), n=1, cutoff=0.5)), "")


class Sheet(NamedTuple):
    """A leaf of one's own: paper, card or the like, by its name [mm]."""

    name: str
    thickness: float


class BareUnits(NamedTuple):
    """The units of bare numbers in a file, and the sheets and wires that a gap in it may be filled with [mm]."""

    lengths: str = "mm"
    gauges: str = "in"
    sheets: tuple[Sheet, ...] = ()
    wires: tuple[float, ...] = ()


class WrittenLength(NamedTuple):
    """A length as the maker wrote it: the number, its unit, and the same in mm."""

    number: float
    unit: str
    mm: float


def read_length(value: object, unit: str) -> WrittenLength:
    """A number in `unit`, or text with a unit of its own, as a length.

    value  : number, or text such as "0.3 mm", "1 5/8 in", '4/64"'
    unit   : unit of a bare number, "mm" or "in"
    raises : Unreadable, which says what a length may look like
    """
    written = shown_value(value)
    if isinstance(value, str):
        number, unit = _read_text(value, unit)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        number = float(value) if abs(value) < 1e12 else math.inf
    else:
        raise Unreadable("reading.not-a-length", written=written)
    if not math.isfinite(number):
        raise Unreadable("reading.not-finite", written=written)
    return WrittenLength(number, unit, number * MM_PER[unit])


def _read_text(text: str, unit: str) -> tuple[float, str]:
    match = _TEXT.match(text.strip().lower()) if len(text) < 80 else None
    if match is None:
        raise Unreadable("reading.not-a-length", written=shown_value(text), comma="," in text)
    word = match["unit"]
    if word and word not in _UNIT_WORDS:
        raise Unreadable("reading.unknown-unit", written=shown_value(text), unit=word, allowed=tuple(MM_PER))
    if match["top"]:
        number = float(int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"])))
    else:
        number = float(match["decimal"])
    return math.copysign(number, -1.0 if match["sign"] == "-" else 1.0), _UNIT_WORDS.get(word, unit)


@dataclass(frozen=True, slots=True)
class Across:
    """A value across the nut: one for all, a pair that runs linearly in x, or one a string.

    values    : (value,), (bass, treble), or one a string from the bass; (bass, middle, treble) of the fret plane, which
                the seat carries between them
    each      : True where the values are one a string
    """

    values: tuple[float, ...]
    each: bool = False

    def at(self, shares: Sequence[float]) -> list[float]:
        """One value a string, at its share of the way from the bass end (0) to the treble end (1)."""
        if self.each:
            return list(self.values)
        bass, treble = self.values[0], self.values[-1]
        return [bass + (treble - bass) * share for share in shares]

    @property
    def bass(self) -> float:
        """The value at the bass end."""
        return self.values[0]

    @property
    def treble(self) -> float:
        """The value at the treble end."""
        return self.values[-1]


class OnFret(NamedTuple):
    """A length that was read at a fret [mm]."""

    fret: int
    height: float


@dataclass(frozen=True, slots=True)
class ByKind:
    """A value for wound strings and one for plain strings."""

    wound: float
    plain: float

    def of(self, *, wound: bool) -> float:
        """The value for one string."""
        return self.wound if wound else self.plain


@dataclass(frozen=True, slots=True)
class Post:
    """Where a string meets its tuner post, in the neck's frame.

    y    : along the centre line, from where it crosses the front face toward the headstock [mm]
    x    : square to the centre line, bass side negative [mm]
    drop : from the board surface, carried on straight, down to the string's underside [mm]
    """

    y: float
    x: float
    drop: float
