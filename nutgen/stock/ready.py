"""Blanks that are squared already: which of them yields the nut, which way up, with the least waste."""

from collections.abc import Sequence
from dataclasses import dataclass

from nutgen.nut.part import Nut
from nutgen.stock.block import Face

Sizes = tuple[float, float, float]
"""Length along the grain, thickness and height [mm]."""


@dataclass(frozen=True, slots=True)
class Ready:
    """One blank held against the nut; lengths in mm.

    name    : of the blank, or its sizes as written
    sizes   : as given
    turned  : whether its height becomes the nut's thickness
    missing : of length, thickness and height, up to what a squared blank has to have; 0 where nothing is
    off     : from each face to the finished nut, "end" from either; front and underside are what the rest is measured
              from, and stay as they are squared
    waste   : what it has over the least blank that is wanted, of which the nut is sanded [mm3]
    """

    name: str
    sizes: Sizes
    turned: bool
    missing: Sizes
    off: dict[Face, float]
    waste: float

    @property
    def fits(self) -> bool:
        """Whether nothing is missing."""
        return max(self.missing) <= 0.0

    @property
    def waste_share(self) -> float:
        """What is wasted, of the whole blank."""
        length, thickness, height = self.sizes
        return self.waste / (length * thickness * height)


def ready(nut: Nut, blanks: Sequence[tuple[str, Sizes]]) -> tuple[Ready, ...]:
    """Each blank the way up that suits it best: those that fit first, the least waste before the others.

    The length stays the length, since it is along the grain; what is wanted is the blank that `check` names.
    """
    found = [_best(nut, name, sizes) for name, sizes in blanks]
    return tuple(sorted(found, key=lambda one: (not one.fits, one.waste if one.fits else max(one.missing))))


def _best(nut: Nut, name: str, sizes: Sizes) -> Ready:
    """Where both ways up fit, the one whose height loses less: the thickness is sanded on a flat sheet."""
    length, *sides = sizes
    wanted = nut.blank.length, nut.blank.thickness, nut.blank.height
    waste = length * sides[0] * sides[1] - wanted[0] * wanted[1] * wanted[2]
    ways = []
    for turned, (thickness, height) in ((False, sides), (True, sides[::-1])):
        lacks = zip(wanted, (length, thickness, height), strict=True)
        along, through, up = (max(0.0, want - there) for want, there in lacks)
        off: dict[Face, float] = {"underside": 0.0, "top": height - nut.height, "front": 0.0}
        off |= {"back": thickness - (nut.thickness - nut.foremost), "end": (length - nut.extent) / 2.0}
        ways.append(Ready(name, sizes, turned, (along, through, up), off, waste))
    return max(ways, key=lambda one: (one.fits, -one.off["top"] if one.fits else -max(one.missing)))
