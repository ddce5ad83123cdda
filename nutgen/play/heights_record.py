"""What `heights` says for a program: one object a string, bass to treble, frets from 1 to the last."""

from dataclasses import fields
from typing import Any

from nutgen.nut.heights import behind_zero_fret
from nutgen.nut.part import Nut
from nutgen.play.buzz import Touch
from nutgen.play.friction import Friction
from nutgen.play.heights import ShopChecks
from nutgen.play.pitch import NOTICED, Pitches
from nutgen.play.played import Played
from nutgen.spec.strings import Lap
from nutgen.theory.uncertainty import Spread


def heights_record(nut: Nut, seen: Played) -> dict[str, Any]:
    """Everything that `heights` says; lengths in mm. nut_setback counts toward the bridge, as in the file."""
    p, common = seen.pitches, seen.pitches.common
    return {
        "relief": nut.relief,
        "frets": seen.frets,
        "strings": [_string(nut, seen, i) for i in range(len(nut.slots))],
        "common_setback": None
        if behind_zero_fret(nut)
        else {
            "nut_setback": -common.nut,
            "saddle_setback": common.saddle,
            "rms_cents": common.rms,
            "frets": p.chosen,
            "remark": NOTICED,
        },
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
        {
            "number": slot.number,
            "note": slot.note,
            "floor_z": slot.floor_z,
            "floor_height": slot.floor_height,
            "friction": _friction(rub, i),
        }
        for i, slot in enumerate(nut.slots)
    ]
    return {"tops": lap.tops, "tops_at_12": lap.tops_at_12, "strings": strings, "findings": nut.findings}


def _string(nut: Nut, seen: Played, i: int) -> dict[str, Any]:
    slot, checks, touches = nut.slots[i], seen.checks, seen.buzz
    p, rub, swing = seen.pitches, seen.friction, seen.buzz.swing
    return {
        "number": slot.number,
        "note": slot.note,
        "floor_z": slot.floor_z,
        "floor_height": slot.floor_height,
        "first_fret_clearance": slot.first_fret_clearance,
        "action": slot.action,
        "clearance": seen.open[i],
        "crown_dip": seen.dip[i],
        "fretted_clearance": seen.fretted[i],
        "fretted_room_at_pluck": seen.room[i],
        "checks": _checks(checks, i),
        "pluck": {
            "force_n": swing.force_n[i],
            "height": swing.height[i],
            "from_bridge": swing.from_bridge[i],
            "swing_toward": touches.toward[i],
            "swing_away": touches.away[i],
        },
        "buzz": {
            "open_toward": _of_string(touches.open_toward, i),
            "open_away": _of_string(touches.open_away, i),
            "fretted": _of_string(touches.fretted, i),
            "lowest_floor_height": touches.lowest_floor[i],
            "lowest_first_fret_clearance": touches.lowest_clearance[i],
        },
        "pitch": {**_pitch(p, i), "best": None if slot.zero_fret else _best(p, i)},
        "friction": _friction(rub, i),
        "spread": {
            "floor_height": _of_string(seen.spread.floor_height, i),
            "first_fret_clearance": _of_string(seen.spread.first_fret_clearance, i),
            "buzz_chance": seen.spread.buzz_chance[i],
        },
    }


def _pitch(p: Pitches, i: int) -> dict[str, Any]:
    return {
        "cents": p.cents[i],
        "cents_saddle_at_scale": p.as_measured.total[i],
        "gain_cents_per_0.1": p.gain[i],
        "saddle_setback": p.saddle[i],
    }


def _best(p: Pitches, i: int) -> dict[str, Any]:
    return {
        "nut_setback": -p.both.nut[i],
        "saddle_setback": p.both.saddle[i],
        "rms_cents": p.both.rms[i],
        "nut_setback_alone": -p.nut_alone.nut[i],
        "rms_cents_alone": p.nut_alone.rms[i],
    }


def _friction(rub: Friction, i: int) -> dict[str, Any]:
    return {
        "down_deg": rub.down_deg[i],
        "sideways_deg": rub.sideways_deg[i],
        "bend_deg": rub.bend_deg[i],
        "down_force_n": rub.down_force_n[i],
        "dead_band_cents": [rub.dead_band[0][i], rub.dead_band[1][i]],
        "gain_over_tight_cents": rub.gain_over_tight[i],
        "gain_over_v_cents": rub.gain_over_v[i],
    }


def _checks(checks: ShopChecks, i: int) -> dict[str, Any]:
    return {
        "feeler_at_1": checks.feeler[i],
        "sliver_at_1_pressed_at_3": checks.sliver[i],
        "barre_at_1": checks.barre[i],
        "barre_clearance_over_2": checks.barre_over_2[i],
    }


def _of_string(one: Touch | Spread, i: int) -> dict[str, Any]:
    return {field.name: getattr(one, field.name)[i] for field in fields(one)}
