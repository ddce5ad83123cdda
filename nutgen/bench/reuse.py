"""Will the old nut do? Slot by slot against the nut that the file asks for, then in one word."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from nutgen.bench.materials import MATERIALS, NutMaterial
from nutgen.bench.remedies import THICKEST_SHIM, TOLERANCE, packing_of, ways_back
from nutgen.bench.wires import Bounds, width_bounds
from nutgen.finding import Finding, Subject, assumption, caution, note, of_key, of_string, remedy, step, warning
from nutgen.nut.heights import fitted_how, heights, lowest_of, readings_of
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.playing import OldNut
from nutgen.spec.workshop import Tools
from nutgen.theory import Array

OldNutVerdict = Literal["keep", "listen first", "file", "fill and file", "shim and file", "new nut"]

LEAST_CLEARANCE = 0.02
"""Slot over gauge below which a string binds. Common practice, no source [mm]."""

LOOSE = (0.25, 0.10)
"""Slot over gauge from which a string may rattle: in mm, or as a share of a thick gauge. Common practice, no source."""

OFF_POSITION = 0.5
"""Centre off its place from which the hand feels it. Common practice, no source [mm]."""

NOT_OFF = 0.05
"""Off its place by less, a slot is widened to both sides alike [mm]."""


@dataclass(frozen=True, slots=True)
class OldSlot:
    """One slot of the old nut against what the string needs; lengths in mm.

    slot_width      : of the thickest gauge that enters
    slot_width_below : of the next thicker wire, which does not; None where the width was not read by wire
    widen_to        : width to widen to; None where it is wide enough, is to be filled, or no wire tells
    too_wide_by     : over the widest that never rattles; 0 where it is not too wide
    rattles         : whether the string does, or moves; None where nobody has listened
    off_position_by : its centre from the wanted one, positive toward the treble side
    misplaced       : whether that is too much, and widening cannot move it
    floor_height    : over the fret plane
    too_low_by      : to fill or to lift by, because so low a floor buzzes at the pluck; 0 where it will do
    file_down_with_shim : to file off once the shim is in; 0 where the floor may stay
    steps           : what to do; empty: keep it
    remark          : what may stay as it is, though it is not as wanted, or rattles for another reason
    width_untold    : where the wires leave open whether it is wide enough, or too wide
    """

    number: int
    note: str
    gauge: float
    slot_width: float
    slot_width_below: float | None
    wanted_width: float
    widen_to: float | None
    too_wide_by: float
    rattles: bool | None
    off_position_by: float
    misplaced: bool
    floor_height: float
    wanted_floor_height: float
    too_low_by: float
    file_down_with_shim: float
    steps: tuple[Finding, ...]
    remark: Finding | None
    width_untold: Finding | None

    @property
    def lost(self) -> bool:
        """Whether neither a file nor a shim saves the slot: width alone is a fault only where it is heard."""
        return self.misplaced or (self.too_wide_by > 0.0 and self.rattles is True)


@dataclass(frozen=True, slots=True)
class Reuse:
    """The old nut as a whole.

    verdict : "keep", "listen first", "file", "fill and file", "shim and file" or "new nut"
    reason  : of the verdict
    shim    : under the nut, so that no floor is too low; 0 where none is needed, or none does [mm]
    ways    : where slots are too low, what saves the nut, the one that spoils least first
    strings : bass to treble
    findings : what the file does not say
    cautions : of the work that it asks for
    """

    verdict: OldNutVerdict
    reason: Finding
    shim: float
    ways: tuple[Finding, ...]
    strings: tuple[OldSlot, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[Finding, ...]


def reuse(nut: Nut, old: OldNut, tools: Tools) -> Reuse:
    """Judge the old nut by the solved one.

    nut   : what is wanted now
    old   : the old nut as measured, one slot a string
    tools : on the bench
    """
    material, how = MATERIALS[old.material or nut.material], fitted_how(nut)
    floors, wanted = old_floor_heights(nut, old), np.array([slot.floor_height for slot in nut.slots])
    low = np.where(floors < np.minimum(_least_floors(nut), wanted) - 1e-9, wanted - floors, 0.0)
    most = float(low.max())  # every floor that is too low is lifted to its wanted height
    who = [slot.who for slot, by in zip(nut.slots, low, strict=True) if by > 0.0]
    ways = ways_back(who, most, tools=tools, material=material) if most <= THICKEST_SHIM else ()
    filled = bool(ways) and ways[0].code == "fit.fill"
    shim = packing_of(ways)
    tried = [one if isinstance(one, float) else None for one in old.too_thick or ("none",) * len(old.widths)]
    widths = [width_bounds(width, tools.wires, no) for width, no in zip(old.widths, tried, strict=True)]
    centres = nut.old_centres(old.model_copy(update={"widths": tuple(width.at(0.5) for width in widths)}))
    strings = tuple(
        _advised(_judged(nut, slot, width, *map(float, read), heard=old.rattles), how, filled=filled, shim=shim)
        for slot, width, *read in zip(nut.slots, widths, centres, floors, low, strict=True)
    )
    verdict, reason = _verdict(strings, most, ways, material)
    pluck = () if how else nut.swing.assumed
    return Reuse(
        verdict=verdict,
        reason=reason,
        shim=shim,
        ways=() if verdict == "new nut" else ways,
        strings=strings,
        findings=(assumption("old-nut.pluck-assumed", of_key("pluck"), assumed=pluck),) if pluck else (),
        cautions=(material.in_short, *((caution("bench.thin-glue"),) if ways else ())),
    )


def old_floor_heights(nut: Nut, old: OldNut) -> Array:
    """Floors of the old nut over the fret plane, whatever they were measured from [mm]."""
    read = np.array([old.floors]).T
    readings = readings_of(nut).at_floor(read)
    if old.floors_from == "seat floor":
        readings = replace(readings, floor_height=None, floor_above_seat=read)
    return heights(readings)[0][:, 0]


def _least_floors(nut: Nut) -> Array:
    """Lowest floors that stay clear; the wanted ones where no floor does or a bar feels it; any behind a zero fret."""
    wanted = np.array([slot.floor_height for slot in nut.slots])
    if how := fitted_how(nut):
        return wanted - (TOLERANCE if how == "-under-bar" else np.inf)
    least = lowest_of(nut)
    return np.where(np.isfinite(least), least, wanted)


def _judged(
    nut: Nut,
    slot: Slot,
    width: Bounds,
    centre: float,
    floor_height: float,
    too_low_by: float,
    *,
    heard: Sequence[int] | None,
) -> OldSlot:
    """A slot as it is, without what is to be done."""
    off = centre - nut.from_bass_end(slot)
    least, most = slot.gauge + LEAST_CLEARANCE, slot.gauge + max(LOOSE[0], LOOSE[1] * slot.gauge)
    narrow = width.go < least and width.no_go <= least
    # widening can move a centre by as much as it takes off one wall only
    movable = (slot.width - width.go) / 2.0 if narrow else 0.0
    return OldSlot(
        number=slot.number,
        note=slot.note,
        gauge=slot.gauge,
        slot_width=width.go,
        slot_width_below=width.no_go if width.go < width.no_go < math.inf else None,
        wanted_width=slot.width,
        widen_to=slot.width if narrow else None,
        too_wide_by=max(0.0, width.go - most),
        rattles=None if heard is None else slot.number in heard,
        off_position_by=off,
        misplaced=abs(off) - movable > OFF_POSITION,
        floor_height=floor_height,
        wanted_floor_height=slot.floor_height,
        too_low_by=too_low_by,
        file_down_with_shim=0.0,
        steps=(),
        remark=None,
        width_untold=_untold(width, least, most, slot),
    )


def _untold(width: Bounds, least: float, most: float, slot: Slot) -> Finding | None:
    """What the wires leave open of a width: whether the string binds in it, or rattles."""
    no_go = width.no_go if math.isfinite(width.no_go) else 0.0
    if width.go <= most < width.no_go:
        return note("old-slot.wide-untold", go=width.go, no_go=no_go, most=most)
    if width.go < least < width.no_go:
        return note("old-slot.narrow-untold", go=width.go, no_go=no_go, width=slot.width)
    return None


def _advised(old: OldSlot, how: str, *, filled: bool, shim: float) -> OldSlot:
    """With what is to be done; a slot that is to be filled, where low ones are or because it is lost, is not filed."""
    off, higher_by = old.off_position_by, old.floor_height - old.wanted_floor_height
    low = old.too_low_by > 0.0
    fill = old.lost or (low and filled)
    narrow, file_down = old.widen_to is not None and not fill, higher_by > TOLERANCE and not fill
    with_shim = higher_by + shim if shim and higher_by + shim > TOLERANCE and not old.lost else 0.0
    steps, remark = [], None
    if narrow:
        toward = "" if abs(off) < NOT_OFF else "bass" if off > 0.0 else "treble"
        steps.append(step("old-slot.widen", width=old.wanted_width, toward=toward))
    if old.too_wide_by > 0.0 and old.rattles:
        steps.append(warning("old-slot.too-wide", by=old.too_wide_by))
    elif old.too_wide_by > 0.0 and old.rattles is None and not fill:
        steps.append(step("old-slot.listen", by=old.too_wide_by))
    if old.misplaced:
        steps.append(warning("old-slot.off-position", by=abs(off), side="treble" if off > 0.0 else "bass"))
    if low:
        steps.append(warning(f"old-slot.too-low{how}", by=old.too_low_by))
    elif file_down:
        steps.append(step("old-slot.file-down", by=higher_by))
    if old.rattles and old.too_wide_by == 0.0 and not low:
        remark = warning("old-slot.rattles-otherwise")
    elif higher_by < -TOLERANCE and not low:
        remark = note("old-slot.low-but-clear", by=-higher_by)
    elif old.too_wide_by > 0.0 and old.rattles is False and not fill:
        remark = note("old-slot.wide-but-quiet", by=old.too_wide_by)
    widen_to = old.widen_to if narrow else None
    return replace(old, widen_to=widen_to, file_down_with_shim=with_shim, steps=tuple(steps), remark=remark)


def _verdict(
    strings: tuple[OldSlot, ...], most: float, ways: tuple[Finding, ...], material: NutMaterial
) -> tuple[OldNutVerdict, Finding]:
    wide = tuple(f"{old.number} {old.note}" for old in strings if old.too_wide_by > 0.0 and old.rattles)
    off = tuple(f"{old.number} {old.note}" for old in strings if old.misplaced)
    if wide or off:
        return "new nut", warning("old-nut.slots-lost", too_wide=wide, misplaced=off, fill=material.can_be_filled)
    if most > THICKEST_SHIM:
        return "new nut", warning("old-nut.shim-too-thick", shim=most, most=THICKEST_SHIM)
    unheard = [old for old in strings if any(one.code == "old-slot.listen" for one in old.steps)]
    if unheard:
        return "listen first", step("old-nut.listen", *(of_string(old.number, old.note) for old in unheard))
    if ways and ways[0].code == "fit.fill":
        return "fill and file", remedy("old-nut.fill", *_low(strings))
    if ways:
        return "shim and file", remedy("old-nut.shim", *_low(strings), shim=packing_of(ways))
    if any(old.steps for old in strings):
        return "file", remedy("old-nut.file")
    return "keep", note("old-nut.keep")


def _low(strings: tuple[OldSlot, ...]) -> list[Subject]:
    return [of_string(old.number, old.note) for old in strings if old.too_low_by > 0.0]
