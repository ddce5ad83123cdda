"""Heights over the board: board radius, relief, and the straight string between nut and saddle.

Distances along the string are counted from the front face (u = 0); heights are measured
square to the chord from fret 1 to the last fret.

        nut                                                     saddle
         |\\__ string: straight ________________________________|
         | b                                            a12
      ---+--:--:---:---:----:----:-----:------:------:------:---- crowns, on an arc
         0  1  2   3                                   last
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array
from nutgen.theory.checks import floats
from nutgen.theory.frets import fret_position


def crown_drop(offset: ArrayLike, *, radius: ArrayLike) -> Array:
    """Drop of a radiused board below its crown.

    Parameters
    ----------
    offset : array_like
        Distance from the centre line, either side [mm].
    radius : array_like
        Cross radius; inf where flat [mm].

    Returns
    -------
    ndarray
        Vertical drop, >= 0 [mm].

    Raises
    ------
    ValueError
        Where |offset| > radius.

    Notes
    -----
    at a large R and is 0 when flat.

    References
    ----------
    The sagitta of a circle.
    """
    x = np.asarray(offset, float)
    curvature = 1.0 / np.asarray(radius, float)
    if not np.all(abs(x * curvature) <= 1.0):
        raise ValueError("the offset from the centre line must not exceed the radius")
    return x * x * curvature / (1.0 + np.sqrt(1.0 - (x * curvature) ** 2))


def height_over_arch(thickness: ArrayLike, *, offset: ArrayLike, radius: ArrayLike) -> Array:
    """Height straight up over an arch that was measured square to it, by a caliper whose jaw lies in its hollow.

    Parameters
    ----------
    thickness : array_like
        Along the radius, from the arch out to a point [mm].
    offset : array_like
        Of the point from the arch's middle, across [mm].
    radius : array_like
        Of the arch; inf where flat [mm].

    Returns
    -------
    ndarray
        From the arch right below the point up to it [mm].

    Raises
    ------
    ValueError
        Where |offset| > radius.

    References
    ----------
    sqrt((R + t)^2 - x^2) - sqrt(R^2 - x^2): two circles about one centre, written so that it is t where flat.
    """
    x, t = np.asarray(offset, float), np.asarray(thickness, float)
    curvature = 1.0 / np.asarray(radius, float)
    if not np.all(abs(x * curvature) <= 1.0):
        raise ValueError("the offset from the arch's middle must not exceed its radius")
    outer = np.sqrt((1.0 + t * curvature) ** 2 - (x * curvature) ** 2)
    inner = np.sqrt(1.0 - (x * curvature) ** 2)
    return np.asarray((2.0 * t + t * t * curvature) / (outer + inner))


@dataclass(frozen=True, slots=True)
class Neck:
    """One string's side of the neck: where its frets are and how they dip.

    scale_length : nut to saddle [mm]
    last_fret    : number of the last fret
    relief       : dip of the crowns below the chord fret 1 to the last fret [mm]
    start        : where the open string starts, counted from the front face toward the
                   bridge (a nut setback); 0 as a rule [mm]
    uneven       : what each crown stands over that arc, from fret 1 on; empty where they lie on it [mm]

    Fields may be numpy arrays that broadcast, one entry a string.
    Source: an arc of sagitta s over a chord C has R = C^2 / (8 s) + s / 2 (geometry);
    that a neck takes the shape of an arc is common practice, no source.
    """

    scale_length: float | Array
    last_fret: int | Array
    relief: float | Array
    start: float | Array = 0.0
    uneven: tuple[float, ...] = ()

    def fret(self, number: ArrayLike) -> Array:
        """Distance of a fret from the front face [mm]."""
        return fret_position(number, scale_length=self.scale_length)

    def crown(self, u: ArrayLike) -> Array:
        """Height of the line of crowns above the chord, at a distance u from the face [mm]."""
        first, last = self.fret(1), self.fret(self.last_fret)
        chord = last - first
        s = np.asarray(self.relief, float)
        curvature = 8.0 * s / (chord**2 + 4.0 * s**2)
        d = np.asarray(u, float) - (first + last) / 2.0
        arc: Array = d * d * curvature / (1.0 + np.sqrt(1.0 - (d * curvature) ** 2)) - s
        if not self.uneven:
            return arc
        scale = np.asarray(self.scale_length, float)
        beyond = np.maximum(1.0 - np.asarray(u, float) / scale, 1e-9)
        return arc + np.interp(-12.0 * np.log2(beyond), np.arange(1, len(self.uneven) + 1), self.uneven)

    def fret_plane(self, u: ArrayLike) -> Array:
        """Height above the chord of the straight line over crowns 1 and 2, at u [mm]."""
        one, two = self.fret(1), self.fret(2)
        z1, z2 = self.crown(one), self.crown(two)
        return z1 + (np.asarray(u, float) - one) * (z2 - z1) / (two - one)

    def string_by_targets(self, *, first_fret_clearance: ArrayLike, action: ArrayLike) -> "StringLine":
        """The straight string with the given clearance at fret 1 and action at fret 12 [mm]."""
        one, twelve = self.fret(1), self.fret(12)
        z1 = self.crown(one) + np.asarray(first_fret_clearance, float)
        z12 = self.crown(twelve) + np.asarray(action, float)
        slope = (z12 - z1) / (twelve - one)
        return StringLine(self, z1 - slope * one, slope)

    def string_by_floor(self, *, floor_height: ArrayLike, action: ArrayLike) -> "StringLine":
        """The straight string from a slot floor of known height to the action at fret 12 [mm]."""
        start = np.asarray(self.start, float)
        return self.string_through(start, self.fret_plane(start) + np.asarray(floor_height, float), action=action)

    def string_through(self, u: ArrayLike, height: ArrayLike, *, action: ArrayLike) -> "StringLine":
        """The straight string through a height above the chord at u, with the action at fret 12 [mm]."""
        at, z, twelve = np.asarray(u, float), np.asarray(height, float), self.fret(12)
        slope = (self.crown(twelve) + np.asarray(action, float) - z) / (twelve - at)
        return StringLine(self, z - slope * at, slope)

    def action_between(self, near: tuple[ArrayLike, ArrayLike], far: tuple[ArrayLike, ArrayLike]) -> Array:
        """Underside to the crown of fret 12 of a straight string between two points (u, height above chord) [mm]."""
        (u0, z0), (u1, z1) = (floats(*point) for point in (near, far))
        twelve = self.fret(12)
        return np.asarray(z0 + (z1 - z0) * (twelve - u0) / (u1 - u0) - self.crown(twelve))

    def body_height(self, u: ArrayLike, height: ArrayLike, *, relief: ArrayLike) -> Array:
        """Where a point of the body lands above the chord once the neck has another relief [mm].

        u, height : beyond the last fret, as it is now
        relief    : then

        The body goes on straight where the arc of crowns ends, and keeps its line with it.
        """
        last = self.fret(self.last_fret)
        chord = last - self.fret(1)
        now, then = (np.arcsin(4.0 * s * chord / (chord**2 + 4.0 * s**2)) for s in floats(self.relief, relief))
        return np.asarray(
            (np.asarray(u, float) - last) * np.sin(then - now) + np.asarray(height, float) * np.cos(then - now)
        )

    def barred_string(self, action: ArrayLike) -> "StringLine":
        """The straight string from a capo on fret 1 with the action at fret 12 [mm]."""
        one = self.fret(1)
        return self.string_through(one, self.crown(one), action=action)


@dataclass(frozen=True, slots=True)
class StringLine:
    """The underside of an open string over one neck: height = at_face + slope u.

    at_face : height above the chord, carried to the front face [mm]
    slope   : rise toward the bridge [mm per mm]
    """

    neck: Neck
    at_face: Array
    slope: Array

    def height(self, u: ArrayLike) -> Array:
        """Height of the underside above the chord at u [mm]."""
        return self.at_face + self.slope * np.asarray(u, float)

    @property
    def floor_height(self) -> Array:
        """Slot floor at the string's start above the fret plane [mm]."""
        start = np.asarray(self.neck.start, float)
        return self.height(start) - self.neck.fret_plane(start)

    def clearance(self, fret: ArrayLike) -> Array:
        """Underside to the crown of a fret, open string [mm]."""
        u = self.neck.fret(fret)
        return self.height(u) - self.neck.crown(u)

    @property
    def incline_deg(self) -> Array:
        """Rise of the string toward the bridge, against the fret plane at the nut [deg]."""
        one, two = self.neck.fret(1), self.neck.fret(2)
        plane = (self.neck.crown(two) - self.neck.crown(one)) / (two - one)
        return np.degrees(np.arctan(self.slope) - np.arctan(plane))
