"""The groove of one string: frozen numbers in mm, in the nut's frame (see `nut.part`)."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from nutgen.finding import Subject, of_string
from nutgen.theory import Array


@dataclass(frozen=True, slots=True)
class OnZeroFret:
    """How one string lies on the zero fret.

    Parameters
    ----------
    ahead : float
        Its crown before the nut's front face, along the string's line over the board [mm].
    height : float
        Its crown over the plane of frets 1 and 2 [mm].
    bend_deg : float
        How far the string bends down over it to the slot [deg].
    """

    ahead: float
    height: float
    bend_deg: float


@dataclass(frozen=True, slots=True)
class OnGuide:
    """How one string runs under a guide behind the nut.

    Parameters
    ----------
    number : int
        Which one of the file, from 1.
    away : float
        In plan from the string's start to it [mm].
    drop : float
        Its underside below the board's plane [mm].
    bend_deg : float
        How far the string bends there; 0 where it runs below without touching [deg].
    wanted_deg, wanted_drop : float or None
        Break angle that its strings are to have at least, and the drop for that [deg, mm].
    """

    number: int
    away: float
    drop: float
    bend_deg: float
    wanted_deg: float | None
    wanted_drop: float | None


@dataclass(frozen=True, slots=True)
class Slot:
    """The groove of one string.

    Parameters
    ----------
    number : int
        The trade's count, 1 = treble-most.
    note : str
        What its string is tuned to.
    gauge : float
        Diameter of the string [mm].
    wound : bool
        Whether the string is wound.
    course : int
        Label that neighbours fretted as one share, 1 = treble-most.
    scale_length : float
        Of this string, nut to saddle [mm].
    x : float
        Centre line at the string's start [mm].
    start_y : float
        Where the open string starts; 0 is the front face, negative toward the bridge [mm].
    width : float
        Between the walls, square to the slot [mm].
    floor_z : float
        Floor at the start [mm].
    floor_height : float
        Floor at the start above the fret plane [mm].
    fret_plane_z : float
        Fret plane at the string [mm].
    tilt_deg : float
        Fall of the floor at the start, toward the headstock [deg].
    roll_radius : float
        Of the floor in the vertical plane of the slot; inf where it is straight [mm].
    fan_deg : float
        Turn of the slot in plan against y, positive toward +x [deg].
    incline_deg : float
        Rise of the string toward the bridge against the fret plane [deg].
    break_angle_deg : float
        Bend down from the string's line over the board to the tuner [deg].
    bend_deg : float
        Bend sideways from the string's line over the board to the tuner [deg].
    buried : float
        Share of the gauge below the top at the front face.
    depth : float
        Floor at the start to the top there [mm].
    first_fret_clearance : float
        Underside of the open string to the crown of fret 1 [mm].
    action : float
        The same at fret 12, as it is wanted [mm].
    action_now : float
        The same as it was measured; as wanted where it was not [mm].
    to_post : float
        From the start to the tuner post in plan; 0 where the file has angles instead [mm].
    zero_fret : OnZeroFret, optional
        What the open string starts on in front of the nut, where there is one: floor, incline and break angle are then
        those of the string behind it.
    guide : OnGuide, optional
        What presses it down behind the nut; break angle and bends are then those to it, where it touches.
    """

    number: int
    note: str
    gauge: float
    wound: bool
    course: int
    scale_length: float
    x: float
    start_y: float
    width: float
    floor_z: float
    floor_height: float
    fret_plane_z: float
    tilt_deg: float
    roll_radius: float
    fan_deg: float
    incline_deg: float
    break_angle_deg: float
    bend_deg: float
    buried: float
    depth: float
    first_fret_clearance: float
    action: float
    action_now: float
    to_post: float = 0.0
    zero_fret: OnZeroFret | None = None
    guide: OnGuide | None = None

    @property
    def who(self) -> Subject:
        """The string, as findings name it."""
        return of_string(self.number, self.note)

    @property
    def line_deg(self) -> float:
        """The string's line over the board in plan against y, positive toward +x on the way back [deg]."""
        return self.fan_deg - self.bend_deg

    @property
    def setback(self) -> float:
        """From the front face forward to the start, along the string's line over the board [mm]."""
        return -self.start_y / math.cos(math.radians(self.line_deg))

    @property
    def sounds_from(self) -> float:
        """What the open string starts on, over the fret plane: the floor, or a zero fret's crown [mm]."""
        return self.floor_height if self.zero_fret is None else self.zero_fret.height

    @property
    def face_x(self) -> float:
        """Where the string's line over the board crosses the front face [mm]."""
        return self.x - self.start_y * math.tan(math.radians(self.line_deg))

    @property
    def rolled(self) -> bool:
        """Whether the floor is an arc rather than a straight line."""
        return math.isfinite(self.roll_radius)

    def tilt_at(self, y: float) -> float:
        """Fall of the floor at a plane y [deg]."""
        sine = self.run(y) / self.roll_radius + math.sin(math.radians(self.tilt_deg))
        return math.degrees(math.asin(max(-1.0, min(1.0, sine))))

    def run(self, y: float) -> float:
        """Distance in plan from the start to a plane y, along the slot [mm]."""
        return (y - self.start_y) / math.cos(math.radians(self.fan_deg))

    def x_at(self, y: ArrayLike) -> Array:
        """The centre line in plan [mm]."""
        return self.x + (np.asarray(y, float) - self.start_y) * math.tan(math.radians(self.fan_deg))

    def floor_at(self, y: ArrayLike) -> Array:
        """The floor's bottom line at y [mm]."""
        run = (np.asarray(y, float) - self.start_y) / math.cos(math.radians(self.fan_deg))
        tilt = math.radians(self.tilt_deg)
        bend = run / self.roll_radius
        sine = np.clip(bend + math.sin(tilt), -1.0, 1.0)
        # R (cos a - cos b) = run (sin a + sin b) / (cos a + cos b): exact, and whole at R = inf
        return self.floor_z - run * (math.sin(tilt) + sine) / (math.cos(tilt) + np.sqrt(1.0 - sine**2))

    def raised(self, by: float, *, top: float = 0.0) -> "Slot":
        """The same slot with its floor, and the top over it, higher [mm]."""
        floor_z, floor_height, depth = self.floor_z + by, self.floor_height + by, self.depth + top - by
        return replace(self, floor_z=floor_z, floor_height=floor_height, depth=depth, buried=depth / self.gauge)

    @property
    def half_width_along_x(self) -> float:
        """Half the slot's opening, measured along x [mm]."""
        return self.width / 2.0 / math.cos(math.radians(self.fan_deg))
