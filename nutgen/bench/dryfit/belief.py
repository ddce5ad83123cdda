"""What is known of one slot floor after some readings and some filing: how likely it lies at each height.

One reading leaves a whole leaf step open. The next one, after a little filing, cuts that range again
at another place; two checks cut it at two. Carried along height by height, a few coarse leaves tell
a floor to a few hundredths of a millimetre.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nutgen.bench.dryfit.hand import Hand
from nutgen.bench.dryfit.readings import Gap
from nutgen.theory import Array

STEP = 0.0025
HEIGHTS: Array = np.arange(-1.5, 3.5, STEP)
"""Heights of a floor over the one wanted [mm]."""

MARGIN = 0.1  # mm; readings beyond the heights count as this near their ends

FEEL = 0.011
"""How far leaf, hand, action and relief may shift the edge of a reading [mm]. Common practice, no source."""

CARELESS = 0.05
"""One filing in twenty takes off anything from nothing to twice what was meant. Common practice, no source."""

BLUNDER = 1e-7  # weight left everywhere, so that no reading rules a height out for good
CONTRADICTED = 1e-3  # a reading less likely than this, as things were known, starts the reckoning anew


@dataclass(frozen=True, slots=True)
class FloorRange:
    """A floor lies between these, over the height wanted [mm]."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Belief:
    """Weights of `HEIGHTS`; they add up to 1."""

    weights: Array

    @classmethod
    def nothing(cls) -> "Belief":
        """Before any reading: every height is as likely."""
        return cls(np.full(len(HEIGHTS), 1.0 / len(HEIGHTS)))

    def read(self, gaps: Sequence[Gap], *, wanted: float) -> "Belief":
        """After checks that place the floor between two heights each.

        wanted : the floor's height over the fret plane [mm]

        Checks that can not be reconciled with what was known replace it.
        """
        seen = np.ones_like(HEIGHTS)
        for gap in gaps:
            bottom = min(gap.floor_low - wanted, HEIGHTS[-1] - MARGIN)
            top = max(gap.floor_high - wanted, HEIGHTS[0] + MARGIN)
            seen = seen * (_over(bottom) - _over(top) + BLUNDER)
        fresh = seen / seen.sum()
        joint = self.weights * seen
        # against the same checks on a floor of which nothing is known within their reach
        likely = joint.sum() / seen.max()
        return Belief(joint / joint.sum()) if likely > CONTRADICTED else Belief(fresh)

    def filed(self, amount: float, hand: Hand, *, careless: float = CARELESS) -> "Belief":
        """After something was to be filed off [mm]."""
        if amount <= 0.0:
            return self
        likely, spread = hand.takes_off(amount)
        off = np.arange(0.0, max(2.0 * amount, likely + 5.0 * spread) + STEP, STEP)
        meant = np.exp(-0.5 * ((off - likely) / spread) ** 2)
        any_way = (off <= 2.0 * amount).astype(float)
        share = (1.0 - careless) * meant / meant.sum() + careless * any_way / any_way.sum()
        lower = np.convolve(self.weights[::-1], share)[: len(HEIGHTS)][::-1]
        return Belief(lower / lower.sum())

    @property
    def mean(self) -> float:
        """Of the heights [mm]."""
        return float(self.weights @ HEIGHTS)

    @property
    def variance(self) -> float:
        """Of the heights [mm^2]."""
        return float(self.weights @ (HEIGHTS - self.mean) ** 2)

    def below(self, share: float) -> float:
        """The height that the floor is below with this probability [mm]."""
        return float(np.interp(share, np.cumsum(self.weights), HEIGHTS + STEP / 2.0))

    def between(self) -> FloorRange:
        """The heights it lies between, in 99 of 100 cases [mm]."""
        return FloorRange(self.below(0.005), self.below(0.995))

    @property
    def middle(self) -> float:
        """As likely above as below [mm]."""
        return self.below(0.5)


def _over(edge: float) -> Array:
    """How surely a floor at each height is above the edge of a reading (a logistic curve)."""
    curve: Array = 1.0 / (1.0 + np.exp(-np.clip((HEIGHTS - edge) * 1.7 / FEEL, -60.0, 60.0)))
    return curve
