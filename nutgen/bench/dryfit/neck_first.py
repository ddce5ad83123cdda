"""What comes before any filing, or after it: relief at the truss rod, action at the saddle, the nut's place."""

import math
from collections.abc import Iterator

import numpy as np

from nutgen.bench.dryfit.readings import at_strings, relief_between
from nutgen.nut.part import Nut
from nutgen.spec.fitting import DryFit
from nutgen.spec.workshop import Tools
from nutgen.theory.frets import fret_position

RELIEF_SLACK = 0.05
ACTION_SLACK = 0.15
PLACE_SLACK = 0.3
"""Relief, action and the nut's place may be off by this much before they are told [mm]. Common
practice, no source."""


def rod_first(nut: Nut, dry_fit: DryFit, tools: Tools) -> str:
    """What to do at the truss rod before any slot is filed; empty where the relief is as wanted.

    nut : as the file wants it
    """
    between = relief_between(dry_fit, tools)
    if between is None:
        return ""
    low, high = between
    if low - RELIEF_SLACK <= nut.relief <= high + RELIEF_SLACK:
        return ""
    bowed = low > nut.relief
    turn = (
        "tighten the truss rod, a quarter turn at a time"
        if bowed
        else "slacken the truss rod, a quarter turn at a time"
    )
    return (
        f"relief first: it reads {low:.2f} mm, {nut.relief:.2f} is wanted, and every slot is measured against it;"
        f" {turn}, tune back to pitch and let it settle, then take all readings again. Never force a rod that will"
        " not turn: see a licensed repairer. A neck without a rod: write its own relief in setup.relief"
    )


def remarks_on_neck(nut: Nut, dry_fit: DryFit) -> Iterator[str]:
    """What else the readings say of the neck, the saddle and the nut's place.

    nut : as the file wants it
    """
    if dry_fit.relief is None:
        yield f"relief was not read: it is taken to be {nut.relief:.2f} mm, as the file wants it"
    if dry_fit.action is None:
        if dry_fit.feeler is not None:
            yield "action was not read: it is taken as the file wants it; each 0.10 mm it is off moves a floor by 0.013"
    else:
        yield from _action(nut, dry_fit)
    if dry_fit.face_to_fret_1 is not None:
        yield from _place(nut, dry_fit)


def _action(nut: Nut, dry_fit: DryFit) -> Iterator[str]:
    if dry_fit.action is None:
        return
    off = np.array(at_strings(dry_fit.action, nut)) - np.array([slot.action for slot in nut.slots])
    worst = int(np.argmax(np.abs(off)))
    if abs(off[worst]) > ACTION_SLACK:
        yield (
            f"action is off by {off[worst]:+.2f} mm at string {nut.slots[worst].number}: set it at the saddle when the"
            " nut is done; it is reckoned with here"
        )


def _place(nut: Nut, dry_fit: DryFit) -> Iterator[str]:
    if dry_fit.face_to_fret_1 is None:
        return
    read = at_strings(dry_fit.face_to_fret_1, nut)
    outer = {0, len(nut.slots) - 1} if len(dry_fit.face_to_fret_1.values) > 1 else {0}
    for index in sorted(outer):
        slot = nut.slots[index]
        due = float(fret_position(1, scale_length=slot.scale_length))
        off = read[index] - due
        if abs(off) > PLACE_SLACK:
            cents = 1200.0 / math.log(2.0) * off / slot.scale_length
            sounds = "sharp" if off > 0.0 else "flat"
            cure = (
                "the nut stands too far back: pack it from behind, or move it toward the bridge"
                if off > 0.0
                else "the nut stands too far forward: take it off the back of the seat or the front face"
            )
            yield (
                f"nut position at string {slot.number}: {read[index]:.2f} mm to fret 1, {due:.2f} is due; every fretted"
                f" note is {abs(cents):.1f} cents {sounds} against the open string; {cure}"
            )
