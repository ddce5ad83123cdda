"""From one nut to another: what changes in its numbers, and what it takes at the bench."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from nutgen.bench.reuse import Reuse, reuse
from nutgen.finding import Finding, step, warning
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.playing import OldNut
from nutgen.spec.tables import Spec
from nutgen.spec.toml_table import TomlTable, keys_of
from nutgen.spec.values import path_of

SEEN = 0.05
"""A size that changes by less needs no work. Common practice, no source [mm]."""

SIZES = ("length", "thickness", "height")


@dataclass(frozen=True, slots=True)
class StringChange:
    """What becomes of one string, after less before; nan over frets where a bar stops it [mm]."""

    number: int
    note: str
    gauge: float
    centre: float
    width: float
    floor_above_seat: float
    first_fret_clearance: float
    action: float


@dataclass(frozen=True, slots=True)
class Compared:
    """What changes from one file to another; lengths in mm.

    keys    : of the files that differ
    sizes   : of the nut, before and after
    strings : bass to treble; none where their number differs
    work    : at the nut's own faces
    slots   : the nut that was, judged by what is wanted; None where the number of strings differs
    """

    keys: tuple[str, ...]
    sizes: tuple[tuple[str, float, float], ...]
    strings: tuple[StringChange, ...]
    work: tuple[Finding, ...]
    slots: Reuse | None


def compared(before: Spec, was: Nut, after: Spec, becomes: Nut) -> Compared:
    """Compare two files and their solved nuts."""
    sizes = tuple((name, float(getattr(was, name)), float(getattr(becomes, name))) for name in SIZES)
    same = len(was.slots) == len(becomes.slots)
    pairs = zip(was.slots, becomes.slots, strict=True) if same else ()
    return Compared(
        keys=tuple(_changed_keys(before, after)),
        sizes=sizes,
        strings=tuple(_change(was, a, becomes, b) for a, b in pairs),
        work=tuple(_work(sizes)) if same else (warning("compare.other-strings"),),
        slots=reuse(becomes, _as_old(was, before), after.tools) if same else None,
    )


def _changed_keys(before: object, after: object, at: tuple[str | int, ...] = ()) -> Iterator[str]:
    if isinstance(before, TomlTable) and type(before) is type(after):
        for key in keys_of(type(before)):
            yield from _changed_keys(getattr(before, key), getattr(after, key), (*at, key))
    elif isinstance(before, tuple) and isinstance(after, tuple) and len(before) == len(after) and type(before) is tuple:
        for place, pair in enumerate(zip(before, after, strict=True)):
            yield from _changed_keys(*pair, (*at, place))
    elif before != after:
        yield path_of(at)


def _change(was: Nut, a: Slot, becomes: Nut, b: Slot) -> StringChange:
    fretted = was.tops is None and becomes.tops is None
    return StringChange(
        number=b.number,
        note=b.note,
        gauge=b.gauge - a.gauge,
        centre=becomes.from_bass_end(b) - was.from_bass_end(a),
        width=b.width - a.width,
        floor_above_seat=becomes.floor_over_seat(b) - was.floor_over_seat(a),
        first_fret_clearance=b.first_fret_clearance - a.first_fret_clearance if fretted else math.nan,
        action=b.action - a.action if fretted else math.nan,
    )


def _work(sizes: tuple[tuple[str, float, float], ...]) -> Iterator[Finding]:
    for name, was, becomes in sizes:
        if becomes > was + SEEN:
            yield warning(f"compare.{name}-short", by=becomes - was)
        elif becomes < was - SEEN:
            yield step(f"compare.{name}-off", by=was - becomes)


def _as_old(nut: Nut, spec: Spec) -> OldNut:
    """A nut that was made, as if read on the bench."""
    return OldNut(
        centres=tuple(nut.from_bass_end(slot) for slot in nut.slots),
        widths=tuple(slot.width for slot in nut.slots),
        floors=tuple(nut.floor_over_seat(slot) for slot in nut.slots),
        material=spec.material,
    )
