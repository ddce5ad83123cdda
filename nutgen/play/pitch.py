"""How sharp each fretted note sounds, what a lower nut buys, and which setbacks share the error out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nutgen.nut.part import Nut
from nutgen.nut.strung import strung
from nutgen.play.heights import fret_numbers, line_of
from nutgen.spec.tables import Spec
from nutgen.theory.heights import StringLine
from nutgen.theory.pitch import (
    FrettedString,
    PitchError,
    Setbacks,
    best_setbacks,
    common_setbacks,
    lower_nut_gain_cents,
    pitch_error,
)

Array = NDArray[np.float64]

NOTICED = (
    "listeners rarely notice nut setback: in a blind test with 32 players R. M. Mottola found no significant"
    " preference for it"
)
JUST_NOTICEABLE_CENTS = 5.0
"""Smallest error of pitch that most people notice. Common practice, no source."""

LOWERED_BY = 0.1
SADDLE_FRET = 12
CHOSEN_FRETS = tuple(range(1, 13))
"""Frets that the setbacks share the error over, where not said."""


@dataclass(frozen=True, slots=True)
class Pitches:
    """Error of pitch against equal temperament on the open string; arrays (strings, frets) in cents.

    frets           : fret numbers
    as_measured     : with the saddle at the scale length, by cause
    saddle          : saddle setback at which fret 12 is in tune, away from the nut [mm]
    cents           : with the saddle there, as a player sets it
    gain            : by how much a floor 0.1 mm lower brings each note down
    chosen          : frets that the setbacks share the error over
    both, nut_alone : best setbacks of nut and saddle, and of the nut with the saddle as above
    common          : one nut setback and one saddle setback for all strings
    assumptions     : in words
    """

    frets: NDArray[np.int64]
    as_measured: PitchError
    saddle: Array
    cents: Array
    gain: Array
    chosen: tuple[int, ...]
    both: Setbacks
    nut_alone: Setbacks
    common: Setbacks
    assumptions: tuple[str, ...]


def pitches(spec: Spec, nut: Nut, *, chosen: Sequence[int] = CHOSEN_FRETS) -> Pitches:
    """Error of pitch of every note of a solved nut.

    chosen : frets that the setbacks share the error over, two or more
    """
    frets, line = fret_numbers(nut), line_of(nut)
    own = np.array([[slot.start_y] for slot in nut.slots])
    saddle = best_setbacks(
        _strings(spec, line, [SADDLE_FRET]), fret=[SADDLE_FRET], move="saddle", nut_setback=own[:, 0]
    ).saddle
    on_all, on_chosen = _strings(spec, line, frets), _strings(spec, line, chosen)
    set_at = np.asarray(saddle)[:, np.newaxis]
    return Pitches(
        frets=frets,
        as_measured=pitch_error(on_all, fret=frets, nut_setback=own),
        saddle=np.asarray(saddle),
        cents=pitch_error(on_all, fret=frets, nut_setback=own, saddle_setback=set_at).total,
        gain=lower_nut_gain_cents(on_all, fret=frets, lowered_by=LOWERED_BY, nut_setback=own, saddle_setback=set_at),
        chosen=tuple(chosen),
        both=best_setbacks(on_chosen, fret=chosen),
        nut_alone=best_setbacks(on_chosen, fret=chosen, move="nut", saddle_setback=np.asarray(saddle)),
        common=common_setbacks(on_chosen, fret=chosen),
        assumptions=_assumptions(spec),
    )


def _strings(spec: Spec, line: StringLine, frets: ArrayLike) -> FrettedString:
    strings, neck = strung(spec), line.neck
    at = neck.fret(frets)
    behind = at - neck.fret(np.asarray(frets) - 1)
    scale = np.asarray(neck.scale_length, float)
    return FrettedString(
        scale_length=scale,
        nut_height=line.height(np.asarray(neck.start, float)),
        saddle_height=line.height(scale),
        kappa=strings.kappa[:, np.newaxis],
        core_diameter=strings.core_diameter[:, np.newaxis],
        crown_height=neck.crown(at),
        finger_distance=np.minimum(spec.pluck.finger, behind / 2.0),
    )


def _assumptions(spec: Spec) -> tuple[str, ...]:
    words = ["the saddle is set so that fret 12 is in tune with the open string"]
    if "finger" not in spec.pluck.given:
        words.append(f"the finger presses {spec.pluck.finger:g} mm behind the fret")
    words.append("string ends keep their direction (clamped); freer ends sound less sharp high up")
    if any(strung(spec).core_is_usual):
        words.append("wound strings have the usual core (a tenth off moves their cents by a fifth)")
    return tuple(words)
