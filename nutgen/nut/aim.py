"""Where a slot points: at its tuner post, or along the given angles."""

import math
from dataclasses import dataclass

from nutgen.errors import CannotBeMade
from nutgen.finding import of_string, refusal
from nutgen.nut.slot import OnZeroFret
from nutgen.spec.strings import String
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


def aim_of(spec: Spec, start: Start, slant_deg: float) -> Aim:
    """Aim a slot at its tuner post, or along the given angles; a post is read along the neck, the nut may slant."""

    def given(value: Across | None) -> float:
        return 0.0 if value is None else start.of(value)

    to_post, post, behind = 0.0, start.string.post, spec.seat.thickness - start.y
    if post is not None:
        sine, cosine = math.sin(math.radians(slant_deg)), math.cos(math.radians(slant_deg))
        aside, back = post.x * cosine - post.y * sine - start.x, post.x * sine + post.y * cosine - start.y
        fall = start.z + post.drop
        to_post, fan = math.hypot(back, aside), math.degrees(math.atan2(aside, back))
        down = math.degrees(math.atan2(fall, to_post))
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
        return Aim(fan, breaks, tilt, math.inf, to_post)
    first = max(start.incline_deg, 0.0)
    run = behind / math.cos(math.radians(fan))
    if post is not None:
        down = _tangent_to_post(first, run=run, reach=to_post - run, fall=fall)
    bend = math.sin(math.radians(down)) - math.sin(math.radians(first))
    if bend <= 0.0:
        who = of_string(len(spec.strings) - start.index, start.string.note)
        raise CannotBeMade([refusal("slot.nothing-to-roll-to", who, falls_deg=down)])
    return Aim(fan, breaks, first, run / bend, to_post)


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
