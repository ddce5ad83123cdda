"""The crown of the nut's top: an arc of the board radius laid over the wanted heights."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array


@dataclass(frozen=True, slots=True)
class Crown:
    """An arc across the nut, convex upward, or a straight line.

    z0        : height on the centre line [mm]
    slope_deg : slope on the centre line, positive where it rises toward +x [deg]
    curvature : 1 / radius; 0 where flat [1/mm]

    z(x) = z0 + x (2 s - k x) / (sqrt(1 - (k x - s)^2) + c), s and c the sine and cosine of the
    slope: the circle through (0, z0) with that slope, written so that k = 0 is a straight line.
    """

    z0: float
    slope_deg: float
    curvature: float

    def z(self, x: ArrayLike) -> Array:
        """Height at x [mm]; nan beyond the circle."""
        at = np.asarray(x, float)
        s, c = math.sin(math.radians(self.slope_deg)), math.cos(math.radians(self.slope_deg))
        k = self.curvature
        with np.errstate(invalid="ignore"):
            height: Array = self.z0 + at * (2.0 * s - k * at) / (np.sqrt(1.0 - (k * at - s) ** 2) + c)
        return height

    def raised(self, by: float) -> "Crown":
        """The same arc, higher by a distance [mm]."""
        return Crown(self.z0 + by, self.slope_deg, self.curvature)

    def grown(self, by: float) -> "Crown":
        """The arc moved square to itself, upward where positive: one about the same centre [mm]."""
        if self.curvature == 0.0:
            return self.raised(by / math.cos(math.radians(self.slope_deg)))
        xc, zc = self.centre
        radius = 1.0 / self.curvature + by
        slope = math.asin(xc / radius)
        return Crown(zc + radius * math.cos(slope), math.degrees(slope), 1.0 / radius)

    def mirrored(self) -> "Crown":
        """The arc with x reversed."""
        return Crown(self.z0, -self.slope_deg, self.curvature)

    @property
    def centre(self) -> tuple[float, float]:
        """Centre of the circle (x, z) [mm]; raises ValueError where the crown is flat."""
        if self.curvature == 0.0:
            raise ValueError("a flat crown has no centre")
        slope = math.radians(self.slope_deg)
        radius = 1.0 / self.curvature
        return radius * math.sin(slope), self.z0 - radius * math.cos(slope)

    def highest(self, left: float, right: float) -> float:
        """Greatest height over left..right [mm]."""
        ends = [float(self.z(left)), float(self.z(right))]
        if self.curvature > 0.0 and left < self.centre[0] < right:
            return self.centre[1] + 1.0 / self.curvature
        return max(ends)


def fit_crown(x: Sequence[float], wanted: Sequence[float], least: Sequence[float], *, radius: float) -> Crown:
    """Lay an arc of one radius over points by least squares, then lift it to a minimum.

    Parameters
    ----------
    x : sequence of float
        Positions across the nut, n of them [mm].
    wanted : sequence of float
        Heights that the top should have there [mm].
    least : sequence of float
        Heights that the top must have there [mm].
    radius : float
        Of the arc; inf where flat [mm].

    Returns
    -------
    Crown
        The arc, tilted and lifted; equal wanted heights everywhere give an untilted arc.

    Notes
    -----
    Gauss-Newton on height and slope; the problem is so nearly linear that six rounds reach the last digit. With one
    position the slope stays 0.
    """
    at, rise, step = np.asarray(x, float), 0.0, 1e-6
    # rise: of the top on the centre line, per mm; heights are linear in it, and it has no end
    crown = Crown(float(np.mean(wanted)), 0.0, 1.0 / radius)
    for _ in range(6):
        turned = Crown(crown.z0, math.degrees(math.atan(rise + step)), crown.curvature)
        miss, lift = np.asarray(wanted, float) - crown.z(at), (turned.z(at) - crown.z(at)) / step
        # the two normal equations, solved about the mean so that they do not mix
        apart = lift - lift.mean()
        spread = float(apart @ apart)
        change = float(apart @ miss) / spread if spread > 1e-9 else 0.0
        rise += change
        z0 = crown.z0 + float(miss.mean()) - change * float(lift.mean())
        crown = Crown(z0, math.degrees(math.atan(rise)), crown.curvature)
    return crown.raised(max(0.0, float(np.max(np.asarray(least, float) - crown.z(at)))))
