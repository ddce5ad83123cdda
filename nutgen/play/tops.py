"""Under the hand: heights of the string tops at the nut, over fret 12 and where the hand plucks.

Heights are those of the nut's frame, x runs across the neck from its centre line.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from nutgen.finding import Finding, warning
from nutgen.nut.heights import line_of
from nutgen.nut.part import Nut
from nutgen.play.buzz import buzz
from nutgen.play.saddle import across_at
from nutgen.spec.playing import Saddle
from nutgen.theory import Array
from nutgen.theory.bridge import arc_height, arc_through, off_the_others

PROUD = 0.3
"""Over the arc of the other tops by which the hand feels a string. Common practice, no source [mm]."""

MOST_EVENED = 0.3
"""A saddle is moved no farther for the sake of the tops [mm]."""

PLACES = ("nut", "fret 12", "pluck")


@dataclass(frozen=True, slots=True, eq=False)
class Tops:
    """String tops, shape (places, strings), bass to treble; places as in `PLACES`; in mm.

    Parameters
    ----------
    from_nut : ndarray
        Places along the string, from the front face.
    x, z : ndarray
        Across the neck, and up from the board surface at the nut.
    off : ndarray
        Over the arc through the other tops there.
    by_nut, by_saddle, by_gauge : ndarray
        What of that the floor, the height at the saddle and the gauge do; together `off`.
    evened : ndarray or None
        What each saddle went up, shape (strings,), where the tops were evened.
    findings : tuple of Finding
        Strings that stand proud, and what touches once the tops are even.
    """

    from_nut: Array
    x: Array
    z: Array
    off: Array
    by_nut: Array
    by_saddle: Array
    by_gauge: Array
    evened: Array | None
    findings: tuple[Finding, ...]


def tops(nut: Nut, saddle: Saddle) -> Tops:
    """Tops of the strings of a solved nut as it is to be set up."""
    x, under, share, from_nut = (rows[:3] for rows in undersides(nut, saddle))
    gauge, bend = np.array([slot.gauge for slot in nut.slots]), _curvature(nut)
    floors, crests = under[0], under[0] + (under[1] - under[0]) / share[1]

    def off(heights: Array, curvatures: Array) -> Array:
        each = zip(x, heights, curvatures, strict=True)
        return np.array([off_the_others(across, z, curvature=float(own)) for across, z, own in each])

    part = share.mean(axis=1)
    whole = off(under + gauge, np.full(len(PLACES), bend))
    by_nut, by_saddle = off((1.0 - share) * floors, (1.0 - part) * bend), off(share * crests, part * bend)
    seen = Tops(from_nut, x, under + gauge, whole, by_nut, by_saddle, whole - by_nut - by_saddle, None, ())
    return replace(seen, findings=tuple(_proud(nut, seen)))


def proud_now(nut: Nut, saddle: Saddle) -> Array:
    """How far each top stands over the others where the hand plucks, the nut in and the saddles as they were read [mm].

    returns : shape (strings,)
    """
    as_read = tuple(replace(slot, action=slot.action_now) for slot in nut.slots)
    return np.asarray(tops(replace(nut, slots=as_read), saddle).off[-1])


def even_tops(nut: Nut, saddle: Saddle) -> tuple[Nut, Array]:
    """The nut with its tops evened where the hand plucks, by the saddles alone; floors stay.

    returns : the nut with other actions, and what each saddle goes up for it, shape (strings,) [mm]
    """
    seen = tops(nut, saddle)
    x, z, plucked = seen.x[-1], seen.z[-1], seen.from_nut[-1]
    line = line_of(nut)
    start, scale = np.asarray(line.neck.start)[:, 0], np.asarray(line.neck.scale_length)[:, 0]
    # on the arc by which each string is judged against the others, of whom there is one less
    off = z - arc_height(x, arc_through(x, z, curvature=_curvature(nut), free_from=5))
    up = np.clip(-off * (scale - start) / (plucked - start), -MOST_EVENED, MOST_EVENED)
    over_12 = up * (line.neck.fret(12)[:, 0] - start) / (scale - start)
    moved = (
        nut.slots
        if len(nut.slots) < 2
        else tuple(replace(slot, action=slot.action + float(by)) for slot, by in zip(nut.slots, over_12, strict=True))
    )
    evened = replace(nut, slots=moved)
    clear = line_of(evened).clearance(1)[:, 0].tolist()
    slots = tuple(replace(slot, first_fret_clearance=over) for slot, over in zip(moved, clear, strict=True))
    return replace(evened, slots=slots), up


def touching_once_even(nut: Nut, evened: Nut) -> Iterator[Finding]:
    """Strings that stayed clear at the pluck and no longer do."""
    before, after = (np.minimum(seen.worst.spare, seen.fretted.spare) for seen in (buzz(nut), buzz(evened)))
    for slot, was, room in zip(nut.slots, before, after, strict=True):
        if was >= 0.0 > room:
            yield warning("tops.touches-once-even", slot.who, by=-float(room))


def _curvature(nut: Nut) -> float:
    """Of the board, square to the neck [1/mm]."""
    return 1.0 / (nut.board_radius * math.cos(math.radians(nut.slant_deg)) ** 2)


def undersides(nut: Nut, saddle: Saddle) -> tuple[Array, Array, Array, Array]:
    """At each of `PLACES` and at the saddle: x, underside, share of the way to the saddle, distance from the face.

    returns : each of shape (places, strings)
    """
    line = line_of(nut)
    neck = line.neck
    start, scale, twelve = (np.asarray(one, float)[:, 0] for one in (neck.start, neck.scale_length, neck.fret(12)))
    places = np.array([start, twelve, scale - np.array(nut.swing.from_bridge), scale])
    x = np.array([across_at(nut, saddle, place) for place in places])
    slant = math.cos(math.radians(nut.slant_deg))
    over_plane = (neck.crown(neck.fret(12)) - neck.fret_plane(neck.fret(12)))[:, 0]
    floors = np.array([slot.fret_plane_z + slot.sounds_from for slot in nut.slots])
    over_12 = nut.seat.fret_plane_z(x[1] / slant) + over_plane + np.array([slot.action for slot in nut.slots])
    along = (places - start) / (twelve - start)
    return x, floors + (over_12 - floors) * along, (places - start) / (scale - start), places


def _proud(nut: Nut, seen: Tops) -> Iterator[Finding]:
    """Strings that stand proud, each at the place where it does most, and what does it."""
    for i, slot in enumerate(nut.slots):
        place = int(np.argmax(seen.off[:, i]))
        if (by := float(seen.off[place, i])) <= PROUD:
            continue
        parts = {"nut": seen.by_nut, "saddle": seen.by_saddle, "gauge": seen.by_gauge}
        shares = {name: float(part[place, i]) for name, part in parts.items()}
        cause = max(shares, key=lambda name: shares[name])
        yield warning("tops.proud", slot.who, by=by, place=PLACES[place], cause=cause, causes=shares[cause])
