"""What two keys of a file say about each other: faults that no single key shows."""

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from nutgen.errors import Fault
from nutgen.spec.cross_fitting import FITTING_CHECKS
from nutgen.spec.cross_forming import FORMING_CHECKS
from nutgen.spec.cross_playing import PLAYING_CHECKS
from nutgen.spec.fields import shown
from nutgen.spec.tables import (
    Body,
    Fretboard,
    Headstock,
    Instrument,
    Seat,
    Setup,
    Slots,
    Spacing,
    String,
)
from nutgen.spec.values import Across
from nutgen.theory.materials import PLAIN_MATERIALS, highest_pitch_hz
from nutgen.theory.notes import midi_number, note_pitch_hz

Strings = tuple[String, ...]

_PLAIN = {material.name: material for material in PLAIN_MATERIALS}


def cross_faults(parts: dict[str, Any]) -> list[Fault]:
    """Every fault between the tables that are whole by themselves.

    parts : table name -> validated table; tables with faults of their own are absent
    """
    faults: list[Fault] = []
    for check, names in _CHECKS + PLAYING_CHECKS + FITTING_CHECKS + FORMING_CHECKS:
        if all(name in parts for name in names):
            faults += check(*(parts[name] for name in names))
    return faults


def _board(fretboard: Fretboard) -> Iterator[Fault]:
    if fretboard.radius < 0.55 * fretboard.width:
        yield Fault(
            "fretboard.radius",
            f"{shown(fretboard.radius)} mm is too small for a board {shown(fretboard.width)} mm wide;"
            f" allowed is {shown(0.55 * fretboard.width)} mm at least",
        )


def _slant(instrument: Instrument) -> Iterator[Fault]:
    if instrument.perpendicular_fret > instrument.frets:
        yield Fault(
            "instrument.perpendicular_fret",
            f"{shown(instrument.perpendicular_fret)} is above the last fret, {instrument.frets}",
        )


def _seat(seat: Seat, fretboard: Fretboard) -> Iterator[Fault]:
    if seat.kind == "surface" and seat.depth > 0.0:
        yield Fault("seat.depth", "a surface nut stands on the board and has no depth; leave the key out")
    if seat.kind == "surface" and math.isfinite(seat.floor):
        yield Fault("seat.floor", "a surface nut follows the board radius; leave the key out")
    if seat.kind != "surface" and seat.depth < 0.5:
        yield Fault(
            "seat.depth",
            'missing or below 0.5 mm; measure from the board surface down to the floor, or write kind = "surface"',
        )
    if math.isfinite(seat.floor) and seat.floor < 0.55 * fretboard.width:
        yield Fault("seat.floor", f"{shown(seat.floor)} mm is too small for a seat {shown(fretboard.width)} mm wide")
    if seat.fret_plane is not None and seat.kind != "surface":
        for side in sorted({seat.fret_plane.bass, seat.fret_plane.treble}):
            if side <= 0.3:
                yield Fault("seat.fret_plane", f"{shown(side)} mm leaves no nut above its seat")


def _body(body: Body, seat: Seat) -> Iterator[Fault]:
    if body.land > seat.thickness:
        yield Fault(
            "body.land",
            f"{shown(body.land)} mm is more than the nut is thick; allowed is up to seat.thickness,"
            f" {shown(seat.thickness)} mm",
        )


def _headstock(headstock: Headstock, strings: Strings) -> Iterator[Fault]:
    bare = [index + 1 for index, string in enumerate(strings) if string.post is None]
    if headstock.break_angle_deg is None and bare:
        which = "" if len(bare) == len(strings) else f" for strings {', '.join(map(str, bare))}"
        yield Fault(
            "headstock.break_angle_deg",
            f"missing{which}; write the angle, or a tuner post for each string: post = {{ y = , x = , drop = }}",
        )


def _setup(setup: Setup) -> Iterator[Fault]:
    both = setup.first_fret_clearance is not None and setup.floor_height is not None
    neither = setup.first_fret_clearance is None and setup.floor_height is None
    if both:
        yield Fault(
            "setup.floor_height",
            "given together with first_fret_clearance; one follows from the other, keep one",
        )
    if neither:
        yield Fault("setup.first_fret_clearance", "missing; write it, or floor_height where you know the floor")


def _lists(setup: Setup, headstock: Headstock, slots: Slots, strings: Strings) -> Iterator[Fault]:
    clearance = setup.first_fret_clearance
    lists: dict[str, Across | None] = {
        "setup.action": setup.action,
        "setup.first_fret_clearance": None if clearance == "lowest" else clearance,
        "setup.floor_height": setup.floor_height,
        "headstock.break_angle_deg": headstock.break_angle_deg,
        "headstock.fan_deg": headstock.fan_deg,
        "slots.tilt_deg": slots.tilt_deg,
        "slots.setback": slots.setback,
    }
    for path, value in lists.items():
        if value is not None and value.each and len(value.values) != len(strings):
            yield Fault(path, f"{len(value.values)} values for {len(strings)} strings; write one a string, bass first")


def _spacing(spacing: Spacing, fretboard: Fretboard, strings: Strings) -> Iterator[Fault]:
    if spacing.rule == "measured":
        yield from _measured(spacing, fretboard, strings)
    else:
        if spacing.measured is not None:
            yield Fault("spacing.measured", f'given, but the rule is "{spacing.rule}"; write rule = "measured"')
        if spacing.margin is None:
            yield Fault("spacing.margin", "missing; measure from the board edge to the outer string")
    labels = [string.course for string in strings]
    if any(labels):
        yield from _labels(labels, spacing)
    elif spacing.course_gap is not None and len(strings) % 2:
        yield Fault(
            "spacing.course_gap",
            f"pairs up the strings, but there are {len(strings)}; write course = N in each [[strings]]",
        )


def _labels(labels: list[int | None], spacing: Spacing) -> Iterator[Fault]:
    given = [label for label in labels if label is not None]
    if len(given) < len(labels):
        missing = [str(index + 1) for index, label in enumerate(labels) if label is None]
        yield Fault("strings", f"course is missing in {', '.join(missing)}; give it for every string or for none")
    elif any(a < b for a, b in pairwise(given)):
        yield Fault("strings", "courses run from the highest number (bass) down to 1 (treble-most); reorder them")
    elif len(set(given)) < len(given) and spacing.course_gap is None and spacing.rule != "measured":
        yield Fault("spacing.course_gap", "missing; measure the room between the two strings of a course")


def _measured(spacing: Spacing, fretboard: Fretboard, strings: Strings) -> Iterator[Fault]:
    centres = spacing.measured
    if centres is None:
        yield Fault("spacing.measured", "missing; write the centres from the bass end, measured = [...]")
        return
    if len(centres) != len(strings):
        yield Fault("spacing.measured", f"{len(centres)} centres for {len(strings)} strings; one a string, bass first")
    if any(b <= a for a, b in pairwise(centres)):
        words = "measured from the treble end?" if all(b < a for a, b in pairwise(centres)) else "one misread?"
        yield Fault("spacing.measured", f"the centres must grow from the bass end; {words}")
    if max(centres) >= fretboard.width:
        yield Fault(
            "spacing.measured",
            f"{shown(max(centres))} mm is beyond the board, {shown(fretboard.width)} mm wide",
        )


def _order(strings: Strings) -> Iterator[Fault]:
    pitches = [midi_number(string.note) for string in strings]
    falling = len(strings) > 2 and all(a > b for a, b in pairwise(pitches))
    if falling and strings[0].gauge < strings[-1].gauge:
        yield Fault("strings", "listed treble to bass; list them bass to treble (the thickest, lowest string first)")


def _pitches(strings: Strings, instrument: Instrument) -> Iterator[Fault]:
    scale = min(instrument.scale_length.bass, instrument.scale_length.treble)
    for index, string in enumerate(strings):
        highest = float(highest_pitch_hz(_PLAIN[string.material], scale_length=scale))
        wanted = float(note_pitch_hz(string.note, a4_hz=instrument.a4_hz))
        if wanted > highest:
            yield Fault(
                f"strings[{index + 1}].note",
                f"{string.note} ({wanted:.0f} Hz) breaks any {string.material} string on a scale of"
                f" {shown(scale)} mm, whatever its gauge; the highest is about {highest:.0f} Hz; an octave too high?",
            )


_CHECKS: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (_board, ("fretboard",)),
    (_slant, ("instrument",)),
    (_seat, ("seat", "fretboard")),
    (_headstock, ("headstock", "strings")),
    (_setup, ("setup",)),
    (_lists, ("setup", "headstock", "slots", "strings")),
    (_spacing, ("spacing", "fretboard", "strings")),
    (_body, ("body", "seat")),
    (_order, ("strings",)),
    (_pitches, ("strings", "instrument")),
)
