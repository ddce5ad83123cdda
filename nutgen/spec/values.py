"""What a value of the file turns into at the door: lengths in mm, values that run across the nut."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4}
_UNIT_WORDS = {'"': "in", "″": "in", "inch": "in", "inches": "in"} | {unit: unit for unit in MM_PER}

_TEXT = re.compile(
    r"""^\s* (?P<sign>[-+]?) \s*
        (?: (?P<whole>\d+) [\s-]+ (?=\d+\s*/) )?
        (?: (?P<top>\d+) \s*/\s* (?P<bottom>\d+) | (?P<decimal>\d*\.?\d+ | \d+\.) )
        \s* (?P<unit>[a-z"″]*) \s*$""",
    re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Written:
    """A length as the maker wrote it: the number, its unit, and the same in mm."""

    number: float
    unit: str
    mm: float


def read_length(value: object, unit: str) -> Written:
    """A number in `unit`, or text with a unit of its own, as a length.

    value  : number, or text such as "0.3 mm", "1 5/8 in", '4/64"'
    unit   : unit of a bare number, "mm" or "in"
    raises : ValueError saying what a length may look like

    1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError('is not a length; write a number, or text such as "0.3 mm" or "1 5/8 in"')
    if isinstance(value, str):
        number, unit = _read_text(value, unit)
    else:
        number = float(value) if abs(value) < 1e12 else math.inf
    if not math.isfinite(number):
        raise ValueError("is not a finite number; write the measured length")
    return Written(number, unit, number * MM_PER[unit])


def _read_text(text: str, unit: str) -> tuple[float, str]:
    match = _TEXT.match(text.strip().lower()) if len(text) < 80 else None
    if match is None:
        comma = " (a point, not a comma)" if "," in text else ""
        raise ValueError(f'is not a length; write it like "0.3 mm" or "1 5/8 in"{comma}')
    word = match["unit"]
    if word and word not in _UNIT_WORDS:
        raise ValueError(f'has an unknown unit "{word}"; use mm, cm or in')
    if match["top"]:
        if int(match["bottom"]) == 0:
            raise ValueError("divides by zero")
        number = float(int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"])))
    else:
        number = float(match["decimal"])
    return math.copysign(number, -1.0 if match["sign"] == "-" else 1.0), _UNIT_WORDS.get(word, unit)


@dataclass(frozen=True, slots=True)
class Across:
    """A value across the nut: one for all, a pair that runs linearly in x, or one a string.

    values    : (value,), (bass, treble), or one a string from the bass
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
    """Where a string meets its tuner post, in the nut's frame.

    y    : from the front face toward the headstock [mm]
    x    : from the centre line, bass side negative [mm]
    drop : from the board surface, carried on straight, down to the string's underside [mm]
    """

    y: float
    x: float
    drop: float
