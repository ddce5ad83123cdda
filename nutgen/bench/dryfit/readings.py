"""What a leaf reading says: not one height of a slot floor, but the two it lies between.

The thickest leaf that passes is no thicker than the gap, the thinnest that drags no thinner. Each of
the three shop checks turns such a gap into a floor height over the fret plane, with the action and
the relief as they are now.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from nutgen.bench.leaves import GRID, leaf_stack, loose_sheets
from nutgen.nut.heights import heights, readings_of
from nutgen.nut.part import Nut
from nutgen.nut.places import string_shares
from nutgen.play.heights import Check, floor_for_check
from nutgen.spec.playing import HIGHEST_READING, DryFit
from nutgen.spec.stacks import stack_error
from nutgen.spec.values import Across
from nutgen.spec.workshop import Tools
from nutgen.theory import Array
from nutgen.theory.heights import StringLine

SAME_STACK = 0.003  # mm; a reading this near a sum of leaves is that stack
NO_TELLING = 1.0  # mm; how much lower a floor may be whose string lies on the fret
OPEN_END = 0.5  # mm; how much more a gap may be that all leaves together do not fill


@dataclass(frozen=True, slots=True)
class Gap:
    """One check of one string: the leaves it was read with, and the floor that follows.

    check               : "feeler", "sliver" or "barre"
    passes, drags       : the gap lies between these; for the barre, what the open string has more [mm]
    floor_low, floor_high : between which heights the slot floor lies over the fret plane [mm]
    """

    check: Check
    passes: float
    drags: float
    floor_low: float
    floor_high: float


def next_stack(passes: float, tools: Tools) -> float:
    """The thinnest stack of leaves above the one that passes [mm].

    Read in the metric set where it makes the reading, else in the inch set, else in sheets or wires of one's own; a
    reading that none makes was taken another way, and the coarsest of them is taken to follow.
    """
    following = []
    for sums in _reached(tools):
        thicker = sums[sums > passes + SAME_STACK]
        following.append(float(thicker[0]) if len(thicker) else passes + OPEN_END)
        if _makes(sums, passes):
            return following[-1]
    return max(following, default=passes + OPEN_END)


def _reached(tools: Tools) -> list[Array]:
    """What each set on the bench reads, nothing included: leaves in stacks, loose sheets, wires one at a time [mm]."""
    sets = [stack_heights(leaves) for leaves in (tools.feeler, tools.feeler_inch, loose_sheets(tools)) if leaves]
    return [*sets, np.array([0.0, *sorted(tools.wires)])] if tools.wires else sets


def _makes(sums: Array, reading: float) -> bool:
    return bool(np.min(np.abs(sums - reading)) <= SAME_STACK)


def may_be_off(reading: float, tools: Tools) -> float:
    """How far off a reading is for having been taken with loose sheets; 0 where leaves or wires make it [mm]."""
    firm = _reached(tools.model_copy(update={"own_leaves": (), **({} if reading else {"wires": ()})}))
    if not tools.own_leaves or any(_makes(sums, reading) for sums in firm):
        return 0.0
    return stack_error(max(1, len(leaf_stack(reading, loose_sheets(tools)).leaves)))


@cache
def stack_heights(leaves: tuple[float, ...]) -> Array:
    """Every height that some leaves of a set make, none included, up to what a gap may be [mm]."""
    steps = [round(leaf / GRID) for leaf in leaves]
    unit = math.gcd(*steps) or 1
    reach = np.zeros(round((HIGHEST_READING + OPEN_END) / GRID) // unit + 1, bool)
    reach[0] = True
    for step in (step // unit for step in steps):
        if step < len(reach):
            reach[step:] |= reach[: len(reach) - step].copy()
    return np.asarray(np.flatnonzero(reach) * (unit * GRID), np.float64)


def relief_between(dry_fit: DryFit, tools: Tools) -> tuple[float, float] | None:
    """Between which depths the relief lies; None where it was not read [mm]."""
    if dry_fit.relief is None:
        return None
    off = may_be_off(dry_fit.relief, tools)
    return max(0.0, dry_fit.relief - off), next_stack(dry_fit.relief, tools) + off


def as_it_stands(nut: Nut, dry_fit: DryFit, tools: Tools) -> Nut:
    """The nut on the neck as it was read: relief and action of the readings where there are any.

    Of the reliefs that a leaf leaves open, the one that the file wants, since the rod was set to it; the middle where
    it is not among them.
    """
    low, high = relief_between(dry_fit, tools) or (nut.relief, nut.relief)
    relief = nut.relief if low <= nut.relief <= high else (low + high) / 2.0
    action = action_of(dry_fit, nut)
    slots = tuple(replace(slot, action=a) for slot, a in zip(nut.slots, action, strict=True))
    return replace(nut, relief=relief, slots=slots)


def action_of(dry_fit: DryFit, nut: Nut) -> list[float]:
    """The action of every string as it is now: of these readings, else as the file has it measured [mm]."""
    return [slot.action_now for slot in nut.slots] if dry_fit.action is None else at_strings(dry_fit.action, nut)


def at_strings(value: Across, nut: Nut) -> list[float]:
    """A value across the nut at each string, bass to treble, left-strung or not."""
    return np.broadcast_to(value.at(string_shares([slot.x for slot in nut.slots])), len(nut.slots)).tolist()


def gaps_of(nut: Nut, dry_fit: DryFit, tools: Tools, order: Sequence[int] | None = None) -> list[tuple[Gap, ...]]:
    """Every check of every string, bass to treble.

    nut   : as it stands, see `as_it_stands`
    order : from which place of the lists each string is read; its own where not given

    A gap that no leaf enters may be a string that lies on its fret: how low its floor is no leaf tells.
    """
    columns = []
    for check, (passes, drags) in _read_between(dry_fit, tools, order or range(len(nut.slots))).items():
        low, high = _floors(nut, check, passes, drags)
        columns.append([Gap(check, *gap) for gap in zip(passes, drags, low.tolist(), high.tolist(), strict=True)])
    return list(zip(*columns, strict=True))


def _read_between(dry_fit: DryFit, tools: Tools, places: Sequence[int]) -> dict[Check, tuple[list[float], list[float]]]:
    """What passes and what drags, check by check, read from these places of the lists."""

    def between(passes: Sequence[float], drags: Sequence[float] | None = None) -> tuple[list[float], list[float]]:
        off = [may_be_off(reading, tools) for reading in passes]
        low = [max(0.0, reading - by) for reading, by in zip(passes, off, strict=True)]
        high = drags or [next_stack(reading, tools) + by for reading, by in zip(passes, off, strict=True)]
        return [low[place] for place in places], [high[place] for place in places]

    found: dict[Check, tuple[list[float], list[float]]] = {}
    if dry_fit.feeler is not None:
        found["feeler"] = between(dry_fit.feeler, dry_fit.feeler_drags)
    if dry_fit.sliver is not None:
        found["sliver"] = between(dry_fit.sliver, dry_fit.sliver_drags)
    if dry_fit.barred is not None and "feeler" in found:
        (low, high), (under, over) = found["feeler"], between(dry_fit.barred)
        least = [a - b for a, b in zip(low, over, strict=True)]
        found["barre"] = least, [a - b for a, b in zip(high, under, strict=True)]
    return found


def _floors(nut: Nut, check: Check, passes: Sequence[float], drags: Sequence[float]) -> tuple[Array, Array]:
    low, high = floor_for_check(nut, check, passes), floor_for_check(nut, check, drags)
    lies_on_fret = (np.asarray(passes) <= 0.0) & (check != "barre")
    return np.where(lies_on_fret, high - NO_TELLING, low), high


def moved(stands: Nut, over: ArrayLike, *, lowered: ArrayLike) -> tuple[StringLine, StringLine]:
    """The open strings as they stand, and after their floors have moved, the saddle left alone.

    stands  : the nut, see `as_it_stands`
    over    : its floors now over the heights wanted, one a string [mm]
    lowered : at each string's start, negative where it is raised, one a string or one for all [mm]
    """
    wanted = readings_of(stands)
    now = wanted.at_floor(np.asarray(wanted.floor_height) + np.reshape(over, (-1, 1)))
    _, line = heights(now)
    down = np.reshape(lowered, (-1, 1))
    # the string turns about the saddle: over fret 12 it falls by that fret's share of the way there
    share = (line.neck.scale_length - line.neck.fret(12)) / (line.neck.scale_length - line.neck.start)
    then = replace(now.at_floor(now.floor_height - down), action=now.action - share * down)
    return line, heights(then)[1]
