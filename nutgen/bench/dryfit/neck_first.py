"""What comes before any filing, or after it: relief at the truss rod, action at the saddle, the nut's place."""

import math
from collections.abc import Iterator

import numpy as np

from nutgen.bench.dryfit.readings import action_of, at_strings, relief_between
from nutgen.finding import Finding, note, warning
from nutgen.nut.part import Nut
from nutgen.spec.playing import DryFit
from nutgen.spec.values import Across
from nutgen.spec.workshop import Tools
from nutgen.theory.frets import fret_position

RELIEF_SLACK = 0.05
RELIEF_FAR = 0.10
ACTION_SLACK = 0.15
PLACE_SLACK = 0.3
"""Relief, action and the nut's place may be off by this much before they are told; a relief that is off by more than
`RELIEF_FAR`, and by more than one leaf, comes before all filing [mm]. Common practice, no source."""


def rod_first(nut: Nut, dry_fit: DryFit, tools: Tools) -> Finding | None:
    """What to do at the truss rod before any slot is filed; None where the relief is near enough to reckon with.

    nut : as the file wants it
    """
    between = relief_between(dry_fit, tools)
    if between is None or _off(nut, between) <= max(RELIEF_FAR, between[1] - between[0]):
        return None
    return _relief("neck.relief-first", nut, between)


def _off(nut: Nut, between: tuple[float, float]) -> float:
    """How far the relief wanted lies outside of what was read, to a hundredth of a leaf [mm]."""
    return round(max(between[0] - nut.relief, nut.relief - between[1], 0.0), 4)


def _relief(code: str, nut: Nut, between: tuple[float, float]) -> Finding:
    turn = "tighten" if between[0] > nut.relief else "slacken"
    return warning(code, relief=between[0], wanted=nut.relief, turn=turn)


def remarks_on_neck(nut: Nut, dry_fit: DryFit, tools: Tools) -> Iterator[Finding]:
    """What else the readings say of the neck, the saddle and the nut's place.

    nut : as the file wants it
    """
    between = relief_between(dry_fit, tools)
    if between is None:
        yield note("neck.relief-not-read", relief=nut.relief)
    elif _off(nut, between) > RELIEF_SLACK and rod_first(nut, dry_fit, tools) is None:
        yield _relief("neck.relief-off", nut, between)
    if dry_fit.action is None and dry_fit.feeler is not None:
        yield note("neck.action-not-read", action_off=0.10, floor_moves=0.013)
    yield from _action(nut, action_of(dry_fit, nut))
    if dry_fit.face_to_fret_1 is not None:
        yield from _place(nut, dry_fit.face_to_fret_1)


def _action(nut: Nut, action: list[float]) -> Iterator[Finding]:
    off = np.array(action) - np.array([slot.action for slot in nut.slots])
    worst = int(np.argmax(np.abs(off)))
    if abs(off[worst]) > ACTION_SLACK:
        slot = nut.slots[worst]
        yield warning("neck.action-off", slot.who, off=float(off[worst]))


def _place(nut: Nut, face_to_fret_1: Across) -> Iterator[Finding]:
    read = at_strings(face_to_fret_1, nut)
    outer = {0, len(nut.slots) - 1} if len(face_to_fret_1.values) > 1 else {0}
    for index in sorted(outer):
        slot = nut.slots[index]
        due = float(fret_position(1, scale_length=slot.scale_length))
        off = read[index] - due
        if abs(off) > PLACE_SLACK:
            code = "neck.nut-too-far-back" if off > 0.0 else "neck.nut-too-far-forward"
            cents = 1200.0 / math.log(2.0) * abs(off) / slot.scale_length
            string = slot.who
            yield warning(code, string, face_to_fret_1=read[index], due=due, off_cents=cents)
