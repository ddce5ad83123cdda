"""What the tables of playing, of a dry fit and of the machines say about the rest of the file."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from inspect import signature
from itertools import pairwise
from typing import Any

from nutgen.finding import Finding, of_key, refusal
from nutgen.spec.forming import Print
from nutgen.spec.playing import Before, Clamped, DryFit, OldNut, Pluck, Saddle, Trial, Tuner
from nutgen.spec.strings import AnyString, Drone, String, ZeroFret
from nutgen.spec.tables import Fretboard, Instrument, Setup
from nutgen.spec.values import Across, shown
from nutgen.spec.workshop import Tools

Strings = tuple[String, ...]

HIGHEST_OVER_PLANE = 3.0  # mm; a floor above this was measured from somewhere else
LOWEST_OVER_SEAT = 0.5
LEAF_WEAR = 0.002  # mm; how far a leaf may be from its mark
STEEPEST_SLANT_DEG = 45.0  # of a nut in its neck
FULLEST = 0.98  # of the gauge that a core or the wraps may take
LEAF_KEYS = ("feeler", "feeler_drags", "sliver", "sliver_drags", "barred")


Check = Callable[..., Iterator[Finding]]
"""What tables say about each other; its arguments are named as the tables that it needs whole."""


def checked(parts: Mapping[str, Any], checks: Sequence[Check]) -> Iterator[Finding]:
    """What the checks say whose tables have no faults of their own, and whose first is in the file.

    parts : table name -> validated table, None where it is not given; tables with faults of their own are absent
    """
    for check in checks:
        first, *others = signature(check).parameters
        if parts.get(first) is not None and all(name in parts for name in others):
            yield from check(*(parts[name] for name in (first, *others)))


def given_together(path: str, other: str) -> Finding:
    """Two keys of which one follows from the other."""
    return refusal("reading.given-together", of_key(path), other=other)


def not_one_a_string(strings: int, lists: Mapping[str, Across | Sequence[object] | None]) -> Iterator[Finding]:
    """Lists, by their paths, that hold more or fewer values than there are strings; a pair or one value is no list."""
    for path, value in lists.items():
        if isinstance(value, Across):
            value = value.values if value.each else None
        if value is not None and len(value) != strings:
            yield refusal("reading.not-one-a-string", of_key(path), count=len(value), strings=strings)


def beyond_board(path: str, centres: Sequence[float], most: float) -> Iterator[Finding]:
    """Centres that do not grow from the bass end, or lie beyond the board, whose face is no longer than `most`."""
    if any(b <= a for a, b in pairwise(centres)):
        backwards = all(b < a for a, b in pairwise(centres))
        yield refusal("reading.centres-out-of-order", of_key(path), backwards=backwards)
    if max(centres) >= most:
        yield refusal("reading.beyond-board", of_key(path), written=max(centres), most=most)


def longest_face(fretboard: Fretboard, instrument: Instrument) -> float:
    """What a front face may be long; a slanted one is longer than the board is wide [mm]."""
    square = instrument.scale_length.bass == instrument.scale_length.treble
    return fretboard.width if square else fretboard.width / math.cos(math.radians(STEEPEST_SLANT_DEG))


def _pluck(pluck: Pluck, instrument: Instrument, strings: Strings) -> Iterator[Finding]:
    if pluck.force_n is not None and pluck.height is not None:
        yield given_together("pluck.height", "force_n")
    yield from not_one_a_string(len(strings), {"pluck.height": pluck.height})
    rest = min(instrument.scale_length.values) * 2.0 ** (-instrument.frets / 12.0)
    if pluck.from_bridge is not None and pluck.from_bridge >= rest:
        yield refusal("pluck.over-board", of_key("pluck.from_bridge"), written=pluck.from_bridge, most=rest)


def _saddle(saddle: Saddle) -> Iterator[Finding]:
    if saddle.bridge == "two posts" and saddle.posts is None:
        means = "the two posts, middle to middle"
        yield refusal("reading.missing", of_key("saddle.posts"), name="posts", means=means, allowed=())
    if saddle.even_tops and saddle.bridge != "each":
        yield refusal("saddle.not-alone", of_key("saddle.even_tops"), bridge=saddle.bridge)


def _clamped(clamped: Clamped, setup: Setup, zero_fret: ZeroFret | None) -> Iterator[Finding]:
    """Shims go by what the strings over the clamped nut read, which is where they start."""
    if setup.clearance_now is None:
        yield refusal("clamped.not-read", of_key("setup.clearance_now"))
    if zero_fret is not None:
        yield refusal("zero-fret.decides-already", of_key("clamped"))


def _tuner(tuner: Tuner, strings: Strings) -> Iterator[Finding]:
    read = {name: getattr(tuner.cents, name) for name in ("fret_1", "fret_3", "fret_12", "harmonic")}
    yield from not_one_a_string(len(strings), {f"tuner.cents.{name}": one or None for name, one in read.items()})


def _before(before: Before, strings: Strings) -> Iterator[Finding]:
    if not before.strings and before.tuning is None and before.a4_hz is None:
        yield refusal("before.says-nothing", of_key("before"))
    yield from not_one_a_string(len(before.strings or strings), {"before.tuning": before.tuning})


def _builds(strings: Strings, drones: tuple[Drone, ...], before: Before | None) -> Iterator[Finding]:
    yield from build_faults(strings)
    yield from build_faults(drones, "drones")
    yield from build_faults(before.strings if before else (), "before.strings")


def build_faults(strings: Sequence[AnyString], table: str = "strings") -> Iterator[Finding]:
    """What is said of a string's core and wraps and cannot be so; `table` lists the strings."""
    for place, string in enumerate(strings, 1):
        path = f"{table}[{place}]"
        given = [key for key in ("core", "core_shape", "wraps", "wrap_metal") if getattr(string, key) is not None]
        if given and not string.wound:
            yield refusal("strings.plain-is-built", of_key(f"{path}.{given[0]}"), key=given[0])
        elif string.wound:
            yield from _build(string, path)


def _build(string: AnyString, path: str) -> Iterator[Finding]:
    if string.core is None and string.wraps is None:
        return
    from nutgen.theory.unit_mass import HEX_GIRTH  # few files get here; the others need not wait

    room = string.gauge * (1.0 if string.core_shape == "round" else 1.0 / HEX_GIRTH)
    turns = 2.0 * sum(string.wraps or ())

    def told(size: float) -> str:
        return f"{shown(size / 25.4)} in"

    if string.core is not None and string.core >= FULLEST * room:
        yield refusal("strings.no-room-for-wrap", of_key(f"{path}.core"), written=told(string.core), most=told(room))
    if turns >= FULLEST * string.gauge:
        yield refusal("strings.no-core-left", of_key(f"{path}.wraps"), written=told(turns), most=told(string.gauge))


def old_nut_faults(
    old_nut: OldNut, strings: Strings, fretboard: Fretboard, instrument: Instrument
) -> Iterator[Finding]:
    """Slots that go with other strings than these, or stand where no slot can."""
    keys = ("centres", "edges", "widths", "too_thick", "floors")
    yield from not_one_a_string(len(strings), {f"old_nut.{key}": getattr(old_nut, key) for key in keys})
    if old_nut.centres is None and old_nut.edges is None:
        means = "from the bass end of the nut; or edges, to the bass-side edge of each slot, by caliper"
        yield refusal("reading.missing", of_key("old_nut.centres"), name="centres", means=means, allowed=())
    elif old_nut.centres is not None and old_nut.edges is not None:
        yield given_together("old_nut.edges", "centres")
    else:
        places = "edges" if old_nut.edges is not None else "centres"
        yield from beyond_board(f"old_nut.{places}", getattr(old_nut, places), longest_face(fretboard, instrument))
    too_thick = old_nut.too_thick or ()
    yield from _drags_thinner("old_nut.too_thick", old_nut.widths, too_thick, "old-nut.no-go-enters")
    for number in old_nut.rattles or ():
        if not 1 <= number <= len(strings):
            yield refusal("old-nut.no-such-string", of_key("old_nut.rattles"), number=number, most=len(strings))
    highest, lowest, path = max(old_nut.floors), min(old_nut.floors), of_key("old_nut.floors")
    if old_nut.floors_from == "fret plane" and highest > HIGHEST_OVER_PLANE:
        yield refusal("old-nut.floors-too-high", path, written=highest, most=HIGHEST_OVER_PLANE)
    if old_nut.floors_from == "seat floor" and lowest < LOWEST_OVER_SEAT:
        yield refusal("old-nut.floors-too-low", path, written=lowest, least=LOWEST_OVER_SEAT)


def _dry_fit(dry_fit: DryFit, strings: Strings) -> Iterator[Finding]:
    lists = {f"dry_fit.{key}": getattr(dry_fit, key) for key in (*LEAF_KEYS, "action")}
    yield from not_one_a_string(len(strings), lists)
    if dry_fit.feeler is None and dry_fit.sliver is None:
        yield refusal("dry-fit.no-readings", of_key("dry_fit.feeler"))
    for key, needs in (("barred", "feeler"), ("feeler_drags", "feeler"), ("sliver_drags", "sliver")):
        if getattr(dry_fit, key) is not None and getattr(dry_fit, needs) is None:
            yield refusal("dry-fit.reading-alone", of_key(f"dry_fit.{needs}"), key=key)


def leaf_faults(dry_fit: DryFit, tools: Tools) -> Iterator[Finding]:
    """Readings that no leaf of these can give."""
    own = (sheet.thickness for sheet in tools.own_leaves)
    thinnest = min((*tools.feeler, *tools.feeler_inch, *own, *tools.wires), default=0.0)
    for key in LEAF_KEYS:
        for place, reading in enumerate(getattr(dry_fit, key) or (), 1):
            if 0.0 < reading < thinnest - LEAF_WEAR:
                inches = f'"{shown(reading)} in"' if 0.1 <= reading * 25.4 <= 3.0 else ""
                path = of_key(f"dry_fit.{key}[{place}]")
                yield refusal("dry-fit.below-thinnest-leaf", path, written=reading, least=thinnest, likely=inches)
    for key in ("feeler", "sliver"):
        yield from _drags_thinner(
            f"dry_fit.{key}_drags", getattr(dry_fit, key) or (), getattr(dry_fit, f"{key}_drags") or ()
        )


def _drags_thinner(
    key: str,
    passes: Sequence[float | str],
    drags: Sequence[float | str],
    code: str = "dry-fit.drags-thinner-than-passes",
) -> Iterator[Finding]:
    """What drags, or does not enter, by its key, where it is no thicker than what passes."""
    for place, (thinner, thicker) in enumerate(zip(passes, drags, strict=False), 1):
        if isinstance(thinner, float) and isinstance(thicker, float) and thicker <= thinner:
            path = of_key(f"{key}[{place}]")
            yield refusal(code, path, written=thicker, passes=thinner)


def trial_faults(trial: Trial, strings: Strings) -> Iterator[Finding]:
    """Readings of a trial nut that are not of these strings, or tell nothing."""
    keys = ("clearances", "drags", "action", "over_wires", "wires")
    missing = [*not_one_a_string(len(strings), {f"trial.{key}": getattr(trial, key) for key in keys})]
    yield from missing
    if missing:
        return
    yield from _drags_thinner("trial.drags", trial.clearances, trial.drags or ())
    read = [
        isinstance(clearance, float) and clearance > 0.0 and isinstance(over, float)
        for clearance, over in zip(trial.clearances, trial.over_wires, strict=True)
    ]
    if not any(read):
        yield refusal("trial.no-plane", of_key("trial.clearances"))
    wires = trial.wires.at([place / max(len(read) - 1, 1) for place in range(len(read))])
    for place, (over, wire) in enumerate(zip(trial.over_wires, wires, strict=True), 1):
        if isinstance(over, float) and over - wire < LOWEST_OVER_SEAT:
            path = of_key(f"trial.over_wires[{place}]")
            yield refusal("trial.floor-too-low", path, written=over - wire, least=LOWEST_OVER_SEAT)


def _print(print: Print) -> Iterator[Finding]:
    nozzle, line = print.nozzle, print.line_width
    if print.coupon_slot is not None and "per_side" in print.model_fields_set:
        yield given_together("print.per_side", "coupon_slot")
    if print.layer_height > nozzle:
        yield refusal("print.layer-over-nozzle", of_key("print.layer_height"), written=print.layer_height, most=nozzle)
    if line is not None and not nozzle / 2.0 <= line <= 2.0 * nozzle:
        yield refusal("print.line-off-nozzle", of_key("print.line_width"), written=line, nozzle=nozzle)


PLAYING_CHECKS: tuple[Check, ...] = (
    *(_pluck, _saddle, _clamped, _tuner, _before, _builds, old_nut_faults),
    *(_dry_fit, leaf_faults, trial_faults, _print),
)
