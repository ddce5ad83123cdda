"""Heights over the frets of a solved nut: clearances open and fretted, and the three shop checks.

Arrays are (strings, frets), strings bass to treble, frets from 1 to the last.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from nutgen.errors import CannotBeMade
from nutgen.finding import of_key, refusal
from nutgen.nut.heights import line_of
from nutgen.nut.part import Nut
from nutgen.spec.tables import Spec
from nutgen.theory import Array, Ints
from nutgen.theory.heights import Neck, StringLine

Check = Literal["feeler", "sliver", "barre"]

CHECKS: tuple[Check, ...] = ("feeler", "sliver", "barre")
"""The three ways a shop checks a nut. They are different targets: each reads another number at one height."""


@dataclass(frozen=True, slots=True)
class ShopChecks:
    """What the three checks read, one a string [mm].

    feeler     : open string's underside to the crown of fret 1
    sliver     : pressed at fret 3, underside to the crown of fret 1
    barre      : open clearance over fret 1 less the barred one over fret 2; 0 where the nut is like a fret
    barre_over_2 : with a barre at fret 1, underside to the crown of fret 2
    """

    feeler: Array
    sliver: Array
    barre: Array
    barre_over_2: Array


def not_under_bar(spec: Spec, what: str) -> None:
    """Refuse what is read, or worked out, of strings pressed on frets; raises CannotBeMade."""
    if spec.lap is not None:
        raise CannotBeMade([refusal("lap.nothing-pressed", of_key("lap"), what=what)])


def only_by_leaves(spec: Spec, what: str) -> None:
    """The same, and what a zero fret decides, whatever the slots behind it are."""
    not_under_bar(spec, what)
    if spec.zero_fret is not None:
        raise CannotBeMade([refusal("zero-fret.nothing-to-fit", of_key("zero_fret"))])


def fret_numbers(nut: Nut) -> Ints:
    """1 to the last fret."""
    return np.arange(1, nut.frets + 1)


def relief_dip(neck: Neck, frets: ArrayLike) -> Array:
    """How far each crown lies below the chord from fret 1 to the last [mm]."""
    return -neck.crown(neck.fret(frets))


def fretted_clearance(line: StringLine, *, pressed: ArrayLike, over: ArrayLike) -> Array:
    """Underside to the crowns between a pressed fret and the saddle.

    pressed : fret that the string is pressed on
    over    : frets to look at; nan where they are not nearer the bridge than the pressed one
    returns : shape (strings, over) [mm]

    The string runs straight from the pressed crown to the saddle.
    """
    neck = line.neck
    scale = np.asarray(neck.scale_length, float)
    at, beyond = neck.fret(pressed), neck.fret(over)
    crown = neck.crown(at)
    slope = (line.height(scale) - crown) / (scale - at)
    clearance = crown + slope * (beyond - at) - neck.crown(beyond)
    return np.where(np.asarray(over) > np.asarray(pressed), clearance, np.nan)


def shop_checks(line: StringLine) -> ShopChecks:
    """What the three checks read over one neck."""
    neck = line.neck
    start = np.asarray(neck.start, float)
    one, three = neck.fret(1), neck.fret(3)
    z1, z3 = neck.crown(one), neck.crown(three)
    floor = line.height(start)
    sliver = floor + (z3 - floor) * (one - start) / (three - start) - z1
    feeler = line.clearance(1)
    barred = fretted_clearance(line, pressed=1, over=2)
    return ShopChecks(*(np.asarray(x)[..., 0] for x in (feeler, sliver, feeler - barred, barred)))


def floor_for_check(nut: Nut, check: Check, reading: ArrayLike) -> Array:
    """Floor height at which a shop check reads so, the action kept [mm].

    check   : "feeler", "sliver" or "barre"
    reading : one a string, or one for all [mm]

    Exact: each reading goes linearly with the floor height.
    """
    count = len(nut.slots)
    at_zero, at_one = (getattr(shop_checks(line_of(nut, floor_height=np.full(count, b))), check) for b in (0.0, 1.0))
    floors: Array = (np.asarray(reading, float) - at_zero) / (at_one - at_zero)
    return floors
