"""Functions for a plain number and for arrays alike.

One nut is a handful of numbers, and loading numpy for them takes longer than solving it. The formulas
on the way from a file to a nut therefore use these: a float stays a float, anything else goes to numpy.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def number(x: ArrayLike) -> Any:
    """A float as it is; a list or an array as an array of floats."""
    if isinstance(x, int | float):
        return float(x)
    import numpy as np

    return np.asarray(x, float)


def holds(condition: Any) -> bool:
    """Whether a condition holds, for an array everywhere."""
    return condition if isinstance(condition, bool) else bool(condition.all())


def sqrt(x: Any) -> Any:
    """Square root; nan below 0."""
    if isinstance(x, float):
        return math.sqrt(x) if x >= 0.0 else math.nan
    import numpy as np

    with np.errstate(invalid="ignore"):
        return np.sqrt(x)


def expm1(x: Any) -> Any:
    """e^x - 1, exact near 0."""
    if isinstance(x, float):
        return math.expm1(x)
    import numpy as np

    return np.expm1(x)


def arctan_deg(x: Any) -> Any:
    """Angle of a slope [deg]."""
    if isinstance(x, float):
        return math.degrees(math.atan(x))
    import numpy as np

    return np.degrees(np.arctan(x))


def finite(x: Any) -> Any:
    """Whether a number is finite, each for itself in an array."""
    if isinstance(x, float):
        return math.isfinite(x)
    import numpy as np

    return np.isfinite(x)


def clipped(x: Any, low: float, high: float) -> Any:
    """A number brought between two bounds."""
    if isinstance(x, float):
        return min(max(x, low), high)
    import numpy as np

    return np.clip(x, low, high)
