"""The section of the nut's body, parallel to the front face, and how it changes toward the back.

    touch ___________________ touch         inset: how far the top lies inside the crown
        /                     \\            eased: each corner is an arc that touches the top
   end |                       | end        and the end, in every section
       |_______________________|

Behind the land the top is the crown's arc drawn in by `inset`, so each section is known from
two numbers, y and inset; the profile below says how the one goes with the other. Sections with
an eased corner are exact arcs; so is the profile's own eased edge at the back.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nutgen.nut.edges import SHARP, has_bevel
from nutgen.nut.part import Nut
from nutgen.theory import Array

RUNOUT_DEG = 5.0
"""The eased back edge meets the back face at this angle. Tangent to it, the eased strips at the
ends would run out in cusps there, which no mesh of finite precision closes. A hundredth of a
millimetre at most lies between the two shapes."""


@dataclass(frozen=True, slots=True)
class Corner:
    """Where the top meets an end, in sections of given inset; each is (x, z), shape (n, 2) [mm].

    touch  : the arc leaves the top
    knee   : the tangents at both ends of the arc cross
    end    : the arc reaches the end of the nut
    weight : cosine of half the arc's angle, which makes (touch, knee, end) a rational
             quadratic that is the arc exactly; shape (n,)
    """

    touch: Array
    knee: Array
    end: Array
    weight: Array


def corner(nut: Nut, y: ArrayLike, inset: ArrayLike, *, side: float, edge_radius: float) -> Corner:
    """The corner on one side (-1 or 1) of sections at y where the top lies `inset` inside the crown [mm].

    raises : ValueError where no arc of this radius fits between the top and the end
    """
    y, inset = np.broadcast_arrays(np.atleast_1d(np.asarray(y, float)), np.asarray(inset, float))
    e, x = edge_radius, nut.end_x(side, y) - side * edge_radius
    if nut.crown.curvature == 0.0:
        slope = math.radians(nut.crown.slope_deg)
        normal = np.tile([-math.sin(slope), math.cos(slope)], (inset.size, 1))
        z = nut.crown.z0 + x * math.tan(slope) - (inset + e) / math.cos(slope)
    else:
        xc, zc = nut.crown.centre
        reach = (nut.top_radius - inset - e) ** 2 - (x - xc) ** 2
        if reach.min() <= 0.0:
            raise ValueError("the top does not reach the end")
        z = zc + np.sqrt(reach)
        normal = np.stack([x - xc, z - zc], axis=1) / (nut.top_radius - inset - e)[:, None]
    centre = np.stack([x, z], axis=1)
    outward = np.array([side, 0.0])
    cosine = side * normal[:, 0]
    return Corner(
        touch=centre + e * normal,
        knee=centre + e * (normal + outward) / (1.0 + cosine)[:, None],
        end=centre + e * outward,
        weight=np.sqrt((1.0 + cosine) / 2.0),
    )


@dataclass(frozen=True, slots=True)
class ProfilePart:
    """A stretch of the profile: a straight line, or an arc about (y, inset) = centre.

    start, stop : (y, inset) at either end [mm]
    centre      : of the arc that eases the back edge; None where straight
    """

    start: tuple[float, float]
    stop: tuple[float, float]
    centre: tuple[float, float] | None = None

    def at(self, share: ArrayLike) -> tuple[Array, Array]:
        """y and inset at shares of the way; by angle on an arc [mm]."""
        share = np.asarray(share, float)
        (y0, f0), (y1, f1) = self.start, self.stop
        if self.centre is None:
            return y0 + (y1 - y0) * share, f0 + (f1 - f0) * share
        yc, fc = self.centre
        first, last = math.atan2(fc - f0, y0 - yc), math.atan2(fc - f1, y1 - yc)
        angle = first + (last - first) * share
        return yc + self.radius * np.cos(angle), fc - self.radius * np.sin(angle)

    @property
    def poles(self) -> list[tuple[float, float, float]]:
        """(y, inset, weight) of the piece as a rational Bezier curve: of degree 1, or 2 where it is an arc."""
        (y0, f0), (y1, f1) = self.start, self.stop
        if self.centre is None:
            return [(y0, f0, 1.0), (y1, f1, 1.0)]
        yc, fc = self.centre
        ym, fm = (y0 + y1) / 2.0 - yc, (f0 + f1) / 2.0 - fc
        stretch = self.radius**2 / (ym * ym + fm * fm)
        return [(y0, f0, 1.0), (yc + ym * stretch, fc + fm * stretch, stretch**-0.5), (y1, f1, 1.0)]

    @property
    def radius(self) -> float:
        """Of the arc; inf where straight [mm]."""
        return math.dist(self.stop, self.centre) if self.centre else math.inf


def profile(nut: Nut, *, edge_radius: float) -> tuple[ProfilePart, ...]:
    """The top from the front face to the back: land, bevel, eased back edge.

    The arc at the back touches the back face and the bevel; where the bevel is too short for
    it, it touches the land and swallows the bevel.
    """
    t, land, e = nut.thickness, nut.land, edge_radius
    bevel = math.radians(nut.bevel_deg)
    fall = nut.bevel_fall
    bevelled = has_bevel(nut)
    if e == 0.0:
        if not bevelled:
            return (ProfilePart((0.0, 0.0), (t, 0.0)),)
        return ProfilePart((0.0, 0.0), (land, 0.0)), ProfilePart((land, 0.0), (t, fall))
    middle = t - e * math.cos(math.radians(RUNOUT_DEG))
    up = e * math.sin(math.radians(RUNOUT_DEG))
    y = middle + e * math.sin(bevel)
    if bevelled and y - land >= SHARP:
        inset = (y - land) * math.tan(bevel)
        centre = middle, inset + e * math.cos(bevel)
        return (
            ProfilePart((0.0, 0.0), (land, 0.0)),
            ProfilePart((land, 0.0), (y, inset)),
            ProfilePart((y, inset), (t, centre[1] - up), centre),
        )
    return ProfilePart((0.0, 0.0), (middle, 0.0)), ProfilePart((middle, 0.0), (t, e - up), (middle, e))
