"""The tables that only playing and fitting need: pluck, saddle, reading errors, the strings before, old nut, dry fit.

None of them is needed to make a nut. Their defaults are assumptions, and whoever prints a number
that rests on one says so: a key that the maker wrote is in the table's `given`.
"""

import re
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field, StrictBool

from nutgen.errors import Unreadable
from nutgen.spec.fields import (
    FieldType,
    across,
    in_parts,
    length,
    number,
    or_way,
    or_word,
    read_by,
    several,
    whole,
    words,
)
from nutgen.spec.strings import LONGEST_SET_NAME, MOST_STRINGS, String, note_name
from nutgen.spec.toml_table import TomlTable
from nutgen.spec.values import Across, BareUnits, read_length, shown_value
from nutgen.spec.ways import UnderString
from nutgen.spec.workshop import MaterialName
from nutgen.theory.bridge import ISO_261

NOTES = several(note_name(), most=MOST_STRINGS, like=["E1", "A1", "D2", "G2"])
"""Note names, bass to treble."""

After = Literal["filing", "nothing", "fill", "shim", "new nut"]

HIGHEST_READING = 3.0  # mm; a leaf stack thicker than this is no gap under a string at fret 1

LEAVES = several(length(0.0, HIGHEST_READING, what="leaf"), most=MOST_STRINGS, like=[0.55, 0.50, 0.50, 0.45])
"""Readings by feeler leaf, one a string from the bass; 0 where not even the thinnest leaf passes [mm]."""


class Pluck(TomlTable):
    """How hard, and where, the strings are plucked; how far behind a fret the finger presses."""

    force_n: Annotated[float, number(0.05, 20.0)] | None = None
    """force at release, square to the board [N]; by kind of instrument where not given: an assumption"""
    height: Annotated[Across, across(length(0.02, 6.0), each=True)] | None = None
    """displacement at release, square to the board, instead of the force"""
    from_bridge: Annotated[float, length(8.0, 400.0)] | None = None
    """pluck point; an eighth of the scale length where not given: an assumption"""
    margin: Annotated[float, length(0.0, 1.0)] = 0.05
    """room left over every fret by the lowest floor"""
    finger: Annotated[float, length(0.0, 30.0)] = 8.0
    """finger behind the fret; half the fret's space where that is less"""


@dataclass(frozen=True, slots=True)
class Anchor:
    """Where a string ends behind its saddle.

    y    : back from the crest, along the string [mm]
    drop : down from the crest [mm]
    """

    y: float
    drop: float


ANCHOR = in_parts(Anchor, Anchor, {"y": length(2.0, 400.0), "drop": length(0.0, 80.0)})

PITCHES = (0.15, 2.0)  # mm; of a thread that lifts a saddle
_METRIC = re.compile(r"M(\d+(?:\.\d+)?)(?:\s*[xX]\s*(\d*\.?\d+))?", re.ASCII)
_PER_INCH = re.compile(r"(\d+(?:\.\d+)?) (?:turns )?per inch", re.ASCII)
_TURNS = re.compile(r"(\d+(?:\.\d+)?) turns? = (.+)", re.ASCII)


def _thread() -> FieldType:
    """The pitch of a screw: a metric thread by its name, turns per inch, or what some turns lift [mm]."""

    def pitch(text: str) -> float | None:
        if metric := _METRIC.fullmatch(text):
            known = ISO_261.get(float(metric[1]), ())
            wanted = float(metric[2]) if metric[2] else next(iter(known), None)
            return wanted if wanted in known else None
        if per_inch := _PER_INCH.fullmatch(text):
            return 25.4 / float(per_inch[1]) if float(per_inch[1]) else None
        if counted := _TURNS.fullmatch(text):
            return read_length(counted[2], "mm").mm / float(counted[1]) if float(counted[1]) else None
        return None

    def read(value: object, units: BareUnits | None) -> float:
        if units is None and isinstance(value, float):
            return value
        found = pitch(value.strip()) if isinstance(value, str) and len(value) < 80 else None
        if found is None or not PITCHES[0] <= found <= PITCHES[1]:
            raise Unreadable("saddle.thread-misread", written=shown_value(value), least=PITCHES[0], most=PITCHES[1])
        return found

    return read_by(read, {"type": "string", "examples": ["M3", "M3 x 0.35", "32 per inch", "10 turns = 7.0 mm"]})


class Saddle(TomlTable):
    """The other end of the strings."""

    bridge: Literal["each", "two posts", "fixed"] = "each"
    """each saddle by its screws, all on two posts, or one fixed saddle"""
    thread: Annotated[float, _thread()] | None = None
    """of the screws: "M3", "M3 x 0.35", "32 per inch", or counted: "10 turns = 7.0 mm"; turns are told where it is
    given"""
    spread: Annotated[float, length(8.0, 200.0)] | None = None
    """outer strings at the bridge, centre to centre; else as the strings run over the board"""
    posts: Annotated[float, length(20.0, 250.0)] | None = None
    """the two posts, middle to middle; the strings stand in the middle between them"""
    anchor: Annotated[Anchor, ANCHOR] | None = None
    """where the string ends behind the crest: { y = back along it, drop = down }"""
    even_tops: StrictBool = False
    """level the string tops under the hand by the saddles, 0.3 mm each at most"""


class Clamped(TomlTable):
    """A metal nut that clamps its strings and stays in: shims set its height, by what setup.clearance_now reads."""

    apart: Annotated[float, length(10.0, 80.0)]
    """shims at the bass side to those at the treble side, middle to middle, the centre line between them"""
    shims: Annotated[tuple[float, ...], several(length(0.02, 3.0), like=[0.05, 0.1, 0.2, 0.5])] = (0.05, 0.1, 0.2, 0.5)
    """sheets that shims are cut from"""
    now: Annotated[Across, across(length(0.0, 5.0))] = Across((0.0,))
    """shims under it now, in all at each side"""


FRETS_TUNED = (1, 3, 12)
"""Frets that the tuner is read at."""


@dataclass(frozen=True, slots=True)
class Cents:
    """Readings of a tuner, one a string from the bass: the open string is 0, sharp is positive [cents].

    harmonic : of the harmonic over fret 12; 0 where the string was tuned to it
    fret_1, fret_3, fret_12 : pressed there as in playing
    """

    fret_1: tuple[float, ...]
    fret_3: tuple[float, ...]
    fret_12: tuple[float, ...]
    harmonic: tuple[float, ...] = ()


_CENTS = several(number(-100.0, 100.0), most=MOST_STRINGS, like=[3.0, 5.0, 2.0, 4.0])


class Tuner(TomlTable):
    """What a tuner reads after the fit, strings at pitch."""

    cents: Annotated[
        Cents,
        in_parts(Cents, Cents, dict.fromkeys(("fret_1", "fret_3", "fret_12", "harmonic"), _CENTS), free="harmonic"),
    ]
    """cents off, sharp is positive, bass first: { fret_1 = [], fret_3 = [], fret_12 = [], harmonic = [] }, each string
    tuned to 0 open; harmonic is that over fret 12"""
    within_cents: Annotated[float, number(0.2, 20.0)] = 4.0
    """how far such a reading may be off: a half-width that holds 95 %"""


class Errors(TomlTable):
    """How far a reading, or a cut, may be off to either side: half-widths that hold 95 %, of a normal distribution.

    Defaults: common practice, no source.
    """

    depth: Annotated[float, length(0.0, 1.0)] = 0.05
    """of seat.depth"""
    fret_height: Annotated[float, length(0.0, 0.5)] = 0.05
    """of fretboard.fret_height"""
    fret_plane: Annotated[float, length(0.0, 0.5)] = 0.04
    """of seat.fret_plane"""
    radius: Annotated[float, number(0.0, 0.5, unit="share")] = 0.05
    """of fretboard.radius, as a share of it"""
    relief: Annotated[float, length(0.0, 0.5)] = 0.03
    """of setup.relief"""
    zero_fret: Annotated[float, length(0.0, 0.5)] = 0.04
    """of zero_fret.height"""
    action: Annotated[float, length(0.0, 1.0)] = 0.10
    """of setup.action, as the saddle is set"""
    floors: Annotated[float, length(0.0, 0.5)] = 0.03
    """of each slot floor, as it is filed"""


class Before(TomlTable):
    """What was strung before: another set, another tuning, or both."""

    string_set: Annotated[str, words(LONGEST_SET_NAME)] | None = None
    """a set of your own, sets/NAME.toml beside this file: what it says of a string is left out below"""
    strings: tuple[String, ...] = Field((), max_length=MOST_STRINGS)
    """the old set, bass to treble; the same gauges as now where not given"""
    tuning: Annotated[tuple[str, ...], NOTES] | None = None
    """the old notes, bass first; those of the strings where not given"""
    a4_hz: Annotated[float, number(380.0, 500.0)] | None = None
    """pitch of A4 before; the same as now where not given"""


def _or_none(one: FieldType, like: list[Any]) -> FieldType:
    return several(or_word(one, "none", means="none"), most=MOST_STRINGS, like=like)


class OldNut(TomlTable):
    """The old nut as measured, bass to treble."""

    centres: Annotated[tuple[float, ...], several(length(0.3, 130.0))] | None = None
    """slot centres from the bass end of the nut, along its front face"""
    edges: Annotated[tuple[float, ...], several(length(0.1, 130.0))] | None = None
    """instead of the centres, by caliper: one jaw flat on the bass end of the nut, the other in the bass-side edge of
    each slot at the front face, so square to that end"""
    widths: Annotated[tuple[float, ...], several(length(0.1, 6.0, what="gap"))]
    """slot widths at the front face: the thickest gauge or drill shank that enters"""
    too_thick: Annotated[
        tuple[float | Literal["none"], ...] | None, _or_none(length(0.1, 6.0, what="gap"), [2.9, "none"])
    ] = None
    """the thinnest gauge or drill shank that does not enter; of a wire the next one listed where not given"""
    floors: Annotated[tuple[float, ...], several(length(-2.0, 25.0))]
    """slot floors at the front face, above what floors_from says"""
    floors_from: Literal["seat floor", "fret plane"] = "seat floor"
    """seat floor: caliper over nut and slot, nut out; fret plane: straightedge on frets 1 and 2"""
    rattles: Annotated[tuple[int, ...], several(whole(1, MOST_STRINGS), least=0, like=[1, 3])] | None = None
    """strings that rattle or move in their slots, 1 the treble-most; [] where none does"""
    material: MaterialName | None = None
    """what the old nut is made of; as the new one where not given"""


class DryFit(TomlTable):
    """The readings of a dry fit: nut in its seat, strings at pitch. Lists run bass to treble.

    A leaf passes where it slips in without lifting the string, and drags where it no longer does.
    """

    feeler: Annotated[tuple[float, ...], LEAVES] | None = None
    """open string, over fret 1: thickest leaf or stack that passes; 0 where none does"""
    feeler_drags: Annotated[tuple[float, ...], LEAVES] | None = None
    """thinnest that drags there; the next stack up where not given"""
    sliver: Annotated[tuple[float, ...], LEAVES] | None = None
    """string pressed at fret 3, over fret 1: thickest leaf or stack that passes"""
    sliver_drags: Annotated[tuple[float, ...], LEAVES] | None = None
    """thinnest that drags there; the next stack up where not given"""
    barred: Annotated[tuple[float, ...], LEAVES] | None = None
    """barre at fret 1, over fret 2: thickest leaf that passes; goes with feeler"""
    relief: Annotated[float, or_way(length(0.0, 1.5, what="gap"), UnderString)] | None = None
    """thickest leaf under a straightedge from fret 1 to the last, as it is now"""
    action: Annotated[Across, across(length(0.2, 8.0, what="gap"), each=True)] | None = None
    """open string's underside to the crown of fret 12, as it is now"""
    face_to_fret_1: Annotated[Across, across(length(8.0, 80.0))] | None = None
    """nut position: front face to the crown of fret 1, along the bass-most string, or a pair"""
    after: After = "filing"
    """what was done to the nut since the readings before"""
    read_twice: StrictBool = False
    """readings that were in doubt were taken again and are the same: they are taken as true"""


class Trial(TomlTable):
    """The readings of a trial nut that plays, all of one day. Lists run bass to treble; "none" where not read.

    `over_wires` is read with the nut out, all else with it in its seat and the strings at pitch.
    """

    clearances: Annotated[
        tuple[float | Literal["none"], ...],
        _or_none(length(0.0, HIGHEST_READING, what="leaf"), [0.55, 0.50, "none", 0.45]),
    ]
    """open string, over fret 1: thickest leaf, stack or wire that passes; a slot without one tells nothing"""
    drags: Annotated[
        tuple[float | Literal["none"], ...] | None,
        _or_none(length(0.0, HIGHEST_READING, what="leaf"), [0.60, 0.55, "none", 0.50]),
    ] = None
    """thinnest that drags there; the next stack up where not given"""
    relief: Annotated[float, or_way(length(0.0, 1.5, what="leaf"), UnderString)]
    """thickest leaf under a straightedge from fret 1 to the last, on that day"""
    action: Annotated[Across, across(length(0.2, 8.0), each=True)]
    """open string's underside to the crown of fret 12, on that day"""
    over_wires: Annotated[tuple[float | Literal["none"], ...], _or_none(length(1.0, 30.0), [8.40, 8.25, "none", 7.90])]
    """caliper square to the underside, over a wire that lies in the slot, its end flush with the front"""
    wires: Annotated[Across, across(length(0.1, 4.0, what="gauge"), each=True)]
    """gauges of these wires, one for all or one a string, off the packet: an offcut of the string itself does; bare
    numbers are in gauge_units"""
