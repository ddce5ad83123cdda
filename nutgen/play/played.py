"""A solved nut looked at from every side of playing."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from nutgen.finding import Finding, warning
from nutgen.nut.heights import line_of
from nutgen.nut.part import Nut
from nutgen.play.buzz import Buzz, buzz, pressed_notes
from nutgen.play.friction import Friction, friction
from nutgen.play.heights import ShopChecks, fret_numbers, relief_dip, shop_checks
from nutgen.play.pitch import SADDLE_FRET, Pitches, pitches
from nutgen.play.spread import NutSpread, nut_spread
from nutgen.spec.playing import Errors
from nutgen.spec.ways import Way
from nutgen.theory import Array, Ints


@dataclass(frozen=True, slots=True)
class Played:
    """Everything about a solved nut as it is played. Arrays (strings, frets), bass to treble, in mm.

    open, dip : clearance of the open strings; crowns below the chord of the relief arc
    fretted   : least clearance beyond each pressed fret, nan at the last
    room      : least room left there at the pluck, nan at the last
    findings  : of the nut, then of its playing
    assumed   : what the figures rest on that the file does not say
    """

    frets: Ints
    open: Array
    dip: Array
    fretted: Array
    room: Array
    checks: ShopChecks
    buzz: Buzz
    pitches: Pitches
    friction: Friction
    spread: NutSpread
    findings: tuple[Finding, ...]
    assumed: tuple[Finding, ...]


def played(nut: Nut, errors: Errors, ways: Sequence[Way] = (), *, chosen: tuple[int, ...]) -> Played:
    """Look at a solved nut from every side.

    errors : of the readings
    ways   : how some of them were read
    chosen : frets that the setbacks share the error over
    """
    touches, notes, rub, far = (buzz(nut), pitches(nut, chosen=chosen), friction(nut), nut_spread(nut, errors, ways))
    line, frets = line_of(nut), fret_numbers(nut)
    fretted, room = np.full((2, len(nut.slots), len(frets)), np.nan)
    for pressed, clearance, reach in pressed_notes(touches.swing, line, frets):
        fretted[:, pressed - 1], room[:, pressed - 1] = clearance.min(axis=-1), (clearance - reach).min(axis=-1)
    return Played(
        frets=frets,
        open=line.clearance(frets),
        dip=relief_dip(line.neck, frets),
        fretted=fretted,
        room=room,
        checks=shop_checks(line),
        buzz=touches,
        pitches=notes,
        friction=rub,
        spread=far,
        findings=(*nut.findings, *_untunable(nut, notes), *_touching(nut, touches, line.clearance(frets), fretted)),
        assumed=tuple(dict.fromkeys((*touches.swing.assumed, *notes.assumed, *rub.assumed, *far.assumed))),
    )


def _untunable(nut: Nut, notes: Pitches) -> Iterator[Finding]:
    sharp = np.abs(notes.as_measured.total[:, :SADDLE_FRET]).max(axis=1)
    for i in np.flatnonzero(~notes.tunable):
        yield warning("pitch.untunable", nut.slots[i].who, off_cents=float(sharp[i]), fret=SADDLE_FRET)


def _touching(nut: Nut, touches: Buzz, open_clearance: Array, fretted: Array) -> Iterator[Finding]:
    """Strings that touch. Those that lie on a fret open are findings of the nut itself."""
    open_touch, held = touches.worst, touches.fretted
    for i, slot in enumerate(nut.slots):
        lowest = float(np.nanmin(fretted[i]))
        if lowest < 0.0:
            yield warning("buzz.pressed-lies", slot.who, pressed=int(np.nanargmin(fretted[i])) + 1, by=-lowest)
        if open_touch.buzzes[i] and np.min(open_clearance[i]) >= 0.0:
            by = -float(open_touch.spare[i])
            yield warning("buzz.open-touches", slot.who, fret=int(open_touch.fret[i]), by=by)
        if held.buzzes[i] and lowest >= 0.0:
            place = {"pressed": int(held.pressed[i]), "fret": int(held.fret[i])}
            yield warning("buzz.pressed-touches", slot.who, **place, by=-float(held.spare[i]))
