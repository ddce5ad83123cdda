"""The answer as findings, the same on the screen, on the page and in the record."""

import math

from nutgen.finding import Finding, note, refusal
from nutgen.stock.laid import Answer


def verdict(answer: Answer) -> Finding:
    """Yes with the spare room, or no with what is short."""
    if answer.unseen:
        return answer.unseen[0]
    if answer.fits:
        return note("piece.yields", nuts=len(answer.laid), margin=answer.margin)
    if math.isfinite(answer.margin):
        return refusal("piece.short", missing=answer.missing)
    return refusal("piece.no-room")


def reasons(answer: Answer) -> tuple[Finding, ...]:
    """What stands under the verdict: where it is tightest, or what is short."""
    if not answer.fits:
        return answer.unseen[1:] or answer.short
    return (min(answer.laid, key=lambda laid: laid.margin).tightest,)
