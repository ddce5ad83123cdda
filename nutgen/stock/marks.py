"""How a piece file has its first end and its back line found on the piece itself."""

from nutgen.finding import Finding, note
from nutgen.spec.piece import PieceSpec

ALIKE = 1.1  # sections whose areas differ by less are not told apart by eye


def first_end(spec: PieceSpec, *, first: float, last: float) -> Finding:
    """How to tell the first end from the last.

    first, last : areas of the sections nearest the two ends, any unit alike
    """
    if spec.first_end is not None:
        return note("first-end.stated", words=_plain(spec.first_end))
    if spec.ends.first != spec.ends.last:
        return note(f"first-end.{spec.ends.first}")
    if first > ALIKE * last:
        return note("first-end.thicker")
    return note("first-end.thinner" if last > ALIKE * first else "first-end.alike")


def back_line(spec: PieceSpec) -> Finding:
    """How to find the line drawn along the back."""
    if spec.back_line is not None:
        return note("back-line.stated", words=_plain(spec.back_line))
    return note("back-line.back" if spec.scan is None else "back-line.scan")


def _plain(words: str) -> str:
    return words.strip().rstrip(".")
