"""Slips of a hand with calipers: every reading of a file misread in the usual ways, and what comes of the nut.

A slip is told where the file is refused, or where a finding comes up that the right file does not have. It is
harmless where the nut, made by the wrong file and set into the true neck, leaves the strings over fret 1 within
`HARMLESS` of what was wanted. What a string then leaves over fret 1 is worked out here, by plain geometry.

Run as a module for the table of all kinds: python -m tests.nut.slips
"""

import copy
import math
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import nutgen
from nutgen.errors import CannotBeMade, SpecFaults
from nutgen.spec.presets import kind_names, kind_path

HARMLESS = (-0.03, 0.15)
GAUGES_IN = (7.25, 9.5, 10.0, 12.0, 14.0, 16.0, 20.0)
"""Radius gauges that lie beside one another in a usual set [in]."""

READ = (
    *("instrument", "fretboard", "seat", "headstock", "setup", "spacing", "slots", "strings", "old_nut", "lap"),
    "zero_fret",
)
"""Tables that are read off an instrument, a packet or a plan; the shape of the body is chosen. What `clamped` says
moves shims alone, whose strings are read again."""

HEIGHTS = ("seat.depth", "seat.fret_plane", "fretboard.fret_height")

CROSSED = ("instrument", "fretboard", "seat", "setup")

Place = tuple[str | int, ...]


@dataclass(frozen=True)
class Slip:
    """One reading misread: where, how, and the file as it then stands."""

    place: str
    how: str
    data: dict[str, Any]


@dataclass(frozen=True)
class Outcome:
    """What comes of it: refused or with new findings (`told`), or how far the strings are off over fret 1 [mm]."""

    told: tuple[str, ...]
    off: tuple[float, ...]

    @property
    def harmless(self) -> bool:
        """Whether every string is near enough to what was wanted."""
        return all(HARMLESS[0] <= one <= HARMLESS[1] for one in self.off)


def kind_data(kind: str, *, straightedge: bool = False) -> dict[str, Any]:
    """A kind's file with every length a bare number; with a straightedge's reading of the fret plane, or without."""
    data = tomllib.loads(kind_path(kind).read_text("utf-8"))
    data = _bare(data, 1.0 if data["units"] == "in" else 25.4)
    if straightedge and "lap" not in data:
        seat, board = data["seat"], data["fretboard"]
        edge = 0.0 if seat["kind"] == "surface" else _drop(board["width"] / 2.0, board["radius"])
        seat["fret_plane"] = seat.get("depth", 0.0) + board["fret_height"] - edge
    return data


def slips_of(data: dict[str, Any]) -> Iterator[Slip]:
    """Every reading doubled, halved, in the other unit, swapped with its neighbour, off by a radius misread."""
    twins = {i for i, string in enumerate(data["strings"]) if string in data["strings"][:i]}
    for place, value in _numbers(data, ()):
        path = _path(place)
        if place[0] == "strings" and place[1] in twins:
            continue
        whole = isinstance(value, int)
        for how, factor in (("doubled", 2.0), ("halved", 0.5), ("inches for mm", 25.4), ("mm for inches", 1 / 25.4)):
            if whole and "inches" in how:
                continue
            wrong = int(value * factor) if whole else value * factor
            yield Slip(path, how, _with(data, place, wrong))
        if path.startswith(HEIGHTS):
            drop = _drop(data["fretboard"]["width"] / 2.0, data["fretboard"]["radius"])
            for how, by in (("an edge more", drop), ("an edge less", -drop)):
                if drop:
                    yield Slip(path, how, _with(data, place, value + by))
    yield from _radii(data)
    yield from _swaps(data)
    for index, string in enumerate(data["strings"]):
        for how, by in (("an octave up", 1), ("an octave down", -1)):
            note = f"{string['note'][:-1]}{int(string['note'][-1]) + by}"
            yield Slip(f"strings.{index}.note", how, _with(data, ("strings", index, "note"), note))


def _radii(data: dict[str, Any]) -> Iterator[Slip]:
    radius, per_inch = data["fretboard"]["radius"], 1.0 if data["units"] == "in" else 25.4
    gauges = [one * per_inch for one in GAUGES_IN]
    place = ("fretboard", "radius")
    if radius == "flat":
        yield Slip("fretboard.radius", "the roundest gauge for flat", _with(data, place, gauges[-1]))
        return
    yield Slip("fretboard.radius", "flat", _with(data, place, "flat"))
    for how, beside in (("the next rounder gauge", [g for g in gauges if g < 0.98 * radius][-1:]),
                        ("the next flatter gauge", [g for g in gauges if g > 1.02 * radius][:1])):  # fmt: skip
        for gauge in beside:
            yield Slip("fretboard.radius", how, _with(data, place, gauge))


def _swaps(data: dict[str, Any]) -> Iterator[Slip]:
    for place, value in _nodes(data, ()):
        if isinstance(value, dict):
            for a, b in (("bass", "treble"), ("wound", "plain"), ("x", "y"), ("depth", "thickness")):
                if a in value and b in value:
                    yield Slip(
                        _path(place), f"{a} and {b} swapped", _with(data, place, {**value, a: value[b], b: value[a]})
                    )
        elif isinstance(value, list) and isinstance(value[0], float):
            for i in range(len(value) - 1):
                swapped = [*value[:i], value[i + 1], value[i], *value[i + 2 :]]
                yield Slip(_path(place), f"{i} and {i + 1} swapped", _with(data, place, swapped))
    for i in range(len(data["strings"]) - 1):
        for key in ("gauge", "note"):
            wrong = copy.deepcopy(data)
            a, b = wrong["strings"][i], wrong["strings"][i + 1]
            a[key], b[key] = b[key], a[key]
            if wrong != data:
                yield Slip(f"strings.{i}.{key}", "swapped with the next", wrong)


def outcome(slip: Slip, data: dict[str, Any], known: frozenset[str]) -> Outcome:
    """What the wrong file gives, through the package's own door; `known` are the codes that the right one has."""
    nut = made(slip.data)
    if isinstance(nut, tuple):
        return Outcome(nut, ())
    told = tuple(sorted({finding.code for finding in nut.findings} - known))
    return Outcome(told, () if told else tuple(off_over_fret_1(nut, data)))


def made(data: dict[str, Any]) -> "nutgen.nut.Nut | tuple[str, ...]":
    """The nut of a file, read from disk; the codes of what stands against it where there is none."""
    _file().write_text(text_of(data), "utf-8")
    try:
        return nutgen.solve(nutgen.read(_file()))
    except (SpecFaults, CannotBeMade) as error:
        return tuple(finding.code for finding in error.findings)


@cache
def _folder() -> TemporaryDirectory[str]:
    return TemporaryDirectory()


def _file() -> Path:
    return Path(_folder().name) / "slip.toml"


def off_over_fret_1(nut: "nutgen.nut.Nut", true: dict[str, Any]) -> Iterator[float]:
    """How much higher than wanted each string passes fret 1, the nut set into the true neck [mm]."""
    if "lap" in true:
        yield from _off_the_plane(nut, true)
        return
    mm = 25.4 if true["units"] == "in" else 1.0
    scale, setup, seat = true["instrument"]["scale_length"], true["setup"], true["seat"]
    bass_scale, treble_scale = _ends(scale)
    span = nut.slots[-1].x - nut.slots[0].x
    part = 1.0 - 2.0 ** (-true["instrument"].get("perpendicular_fret", 7) / 12.0)
    turn = math.cos(math.asin((bass_scale - treble_scale) * mm * part / span)) if bass_scale != treble_scale else 1.0
    for slot, string in zip(nut.slots, true["strings"], strict=True):
        share = (slot.x - nut.slots[0].x) / span
        across = abs(slot.x * turn) / mm
        board = _drop(across, true["fretboard"]["radius"])
        surface = seat["kind"] == "surface"
        floor = board if surface else _drop(across, seat.get("floor", "flat"))
        plane = mm * (seat.get("depth", 0.0) + true["fretboard"]["fret_height"] - board + floor)
        over_seat = slot.floor_z - float(nut.underside.z(slot.x)) + _perched(slot, string["gauge"] * _gauge_mm(true))
        if "zero_fret" in true:
            yield max(0.0, over_seat - plane - _behind_zero_fret(true, share, mm))
            continue
        wanted, action = (mm * _at(setup[key], share) for key in ("first_fret_clearance", "action"))
        length = mm * (bass_scale + (treble_scale - bass_scale) * share)
        yield (
            _over_fret_1(over_seat - plane, action, length, mm * setup["relief"], true["instrument"]["frets"]) - wanted
        )


FELT = 1.0
"""Of a bar's height over the board: no hand minds less [mm]."""


def _off_the_plane(nut: "nutgen.nut.Nut", true: dict[str, Any]) -> Iterator[float]:
    """How far each top stands over the others, and how far all are from the height wanted beyond what is felt [mm]."""
    gauges = [string["gauge"] * _gauge_mm(true) for string in true["strings"]]
    seat = [slot.floor_z - float(nut.underside.z(slot.x)) for slot in nut.slots]
    tops = [
        over + _perched(slot, gauge) + gauge - true["seat"]["depth"]
        for over, slot, gauge in zip(seat, nut.slots, gauges, strict=True)
    ]
    middle = sum(tops) / len(tops)
    high = abs(middle - true["lap"]["tops"])
    yield from (top - middle + (high if high > FELT else 0.0) for top in tops)


def _behind_zero_fret(true: dict[str, Any], share: float, mm: float) -> float:
    """Over the fret plane, where the string goes on straight from a zero fret: a floor that is no higher lifts nothing.

    The neck as straight between zero fret and fret 12.
    """
    zero, action = true["zero_fret"], mm * _at(true["setup"]["action"], share)
    height, behind = mm * _at(zero["height"], share), mm * zero["behind"]
    return height - (action - height) / (mm * _ends(true["instrument"]["scale_length"])[0] / 2.0) * behind


def _over_fret_1(floor: float, action: float, scale: float, relief: float, last: int) -> float:
    """A straight string from a floor over the fret plane to its action at fret 12, over crowns that dip in a bow."""

    def at(fret: int) -> float:
        return scale * (1.0 - 2.0 ** (-fret / 12.0))

    middle, half = (at(last) + at(1)) / 2.0, (at(last) - at(1)) / 2.0

    def crown(fret: int) -> float:
        return relief * (((at(fret) - middle) / half) ** 2 - 1.0)

    plane = crown(1) - (crown(2) - crown(1)) / (at(2) - at(1)) * at(1)
    start, stop = plane + floor, crown(12) + action
    return start + (stop - start) * at(1) / at(12) - crown(1)


def _perched(slot: Any, gauge: float) -> float:
    """How high a string lies over the floor of a slot that is too narrow for it, on the edges of its walls."""
    if gauge <= slot.width + 1e-9:
        return 0.0
    return max(0.0, slot.depth - gauge / 2.0 + math.sqrt(gauge**2 - slot.width**2) / 2.0)


def _gauge_mm(data: dict[str, Any]) -> float:
    return 25.4 if data["gauge_units"] == "in" else 1.0


def _drop(across: float, radius: Any) -> float:
    return 0.0 if radius == "flat" else radius - math.sqrt(radius**2 - across**2)


def _ends(value: Any) -> tuple[float, float]:
    return (value["bass"], value["treble"]) if isinstance(value, dict) else (value, value)


def _at(value: Any, share: float) -> float:
    bass, treble = _ends(value)
    return bass + (treble - bass) * share


def _bare(value: Any, per_inch: float) -> Any:
    """Lengths in text as bare numbers of the file's unit."""
    if isinstance(value, dict):
        return {key: _bare(item, per_inch) for key, item in value.items()}
    if isinstance(value, list):
        return [_bare(item, per_inch) for item in value]
    if isinstance(value, str) and value.endswith(" in"):
        return float(sum(Fraction(part) for part in value[:-3].split())) * per_inch
    return value


def _nodes(value: Any, place: Place) -> Iterator[tuple[Place, Any]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        if place or key in READ:
            yield (*place, key), item
            yield from _nodes(item, (*place, key))


def _numbers(data: dict[str, Any], place: Place) -> Iterator[tuple[Place, Any]]:
    return (one for one in _nodes(data, place) if isinstance(one[1], int | float) and not isinstance(one[1], bool))


def _path(place: Place) -> str:
    return ".".join(map(str, place))


def _with(data: dict[str, Any], place: Place, value: Any) -> dict[str, Any]:
    changed = copy.deepcopy(data)
    inner: Any = changed
    for key in place[:-1]:
        inner = inner[key]
    inner[place[-1]] = value
    return changed


def text_of(data: dict[str, Any]) -> str:
    """A file's tables as TOML."""
    plain = [f"{key} = {_toml(value)}" for key, value in data.items() if not isinstance(value, dict | list)]
    tables = [
        f"[{name}]\n" + "\n".join(f"{key} = {_toml(value)}" for key, value in table.items())
        for name, table in data.items()
        if isinstance(table, dict)
    ]
    strings = [
        "[[strings]]\n" + "\n".join(f"{key} = {_toml(value)}" for key, value in string.items())
        for string in data["strings"]
    ]
    return "\n".join([*plain, *tables, *strings]) + "\n"


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key} = {_toml(item)}' for key, item in value.items())} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    return str(value).lower() if isinstance(value, bool) else f'"{value}"' if isinstance(value, str) else repr(value)


def table(kind: str, *, straightedge: bool = False) -> Iterator[tuple[Slip, Outcome]]:
    """Every slip of a kind, and what comes of it; with a straightedge, those of the readings that it bears out."""
    data = kind_data(kind, straightedge=straightedge)
    right = made(data)
    assert not isinstance(right, tuple), right
    known = frozenset(finding.code for finding in right.findings)
    for slip in slips_of(data):
        if not straightedge or slip.place.startswith(CROSSED):
            yield slip, outcome(slip, data, known)


if __name__ == "__main__":
    for straightedge in (False, True):
        for name in kind_names():
            told = harmless = 0
            for slip, came in table(name, straightedge=straightedge):
                told += bool(came.told)
                harmless += not came.told and came.harmless
                if not came.told and not came.harmless:
                    print(f"    {slip.place:32} {slip.how:28} {min(came.off):+.2f} to {max(came.off):+.2f}")
            print(f"{name:22} straightedge {straightedge}: {told} told, {harmless} harmless")
