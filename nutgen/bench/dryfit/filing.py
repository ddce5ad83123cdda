"""How much to file off a slot after a reading, and in which steps, so that it can not go too low.

                 +0.05  ---------------   highest floor that is in tolerance
    aim          +0.01  - - - - - - - -   middle of the tolerance
    wanted        0.00  ===============
                 -0.03  ---------------   lowest

What is likeliest is brought down to the aim, but no further than keeps the floor above the lowest,
hand and leaf at their worst: the first round leaves more, until the log has shown the hand. One rule
says what is filed and what is left alone: a slot that is not too low is filed by what `cut_of` gives,
and left alone where that is nothing.
"""

from collections.abc import Sequence
from typing import Literal

from nutgen.bench.dryfit.belief import Belief
from nutgen.bench.dryfit.hand import Hand
from nutgen.bench.leaves import sheet_stack
from nutgen.bench.materials import NutMaterial
from nutgen.bench.remedies import LOWEST, TOLERANCE
from nutgen.bench.tools import strokes_between_looks
from nutgen.finding import Finding, step
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.values import Sheet

AIM = (TOLERANCE - LOWEST) / 2.0
RISK = 0.001
"""How likely a filing may end below the lowest floor."""

LEAST_CUT = 0.01  # mm; less than this is one stroke
WORTH_A_STOP = 0.04  # mm; for less, no stack of leaves is laid
LAST_BIT = 0.05
"""The last of every filing goes in counted strokes [mm]."""

SlotVerdict = Literal["file", "leave", "low", "measure again", "wait"]


def verdict_of(floor: Belief, hand: Hand) -> SlotVerdict:
    """What a floor calls for: "file", "leave" or "low"."""
    if floor.between().high < -LOWEST:
        return "low"
    return "file" if cut_of(floor, hand) else "leave"


def in_tolerance(floor: Belief) -> bool:
    """Whether a floor is surely in tolerance."""
    return floor.below(RISK) >= -LOWEST and floor.between().high <= TOLERANCE


def cut_of(floor: Belief, hand: Hand) -> float:
    """How much to file off now; 0 where the floor is surely in tolerance, or no cut is both needed and safe [mm]."""
    most = (floor.middle - AIM) / hand.gain
    if in_tolerance(floor) or most < LEAST_CUT or not _safe(floor, hand, LEAST_CUT):
        return 0.0
    safe, too_much = LEAST_CUT, most
    if _safe(floor, hand, most):
        return round(most, 2)
    while too_much - safe > 0.002:
        middle = (safe + too_much) / 2.0
        safe, too_much = (middle, too_much) if _safe(floor, hand, middle) else (safe, middle)
    return round(safe - 0.004, 2) if safe - 0.004 >= LEAST_CUT else LEAST_CUT


def _safe(floor: Belief, hand: Hand, cut: float) -> bool:
    return floor.filed(cut, hand, careless=0.0).below(RISK) >= -LOWEST


def steps_of(
    cut: float, nut: Nut, slot: Slot, material: NutMaterial, sheets: Sequence[Sheet] = ()
) -> tuple[Finding, ...]:
    """The steps of a cut: down to the last bit, a look, and the last bit in strokes.

    sheets : of one's own, where they lie under the steel that the file stops on: as many come out as make the first
    """
    if cut <= 0.0:
        return ()
    per_stroke = material.depth_per_stroke(width=slot.width, length=nut.thickness)
    first = cut - LAST_BIT
    lower = _step("file.to-stack", first, per_stroke) if first >= WORTH_A_STOP else None
    if lower and sheets:
        stack = sheet_stack(first, sheets)
        first, fits = stack.sum, WORTH_A_STOP <= stack.sum <= first + LAST_BIT / 2.0
        lower = _step("file.less-sheets", first, per_stroke, out=stack.told) if fits else None
    if lower is None:
        return (_step("file.in-strokes", cut, per_stroke),)
    return lower, _step("file.last-in-strokes", cut - first, per_stroke)


def _step(code: str, amount: float, per_stroke: float, **values: Finding) -> Finding:
    usual = max(1, round(amount / per_stroke))
    looks = min(usual, strokes_between_looks(amount, per_stroke=per_stroke))
    return step(code, amount=amount, strokes=usual, look_every=looks, **values)
