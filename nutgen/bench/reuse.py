"""Will the old nut do? Slot by slot against the nut that the file asks for, then in one word."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from nutgen.errors import CannotBeMade
from nutgen.findings import Finding, assumption, of_key
from nutgen.nut.clear import lowest_floor_height, swing_of
from nutgen.nut.part import Nut, Slot
from nutgen.spec.playing import OldNut
from nutgen.spec.tables import Spec
from nutgen.theory.heights import Neck

Array = NDArray[np.float64]
Verdict = Literal["keep", "file", "shim and file", "new nut"]

LEAST_CLEARANCE = 0.02
"""Slot over gauge below which a string binds. Common practice, no source [mm]."""

LOOSE = (0.25, 0.10)
"""Slot over gauge from which a string rattles: in mm, or as a share of a thick gauge. Common practice, no source."""

OFF_POSITION = 0.5
"""Centre off its place from which the hand feels it. Common practice, no source [mm]."""

FLOOR_PLAY = 0.05
"""Floor off its height that nobody feels. Common practice, no source [mm]."""

THICKEST_SHIM = 1.0
"""Thickest shim that still lets a nut sit firmly. Common practice, no source [mm]."""

SHIM_STEP = 0.05
"""Shims come in steps of card and veneer. Common practice, no source [mm]."""


@dataclass(frozen=True, slots=True)
class OldSlot:
    """One slot of the old nut against what the string needs.

    off          : its centre from the wanted one, positive toward the treble side [mm]
    misplaced    : whether that is too much, and widening cannot move it
    widen_to     : width to widen to; None where it is wide enough [mm]
    too_wide_by  : over the widest that does not rattle; 0 where it is not too wide [mm]
    floor_height : over the fret plane [mm]
    lower_by     : to file off; below 0 it is lower than wanted [mm]
    too_low_by   : to fill or to lift by, because so low a floor buzzes at the pluck; 0 where it will do [mm]
    """

    slot: Slot
    width: float
    off: float
    misplaced: bool
    widen_to: float | None
    too_wide_by: float
    floor_height: float
    lower_by: float
    too_low_by: float

    @property
    def name(self) -> str:
        """The string."""
        return f"{self.slot.number} {self.slot.note}"

    @property
    def steps(self) -> tuple[str, ...]:
        """What to do, in words; empty: keep it."""
        steps = []
        if self.widen_to is not None:
            side = "" if abs(self.off) < 0.05 else f", toward the {'bass' if self.off > 0.0 else 'treble'} side"
            steps.append(f"widen to {self.widen_to:.2f}{side}")
        if self.too_wide_by > 0.0:
            steps.append(f"too wide by {self.too_wide_by:.2f} (rattle)")
        if self.misplaced:
            steps.append(f"off position by {abs(self.off):.2f} to the {'treble' if self.off > 0.0 else 'bass'} side")
        if self.too_low_by > 0.0:
            steps.append(f"too low by {self.too_low_by:.2f} (buzz): fill, shim or new nut")
        elif self.lower_by > FLOOR_PLAY:
            steps.append(f"file the floor down by {self.lower_by:.2f}")
        return tuple(steps)

    @property
    def remark(self) -> str:
        """What may stay as it is, though it is not as wanted; empty where there is nothing to say."""
        if self.too_low_by == 0.0 and self.lower_by < -FLOOR_PLAY:
            return f"{-self.lower_by:.2f} lower than wanted, still clear"
        return ""


@dataclass(frozen=True, slots=True)
class Reuse:
    """The old nut as a whole.

    slots       : bass to treble
    verdict     : "keep", "file", "shim and file" or "new nut"
    shim        : under the nut, so that no floor is too low; 0 where none is needed [mm]
    reason      : of the verdict, in words
    assumed     : what the file does not say
    """

    slots: tuple[OldSlot, ...]
    verdict: Verdict
    shim: float
    reason: str
    assumed: tuple[Finding, ...]


def reuse(spec: Spec, nut: Nut, old: OldNut) -> Reuse:
    """Judge the old nut by the solved one.

    spec, nut : what is wanted now
    old       : the old nut as measured, one slot a string
    """
    floors, least = old_floor_heights(nut, old), _least_floors(spec, nut)
    judged = tuple(
        _judge(nut, slot, width=old.widths[i], centre=old.centres[i], floor=float(floors[i]), least=float(least[i]))
        for i, slot in enumerate(nut.slots)
    )
    shim = _shim(judged)
    verdict, reason = _verdict(judged, shim)
    pluck = swing_of(spec).assumed
    assumed = (assumption("reuse.pluck-assumed", of_key("pluck"), assumed=pluck),) if pluck else ()
    return Reuse(judged, verdict, shim, reason, assumed)


def old_floor_heights(nut: Nut, old: OldNut) -> Array:
    """Floors of the old nut over the fret plane, whatever they were measured from [mm]."""
    floors = np.array(old.floors)
    if old.floors_from == "fret plane":
        return floors
    seat = np.array([float(nut.underside.z(slot.x)) - slot.fret_plane_z for slot in nut.slots])
    return floors + seat


def _least_floors(spec: Spec, nut: Nut) -> Array:
    """Lowest floors that stay clear; the wanted ones where no floor does."""
    slots = nut.slots
    scale, start = np.array([s.scale_length for s in slots]), np.array([-s.start_y for s in slots])
    try:
        neck = Neck(scale, nut.frets, nut.relief, start)
        return lowest_floor_height(spec, neck=neck, action=np.array([s.action for s in slots]))
    except CannotBeMade:
        return np.array([s.floor_height for s in slots])


def _judge(nut: Nut, slot: Slot, *, width: float, centre: float, floor: float, least: float) -> OldSlot:
    off = centre - nut.from_bass_end(slot)
    narrow = width < slot.gauge + LEAST_CLEARANCE
    # widening can move a centre by as much as it takes off one wall only
    movable = (slot.width - width) / 2.0 if narrow else 0.0
    loosest = slot.gauge + max(LOOSE[0], LOOSE[1] * slot.gauge)
    lower_by = floor - slot.floor_height
    low = floor < min(least, slot.floor_height) - 1e-9
    return OldSlot(
        slot=slot,
        width=width,
        off=off,
        misplaced=abs(off) - movable > OFF_POSITION,
        widen_to=slot.width if narrow else None,
        too_wide_by=max(0.0, width - loosest),
        floor_height=floor,
        lower_by=lower_by,
        too_low_by=-lower_by if low else 0.0,
    )


def _shim(slots: tuple[OldSlot, ...]) -> float:
    """Lift every floor that is too low to its wanted height, in whole steps."""
    lift = max(slot.too_low_by for slot in slots)
    return math.ceil(lift / SHIM_STEP - 1e-9) * SHIM_STEP


def _verdict(slots: tuple[OldSlot, ...], shim: float) -> tuple[Verdict, str]:
    wide = [slot.name for slot in slots if slot.too_wide_by > 0.0]
    off = [slot.name for slot in slots if slot.misplaced]
    if wide or off:
        why = [f"too wide for {', '.join(wide)}"] if wide else []
        why += [f"off position for {', '.join(off)}"] if off else []
        cure = "fill those slots and cut them again, or make a new nut; a shim does not help"
        return "new nut", f"{' and '.join(why)}: {cure}"
    if shim > THICKEST_SHIM:
        return "new nut", f"a shim of {shim:.2f} mm would be needed; over {THICKEST_SHIM:g} mm a nut sits loosely"
    if shim > 0.0:
        words = f"a shim of {shim:.2f} mm under the nut saves it; then file each floor to its height"
        return "shim and file", words
    if any(slot.steps for slot in slots):
        return "file", "every slot can be filed to what its string needs"
    return "keep", "every slot suits its string as it is"
