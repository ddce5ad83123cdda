"""Numbers rounded as a reader expects, by the standard library's decimals: a half goes up."""

from decimal import ROUND_HALF_UP, Decimal


def half_up(value: float, places: int) -> str:
    """A number to so many decimals; what it may have lost below 1e-9 is given back first."""
    return str(Decimal(repr(round(value, 9))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP))
