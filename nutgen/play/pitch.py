"""How sharp each fretted note sounds, what a lower nut buys, and which setbacks share the error out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from nutgen.finding import Finding, assumption, note
from nutgen.nut.heights import line_of
from nutgen.nut.part import Nut
from nutgen.play.heights import fret_numbers
from nutgen.theory import Array, Flags, Ints
from nutgen.theory.heights import StringLine
from nutgen.theory.pitch import FrettedString, PitchError, pitch_error
from nutgen.theory.setbacks import Setbacks, best_setbacks

NOTICED = note("setback.rarely-noticed")
"""R. M. Mottola, listening test of nut compensation with 32 players (title, year and page from memory not known)."""
JUST_NOTICEABLE_CENTS = 5.0
"""Smallest error of pitch that most people notice. Common practice, no source."""

LOWERED_BY = 0.1
SADDLE_FRET = 12
HOPELESS_CENTS = 50.0
"""Error up to fret 12 from which a string is too slack or too stiff for its length to be put in tune: half a step
away it is another note."""
CHOSEN_FRETS = tuple(range(1, 13))
"""Frets that the setbacks share the error over, where not said."""


@dataclass(frozen=True, slots=True)
class Pitches:
    """Error of pitch against equal temperament on the open string; arrays (strings, frets) in cents.

    frets           : fret numbers
    as_measured     : with the saddle at the scale length, by cause
    tunable         : strings that a saddle can put in tune; of the others the figures below are nan
    saddle          : saddle setback at which fret 12 is in tune, away from the nut [mm]
    cents           : with the saddle there, as a player sets it
    gain            : by how much a floor 0.1 mm lower brings each note down
    chosen          : frets that the setbacks share the error over
    both, nut_alone : best setbacks of nut and saddle, and of the nut with the saddle as above
    common          : one nut setback and one saddle setback for all strings
    assumed         : what the file does not say
    """

    frets: Ints
    as_measured: PitchError
    tunable: Flags
    saddle: Array
    cents: Array
    gain: Array
    chosen: tuple[int, ...]
    both: Setbacks
    nut_alone: Setbacks
    common: Setbacks
    assumed: tuple[Finding, ...]


def pitches(nut: Nut, *, chosen: Sequence[int] = CHOSEN_FRETS) -> Pitches:
    """Error of pitch of every note of a solved nut.

    chosen : frets that the setbacks share the error over, two or more
    """
    frets, line = fret_numbers(nut), line_of(nut)
    own = np.array([[-slot.setback] for slot in nut.slots])
    everywhere = _strings(nut, line, frets)
    as_measured = pitch_error(everywhere, fret=frets, nut_setback=own)
    tunable = np.abs(as_measured.total[:, :SADDLE_FRET]).max(axis=1) <= HOPELESS_CENTS
    kept, own = _only(everywhere, tunable), own[tunable]
    at_12 = _only(_strings(nut, line, [SADDLE_FRET]), tunable)
    on_chosen = _only(_strings(nut, line, chosen), tunable)
    saddle = best_setbacks(at_12, fret=[SADDLE_FRET], move="saddle", nut_setback=own[:, 0]).saddle
    place = {"fret": frets, "nut_setback": own, "saddle_setback": np.asarray(saddle)[:, np.newaxis]}
    lower = replace(kept, nut_height=np.asarray(kept.nut_height) - LOWERED_BY)
    cents, cents_lower = (pitch_error(strings, **place).total for strings in (kept, lower))
    both = best_setbacks(on_chosen, fret=chosen)
    alone = best_setbacks(on_chosen, fret=chosen, move="nut", saddle_setback=np.asarray(saddle))
    return Pitches(
        frets=frets,
        as_measured=as_measured,
        tunable=tunable,
        saddle=_spread_out(saddle, tunable),
        cents=_spread_out(cents, tunable),
        gain=_spread_out(cents - cents_lower, tunable),
        chosen=tuple(chosen),
        both=_all_strings(both, tunable),
        nut_alone=_all_strings(alone, tunable),
        common=best_setbacks(on_chosen, fret=chosen, together=True)
        if tunable.any()
        else Setbacks(*np.full((4, 1), np.nan)[:, 0]),
        assumed=_assumed(nut),
    )


def cents_with(nut: Nut, frets: Sequence[int], *, raised: float = 0.0, saddle_by: float = 0.0) -> Array:
    """Cents sharp with the saddle set for fret 12 over the floors wanted, then floors and saddle moved.

    raised    : what they start on higher, the action kept [mm]
    saddle_by : saddle farther from the nut [mm]
    returns   : (strings, frets), nan for strings that no saddle tunes
    """
    seen = pitches(nut)
    line = line_of(nut, floor_height=np.array([slot.sounds_from for slot in nut.slots]) + raised)
    own = np.array([[-slot.setback] for slot in nut.slots])
    at = np.where(seen.tunable, seen.saddle, np.nan)[:, np.newaxis] + saddle_by
    found: Array = pitch_error(_strings(nut, line, frets), fret=frets, nut_setback=own, saddle_setback=at).total
    return found


def _only(string: FrettedString, which: Flags) -> FrettedString:
    """Some of the strings; every field has one row a string."""
    fields = (getattr(string, name) for name in FrettedString.__dataclass_fields__)
    return FrettedString(*(np.broadcast_to(f, (len(which), np.shape(f)[-1]))[which] for f in fields))


def _spread_out(values: ArrayLike, which: Flags) -> Array:
    """Rows for all strings, nan where a string was left out."""
    rows = np.asarray(values, float)
    every = np.full((len(which), *rows.shape[1:]), np.nan)
    every[which] = rows
    return every


def _all_strings(found: Setbacks, which: Flags) -> Setbacks:
    return Setbacks(*(_spread_out(getattr(found, name), which) for name in ("nut", "saddle", "rms", "left")))


def _strings(nut: Nut, line: StringLine, frets: ArrayLike) -> FrettedString:
    neck = line.neck
    at = neck.fret(frets)
    behind = at - neck.fret(np.asarray(frets) - 1)
    scale = np.asarray(neck.scale_length, float)
    return FrettedString(
        scale_length=scale,
        nut_height=line.height(np.asarray(neck.start, float)),
        saddle_height=line.height(scale),
        kappa=nut.strings.kappa[:, np.newaxis],
        core_diameter=np.array([nut.strings.core_diameter]).T,
        crown_height=neck.crown(at),
        finger_distance=np.minimum(nut.swing.finger, behind / 2.0),
    )


def _assumed(nut: Nut) -> tuple[Finding, ...]:
    core = (assumption("pitch.core-assumed"),) if any(nut.strings.core_is_usual) else ()
    return (assumption("pitch.saddle-set-for-12"), *nut.swing.finger_assumed, assumption("pitch.ends-clamped"), *core)
