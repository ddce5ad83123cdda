"""A solved nut looked at from every side of playing."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.nut.part import Nut
from nutgen.play.buzz import Buzz, buzz, fretted_spare
from nutgen.play.friction import Friction, friction
from nutgen.play.heights import ShopChecks, fret_numbers, fretted_clearance, line_of, relief_dip, shop_checks
from nutgen.play.pitch import Pitches, pitches
from nutgen.play.spread import NutSpread, nut_spread
from nutgen.spec.tables import Spec

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Played:
    """Everything about a solved nut as it is played. Arrays (strings, frets), bass to treble, in mm.

    open, dip : clearance of the open strings; crowns below the chord of the relief arc
    fretted   : least clearance beyond each pressed fret, nan at the last
    room      : least room left there at the pluck, nan at the last
    """

    frets: NDArray[np.int64]
    open: Array
    dip: Array
    fretted: Array
    room: Array
    checks: ShopChecks
    buzz: Buzz
    pitches: Pitches
    friction: Friction
    spread: NutSpread
    warnings: tuple[str, ...]


def played(spec: Spec, nut: Nut, *, chosen: tuple[int, ...]) -> Played:
    """Look at a solved nut from every side.

    chosen : frets that the setbacks share the error over
    """
    line, frets = line_of(nut), fret_numbers(nut)
    touches, notes = buzz(spec, nut), pitches(spec, nut, chosen=chosen)
    fretted, room = np.full((2, len(nut.slots), len(frets)), np.nan)
    for index, pressed in enumerate(frets[:-1]):
        fretted[:, index] = np.nanmin(fretted_clearance(line, pressed=pressed, over=frets), axis=-1)
        room[:, index] = np.nanmin(fretted_spare(touches.swing, line, pressed=int(pressed), frets=frets), axis=-1)
    return Played(
        frets=frets,
        open=line.clearance(frets),
        dip=relief_dip(line.neck, frets),
        fretted=fretted,
        room=room,
        checks=shop_checks(line),
        buzz=touches,
        pitches=notes,
        friction=friction(spec, nut),
        spread=nut_spread(spec, nut),
        warnings=(*nut.warnings, *_untunable(nut, notes), *_warnings(nut, touches, line.clearance(frets), fretted)),
    )


def _untunable(nut: Nut, notes: Pitches) -> list[str]:
    sharp = np.abs(notes.as_measured.total[:, :12]).max(axis=1)
    return [
        f"string {slot.number} ({slot.note}): up to {sharp[i]:.0f} cents off by fret 12; too slack or too stiff for its"
        " length, no saddle cures that"
        for i, slot in enumerate(nut.slots)
        if not notes.tunable[i]
    ]


def _warnings(nut: Nut, touches: Buzz, open_clearance: Array, fretted: Array) -> list[str]:
    """Strings that touch, by number, note and fret. Those that lie on a fret open are the nut's own warnings."""
    words = []
    open_touch, held = touches.worst, touches.fretted
    for i, slot in enumerate(nut.slots):
        name = f"string {slot.number} ({slot.note})"
        lowest = np.nanmin(fretted[i])
        if lowest < 0.0:
            at = int(np.nanargmin(fretted[i])) + 1
            words.append(f"{name}: pressed at fret {at} it lies on a higher fret, {-lowest:.2f} mm too low")
        if open_touch.buzzes[i] and np.min(open_clearance[i]) >= 0.0:
            low = f"{-open_touch.spare[i]:.2f} mm too low"
            words.append(f"{name}: open, it touches fret {open_touch.fret[i]} at the pluck, {low}")
        if held.buzzes[i] and lowest >= 0.0:
            words.append(
                f"{name}: pressed at fret {held.pressed[i]}, it touches fret {held.fret[i]} at the pluck,"
                f" {-held.spare[i]:.2f} mm too low; no nut cures that: action, relief or a softer pluck"
            )
    return words


def assumptions(seen: Played) -> set[str]:
    """What the figures rest on that the file does not say."""
    return {
        *seen.buzz.swing.assumptions,
        *seen.pitches.assumptions,
        *seen.friction.assumptions,
        *seen.spread.assumptions,
    }
