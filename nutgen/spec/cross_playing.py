"""What the tables of playing say about the rest of the file: faults that no single key shows."""

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from nutgen.errors import Fault
from nutgen.spec.fields import shown
from nutgen.spec.playing import Before, OldNut, Pluck
from nutgen.spec.strings import String

if TYPE_CHECKING:
    from nutgen.spec.tables import Fretboard, Instrument

Strings = tuple[String, ...]

HIGHEST_OVER_PLANE = 3.0  # mm; a floor above this was measured from somewhere else
LOWEST_OVER_SEAT = 0.5


def _pluck(pluck: Pluck, instrument: "Instrument", strings: Strings) -> Iterator[Fault]:
    if pluck.force_n is not None and pluck.height is not None:
        yield Fault("pluck.height", "given together with force_n; one follows from the other, keep one")
    if pluck.height is not None and pluck.height.each and len(pluck.height.values) != len(strings):
        words = f"{len(pluck.height.values)} values for {len(strings)} strings; write one a string, bass first"
        yield Fault("pluck.height", words)
    rest = min(instrument.scale_length.values) * 2.0 ** (-instrument.frets / 12.0)
    if pluck.from_bridge is not None and pluck.from_bridge >= rest:
        yield Fault(
            "pluck.from_bridge",
            f"{shown(pluck.from_bridge)} mm is over the board; allowed is up to the last fret,"
            f" {shown(round(rest, 1))} mm from the bridge",
        )


def _before(before: Before | None, strings: Strings) -> Iterator[Fault]:
    if before is None:
        return
    if not before.strings and before.tuning is None and before.a4_hz is None:
        yield Fault("before", 'says nothing; write [[before.strings]], or tuning = ["E1", ...] for the same strings')
    old = len(before.strings or strings)
    if before.tuning is not None and len(before.tuning) != old:
        yield Fault("before.tuning", f"{len(before.tuning)} notes for {old} strings; write one a string, bass first")


def _old_nut(old_nut: OldNut | None, strings: Strings, fretboard: "Fretboard") -> Iterator[Fault]:
    if old_nut is None:
        return
    for key in ("centres", "widths", "floors"):
        count = len(getattr(old_nut, key))
        if count != len(strings):
            yield Fault(f"old_nut.{key}", f"{count} values for {len(strings)} strings; write one a string, bass first")
    if any(b <= a for a, b in pairwise(old_nut.centres)):
        yield Fault("old_nut.centres", "must grow from the bass end; measured from the treble end, or one misread?")
    if max(old_nut.centres) >= fretboard.width:
        given = f"{shown(max(old_nut.centres))} mm is beyond the board, {shown(fretboard.width)} mm wide"
        yield Fault("old_nut.centres", given)
    yield from _floors(old_nut)


def _floors(old_nut: OldNut) -> Iterator[Fault]:
    if old_nut.floors_from == "fret plane" and max(old_nut.floors) > HIGHEST_OVER_PLANE:
        yield Fault(
            "old_nut.floors",
            f"{shown(max(old_nut.floors))} mm is above {shown(HIGHEST_OVER_PLANE)} mm over the fret plane;"
            ' measured from the seat floor? write floors_from = "seat floor"',
        )
    if old_nut.floors_from == "seat floor" and min(old_nut.floors) < LOWEST_OVER_SEAT:
        yield Fault(
            "old_nut.floors",
            f"{shown(min(old_nut.floors))} mm leaves no nut under the slot; measured from the fret plane?"
            ' write floors_from = "fret plane"',
        )


def _builds(strings: Strings, before: Before | None) -> Iterator[Fault]:
    for table, listed in (("strings", strings), ("before.strings", before.strings if before else ())):
        for index, string in enumerate(listed):
            path = f"{table}[{index + 1}]"
            given = [key for key in ("core", "core_shape", "wraps", "wrap_metal") if getattr(string, key) is not None]
            if given and not string.wound:
                yield Fault(f"{path}.{given[0]}", "a plain string has none; write wound = true, or leave the key out")
            elif string.wound:
                yield from _build(string, path)


def _build(string: String, path: str) -> Iterator[Fault]:
    if string.core is None and string.wraps is None:
        return
    from nutgen.theory.strings import HEX_GIRTH  # few files get here; the others need not wait

    room = string.gauge * (1.0 if string.core_shape == "round" else 1.0 / HEX_GIRTH)
    if string.core is not None and string.core >= 0.98 * room:
        limit = shown(round(room / 25.4, 4))
        yield Fault(f"{path}.core", f"{shown(string.core / 25.4)} in leaves no room for a wrap; below {limit} in")
    if string.wraps is not None and 2.0 * sum(string.wraps) >= 0.98 * string.gauge:
        turns = shown(2.0 * sum(string.wraps) / 25.4)
        words = f"the wraps take {turns} in of a gauge of {shown(string.gauge / 25.4)} in; no core is left"
        yield Fault(f"{path}.wraps", words)


PLAYING_CHECKS: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (_pluck, ("pluck", "instrument", "strings")),
    (_before, ("before", "strings")),
    (_builds, ("strings", "before")),
    (_old_nut, ("old_nut", "strings", "fretboard")),
)
"""Checks, and the tables that each needs whole."""
