"""What every formula asks of its numbers."""

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array


def above_zero(name: str, value: ArrayLike) -> Array:
    """A quantity as a float, or an array of them, all finite and above 0; ValueError naming it otherwise."""
    checked = np.asarray(value, float)
    if not np.all((checked > 0.0) & np.isfinite(checked)):
        raise ValueError(f"{name} must be a finite number above 0")
    return checked


def floats(*values: ArrayLike) -> tuple[Array, ...]:
    """Quantities as floats, or arrays of them."""
    return tuple(np.asarray(value, float) for value in values)
