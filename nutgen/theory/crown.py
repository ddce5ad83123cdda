"""The crown of the nut's top: an arc of the board radius laid over the wanted heights."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


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
        x = np.asarray(x, float)
        s, c = np.sin(np.radians(self.slope_deg)), np.cos(np.radians(self.slope_deg))
        k = self.curvature
        with np.errstate(invalid="ignore"):
            return self.z0 + x * (2.0 * s - k * x) / (np.sqrt(1.0 - (k * x - s) ** 2) + c)

    def raised(self, by: float) -> "Crown":
        """The same arc, higher by a distance [mm]."""
        return Crown(self.z0 + by, self.slope_deg, self.curvature)

    def mirrored(self) -> "Crown":
        """The arc with x reversed."""
        return Crown(self.z0, -self.slope_deg, self.curvature)

    @property
    def centre(self) -> tuple[float, float]:
        """Centre of the circle (x, z) [mm]; raises ValueError where the crown is flat."""
        if self.curvature == 0.0:
            raise ValueError("a flat crown has no centre")
        slope = np.radians(self.slope_deg)
        radius = 1.0 / self.curvature
        return float(radius * np.sin(slope)), float(self.z0 - radius * np.cos(slope))

    def highest(self, half_width: float) -> float:
        """Greatest height over -half_width..half_width [mm]."""
        ends = [float(self.z(-half_width)), float(self.z(half_width))]
        if self.curvature > 0.0 and abs(self.centre[0]) < half_width:
            return self.centre[1] + 1.0 / self.curvature
        return max(ends)

    def lowest(self, half_width: float) -> float:
        """Least height over -half_width..half_width [mm]."""
        return min(float(self.z(-half_width)), float(self.z(half_width)))


def fit_crown(x: ArrayLike, wanted: ArrayLike, least: ArrayLike, *, radius: float) -> Crown:
    """Lay an arc of one radius over points by least squares, then lift it to a minimum.

    x       : positions across the nut, shape (n,) [mm]
    wanted  : heights that the top should have there, shape (n,) [mm]
    least   : heights that the top must have there, shape (n,) [mm]
    radius  : of the arc; inf where flat [mm]
    returns : the arc, tilted and lifted; equal wanted heights everywhere give an untilted arc

    Gauss-Newton on height and slope; the problem is so nearly linear that five rounds reach
    the last digit. With one position the slope stays 0.
    """
    x, wanted, least = (np.atleast_1d(np.asarray(a, float)) for a in (x, wanted, least))
    crown = Crown(float(wanted.mean()), 0.0, 1.0 / radius)
    step_deg = 1e-4
    for _ in range(6):
        miss = wanted - crown.z(x)
        turned = Crown(crown.z0, crown.slope_deg + step_deg, crown.curvature)
        jacobian = np.column_stack([np.ones_like(x), (turned.z(x) - crown.z(x)) / step_deg])
        if x.size == 1 or np.ptp(x) < 1e-9:
            jacobian[:, 1] = 0.0
        change = np.linalg.lstsq(jacobian, miss, rcond=None)[0]
        crown = Crown(crown.z0 + float(change[0]), crown.slope_deg + float(change[1]), crown.curvature)
    return crown.raised(max(0.0, float((least - crown.z(x)).max())))
