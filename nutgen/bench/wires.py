"""Wires as go and no-go gauges of a slot: the .012 enters, the .013 does not, so it is between the two."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from nutgen.finding import Finding, note
from nutgen.spec.stacks import WIRE_OFF


class Bounds(NamedTuple):
    """Between which widths a slot lies: no narrower than what enters, narrower than what does not [mm]."""

    go: float
    no_go: float

    def at(self, share: float) -> float:
        """A width so far on the way from one to the other; what enters where nothing thicker was tried."""
        return self.go + share * (self.no_go - self.go) if math.isfinite(self.no_go) else self.go


def width_bounds(enters: float, wires: Sequence[float], too_thick: float | None = None) -> Bounds:
    """What a width says that was read as the thickest gauge that enters.

    enters    : as read [mm]
    wires     : that were at hand [mm]
    too_thick : what was tried and did not enter [mm]
    returns   : up to what did not enter; else of a wire up to the next thicker one, inf where there is none, and of
                anything else the reading itself
    """
    if too_thick is not None:
        return Bounds(enters, too_thick)
    if not any(abs(wire - enters) <= WIRE_OFF for wire in wires):
        return Bounds(enters, enters)
    return Bounds(enters, min((wire for wire in wires if wire > enters + WIRE_OFF), default=math.inf))


def width_check(width: float, wires: Sequence[float]) -> Finding | None:
    """Which wires tell that a slot has come to its width: the thickest that is to enter, the thinnest that is not to.

    width   : wanted [mm]
    wires   : on the bench [mm]
    returns : the two, between which it then is; None where the wires do not reach to either side of it
    """
    go = max((wire for wire in wires if wire <= width), default=0.0)
    no_go = min((wire for wire in wires if wire > width), default=0.0)
    return note("wires.between", go=go, no_go=no_go) if go and no_go else None
