"""How a string sticks in its slot: bends, down force, the pitch that friction can hide."""

from dataclasses import dataclass

import numpy as np

from nutgen.finding import Finding, assumption
from nutgen.nut.part import Nut
from nutgen.theory import Array
from nutgen.theory.friction import (
    STEEL_ON_BONE,
    dead_band_cents,
    down_force_n,
    round_slot_factor,
    slot_gain_cents,
    total_bend_deg,
    wedge_factor,
)

TIGHT_DEG = 90.0
V_DEG = 30.0
"""Half angle of the V that a careless file leaves. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Friction:
    """Friction at the nut, one entry a string, bass to treble.

    down_deg, sideways_deg, bend_deg : bend of the string down, sideways and in all [deg]
    down_force_n : force on the slot at pitch [N]
    dead_band    : pitch that friction can hide in this slot, at low and high friction [cents]
    gain_over_tight : what this slot saves against one that grips the string like a mould, at high friction [cents]
    gain_over_v  : the same against a V of 30 degrees half angle [cents]
    assumed      : what no source settles
    """

    down_deg: Array
    sideways_deg: Array
    bend_deg: Array
    down_force_n: Array
    dead_band: tuple[Array, Array]
    gain_over_tight: Array
    gain_over_v: Array
    assumed: tuple[Finding, ...]


def friction(nut: Nut) -> Friction:
    """Friction of a solved nut at pitch.

    The nut's slots are rounder than their strings, which touch the floor along one line: a shape
    factor of 1. A slot without clearance grips like a mould.
    """
    down = np.array([slot.break_angle_deg for slot in nut.slots])
    sideways = np.array([slot.bend_deg for slot in nut.slots])
    bend = total_bend_deg(down_deg=down, sideways_deg=sideways)
    loose = np.array([slot.width > slot.gauge for slot in nut.slots])
    tight = float(round_slot_factor(TIGHT_DEG))
    factor = np.where(loose, 1.0, tight)
    bent = np.array([sum(on.bend_deg for on in (slot.zero_fret, slot.guide) if on) for slot in nut.slots])
    rubs = bend + bent / factor  # zero fret and guide too: what bends hold back multiplies, so that the bends add
    low, high = STEEL_ON_BONE
    return Friction(
        down_deg=down,
        sideways_deg=sideways,
        bend_deg=bend,
        down_force_n=down_force_n(tension_n=nut.strings.tension_n, bend_deg=bend),
        dead_band=(
            dead_band_cents(friction=low * factor, bend_deg=rubs),
            dead_band_cents(friction=high * factor, bend_deg=rubs),
        ),
        gain_over_tight=slot_gain_cents(friction=high, bend_deg=bend, factor_before=tight, factor_after=factor),
        gain_over_v=slot_gain_cents(
            friction=high, bend_deg=bend, factor_before=wedge_factor(V_DEG), factor_after=factor
        ),
        assumed=(assumption("friction.assumed", low_ratio=low, high_ratio=high),),
    )
