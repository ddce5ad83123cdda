"""What the sizes of a nut allow and ask: how far its edges can be eased, the block that it is made from."""

import math
from dataclasses import replace

import numpy as np

from nutgen.nut.part import Allowances, Blank, Part

SHARP = 0.02
"""An edge radius, a strip of bevel or its fall below this is left out: no one can see or feel it [mm]."""

LEFT_STANDING = 0.2
"""Least height of the back corners and of the back face under its eased edge [mm]."""

SAWING = Allowances(top=1.0, back=0.4, ends=1.0)
"""What a squared blank has over the finished nut, at least. Common practice, no source."""


def has_bevel(nut: Part) -> bool:
    """Whether the top falls toward the back by as much as can be made and seen."""
    return nut.thickness - nut.land >= SHARP and nut.bevel_fall >= SHARP


def eased_radius(nut: Part) -> float:
    """The radius that this nut's edges can be eased to, no larger than asked for; 0 where they stay sharp [mm]."""
    radius = min(nut.edge_radius, largest_edge_radius(nut))
    return radius if radius >= SHARP else 0.0


def largest_edge_radius(nut: Part) -> float:
    """The largest radius to which the edges of this nut can be eased.

    Parameters
    ----------
    nut : Part
        Whose top and ends can be made.

    Returns
    -------
    float
        0 where none fits [mm].

    Notes
    -----
    Half the thickness, and so much that LEFT_STANDING remains at the back and at the end of a shelf: easing by e draws
    the top in by e at most there, and the arc at each end has its foot where a circle
    another e further in meets the line e inside the end. With a = the end's distance from the crown's
    axis, r = the top's radius at the back before easing and h = the least height of that foot
    above the axis, (r - 2 e)^2 - (a - e)^2 = h^2: a quadratic in e. On a flat crown both
    conditions are linear.
    """
    limits = [nut.thickness / 2.0]
    fall = nut.bevel_fall
    x = np.linspace(*nut.reach_of(nut.thickness), 41)
    least = nut.underside.z(x, nut.thickness) + LEFT_STANDING
    if nut.crown.curvature == 0.0:
        slope = math.radians(nut.crown.slope_deg)
        limits.append(float(((nut.crown.z(x) - least) * math.cos(slope) - fall).min()))
    else:
        xc, zc = nut.crown.centre
        limits.append(float((nut.top_radius - fall - np.hypot(x - xc, np.maximum(least - zc, 0.0))).min()))
    for side, step in ((-1, nut.steps[0]), (1, nut.steps[-1])):
        limits += [_at_end(nut, side, y, fall, nut.lowest_z) for y in (step.front, nut.thickness)]
        if step.front < 0.0:
            limits.append(_at_end(nut, side, step.front, 0.0, float(nut.shelves.under(nut.end_x(side, step.front)))))
    return max(0.0, min(limits))


def _at_end(nut: Part, side: int, y: float, fall: float, lowest: float) -> float:
    """The largest radius at an end, over a plane where the top has fallen so far and the end's foot is so low [mm]."""
    x, foot = nut.end_x(side, y), lowest + LEFT_STANDING
    if nut.crown.curvature == 0.0:
        slope = math.radians(nut.crown.slope_deg)
        return ((float(nut.crown.z(x)) - foot) * math.cos(slope) - fall) / (2.0 + side * math.sin(slope))
    xc, zc = nut.crown.centre
    r, a, h = nut.top_radius - fall, side * (x - xc), max(foot - zc, 0.0)
    b, c = 2.0 * r - a, (r - a) * (r + a) - h * h
    return c / (b + math.sqrt(b * b - 3.0 * c)) if b * b >= 3.0 * c else math.inf


def blank_of(part: Part) -> Blank:
    """What must be squared to make it."""
    a, rough = part.allowances, part.rough()
    left, right = part.left.moved(-max(a.ends, SAWING.ends)), part.right.moved(max(a.ends, SAWING.ends))
    return Blank(
        length=replace(rough, left=left, right=right).extent,
        thickness=part.thickness - part.foremost + max(a.back, SAWING.back),
        height=max(part.height + max(a.top, SAWING.top), rough.height),
    )
