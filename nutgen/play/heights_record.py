"""What `heights` says for a program: one object a string, bass to treble, frets from 1 to the last."""

from typing import Any

from nutgen.nut.heights import behind_zero_fret
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.play.friction import Friction
from nutgen.play.pitch import NOTICED, Pitches
from nutgen.play.played import Played
from nutgen.play.record import told_of_string
from nutgen.spec.strings import Lap

_SLOT = ("number", "note", "floor_z", "floor_height", "first_fret_clearance", "action")

_FRICTION = {
    **{name: name for name in ("down_deg", "sideways_deg", "bend_deg", "down_force_n")},
    "dead_band_cents": "dead_band",
    "gain_over_tight_cents": "gain_over_tight",
    "gain_over_v_cents": "gain_over_v",
}
_PLAYED: dict[str, Any] = {
    "clearance": "open",
    "crown_dip": "dip",
    "fretted_clearance": "fretted",
    "fretted_room_at_pluck": "room",
    "checks": {
        "feeler_at_1": "checks.feeler",
        "sliver_at_1_pressed_at_3": "checks.sliver",
        "barre_at_1": "checks.barre",
        "barre_clearance_over_2": "checks.barre_over_2",
    },
    "pluck": {
        **{name: f"buzz.swing.{name}" for name in ("force_n", "height", "from_bridge")},
        "swing_toward": "buzz.toward",
        "swing_away": "buzz.away",
    },
    "buzz": {
        **{name: f"buzz.{name}" for name in ("open_toward", "open_away", "fretted")},
        "lowest_floor_height": "buzz.lowest_floor",
        "lowest_first_fret_clearance": "buzz.lowest_clearance",
    },
    "pitch": {
        "cents": "pitches.cents",
        "cents_saddle_at_scale": "pitches.as_measured.total",
        "gain_cents_per_0.1": "pitches.gain",
        "saddle_setback": "pitches.saddle",
    },
    "friction": {key: f"friction.{path}" for key, path in _FRICTION.items()},
    "spread": {name: f"spread.{name}" for name in ("floor_height", "first_fret_clearance", "buzz_chance")},
}
"""Keys of a string, and where their values stand, one a string, in a `Played`."""


def heights_record(nut: Nut, seen: Played) -> dict[str, Any]:
    """Everything that `heights` says; lengths in mm. nut_setback counts toward the bridge, as in the file."""
    return {
        "relief": nut.relief,
        "frets": seen.frets,
        "strings": [_string(slot, seen, i) for i, slot in enumerate(nut.slots)],
        "common_setback": None if behind_zero_fret(nut) else _common(seen.pitches),
        "spread": {
            "advice": seen.spread.advice[0],
            "variance_shares": {one.name: one.share for one in seen.spread.sources},
            "within": seen.spread.within,
            "gauge": seen.spread.advice[1:],
            "sources": seen.spread.sources,
        },
        "findings": (*seen.findings, *seen.assumed),
    }


def barred_record(nut: Nut, lap: Lap, rub: Friction) -> dict[str, Any]:
    """What is left of it under a bar: the plane of the string tops over the board, floors, friction."""
    strings = [
        {**{name: getattr(slot, name) for name in _SLOT[:4]}, "friction": told_of_string(_FRICTION, rub, i)}
        for i, slot in enumerate(nut.slots)
    ]
    return {"tops": lap.tops, "tops_at_12": lap.tops_at_12, "strings": strings, "findings": nut.findings}


def _string(slot: Slot, seen: Played, i: int) -> dict[str, Any]:
    told = {**{name: getattr(slot, name) for name in _SLOT}, **told_of_string(_PLAYED, seen, i)}
    told["pitch"]["best"] = None if slot.zero_fret else _best(seen.pitches, i)
    return told


def _common(p: Pitches) -> dict[str, Any]:
    found = {"nut_setback": -p.common.nut, "saddle_setback": p.common.saddle, "rms_cents": p.common.rms}
    return {**found, "frets": p.chosen, "remark": NOTICED}


def _best(p: Pitches, i: int) -> dict[str, Any]:
    return {
        "nut_setback": -p.both.nut[i],
        "saddle_setback": p.both.saddle[i],
        "rms_cents": p.both.rms[i],
        "nut_setback_alone": -p.nut_alone.nut[i],
        "rms_cents_alone": p.nut_alone.rms[i],
    }
