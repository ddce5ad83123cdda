"""Where a plucked string first touches a fret, and with how much to spare.

A string pulled away from the board swings toward it half a period later, and near the nut much
farther than it was pulled there; one pressed toward the board swings that way at once. Both are
looked at: "toward" and "away" say which way the string was displaced.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import reduce

import numpy as np

from nutgen.nut.heights import line_of, lowest_of
from nutgen.nut.part import Nut
from nutgen.nut.swing import Swing
from nutgen.play.heights import fret_numbers, fretted_clearance
from nutgen.theory import Array, Flags, Ints
from nutgen.theory.heights import StringLine
from nutgen.theory.pluck import FirstTouch, first_touch


@dataclass(frozen=True, slots=True)
class Touch:
    """The first fret that a growing pluck reaches, one entry a string.

    pressed : fret that is held; 0 for the open string
    fret    : the one touched first
    spare   : room left there at the pluck; below 0 it buzzes [mm]
    reach   : the pluck that just touches, as a multiple of the given one
    """

    pressed: Ints
    fret: Ints
    spare: Array
    reach: Array

    @property
    def buzzes(self) -> Flags:
        """Whether the string touches at the given pluck."""
        return self.spare < 0.0


@dataclass(frozen=True, slots=True)
class Buzz:
    """How the strings of a nut stay clear, bass to treble.

    swing        : how they are plucked
    toward, away : farthest swing of the open string over each fret, by the side it was displaced to [mm]
    open_toward, open_away : first touch of the open string, by that side
    fretted      : the fretted note with the least to spare, either side
    lowest_floor : lowest floor that stays clear with the margin, over the fret plane; nan where none does [mm]
    lowest_clearance : first-fret clearance over that floor [mm]
    """

    swing: Swing
    toward: Array
    away: Array
    open_toward: Touch
    open_away: Touch
    fretted: Touch
    lowest_floor: Array
    lowest_clearance: Array

    @property
    def worst(self) -> Touch:
        """First touch of the open string, whichever side."""
        return _less(self.open_toward, self.open_away)


def buzz(nut: Nut) -> Buzz:
    """How the strings of a solved nut stay clear of the frets."""
    swing, line, lowest, frets = nut.swing, line_of(nut), lowest_of(nut), fret_numbers(nut)
    clearance = line.clearance(frets)
    toward, away = swing.excursion(line.neck, frets)
    return Buzz(
        swing=swing,
        toward=toward,
        away=away,
        open_toward=_touch(clearance, toward, pressed=0),
        open_away=_touch(clearance, away, pressed=0),
        fretted=reduce(_less, (_touch(*note, pressed=held) for held, *note in pressed_notes(swing, line, frets))),
        lowest_floor=lowest,
        lowest_clearance=line_of(nut, floor_height=lowest).clearance(1)[..., 0],
    )


def pressed_notes(swing: Swing, line: StringLine, frets: Ints) -> Iterator[tuple[int, Array, Array]]:
    """Every fret but the last as it is held; clearance and farthest swing, either side, over those beyond it [mm]."""
    for pressed in frets[:-1].tolist():
        beyond = frets[frets > pressed]
        reach = np.maximum(*swing.excursion(line.neck, beyond, pressed=pressed))
        yield pressed, fretted_clearance(line, pressed=pressed, over=beyond), reach


def _touch(clearance: Array, excursion: Array, *, pressed: int) -> Touch:
    first: FirstTouch = first_touch(clearance=clearance, excursion=excursion)
    held = np.full(first.index.shape, pressed, np.int64)
    return Touch(held, pressed + 1 + first.index, first.spare, first.reach)


def _less(a: Touch, b: Touch) -> Touch:
    """String by string, the touch that a smaller pluck reaches."""
    first = a.reach <= b.reach
    return Touch(
        *(np.where(first, getattr(a, name), getattr(b, name)) for name in ("pressed", "fret", "spare", "reach"))
    )
