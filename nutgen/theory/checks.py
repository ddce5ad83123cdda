"""What every formula asks of its numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from nutgen.theory.either import finite, holds, number

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def above_zero(name: str, value: ArrayLike) -> Any:
    """A quantity as a float, or an array of them, all finite and above 0; ValueError naming it otherwise."""
    checked = number(value)
    if not (holds(checked > 0.0) and holds(finite(checked))):
        raise ValueError(f"{name} must be a finite number above 0")
    return checked
