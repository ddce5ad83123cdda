"""The hand that files: what it takes off of what it is told, learned from the log."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

SCATTER = 0.13
"""What one filing takes off varies by this share of what was told (standard deviation). Common practice, no source."""

ALWAYS = 0.004
"""And by this at the least (standard deviation) [mm]. Common practice, no source."""

UNKNOWN = 0.15
"""Standard deviation of the gain of hands that have not filed yet: 0.7 to 1.3 at two of them. Common practice, no
source."""

DRIFT = 0.05
"""How much a gain may change from one filing to the next, as a file wears (standard deviation). Common practice, no
source."""


@dataclass(frozen=True, slots=True)
class Hand:
    """What is known of a hand.

    gain  : what it takes off, as a share of what it is told; 1 for an even hand, more for a heavy one
    doubt : standard deviation of that
    """

    gain: float = 1.0
    doubt: float = UNKNOWN

    def takes_off(self, told: float) -> tuple[float, float]:
        """What comes off where so much is told, and the standard deviation of it [mm]."""
        return self.gain * told, math.hypot(SCATTER * told, self.doubt * told, ALWAYS)

    def learned(self, filed: Iterable[tuple[float, float, float]]) -> "Hand":
        """After a filing: the linear model came_off = gain * told + error, the gain normal before.

        filed   : of each slot what was told, what came off by the readings [mm], and the variance of that [mm^2]
        returns : of precision p = 1 / doubt^2 + sum(told^2 / v) and gain
                  (gain / doubt^2 + sum(told * came_off / v)) / p, v an error's variance:
                  C. M. Bishop, Pattern Recognition and Machine Learning, 2006, section 3.3.1 (from memory)
        """
        precision = 1.0 / (self.doubt**2 + DRIFT**2)
        weighted = self.gain * precision
        for told, came_off, variance in filed:
            error = (SCATTER * told) ** 2 + ALWAYS**2 + variance
            precision += told**2 / error
            weighted += told * came_off / error
        return Hand(weighted / precision, precision**-0.5)
