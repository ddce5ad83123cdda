"""What stays clear: how far a plucked string swings, and the lowest floor that keeps it off the frets."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nutgen.errors import CannotBeMade
from nutgen.findings import Finding, assumption, of_key, of_string, refusal
from nutgen.nut.places import string_positions, string_shares
from nutgen.nut.remarks import kind_of
from nutgen.nut.strung import strung
from nutgen.spec.tables import Spec
from nutgen.theory.heights import Neck
from nutgen.theory.pluck import (
    lowest_floor,
    opposite_side_excursion,
    pluck_height_from_force,
    pluck_stiffness_n_per_m,
    same_side_excursion,
)

Array = NDArray[np.float64]

PLUCK_N_PER_M = {"bass": 1.2, "steel": 0.6, "nylon": 0.75}
"""Firm pluck, the part square to the board, per metre of scale length and by kind of instrument, so that
a ukulele is plucked more softly than a guitar [N/m]. An assumption, set so that usual heights just stay clear."""

PLUCK_POINT = 1.0 / 8.0
"""Pluck point from the bridge, as a share of the scale length. An assumption, no source."""


@dataclass(frozen=True, slots=True)
class Swing:
    """How each string is plucked, bass to treble.

    tension_n   : pull at pitch [N]
    from_bridge : pluck point [mm]
    force_n     : at release, square to the board, of the open string [N]
    height      : displacement there at release, of the open string [mm]
    by_force    : whether the force is what stays the same on a fretted string, else the height
    assumed     : what the file does not say of it
    """

    tension_n: Array
    from_bridge: Array
    force_n: Array
    height: Array
    by_force: bool
    assumed: tuple[Finding, ...]

    def height_on(self, length: ArrayLike) -> Array:
        """Displacement at the pluck point of strings that sound over other lengths, strings first [mm]."""
        span = np.asarray(length, float)
        wide = (slice(None), *(np.newaxis,) * (span.ndim - 1))
        if not self.by_force:
            return np.broadcast_to(self.height[wide], span.shape)
        return pluck_height_from_force(
            force_n=self.force_n[wide],
            tension_n=self.tension_n[wide],
            length=span,
            pluck_from_bridge=self.from_bridge[wide],
        )

    def excursion(self, *, from_start: Array, length: Array) -> tuple[Array, Array]:
        """Farthest swing toward the side pulled to, and to the other side.

        from_start : distance from nut or pressed fret, shape (strings, frets) [mm]
        length     : sounding length, shape (strings, 1) [mm]
        returns    : two arrays (strings, frets) [mm]
        """
        place = {
            "from_nut": from_start,
            "length": length,
            "pluck_from_bridge": self.from_bridge[:, np.newaxis],
            "pluck_height": self.height_on(length),
        }
        return same_side_excursion(**place), opposite_side_excursion(**place)


def swing_of(spec: Spec) -> Swing:
    """How a file's strings are plucked: as `[pluck]` says, else as assumed for its kind of instrument."""
    pluck, kind, strings = spec.pluck, kind_of(spec), strung(spec)
    share = string_shares(string_positions(spec))
    scale, assumed = strings.scale_length, []
    if pluck.from_bridge is None:
        assumed.append(assumption("pluck.point-assumed", point_share=PLUCK_POINT))
    at = scale * PLUCK_POINT if pluck.from_bridge is None else np.full_like(scale, pluck.from_bridge)
    span = scale - np.array(spec.slots.setback.at(share))
    stiffness = pluck_stiffness_n_per_m(tension_n=strings.tension_n, length=span, pluck_from_bridge=at)
    if pluck.height is not None:
        height = np.broadcast_to(pluck.height.at(share), scale.shape)
        return Swing(strings.tension_n, at, height * stiffness / 1000.0, height, False, tuple(assumed))
    force_n = pluck.force_n
    if force_n is None:
        force_n = round(PLUCK_N_PER_M[kind] * float(scale.max()) / 1000.0, 1)
        assumed.append(assumption("pluck.force-assumed", force_n=force_n))
    force = np.full_like(scale, force_n)
    return Swing(strings.tension_n, at, force, 1000.0 * force / stiffness, True, tuple(assumed))


def lowest_floor_heights(spec: Spec, *, actions: list[float]) -> list[float]:
    """`lowest_floor_height` for the strings as the file places them; actions one a string [mm]."""
    share = string_shares(string_positions(spec))
    scale, start = (np.array(v.at(share)) for v in (spec.instrument.scale_length, spec.slots.setback))
    neck = Neck(scale, spec.instrument.frets, spec.setup.relief, start)
    return [float(floor) for floor in lowest_floor_height(spec, neck=neck, action=np.array(actions))]


def lowest_floor_height(spec: Spec, *, neck: Neck, action: Array) -> Array:
    """Lowest slot floors, over the fret plane, that leave the pluck and its margin room at every fret.

    neck    : fields one a string
    action  : kept at fret 12, the saddle giving way [mm]
    returns : floor height of each string; never below the fret plane, where the nut is like a fret [mm]
    raises  : CannotBeMade where no floor does it, with string and fret
    """
    scale, start = (np.asarray(field, float)[:, np.newaxis] for field in (neck.scale_length, neck.start))
    column = Neck(scale, neck.last_fret, neck.relief, start)
    frets = np.arange(1, spec.instrument.frets + 1)
    at_zero, at_one = (
        column.string_by_floor(floor_height=b, action=action[:, np.newaxis]).clearance(frets) for b in (0.0, 1.0)
    )
    swings = swing_of(spec).excursion(from_start=column.fret(frets) - start, length=scale - start)
    room = np.maximum(*swings) + spec.pluck.margin
    floors = lowest_floor(clearance_at_zero=at_zero, sensitivity=at_one - at_zero, excursion=room)
    reasons = [
        _hopeless(spec, int(i), missing=room[i] - at_zero[i], gain=at_one[i] - at_zero[i])
        for i in np.flatnonzero(~np.isfinite(floors))
    ]
    if reasons:
        raise CannotBeMade(reasons)
    return np.maximum(floors, 0.0)


def assumed_for_lowest(spec: Spec) -> list[Finding]:
    """What the lowest floor was taken to clear, where the file leaves it open."""
    assumed = swing_of(spec).assumed
    return [assumption("lowest.pluck-assumed", of_key("pluck"), assumed=assumed)] if assumed else []


def _hopeless(spec: Spec, index: int, *, missing: Array, gain: Array) -> Finding:
    """Which fret no floor helps: with the others just clear, the one that lacks most."""
    floor = np.max(missing[gain > 0.0] / gain[gain > 0.0])
    left = missing - gain * floor
    fret = int(np.argmax(left))
    who = of_string(len(spec.strings) - index, spec.strings[index].note)
    return refusal("string.no-floor-clears", who, fret=fret + 1, missing=float(left[fret]))
