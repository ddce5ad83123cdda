"""Where a slot points: at its tuner post, or along the given angles."""

import math
from collections.abc import Mapping, Sequence, Sized
from dataclasses import dataclass

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import of_string, refusal
from nutgen.nut.slot import OnGuide, OnZeroFret
from nutgen.spec.strings import Guide, String
from nutgen.spec.tables import Spec
from nutgen.spec.values import Across

LEAST_TILT_DEG = 3.0
"""A floor that falls less than this may touch the string behind its start. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Start:
    """Where a string starts, how it comes in and where it goes.

    Parameters
    ----------
    index : int
        Its place among the strings, bass first.
    share : float
        Its place across them, 0 at the bass-most, 1 at the treble-most.
    string : String
        As the file has it.
    zero_fret : OnZeroFret or None
        What it lies on in front of the nut; `incline_deg` is then that of the string behind it.
    scale_length : float
        Nut to saddle [mm].
    x, y : float
        Where its floor starts [mm].
    fret_plane_z, floor_height : float
        Fret plane there, and the floor over it [mm].
    incline_deg : float
        Rise of the string toward the bridge, against the fret plane [deg].
    line_deg : float
        Its line over the board in plan, against y [deg].
    clearance, action : float
        Over frets 1 and 12 [mm].
    """

    index: int
    share: float
    string: String
    zero_fret: OnZeroFret | None
    scale_length: float
    x: float
    y: float
    fret_plane_z: float
    floor_height: float
    incline_deg: float
    line_deg: float
    clearance: float
    action: float

    @property
    def z(self) -> float:
        """The floor at its start [mm]."""
        return self.fret_plane_z + self.floor_height

    def of(self, value: Across) -> float:
        """A value across the nut, at this string."""
        return value.values[self.index] if value.each else value.at([self.share])[0]


@dataclass(frozen=True, slots=True)
class Aim:
    """Where a slot points: the fields of `Slot` by these names."""

    fan_deg: float
    break_angle_deg: float
    tilt_deg: float
    roll_radius: float
    to_post: float
    guide: OnGuide | None


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


def _led(start: Start, slant_deg: float, guide: Guide | None = None, drop: float = 0.0) -> _Led:
    """From a string's start to its post, or to a guide before that whose underside lies so far below the board.

    Under a bar a string slides to where its way is shortest, which bends it alike before and behind: unfolded along the
    bar, it is straight.
    """
    post, sine, cosine = start.string.post, math.sin(math.radians(slant_deg)), math.cos(math.radians(slant_deg))
    assert post is not None
    x, y = start.x * cosine + start.y * sine, start.y * cosine - start.x * sine
    whole = _Led(post.x - x, post.y - y, start.z + post.drop)
    if guide is None:
        return whole
    back, fall = guide.y - y, start.z + drop + start.string.gauge
    first, second = math.hypot(back, fall), math.hypot(whole.back - back, whole.fall - fall)
    aside = whole.aside * first / (first + second) if guide.x is None else guide.x - x
    come, go = np.array([aside, back, fall]), np.array([whole.aside - aside, whole.back - back, whole.fall - fall])
    bend = math.degrees(math.atan2(float(np.linalg.norm(np.cross(come, go))), float(come @ go)))
    return _Led(aside, back, fall, bend if fall > whole.fall * back / whole.back else 0.0)


def guide_drops(spec: Spec, starts: Sequence[Start], slant_deg: float) -> dict[int, float]:
    """By the place of each guide that asks for a break angle, the drop that gives it to every string under it [mm]."""
    return {
        place: max(
            _drop_for(start, slant_deg, guide, guide.wanted_deg) for start in starts if _under(guide, start, starts)
        )
        for place, guide in enumerate(spec.guides)
        if guide.wanted_deg is not None
    }


def _under(guide: Guide, start: Start, strings: Sized) -> bool:
    return guide.strings is None or len(strings) - start.index in guide.strings


def _drop_for(start: Start, slant_deg: float, guide: Guide, wanted_deg: float) -> float:
    """Drop of a guide that bends a string so far at the nut; the angle grows with it, so halving finds it."""
    low, high = -60.0, 200.0
    for _ in range(60):
        middle = (low + high) / 2.0
        bent = _led(start, slant_deg, guide, middle).down_deg - start.incline_deg
        low, high = (middle, high) if bent < wanted_deg else (low, middle)
    return high


def _way_back(spec: Spec, start: Start, slant_deg: float, drops: Mapping[int, float]) -> tuple[_Led, OnGuide | None]:
    """Where a string goes from the nut: to the guide that it touches, else to its post."""
    for place, guide in enumerate(spec.guides):
        if _under(guide, start, spec.strings):
            drop = drops[place] if guide.drop is None else guide.drop
            led = _led(start, slant_deg, guide, drop)
            on = OnGuide(place + 1, led.away, drop, led.bend_deg, guide.wanted_deg, drops.get(place))
            return (led if led.bend_deg else _led(start, slant_deg)), on
    return _led(start, slant_deg), None


def aim_of(spec: Spec, start: Start, slant_deg: float, drops: Mapping[int, float]) -> Aim:
    """Aim a slot at its guide or post, or along the given angles; both are read along the neck, the nut may slant."""

    def given(value: Across | None) -> float:
        return 0.0 if value is None else start.of(value)

    to_post, post, behind, guide = 0.0, start.string.post, spec.seat.thickness - start.y, None
    if post is not None:
        led, guide = _way_back(spec, start, slant_deg, drops)
        to_post, fan, down = led.away, math.degrees(math.atan2(led.aside, led.back)) - slant_deg, led.down_deg
        breaks = down - start.incline_deg
    else:
        fan = start.line_deg + given(spec.headstock.fan_deg)
        breaks = given(spec.headstock.break_angle_deg) - (start.zero_fret.bend_deg if start.zero_fret else 0.0)
        down = breaks + start.incline_deg
    if spec.slots.floor == "straight":
        wanted = spec.slots.tilt_deg
        if isinstance(wanted, str):
            tilt = down
        else:
            comes_in = start.incline_deg if start.zero_fret else 0.0
            tilt = max(LEAST_TILT_DEG, comes_in + breaks / 2.0) if wanted is None else given(wanted)
        return Aim(fan, breaks, tilt, math.inf, to_post, guide)
    first = max(start.incline_deg, 0.0)
    run = behind / math.cos(math.radians(fan))
    if post is not None:
        down = _tangent_to_post(first, run=run, reach=to_post - run, fall=led.fall)
    bend = math.sin(math.radians(down)) - math.sin(math.radians(first))
    if bend <= 0.0:
        who = of_string(len(spec.strings) - start.index, start.string.note)
        raise CannotBeMade([refusal("slot.nothing-to-roll-to", who, falls_deg=down)])
    return Aim(fan, breaks, first, run / bend, to_post, guide)


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
    must be reach tan(b). Monotonic in b, so halving the bracket finds it.
    """
    low, high = -45.0, 60.0
    for _ in range(60):
        middle = (low + high) / 2.0
        dropped = run * math.tan(math.radians((start_deg + middle) / 2.0))
        short = dropped + reach * math.tan(math.radians(middle)) < fall
        low, high = (middle, high) if short else (low, middle)
    return (low + high) / 2.0
