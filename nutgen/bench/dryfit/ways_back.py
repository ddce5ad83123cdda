"""What to do about a slot that is too low: fill it, raise the whole nut, or make a new one."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from nutgen.bench.dryfit.filing import AIM
from nutgen.bench.dryfit.readings import saddle_staying
from nutgen.bench.materials import Material
from nutgen.bench.remedies import THICKEST_SHIM, Shim, shim
from nutgen.nut.part import Nut
from nutgen.play.heights import line_of
from nutgen.spec.workshop import Tools

Array = NDArray[np.float64]
Way = Literal["fill", "shim", "new nut"]

MANY = 2  # low slots; more than this are quicker raised together than filled


@dataclass(frozen=True, slots=True)
class Raised:
    """One string once the nut is raised.

    clearance_now, clearance : open string to the crown of fret 1, before and after, the saddle left alone [mm]
    file_off                 : what then has to come off its slot [mm]
    """

    number: int
    note: str
    clearance_now: float
    clearance: float
    file_off: float


@dataclass(frozen=True, slots=True)
class WayBack:
    """One way back.

    way     : which
    words   : how
    packing : for the shim
    raised  : for the shim, what it does to every string; bass to treble
    """

    way: Way
    words: str
    packing: Shim | None = None
    raised: tuple[Raised, ...] = ()


def ways_back(
    nut: Nut, over: Array, lowest: Array, low: Sequence[int], *, tools: Tools, material: Material
) -> tuple[WayBack, ...]:
    """The ways back where slots are too low, the one that spoils least first.

    nut    : as it stands
    over   : likeliest floors over the heights wanted, one a string [mm]
    lowest : how low they may be [mm]
    low    : places of the strings that are too low; none, no way back is needed

    A shim makes up for the lowest that a floor may be: what is then too much can be filed.
    """
    if not low:
        return ()
    numbers = [nut.slots[index].number for index in low]
    several = "strings " + ", ".join(map(str, numbers)) if len(low) > 1 else f"string {numbers[0]}"
    missing = max(-float(lowest[index]) for index in low)
    ways = [_new_nut(several)]
    if missing <= THICKEST_SHIM:
        ways.insert(0, _shim(nut, over, missing, tools))
    if material.name != "brass":
        ways.insert(1 if len(low) > MANY and len(ways) > 1 else 0, _fill(several, material))
    return tuple(ways)


def _fill(several: str, material: Material) -> WayBack:
    words = (
        f"fill {several}: pack dust of the same {material.name} into the slot, wick in thin glue, let it harden, do it"
        " once more, and file it again from well above. It wears sooner than the solid. Thin glue bonds skin and"
        " heats on cotton: goggles, air, no tissue under it"
    )
    return WayBack("fill", words)


def _shim(nut: Nut, over: Array, missing: float, tools: Tools) -> WayBack:
    packing = shim(round(missing, 2), tools)
    count = len(nut.slots)
    line = line_of(nut, floor_height=over + np.array([slot.floor_height for slot in nut.slots]))
    now = line.clearance(1)[:, 0]
    then = saddle_staying(line, lowered=np.full(count, -packing.thickness)).clearance(1)[:, 0]
    raised = tuple(
        Raised(
            number=slot.number,
            note=slot.note,
            clearance_now=float(now[index]),
            clearance=float(then[index]),
            file_off=max(0.0, round(float(over[index]) + packing.thickness - AIM, 2)),
        )
        for index, slot in enumerate(nut.slots)
    )
    words = f"raise the whole nut, end to end and level, with {packing.words}; then file the others down"
    return WayBack("shim", words, packing, raised)


def _new_nut(several: str) -> WayBack:
    words = f"make a new nut, and keep this one for its spacing; {several} then gets its height from the start"
    return WayBack("new nut", words)
