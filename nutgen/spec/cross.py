"""What two keys of an instrument file say about each other: faults that no single key shows."""

import math
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from nutgen.finding import Finding, of_key, refusal
from nutgen.spec.cross_playing import (
    PLAYING_CHECKS,
    Check,
    beyond_board,
    checked,
    given_together,
    longest_face,
    not_one_a_string,
)
from nutgen.spec.strings import OF_FRETS, AnyString, Drone, Guide, Lap, String, ZeroFret
from nutgen.spec.tables import (
    MEASURED_KEYS,
    Body,
    Crowns,
    Fretboard,
    Headstock,
    Instrument,
    Seat,
    Setup,
    Slots,
    Spacing,
    Spec,
)
from nutgen.spec.toml_table import TomlTable, keys_of
from nutgen.spec.values import DIGITS, nearest
from nutgen.theory.frets import fret_position
from nutgen.theory.materials import PLAIN_MATERIALS, highest_pitch_hz
from nutgen.theory.notes import midi_number, note_pitch_hz

Strings = tuple[String, ...]

LEAST_RADIUS = 0.55  # of the width: a board more arched than a half circle is no board
MOST_TAPER = 40.0  # mm from the nut to fret 12, and never narrower; more is a slip of a measurement
LEAST_DEPTH = 0.5  # mm of a seat; less holds no nut
LEAST_PLANE = 0.3  # mm from a seat's floor to the fret plane

_PLAIN = {material.name: material for material in PLAIN_MATERIALS}


def cross_faults(parts: Mapping[str, Any]) -> list[Finding]:
    """Every fault between the tables that are whole by themselves.

    parts : table name -> validated table; tables with faults of their own are absent
    """
    return list(checked(parts, _CHECKS))


def raised_faults(faults: Sequence[Finding]) -> Iterator[Finding]:
    """The reason behind heights over the frets that are far out of range: a nut raised for a bar has none."""
    paths = {f"setup.{key}" for key in ("action", "first_fret_clearance", "floor_height")}
    for fault in faults:
        path = fault.about[0].name if fault.about else ""
        if fault.code == "reading.above-range" and path.removesuffix(".bass") in paths and not fault.value("likely"):
            yield refusal("setup.raised", of_key(path))
            return


def under_bar(raw: Mapping[str, Any]) -> tuple[Mapping[str, Any], list[Finding]]:
    """A file of strings that a bar lies on, with what stands for heights over frets; and what it says of frets."""
    if "lap" not in raw:
        return raw, []
    board = raw.get("fretboard")
    flush = {"fretboard": {"fret_height": "none", **board}} if isinstance(board, Mapping) else {}
    said = [refusal("lap.no-frets", of_key(name)) for name in OF_FRETS if name in raw]
    rest = {name: table for name, table in raw.items() if name not in OF_FRETS}
    return {**rest, **flush, "setup": {"relief": "0 mm", "action": "1 mm"}}, said


def unmeasured_faults(listed: Sequence[str], raw: Mapping[str, Any], read: Collection[str]) -> Iterator[Finding]:
    """Paths of readings not taken that name no key, no reading, nothing that the file holds, or what was read.

    raw  : what stands in the file
    read : keys that stand there by the way they were read in, so that they were
    """
    for place, path in enumerate(listed, 1):
        who, plain = of_key(f"not_measured[{place}]"), re.sub(r"\[\d+\]", "", path)
        if plain not in MEASURED_KEYS:
            code = "no-reading" if _is_key(plain) else "no-such-key"
            yield refusal(f"not-measured.{code}", who, written=path[:60], likely=nearest(plain, MEASURED_KEYS))
        elif not _held(path, raw):
            yield refusal("not-measured.not-in-file", who, written=path[:60])
        elif path in read:
            yield refusal("not-measured.was-read", who, written=path[:60])
        elif path in listed[: place - 1]:
            yield refusal("not-measured.twice", who, written=path[:60])


def _is_key(path: str) -> bool:
    table, _, key = path.partition(".")
    schema = Spec.json_schema()
    here = schema["properties"].get(table, {})
    ref = here.get("$ref") or here.get("items", {}).get("$ref", "")
    return bool(here) and (not key or key in schema["$defs"].get(ref.rpartition("/")[2], {}).get("properties", {}))


def _held(path: str, raw: Any) -> bool:
    """Whether a path, counted as makers do, leads to a value that was written."""
    for key, index in re.findall(r"(\w+)|\[(\d+)\]", path):
        if isinstance(raw, TomlTable):
            raw = {name: getattr(raw, name) for name in keys_of(type(raw)) if name in raw.model_fields_set}
        if key and isinstance(raw, Mapping) and key in raw:
            raw = raw[key]
        elif index and isinstance(raw, list | tuple) and 0 < int(index) <= len(raw):
            raw = raw[int(index) - 1]
        else:
            return False
    return True


def _board(fretboard: Fretboard) -> Iterator[Finding]:
    yield from _too_arched("fretboard.radius", fretboard.radius, fretboard.width)
    at_12, most = fretboard.width_at_12, round(fretboard.width + MOST_TAPER, DIGITS)
    if at_12 is not None and not fretboard.width <= at_12 <= most:
        values = {"written": at_12, "least": fretboard.width, "most": most}
        yield refusal("fretboard.no-such-taper", of_key("fretboard.width_at_12"), **values)


def _too_arched(path: str, radius: float, width: float) -> Iterator[Finding]:
    least = round(LEAST_RADIUS * width, DIGITS)
    if radius < least:
        yield refusal("reading.radius-too-small", of_key(path), written=radius, width=width, least=least)


def _slant(instrument: Instrument) -> Iterator[Finding]:
    if instrument.perpendicular_fret > instrument.frets:
        yield refusal(
            "instrument.square-fret-beyond-last",
            of_key("instrument.perpendicular_fret"),
            written=f"{instrument.perpendicular_fret:g}",
            frets=instrument.frets,
        )


def _seat(seat: Seat, fretboard: Fretboard) -> Iterator[Finding]:
    if seat.kind == "surface":
        for key, given in (("depth", seat.depth > 0.0), ("floor", math.isfinite(seat.floor))):
            if given:
                yield refusal("seat.surface-has-none", of_key(f"seat.{key}"), key=key)
    elif seat.depth < LEAST_DEPTH:
        yield refusal("seat.no-depth", of_key("seat.depth"), least=LEAST_DEPTH)
    yield from _too_arched("seat.floor", seat.floor, fretboard.width)
    if seat.fret_plane is not None and seat.kind != "surface":
        for height in sorted(set(seat.fret_plane.values)):
            if height <= LEAST_PLANE:
                yield refusal("seat.fret-plane-too-low", of_key("seat.fret_plane"), written=height, least=LEAST_PLANE)


def _headstock(headstock: Headstock, strings: Strings) -> Iterator[Finding]:
    bare = tuple(place for place, string in enumerate(strings, 1) if string.post is None)
    if headstock.break_angle_deg is None and bare:
        some = bare if len(bare) < len(strings) else ()
        yield refusal("headstock.no-angle", of_key("headstock.break_angle_deg"), listed=some)


def _guides(guides: tuple[Guide, ...], strings: Strings, seat: Seat) -> Iterator[Finding]:
    """A guide presses on strings whose posts are known, between nut and post, and no string has two."""
    count, taken = len(strings), set[int]()
    for place, guide in enumerate(guides, 1):
        path = f"guides[{place}]"
        if guide.drop is None and guide.wanted_deg is None:
            yield refusal("guide.no-height", of_key(f"{path}.drop"))
        if guide.y <= seat.thickness:
            yield refusal("guide.over-nut", of_key(f"{path}.y"), written=guide.y, least=seat.thickness)
        for number in guide.strings or range(1, count + 1):
            post = strings[count - number].post if number <= count else None
            if number > count:
                yield refusal("guide.no-such-string", of_key(f"{path}.strings"), number=number, most=count)
            elif number in taken:
                yield refusal("guide.second", of_key(f"{path}.strings"), number=number)
            elif post is None:
                yield refusal("guide.no-post", of_key(f"strings[{count - number + 1}].post"))
            elif post.y <= guide.y:
                yield refusal("guide.behind-post", of_key(f"{path}.y"), number=number, written=guide.y, most=post.y)
            taken.add(number)


def _setup(setup: Setup, zero_fret: ZeroFret | None, lap: Lap | None) -> Iterator[Finding]:
    if zero_fret is not None or lap is not None:
        return
    if setup.first_fret_clearance is not None and setup.floor_height is not None:
        yield given_together("setup.floor_height", "first_fret_clearance")
    if setup.first_fret_clearance is None and setup.floor_height is None:
        yield refusal("setup.no-target", of_key("setup.first_fret_clearance"))


def _zero_fret(zero_fret: ZeroFret, setup: Setup, slots: Slots, strings: Strings) -> Iterator[Finding]:
    """A zero fret says where the open strings start: nothing else does."""
    if (zero_fret.height is None) == (zero_fret.gap_at_1 is None):
        yield refusal("zero-fret.height-once", of_key("zero_fret.height"), given=zero_fret.height is not None)
    said = {f"setup.{key}": getattr(setup, key) is not None for key in ("first_fret_clearance", "floor_height")}
    for path, given in {**said, "slots.setback": any(slots.setback.values)}.items():
        if given:
            yield refusal("zero-fret.decides-already", of_key(path))
    yield from not_one_a_string(len(strings), {"zero_fret.below": zero_fret.below})


def _fretless(fretboard: Fretboard, lap: Lap | None) -> Iterator[Finding]:
    """Heights are over the crowns, so that there have to be some, but under a bar."""
    if fretboard.fret_height == 0.0 and lap is None:
        yield refusal("lap.fret-height-none", of_key("fretboard.fret_height"))


def _lap(lap: Lap, fretboard: Fretboard, seat: Seat, slots: Slots) -> Iterator[Finding]:
    """Under a bar the board is what heights are over."""
    for path, given in {
        "fretboard.fret_height": fretboard.fret_height > 0.0,
        "seat.fret_plane": seat.fret_plane is not None,
        "slots.setback": any(slots.setback.values),
    }.items():
        if given:
            yield refusal("lap.no-frets", of_key(path))


def _crowns(crowns: Crowns, instrument: Instrument) -> Iterator[Finding]:
    last = instrument.frets
    for name, low, high in (("high", 1, last), ("rocker", 2, last - 1), ("relief", 2, last - 1)):
        for one in getattr(crowns, name):
            if not low <= one.fret <= high:
                yield refusal("crowns.no-such-fret", of_key(f"crowns.{name}"), fret=one.fret, first=low, last=high)


def _lists(setup: Setup, headstock: Headstock, slots: Slots, strings: Strings) -> Iterator[Finding]:
    clearance = setup.first_fret_clearance
    yield from not_one_a_string(
        len(strings),
        {
            "setup.action": setup.action,
            "setup.action_now": setup.action_now,
            "setup.clearance_now": setup.clearance_now,
            "setup.first_fret_clearance": None if clearance == "lowest" else clearance,
            "setup.floor_height": setup.floor_height,
            "headstock.break_angle_deg": headstock.break_angle_deg,
            "headstock.fan_deg": headstock.fan_deg,
            "slots.tilt_deg": None if slots.tilt_deg == "string" else slots.tilt_deg,
            "slots.setback": slots.setback,
        },
    )


def _spacing(spacing: Spacing, fretboard: Fretboard, instrument: Instrument, strings: Strings) -> Iterator[Finding]:
    if spacing.rule == "measured":
        yield from _measured(spacing, longest_face(fretboard, instrument), strings)
    else:
        if spacing.measured is not None:
            yield refusal("spacing.measured-by-rule", of_key("spacing.measured"), rule=spacing.rule)
        if spacing.margin is None:
            yield refusal("spacing.no-margin", of_key("spacing.margin"))
    labels = [string.course for string in strings]
    if any(labels):
        yield from _labels(labels, spacing)
    elif spacing.course_gap is not None and len(strings) % 2:
        yield refusal("spacing.odd-pairs", of_key("spacing.course_gap"), strings=len(strings))


def _labels(labels: list[int | None], spacing: Spacing) -> Iterator[Finding]:
    given = [label for label in labels if label is not None]
    if len(given) < len(labels):
        missing = tuple(place for place, label in enumerate(labels, 1) if label is None)
        yield refusal("strings.courses-missing", of_key("strings"), listed=missing)
    elif any(a < b for a, b in pairwise(given)):
        yield refusal("strings.courses-out-of-order", of_key("strings"))
    elif len(set(given)) < len(given) and spacing.course_gap is None and spacing.rule != "measured":
        yield refusal("spacing.no-course-gap", of_key("spacing.course_gap"))


def _measured(spacing: Spacing, face: float, strings: Strings) -> Iterator[Finding]:
    centres, path = spacing.measured, "spacing.measured"
    if centres is None:
        yield refusal("spacing.no-centres", of_key(path))
        return
    yield from not_one_a_string(len(strings), {path: centres})
    yield from beyond_board(path, centres, face)


def _body(body: Body, seat: Seat) -> Iterator[Finding]:
    if body.land > seat.thickness:
        yield refusal("body.land-too-wide", of_key("body.land"), written=body.land, most=seat.thickness)


def _ends(body: Body, fretboard: Fretboard, seat: Seat) -> Iterator[Finding]:
    radius = fretboard.radius if seat.kind == "surface" else seat.floor
    most = round(radius - LEAST_RADIUS * fretboard.width, DIGITS)
    if body.ends > most >= 0.0:
        yield refusal("body.ends-beyond-arch", of_key("body.ends"), written=body.ends, most=most, radius=radius)


def _order(strings: Strings) -> Iterator[Finding]:
    pitches = [midi_number(string.note) for string in strings]
    falling = len(strings) > 2 and all(a > b for a, b in pairwise(pitches))
    if falling and strings[0].gauge < strings[-1].gauge:
        yield refusal("strings.treble-first", of_key("strings"))


def _pitches(strings: Strings, drones: tuple[Drone, ...], instrument: Instrument) -> Iterator[Finding]:
    whole = min(instrument.scale_length.bass, instrument.scale_length.treble)
    listed: list[tuple[str, AnyString, float]] = [
        (f"strings[{place}]", string, whole) for place, string in enumerate(strings, 1)
    ]
    for place, drone in enumerate(drones, 1):
        listed.append((f"drones[{place}]", drone, whole - float(fret_position(drone.fret, scale_length=whole))))
    for path, string, scale in listed:
        highest = float(highest_pitch_hz(_PLAIN[string.material], scale_length=scale))
        wanted = float(note_pitch_hz(string.note, a4_hz=instrument.a4_hz))
        if wanted > highest:
            yield refusal(
                "strings.note-too-high",
                of_key(f"{path}.note"),
                note=string.note,
                material=string.material,
                scale=scale,
                wanted_hz=wanted,
                highest_hz=highest,
            )


_CHECKS: tuple[Check, ...] = (
    *(_board, _slant, _seat, _headstock, _setup, _zero_fret, _fretless, _lap, _crowns, _lists, _spacing, _body),
    *(_ends, _order, _guides, _pitches),
    *PLAYING_CHECKS,
)
