"""A number as a person reads it: the one place where mm become the reader's units.

| kind        | what                                        | mm   | in                      |
|-------------|---------------------------------------------|------|-------------------------|
| setting_out | marked or sawn by caliper and rule          | 0.01 | .001                    |
| leaf        | decided by a feeler leaf, a file stroke     | 0.01 | .0005                   |
| fine        | below a leaf: error of a stack, a layer     | .001 | .0001                   |
| spare       | room left: never more than there is         | 0.01 | .001                    |
| short       | what is missing: never less than it is      | 0.01 | .001                    |
| gauge       | of a string; the trade says inches always   | in   | .0001                   |
| area        | of a saw cut; inside mm2                    | cm2  | in2, both to .1         |
| radius      | of a board, a top, an arch                  | 1    | .01                     |
| given       | as a maker would write it, six digits       | 6    | 6                       |
| limit       | of common practice, said short              | 0.01, ending zeros left out | .001 |
| at_least    | what is allowed: a limit never less than it is | 0.01, ending zeros left out | .001 |
| at_most     | what is allowed: one never more than it is  | 0.01, ending zeros left out | .001 |
| stock       | raw material, marks on it                   | 0.1  | .01 (nearest 64th)      |
| machine     | set at a machine, which knows mm alone      | as given | mm, then .0001      |
| blank       | raw material wanted: never less than it is  | 0.1  | .01 (next 64th)         |

Where nothing else is said a half goes up, away from nothing: 1.8125 is 1.813 wherever it stands.
"""

import math
from dataclasses import dataclass
from typing import Literal

Units = Literal["mm", "in"]
Kind = Literal[
    "text", "setting_out", "leaf", "fine", "spare", "short", "gauge", "given", "limit", "at_least", "at_most",
    "stock", "blank", "machine", "radius", "area", "angle", "pull", "share", "count", "cents", "pitch", "time",
]  # fmt: skip

MM_PER_INCH = 25.4
_DUST = 1e-6
"""Of a last decimal: what conversion may lose of a half."""

DEGREE = "\N{DEGREE SIGN}"

_PLACES: dict[str, dict[Units, int]] = {
    "setting_out": {"mm": 2, "in": 3},
    "leaf": {"mm": 2, "in": 4},
    "fine": {"mm": 3, "in": 4},
    "spare": {"mm": 2, "in": 3},
    "short": {"mm": 2, "in": 3},
    "stock": {"mm": 1, "in": 2},
    "blank": {"mm": 1, "in": 2},
    "radius": {"mm": 0, "in": 2},
    "limit": {"mm": 2, "in": 3},
    "at_least": {"mm": 2, "in": 3},
    "at_most": {"mm": 2, "in": 3},
}

_WEARS: dict[str, Kind] = {
    "_deg": "angle",
    "_n": "pull",
    "_share": "share",
    "_cents": "cents",
    "_hz": "pitch",
    "_ratio": "count",
    "_fret": "count",
    "_mm2": "area",
}


def kind_of_name(name: str) -> Kind:
    """What a value is by the unit that its name wears; a length where it wears none."""
    return next((kind for suffix, kind in _WEARS.items() if name.endswith(suffix)), "setting_out")


def figures(value: float, kind: Kind, units: Units, *, sign: bool = False, places: int | None = None) -> str:
    """A number without its unit, as a column of a table shows it.

    value : mm for lengths, else as the kind says
    sign  : show a plus too; nothing is neither
    places: of decimals in mm, where the kind's own do not serve; inches have one more
    """
    shown, usual = _shown(value, kind, units)
    if kind in ("limit", "at_least", "at_most") and units == "mm":
        shown, usual = rounded(shown, 2), None
    if usual is None:
        return f"{shown:{'+' if sign else ''}g}"
    digits = usual if places is None else places + (kind in _PLACES and units == "in")
    number = rounded(shown, digits) + 0.0
    text = f"{number:{'+' if sign and number else ''}.{digits}f}"
    if kind in ("stock", "blank") and units == "in":
        return f"{text} ({sixty_fourths(value, up=kind == 'blank')})"
    return f"{text}%" if kind == "share" else text


def rounded(value: float, places: int) -> float:
    """A number to so many decimals, a half away from nothing, even where it misses the half by a binary digit."""
    steps = 10.0**places
    return math.copysign(math.floor(abs(value) * steps + 0.5 + _DUST) / steps, value) if math.isfinite(value) else value


def _shown(value: float, kind: Kind, units: Units) -> tuple[float, int | None]:
    """The value in its unit, and its usual places of decimals."""
    if kind == "given":
        return float(f"{value if units == 'mm' else value / MM_PER_INCH:.6g}"), None
    if kind in _PLACES:
        places = _PLACES[kind][units]
        return _stepped(value if units == "mm" else value / MM_PER_INCH, kind, units, 10.0**places), places
    match kind:
        case "gauge":
            return value / MM_PER_INCH, 4
        case "angle" | "cents" | "pull" | "pitch":
            return value, 1
        case "share":
            return 100.0 * value, 0
        case "area":
            return value / (100.0 if units == "mm" else MM_PER_INCH**2), 1
        case _:
            return value, None


def _stepped(shown: float, kind: Kind, units: Units, per_unit: float) -> float:
    """Room and what is most rounded down, what is missing or least up, inches by a leaf in steps of .0005.

    per_unit : steps of the last decimal in one of the unit
    """
    if not math.isfinite(shown):
        return shown
    match kind:
        case "spare" | "at_most":
            return math.floor(shown * per_unit + 1e-4) / per_unit
        case "short":
            return max(1.0, math.ceil(shown * per_unit - 1e-4)) / per_unit
        case "leaf" if units == "in":
            return rounded(shown * 2000.0, 0) / 2000.0
        case "blank" | "at_least":
            return math.ceil(shown * per_unit - 1e-4) / per_unit
        case _:
            return shown


def unit_of(kind: Kind, units: Units) -> str:
    """The unit that stands behind a number, or in the head of its column."""
    if kind == "given" or kind in _PLACES:
        return units
    if kind == "area":
        return f"{'cm' if units == 'mm' else 'in'}\N{SUPERSCRIPT TWO}"
    return {"gauge": "in", "angle": DEGREE, "pull": "N", "cents": "cents", "pitch": "Hz"}.get(kind, "")


def quantity(value: float, kind: Kind, units: Units, *, sign: bool = False, places: int | None = None) -> str:
    """A number with its unit, as it stands in a sentence; raw stock in inches has its 64th beside it.

    What is set at a machine stays in mm, and has its inches beside it for who reads those.
    """
    if kind == "machine":
        beside = f" ({quantity(value, 'fine', units)})" if units == "in" else ""
        return f"{value:g} mm{beside}"
    number = figures(value, kind, units, sign=sign, places=places)
    unit = unit_of(kind, units)
    return f"{number}{'' if unit in ('', DEGREE) else ' '}{unit}"


def sixty_fourths(value: float, *, up: bool = False) -> str:
    """The nearest 64th of an inch, or the next one up, reduced: 1 5/8."""
    count = abs(value) / MM_PER_INCH * 64.0
    count = math.ceil(count - 1e-4) if up else int(rounded(count, 0))
    whole, part = divmod(count, 64)
    if not part:
        return f"{whole}"
    common = math.gcd(part, 64)
    fraction = f"{part // common}/{64 // common}"
    return f"{whole} {fraction}" if whole else fraction


@dataclass(frozen=True, slots=True)
class Said:
    """A value in a sentence. `{wall}` has its unit; `{wall:leaf}` is of that kind, `{wall:bare}` has no unit,
    `{wall:+}` shows its sign, `{wall:.1}` its decimals; several go together with commas: `{wall:leaf,+,bare}`.
    """

    value: float
    kind: Kind
    units: Units

    def __format__(self, spec: str) -> str:
        kind, bare, sign, places = self.kind, False, False, None
        for word in filter(None, spec.split(",")):
            match word:
                case "bare":
                    bare = True
                case "+":
                    sign = True
                case _ if word.startswith("."):
                    places = int(word[1:])
                case _:
                    kind = _kind(word)
        if bare:
            return figures(self.value, kind, self.units, sign=sign, places=places)
        return quantity(self.value, kind, self.units, sign=sign, places=places)


@dataclass(frozen=True, slots=True)
class Between:
    """Two values in a sentence, written as one where they read alike: "0.24 to 0.29 mm"."""

    least: Said
    most: Said

    def __format__(self, spec: str) -> str:
        low, high = format(self.least, spec), format(self.most, spec)
        return high if low == high else f"{self.least:{','.join(filter(None, (spec, 'bare')))}} to {high}"


def _kind(word: str) -> Kind:
    for kind in Kind.__args__:  # type: ignore[attr-defined]
        if kind == word:
            return kind
    raise ValueError(f"no kind of quantity is called {word}")
