"""Ways of reading a key without its gauge: an inline table in the key's own place, turned into mm before the tables
are read.

    [setup]
    relief = { under_string = 0.25 }

After the door there is one plain value, its error in [errors] where the file has none, and a `Way` that tells both.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple

from nutgen.errors import Unreadable
from nutgen.finding import Finding, note, of_key
from nutgen.spec.fields import across_board, length, several
from nutgen.spec.stacks import Stack, read_stack
from nutgen.spec.toml_table import TomlTable, read_keys
from nutgen.spec.values import Across, BareUnits
from nutgen.theory.frets import nut_slant_deg
from nutgen.theory.readings import lift_of_pressed_string, middle_fret, radius_bounds, radius_by_gaps, relief_of_dip
from nutgen.theory.uncertainty import WITHIN_95

GAP_ERROR = 0.05  # mm; half-widths that hold 95 %, common practice, no source: a gap, by what just fills it
CHORD_ERROR = 0.5  # by ruler, inside the bevels of a fret
LINE_ERROR = 0.07  # caliper to the middle of a pencil line
LEAD_ERROR = 0.05  # the same line on a block
ROLL_ERROR = 0.05  # the pencil not lying quite flat on the frets, which are arched
STRINGS_SHARE = 0.88  # of the board's width, that the outer strings are apart along a slanted fret
FLATTEST = 3000.0  # mm; no board is so little arched and not flat
FLATTER_SHARE = 0.03  # of a board's radius: at fret 1 it may be flatter than at the nut
MOST_RADIUS_SHARE = 0.5  # that [errors] takes


class UnderString(TomlTable):
    """Relief under the thinnest string, pressed at fret 1 and at the last."""

    under_string: Annotated[float, length(0.0, 1.5, what="leaf")]
    """thinnest string pressed at fret 1, or a capo there, and at the last: the gap over the middle fret"""


class GapsOnFret(TomlTable):
    """Board radius by the gaps under a ruler on edge across the crown of fret 1."""

    gaps: Annotated[tuple[float, ...], several(length(0.0, 12.0, what="leaf"), least=2, most=2)]
    """ruler to crown at either end of the chord, however the ruler rocks"""
    chord: Annotated[float, length(10.0, 130.0)]
    """across fret 1, inside its bevels, between the places where the gaps are read"""


class UnderRuler(TomlTable):
    """The fret plane over the board, right in front of the nut."""

    under_ruler: Annotated[float, length(0.2, 2.5, what="leaf")]
    """ruler on frets 1 and 2, reaching to the nut: what just fills the gap to the board there"""


class Pencil(TomlTable):
    """Fret plane by a halved pencil that is slid along frets 1 and 2."""

    pencil: Annotated[Across, across_board(length(0.5, 26.0))]
    """underside of the blank to the line that the pencil, lying as the frets lie, draws on it"""
    lead: Annotated[float, length(0.2, 8.0)]
    """height of the lead over the pencil's flat: drawn on a block on a level board, and measured"""


class OnTrial(TomlTable):
    """Fret plane by a trial nut: what `dryfit --trial` writes."""

    trial: Annotated[Across, across_board(length(0.5, 20.0))]
    """over the seat floor, on the face: the plane that a trial nut's floors and clearances gave"""
    within: Annotated[float, length(0.0, 5.0)]
    """how far it may be off, in 19 readings of 20"""


@dataclass(frozen=True, slots=True)
class Way:
    """How a key was read, and what came of it.

    key   : its path in the file
    name  : of the way
    value : what stands for the reading [mm]
    least, most : bounds that hold 95 %; of the first place where there are several [mm]
    error : half-width that holds 95 %, as [errors] has it [mm]
    fret  : over which it was read; 0 where that says nothing
    """

    key: str
    name: str
    value: float | Across
    least: float
    most: float
    error: float
    fret: int = 0

    def told(self, *, plane_at_three: bool) -> Finding:
        """The way as a note.

        plane_at_three : whether the fret plane was read in the middle too, so that the radius hardly matters
        """
        value = self.value.values if isinstance(self.value, Across) else self.value
        more: dict[str, Any] = {}
        if self.fret:
            more["fret"] = self.fret
        if self.name == "gaps":
            more |= {"least": self.least, "most": self.most, "plane_at_three": plane_at_three}
        return note(f"way.{self.name.replace('_', '-')}", of_key(self.key), value=value, error=self.error, **more)


class _Read(NamedTuple):
    """What a way comes to, its bounds, and the fret it was read over [mm]."""

    value: float | Across
    least: float
    most: float
    fret: int = 0

    @property
    def middle(self) -> float:
        """The value, or the first of several."""
        return self.value.bass if isinstance(self.value, Across) else self.value


@dataclass(frozen=True, slots=True)
class _Around:
    """What stands beside a way: the whole file, plain so far, and the tables that may be read of it."""

    raw: dict[str, Any]
    bare: BareUnits
    tables: Mapping[str, type[TomlTable]]

    def read(self, name: str) -> Mapping[str, Any]:
        """A table's keys that have no fault."""
        table = self.raw.get(name)
        return read_keys(self.tables[name], table, self.bare)[0] if isinstance(table, Mapping) else {}

    def gauges(self) -> list[float]:
        """Of the strings that can be read."""
        listed = self.raw.get("strings")
        rows = [row for row in listed if isinstance(row, Mapping)] if isinstance(listed, list) else []
        read = (read_keys(self.tables["strings"], row, self.bare)[0].get("gauge") for row in rows)
        return [gauge for gauge in read if gauge is not None]


class Turned(NamedTuple):
    """A file without ways, the ways that stood in it, their faults, and the keys that could not be turned."""

    raw: dict[str, Any]
    ways: tuple[Way, ...]
    faults: list[Finding]
    unread: frozenset[str]


def turned(raw: Mapping[str, Any], bare: BareUnits, tables: Mapping[str, type[TomlTable]]) -> Turned:
    """Turn every way of a file into mm.

    raw    : what stands in the file
    tables : "instrument", "fretboard", "strings" and "errors", which some ways look at
    """
    plain = {name: dict(table) if isinstance(table, Mapping) else table for name, table in raw.items()}
    around = _Around(plain, bare, tables)
    ways: list[Way] = []
    faults: list[Finding] = []
    unread = set()
    for key, known in WAYS.items():
        table, name = key.split(".")
        written = plain[table].get(name) if isinstance(plain.get(table), dict) else None
        if isinstance(written, str) and (stack := _stack(written, bare)):
            read_so = _about(stack.mm, stack.error)
            ways.append(Way(key, "stack", *read_so[:3], _error(key, read_so, around)))
        if not isinstance(written, Mapping) or {"bass", "treble"} & set(written):
            continue
        kind, read = next(((one, by) for one, by in known if set(one.model_fields) & set(written)), known[0])
        parts, found = read_keys(kind, written, bare, at=(table, name))
        faults += found
        result = None if found else read(kind(**parts), around, written)
        if result is None:
            unread.add(key)
        else:
            plain[table][name] = _in_mm(result.value)
            ways.append(Way(key, next(iter(kind.model_fields)), *result[:3], _error(key, result, around), result.fret))
    return Turned(plain, tuple(ways), faults, frozenset(unread))


def _stack(written: str, bare: BareUnits) -> Stack | None:
    """The loose sheets that a gap was read with; None where it was read otherwise, or has a fault."""
    try:
        stack = read_stack(written, bare)
    except Unreadable:
        return None
    return stack if stack and stack.sheets else None


def _in_mm(value: float | Across) -> str | dict[str, str]:
    """A value as it may stand in a file of any units."""
    if isinstance(value, Across):
        texts = [f"{mm:.6f} mm" for mm in value.values]
        places = {2: ("bass", "treble"), 3: ("bass", "middle", "treble")}.get(len(texts), ())
        return dict(zip(places, texts, strict=True)) if places else texts[0]
    return "flat" if math.isinf(value) else f"{value:.6f} mm"


def _error(key: str, read: _Read, around: _Around) -> float:
    """What [errors] says of a key, or says from now on [mm]; readings of one day have their own, a flat board none."""
    (table, name), value = key.split("."), read.value
    half = max(read.most - read.middle, read.middle - read.least)
    if table in ("dry_fit", "trial") or value == math.inf:
        return half
    errors = around.raw.setdefault("errors", {})
    if not isinstance(errors, dict):
        return half
    is_share = name == "radius" and isinstance(value, float)
    one = value if is_share and isinstance(value, float) else 1.0
    errors.setdefault(name, min(half / one, MOST_RADIUS_SHARE) if is_share else f"{half:.6f} mm")
    return one * float(around.read("errors").get(name, 0.0))


def _about(value: float | Across, *errors: float, fret: int = 0) -> _Read:
    """A value whose errors add up in quadrature."""
    middle, half = value.bass if isinstance(value, Across) else value, math.hypot(*errors)
    return _Read(value, middle - half, middle + half, fret)


def _gap_error(written: object, bare: BareUnits) -> float:
    """How far a gap may be off, by what it was filled with; half-width that holds 95 % [mm].

    Of stacks the nearest serves, so that half the thinnest sheet is left open, every value in it as likely: as much as
    1.96 / sqrt 3 of it, of a normal distribution (ISO/IEC Guide 98-3, 4.3.7).
    """
    stack = _stack(written, bare) if isinstance(written, str) else None
    if stack is None:
        return GAP_ERROR
    left_open = min(sheet.thickness for sheet in bare.sheets) / 2.0
    return math.hypot(stack.error, WITHIN_95 / math.sqrt(3.0) * left_open)


def _relief(way: UnderString, around: _Around, written: Mapping[str, Any]) -> _Read | None:
    neck, gauges = around.read("instrument"), around.gauges()
    if not {"frets", "scale_length"} <= set(neck) or not gauges:
        return None
    fret = middle_fret(neck["frets"])
    relief = relief_of_dip(
        way.under_string, fret=fret, last_fret=neck["frets"], scale_length=neck["scale_length"].treble
    )
    gap_error = _gap_error(written["under_string"], around.bare)
    return _about(relief, gap_error, lift_of_pressed_string(min(gauges)), fret=fret)


def _radius(way: GapsOnFret, around: _Around, written: Mapping[str, Any]) -> _Read | None:
    board, neck = around.read("fretboard"), around.read("instrument")
    if not {"width", "fret_height"} <= set(board) or "scale_length" not in neck:
        return None
    read = radius_by_gaps(way.chord, way.gaps)
    errors = [_gap_error(gap, around.bare) for gap in written["gaps"]]
    least, most = radius_bounds(way.chord, way.gaps, chord_error=CHORD_ERROR, gap_errors=errors)
    if math.isfinite(most):
        least, most = (
            read + math.copysign(math.hypot(end - read, FLATTER_SHARE * read), end - read) for end in (least, most)
        )
    squeeze = math.cos(math.radians(_fret_1_slant_deg(neck, board["width"]))) ** 2
    height = board["fret_height"]
    square = [radius * squeeze - height for radius in (math.inf if read > FLATTEST else read, least, most)]
    return _Read(*square)


def _fret_1_slant_deg(neck: Mapping[str, Any], width: float) -> float:
    """How far fret 1 is turned in the neck: the nut of a neck that is one fret shorter."""
    scale, square = neck["scale_length"], neck.get("perpendicular_fret", 0.0)
    bass, treble = (side * 2.0 ** (-1.0 / 12.0) for side in (scale.bass, scale.treble))
    try:
        return nut_slant_deg(
            bass_scale=bass, treble_scale=treble, spread=STRINGS_SHARE * width, perpendicular_fret=square - 1.0
        )
    except ValueError:  # no such neck: the solver says so
        return 0.0


def _fret_height(way: UnderRuler, around: _Around, written: Mapping[str, Any]) -> _Read:
    return _about(way.under_ruler, _gap_error(written["under_ruler"], around.bare))


def _fret_plane(way: Pencil, _around: _Around, _written: Mapping[str, Any]) -> _Read:
    plane = Across(tuple(height - way.lead for height in way.pencil.values))
    return _about(plane, LINE_ERROR, LEAD_ERROR, ROLL_ERROR)


def _plane_on_trial(way: OnTrial, _around: _Around, _written: Mapping[str, Any]) -> _Read:
    return _about(way.trial, way.within)


_Reads = tuple[type[TomlTable], Callable[[Any, _Around, Mapping[str, Any]], _Read | None]]

WAYS: dict[str, tuple[_Reads, ...]] = {
    "fretboard.fret_height": ((UnderRuler, _fret_height),),
    "fretboard.radius": ((GapsOnFret, _radius),),
    "setup.relief": ((UnderString, _relief),),
    "setup.relief_now": ((UnderString, _relief),),
    "dry_fit.relief": ((UnderString, _relief),),
    "trial.relief": ((UnderString, _relief),),
    "seat.fret_plane": ((Pencil, _fret_plane), (OnTrial, _plane_on_trial)),
}
"""The key that ways stand in: what is written there, and what it comes to. Fret height first: the radius needs it."""
