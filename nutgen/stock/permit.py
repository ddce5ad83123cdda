"""What a piece file says beside its shape: what the blank may do, and words to find the marks by."""

from nutgen.spec.piece import PieceSpec
from nutgen.stock.piece import Permitted

ALIKE = 1.1  # sections whose areas differ by less are not told apart by eye


def permitted(spec: PieceSpec) -> Permitted:
    """What the maker permits the blank."""
    permit = spec.permit
    return Permitted(
        grain_deg=permit.grain_deg,
        wane=permit.wane,
        core_in=permit.core_in,
        compact=permit.compact,
        kerf=permit.kerf,
    )


def first_end_words(spec: PieceSpec, *, first: float, last: float) -> str:
    """How to tell the first end from the last.

    first, last : areas of the sections nearest the two ends, any unit alike
    """
    if spec.first_end is not None:
        return spec.first_end
    if spec.ends.first != spec.ends.last:
        return "the end that is sawn off" if spec.ends.first == "cut" else "the end that rounds off to a tip"
    if first > ALIKE * last:
        return "the thicker end"
    if last > ALIKE * first:
        return "the thinner end"
    return "the end that the distances were measured from; the two look alike, so pencil a 1 on it"


def back_line_words(spec: PieceSpec) -> str:
    """How to find the line drawn along the back."""
    if spec.back_line is not None:
        return spec.back_line
    if spec.scan is not None:
        return "along the side that lay uppermost in the scan"
    return "straight along the middle of the back, the side that the height was measured from"
