"""Blanks that are squared already: which of them yields the nut, which way up, with the least waste."""

from collections.abc import Sequence
from dataclasses import dataclass

from nutgen.nut.part import Nut

Sizes = tuple[float, float, float]
"""Length along the grain, thickness and height [mm]."""


@dataclass(frozen=True, slots=True)
class Ready:
    """One blank held against the nut; lengths in mm.

    number   : its place on the command line, from 1
    sizes    : as given
    turned   : whether its height becomes the nut's thickness
    take_off : off length, thickness and height of the nut, in all; below 0 what is missing
    waste    : what is sanded and sawn off, of the blank's volume [mm3]
    """

    number: int
    sizes: Sizes
    turned: bool
    take_off: Sizes
    waste: float

    @property
    def fits(self) -> bool:
        """Whether nothing is missing."""
        return min(self.take_off) >= 0.0


def ready(nut: Nut, blanks: Sequence[Sizes]) -> tuple[Ready, ...]:
    """Each blank the way up that suits it best: those that fit first, the least waste before the others.

    The length stays the length, since it is along the grain; what is wanted is the blank that `check` names.
    """
    found = [_best(nut, number, sizes) for number, sizes in enumerate(blanks, 1)]
    return tuple(sorted(found, key=lambda one: (not one.fits, one.waste if one.fits else -min(one.take_off))))


def _best(nut: Nut, number: int, sizes: Sizes) -> Ready:
    """Where both ways up fit, the one whose height loses less: the thickness is sanded on a flat sheet."""
    length, thickness, height = sizes
    wanted = nut.blank.length, nut.blank.thickness, nut.blank.height
    waste = length * thickness * height - wanted[0] * wanted[1] * wanted[2]
    ways = [
        Ready(number, sizes, turned, (length - wanted[0], t - wanted[1], h - wanted[2]), waste)
        for turned, t, h in ((False, thickness, height), (True, height, thickness))
    ]
    return max(ways, key=lambda one: (one.fits, -one.take_off[2] if one.fits else min(one.take_off)))
