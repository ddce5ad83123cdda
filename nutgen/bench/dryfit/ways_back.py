"""Packing under a nut whose slots are too low, and what it does to every string."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from nutgen.bench.dryfit.filing import AIM
from nutgen.bench.dryfit.readings import moved
from nutgen.bench.remedies import THICKEST_SHIM
from nutgen.nut.part import Nut
from nutgen.theory import Array


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
