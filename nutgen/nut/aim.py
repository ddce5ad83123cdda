"""Where a slot points: at its tuner post, or along the given angles."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.nut.places import Places
from nutgen.nut.slot import OnGuide, Slot
from nutgen.spec.strings import Guide
from nutgen.spec.tables import Spec
from nutgen.spec.values import Across

LEAST_TILT_DEG = 3.0
"""A floor that falls less than this may touch the string behind its start. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class _Led:
    """A string from its start to a guide or post: to the side, back and down, along the neck, and its bend there."""

    aside: float
    back: float
    fall: float
    bend_deg: float = 0.0

    @property
    def away(self) -> float:
        return math.hypot(self.aside, self.back)

    @property
    def down_deg(self) -> float:
        return math.degrees(math.atan2(self.fall, self.away))


def _led(spec: Spec, slot: Slot, slant_deg: float, guide: Guide | None = None, drop: float = 0.0) -> _Led:
    """From a string's start to its post, or to a guide before that whose underside lies so far below the board.

    Under a bar a string slides to where its way is shortest, which bends it alike before and behind: unfolded along the
    bar, it is straight.
    """
    sine, cosine = math.sin(math.radians(slant_deg)), math.cos(math.radians(slant_deg))
    post = spec.strings[-slot.number].post
    assert post is not None
    x, y = slot.x * cosine + slot.start_y * sine, slot.start_y * cosine - slot.x * sine
    whole = _Led(post.x - x, post.y - y, slot.floor_z + post.drop)
    if guide is None:
        return whole
    back, fall = guide.y - y, slot.floor_z + drop + slot.gauge
    first, second = math.hypot(back, fall), math.hypot(whole.back - back, whole.fall - fall)
    aside = whole.aside * first / (first + second) if guide.x is None else guide.x - x
    come, go = np.array([aside, back, fall]), np.array([whole.aside - aside, whole.back - back, whole.fall - fall])
    bend = math.degrees(math.atan2(float(np.linalg.norm(np.cross(come, go))), float(come @ go)))
    return _Led(aside, back, fall, bend if fall > whole.fall * back / whole.back else 0.0)


def guide_drops(spec: Spec, slots: Sequence[Slot], slant_deg: float) -> dict[int, float]:
    """By the place of each guide that asks for a break angle, the drop that gives it to every string under it [mm]."""
    return {
        place: max(_drop_for(spec, slot, slant_deg, guide, guide.wanted_deg) for slot in slots if _under(guide, slot))
        for place, guide in enumerate(spec.guides)
        if guide.wanted_deg is not None
    }


def _under(guide: Guide, slot: Slot) -> bool:
    return guide.strings is None or slot.number in guide.strings


def _drop_for(spec: Spec, slot: Slot, slant_deg: float, guide: Guide, wanted_deg: float) -> float:
    """Drop of a guide that bends a string so far at the nut; the angle grows with it [mm]."""
    return _where(
        -60.0, 200.0, lambda drop: _led(spec, slot, slant_deg, guide, drop).down_deg - slot.incline_deg >= wanted_deg
    )


def _where(low: float, high: float, reached: Callable[[float], bool]) -> float:
    """Where between two bounds something is reached that stays so above: halved until the bounds are one number."""
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if reached(middle) else (middle, high)
    return high


def _way_back(spec: Spec, slot: Slot, slant_deg: float, drops: Mapping[int, float]) -> tuple[_Led, OnGuide | None]:
    """Where a string goes from the nut: to the guide that it touches, else to its post."""
    for place, guide in enumerate(spec.guides):
        if _under(guide, slot):
            drop = drops[place] if guide.drop is None else guide.drop
            led = _led(spec, slot, slant_deg, guide, drop)
            on = OnGuide(place + 1, led.away, drop, led.bend_deg, guide.wanted_deg, drops.get(place))
            return (led if led.bend_deg else _led(spec, slot, slant_deg)), on
    return _led(spec, slot, slant_deg), None


def aimed(spec: Spec, slot: Slot, places: Places, drops: Mapping[int, float]) -> Slot:
    """Turn a slot that runs on along its string to its guide or post, or by the given angles.

    Parameters
    ----------
    spec : Spec
        Posts, guides and angles, all read along the neck, in which the nut may slant.
    slot : Slot
        As it begins.
    places : Places
        Of the strings on the face, and its slant.
    drops : mapping of int to float
        By the place of a guide that asks for a break angle, the drop that gives it [mm].

    Returns
    -------
    Slot
        With its fan, fall and roll, and the bends at it.

    Raises
    ------
    CannotBeMade
        Where a floor is to roll to a post that is not below its start.
    """

    def given(value: Across | None) -> float:
        return 0.0 if value is None else value.at(places.shares)[-slot.number]

    to_post, guide, post = 0.0, None, spec.strings[-slot.number].post
    if post is not None:
        led, guide = _way_back(spec, slot, places.slant_deg, drops)
        to_post, fan, down = led.away, math.degrees(math.atan2(led.aside, led.back)) - places.slant_deg, led.down_deg
        breaks = down - slot.incline_deg
    else:
        fan = slot.line_deg + given(spec.headstock.fan_deg)
        breaks = given(spec.headstock.break_angle_deg) - (slot.zero_fret.bend_deg if slot.zero_fret else 0.0)
        down = breaks + slot.incline_deg
    wanted, roll = spec.slots.tilt_deg, math.inf
    if spec.slots.floor == "rolled":
        tilt = max(slot.incline_deg, 0.0)
        run = (spec.seat.thickness - slot.start_y) / math.cos(math.radians(fan))
        if post is not None:
            down = _tangent_to_post(tilt, run=run, reach=to_post - run, fall=led.fall)
        bend = math.sin(math.radians(down)) - math.sin(math.radians(tilt))
        if bend <= 0.0:
            raise CannotBeMade([refusal("slot.nothing-to-roll-to", slot.who, falls_deg=down)])
        roll = run / bend
    elif isinstance(wanted, str):
        tilt = down
    elif wanted is None:
        tilt = max(LEAST_TILT_DEG, (slot.incline_deg if slot.zero_fret else 0.0) + breaks / 2.0)
    else:
        tilt = given(wanted)
    turned = replace(slot, fan_deg=fan, bend_deg=fan - slot.line_deg, break_angle_deg=breaks, to_post=to_post)
    return replace(turned, tilt_deg=tilt, roll_radius=roll, guide=guide)


def _tangent_to_post(start_deg: float, *, run: float, reach: float, fall: float) -> float:
    """Fall of a rolled floor at the back, so that it points at the post [deg].

    Parameters
    ----------
    start_deg : float
        Fall of the floor at its start [deg].
    run : float
        Plan length of the floor [mm].
    reach : float
        Plan distance from the back face to the post [mm].
    fall : float
        From the floor's start down to the string at the post [mm].

    Notes
    -----
    The arc from angle a to b over a run s falls s tan((a + b) / 2); what is left of the fall
    must be reach tan(b). It grows with b.
    """

    def falls(end_deg: float) -> float:
        dropped = run * math.tan(math.radians((start_deg + end_deg) / 2.0))
        return dropped + reach * math.tan(math.radians(end_deg))

    return _where(-45.0, 60.0, lambda end_deg: falls(end_deg) >= fall)
