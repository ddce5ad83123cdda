"""Where a plucked string first touches a fret, and with how much to spare.

A string pulled away from the board swings toward it half a period later, and near the nut much
farther than it was pulled there; one pressed toward the board swings that way at once. Both are
looked at: "toward" and "away" say which way the string was displaced.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.errors import CannotBeMade
from nutgen.nut.clear import Swing, lowest_floor_height, swing_of
from nutgen.nut.part import Nut
from nutgen.play.heights import fret_numbers, fretted_clearance, line_of, neck_of
from nutgen.spec.tables import Spec
from nutgen.theory.heights import Neck, StringLine
from nutgen.theory.pluck import FirstTouch, first_touch

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Touch:
    """The first fret that a growing pluck reaches, one entry a string.

    pressed : fret that is held; 0 for the open string
    fret    : the one touched first
    spare   : room left there at the pluck; below 0 it buzzes [mm]
    reach   : the pluck that just touches, as a multiple of the given one
    """

    pressed: NDArray[np.int64]
    fret: NDArray[np.int64]
    spare: Array
    reach: Array

    @property
    def buzzes(self) -> NDArray[np.bool_]:
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
    margin       : room that the lowest floor leaves [mm]
    """

    swing: Swing
    toward: Array
    away: Array
    open_toward: Touch
    open_away: Touch
    fretted: Touch
    lowest_floor: Array
    lowest_clearance: Array
    margin: float

    @property
    def worst(self) -> Touch:
        """First touch of the open string, whichever side."""
        return _less(self.open_toward, self.open_away)


def buzz(spec: Spec, nut: Nut) -> Buzz:
    """How the strings of a solved nut stay clear of the frets."""
    swing, line, frets = swing_of(spec), line_of(nut), fret_numbers(nut)
    clearance = line.clearance(frets)
    toward, away = open_swing(swing, line, frets)
    lowest = _lowest(spec, nut)
    return Buzz(
        swing=swing,
        toward=toward,
        away=away,
        open_toward=_touch(clearance, toward, pressed=0),
        open_away=_touch(clearance, away, pressed=0),
        fretted=_fretted(swing, line, frets),
        lowest_floor=lowest,
        lowest_clearance=line_of(nut, floor_height=lowest).clearance(1)[..., 0],
        margin=spec.pluck.margin,
    )


def open_swing(swing: Swing, line: StringLine, frets: NDArray[np.int64]) -> tuple[Array, Array]:
    """Farthest swing of open strings toward the board, displaced toward it and away from it [mm]."""
    neck = line.neck
    start = np.asarray(neck.start, float)
    return swing.excursion(from_start=neck.fret(frets) - start, length=np.asarray(neck.scale_length, float) - start)


def fretted_spare(swing: Swing, line: StringLine, *, pressed: int, frets: NDArray[np.int64]) -> Array:
    """Least room over each fret beyond a pressed one, either side, nan before it [mm]."""
    beyond = frets[frets > pressed]
    spare = np.full((len(swing.height), len(frets)), np.nan)
    room = fretted_clearance(line, pressed=pressed, over=beyond)
    spare[:, frets > pressed] = room - _fretted_swing(swing, line, pressed, beyond)
    return spare


def _fretted_swing(swing: Swing, line: StringLine, pressed: int, beyond: NDArray[np.int64]) -> Array:
    neck = line.neck
    at = neck.fret(pressed)
    length = np.asarray(neck.scale_length, float) - at
    return np.maximum(*swing.excursion(from_start=neck.fret(beyond) - at, length=length))


def _fretted(swing: Swing, line: StringLine, frets: NDArray[np.int64]) -> Touch:
    """Of all fretted notes, the one that touches first as the pluck grows."""
    worst: Touch | None = None
    for pressed in frets[:-1]:
        beyond = frets[frets > pressed]
        room = fretted_clearance(line, pressed=pressed, over=beyond)
        touch = _touch(room, _fretted_swing(swing, line, int(pressed), beyond), pressed=int(pressed))
        worst = touch if worst is None else _less(worst, touch)
    if worst is None:
        raise ValueError("an instrument has two frets or more; the door sees to that")
    return worst


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


def _lowest(spec: Spec, nut: Nut) -> Array:
    """Lowest floors that stay clear; nan for all where one string has none."""
    column = neck_of(nut)
    neck = Neck(np.ravel(column.scale_length), nut.frets, nut.relief, np.ravel(column.start))
    try:
        return lowest_floor_height(spec, neck=neck, action=np.array([slot.action for slot in nut.slots]))
    except CannotBeMade:
        return np.full(len(nut.slots), np.nan)
