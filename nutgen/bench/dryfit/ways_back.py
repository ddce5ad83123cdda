"""What to do about a slot that is too low: fill it, raise the whole nut, or make a new one."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.bench.dryfit.filing import AIM
from nutgen.bench.dryfit.readings import moved
from nutgen.bench.materials import NutMaterial
from nutgen.bench.remedies import THICKEST_SHIM, shim
from nutgen.finding import Finding, Subject, remedy
from nutgen.nut.part import Nut
from nutgen.spec.workshop import Tools

Array = NDArray[np.float64]

MANY = 2  # low slots; more than this are quicker raised together than filled


@dataclass(frozen=True, slots=True)
class Raised:
    """One string once the nut is raised.

    first_fret_clearance_now, first_fret_clearance : open string, before and after, the saddle left alone [mm]
    file_off : what then has to come off its slot [mm]
    """

    number: int
    note: str
    first_fret_clearance_now: float
    first_fret_clearance: float
    file_off: float


def packing_for(lowest: Sequence[float], low: Sequence[int]) -> float | None:
    """Packing that makes up for the lowest that the floors may be; None where none is needed or it would be too thick.

    lowest : how low the floors may be, over the heights wanted [mm]
    low    : places of the strings that are too low
    returns: thickness [mm]; what is then too much can be filed
    """
    missing = max((-lowest[index] for index in low), default=math.inf)
    return round(missing, 2) if missing <= THICKEST_SHIM else None


def ways_back(
    strings: Sequence[Subject], packing: float | None, *, tools: Tools, material: NutMaterial
) -> tuple[Finding, ...]:
    """The ways back where slots are too low, the one that spoils least first.

    strings : whose slots are too low; none, no way back is needed
    packing : see `packing_for` [mm]
    """
    if not strings:
        return ()
    ways = [remedy("fit.new-nut", *strings)]
    if packing is not None:
        ways.insert(0, shim(packing, tools))
    if material.can_be_filled:
        filled = remedy("fit.fill", *strings, material=material.name)
        ways.insert(1 if len(strings) > MANY and len(ways) > 1 else 0, filled)
    return tuple(ways)


def raised_by(nut: Nut, over: Array, thickness: float) -> tuple[Raised, ...]:
    """What packing under the nut does to every string, bass to treble.

    nut       : as it stands
    over      : likeliest floors over the heights wanted, one a string [mm]
    thickness : of the packing [mm]
    """
    now, then = (line.clearance(1)[:, 0] for line in moved(nut, over, lowered=-thickness))
    return tuple(
        Raised(
            number=slot.number,
            note=slot.note,
            first_fret_clearance_now=float(now[index]),
            first_fret_clearance=float(then[index]),
            file_off=max(0.0, round(float(over[index]) + thickness - AIM, 2)),
        )
        for index, slot in enumerate(nut.slots)
    )
