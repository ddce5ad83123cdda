"""A neck, a nut in it, feeler leaves and a hand: a model of the bench that shares nothing with the package.

Geometry from scratch: crowns on a circle through the first and the last, the string a straight line
from slot floor to saddle. Leaves are tried one stack after the other; the hand is off at random.
"""

import itertools
import math
import random
from dataclasses import dataclass, field


def fret_at(scale: float, n: int) -> float:
    return scale - scale / 2 ** (n / 12)


@dataclass
class OneString:
    """One string over its side of the neck; x runs from the front face to the bridge."""

    scale: float
    last: int
    relief: float
    start: float
    floor: float  # over the line through crowns 1 and 2, at the start
    saddle: float  # height of the string at the bridge, same datum as the crowns
    shimmed: float = 0.0

    def crown(self, n: int) -> float:
        a, b = fret_at(self.scale, 1), fret_at(self.scale, self.last)
        if self.relief == 0.0:
            return 0.0
        half = (b - a) / 2
        radius = (half * half + self.relief * self.relief) / (2 * self.relief)  # intersecting chords
        return (radius - self.relief) - math.sqrt(radius**2 - (fret_at(self.scale, n) - (a + half)) ** 2)

    def plane(self, x: float) -> float:
        x1, x2 = fret_at(self.scale, 1), fret_at(self.scale, 2)
        return self.crown(1) + (self.crown(2) - self.crown(1)) * (x - x1) / (x2 - x1)

    def string_at(self, x: float, *, from_x: float, from_z: float) -> float:
        return from_z + (self.saddle - from_z) * (x - from_x) / (self.scale - from_x)

    @property
    def floor_z(self) -> float:
        return self.plane(self.start) + self.floor

    def gap(self, n: int) -> float:
        """Open string over fret n; nothing where it lies on it."""
        u = fret_at(self.scale, n)
        return max(0.0, self.string_at(u, from_x=self.start, from_z=self.floor_z) - self.crown(n))

    def gap_pressed_at_3(self) -> float:
        x1, x3 = fret_at(self.scale, 1), fret_at(self.scale, 3)
        share = (x1 - self.start) / (x3 - self.start)
        return max(0.0, self.floor_z * (1 - share) + self.crown(3) * share - self.crown(1))

    def gap_barred_over_2(self) -> float:
        x1, x2 = fret_at(self.scale, 1), fret_at(self.scale, 2)
        return self.string_at(x2, from_x=x1, from_z=self.crown(1)) - self.crown(2)

    def set_action(self, action: float) -> None:
        """Move the saddle until the open string has this much over fret 12."""
        x12 = fret_at(self.scale, 12)
        z = self.crown(12) + action
        self.saddle = self.floor_z + (z - self.floor_z) * (self.scale - self.start) / (x12 - self.start)


@dataclass
class Leaves:
    """A set of leaves, and how well a hand feels whether one passes."""

    sizes: tuple[float, ...]
    feel: float = 0.004
    stacks: list[float] = field(init=False)

    def __post_init__(self) -> None:
        sums = {0.0}
        for size in self.sizes:
            sums |= {round(s + size, 6) for s in sums if s + size < 3.0}
        self.stacks = sorted(sums)

    def thickest_that_passes(self, gap: float, rng: random.Random) -> float:
        felt = gap + rng.uniform(-self.feel, self.feel)
        return max(itertools.takewhile(lambda stack: stack <= felt, self.stacks), default=0.0)


METRIC = Leaves((0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0))


@dataclass
class Hand:
    """Takes off what it is told, give or take: a tenth of it (one standard deviation), and a few thousandths.

    Common practice, no source.
    """

    rng: random.Random
    share: float = 0.10
    always: float = 0.003

    def takes_off(self, told: float) -> float:
        if told <= 0.0:
            return 0.0
        return max(0.0, told * (1 + self.rng.gauss(0, self.share)) + self.rng.gauss(0, self.always))


@dataclass
class CarelessHand(Hand):
    """Takes off 10 to 30 % more than it is told, or less: always the same way, drawn once for each maker."""

    gain: float = field(init=False)

    def __post_init__(self) -> None:
        self.gain = 1.0 + self.rng.choice([-1.0, 1.0]) * self.rng.uniform(0.1, 0.3)

    def takes_off(self, told: float) -> float:
        return max(0.0, told * self.gain + self.rng.gauss(0, self.always)) if told > 0.0 else 0.0
