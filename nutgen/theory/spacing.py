"""Where the strings lie across the nut: three rules, single strings and courses.

All positions are counted from the bass end of the board at the front face.

    |<-margin->(o)<----gap---->(o)(o)<----gap---->(o)<-margin->|
    0                           <> course gap                  width
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def _course_edges(courses: Sequence[int]) -> Array:
    """1 where neighbours belong to different courses, 0 inside a course; one entry a neighbour pair."""
    return np.array([float(a != b) for a, b in pairwise(courses)])


def equal_gaps(
    gauges: ArrayLike,
    *,
    width: float,
    bass_margin: float,
    treble_margin: float,
    courses: Sequence[int],
    course_gap: float = 0.0,
) -> Array:
    """Centres of the strings with the same room, edge to edge, between neighbouring courses.

    gauges     : diameters, bass to treble, shape (n,) [mm]
    width      : board at the front face [mm]
    margins    : board edge to the near edge of the outer string [mm]
    courses    : a label per string; neighbours of the same label form one course
    course_gap : room edge to edge inside a course [mm]
    returns    : centres from the bass end, shape (n,) [mm]
    raises     : ValueError where no room is left between the courses

    g = (W - margins - sum d - course gaps) / (courses - 1). A lone course stands in the middle.
    Source: J. Morrish (ed.), The Bass Handbook, 2005, p. 19 (both rules in use).
    """
    d = np.asarray(gauges, float)
    between = _course_edges(courses)
    room = width - bass_margin - treble_margin - d.sum() - course_gap * (1.0 - between).sum()
    steps = between.sum()
    gap = room / steps if steps else 0.0
    if room < 0.0 or (steps and gap <= 0.0):
        raise ValueError(f"the strings and margins need {-room:.3g} mm more than the board is wide")
    lead = bass_margin + (0.0 if steps else room / 2.0)
    gaps = np.where(between > 0.0, gap, course_gap)
    return lead + d / 2.0 + np.concatenate([[0.0], np.cumsum(d[:-1] + gaps)])


def equal_centres(
    gauges: ArrayLike,
    *,
    width: float,
    bass_margin: float,
    treble_margin: float,
    courses: Sequence[int],
    course_gap: float = 0.0,
) -> Array:
    """Centres of the strings with the same step between the middles of neighbouring courses.

    Parameters, result and errors as `equal_gaps`. The outer strings keep their margins; the
    middle of a course is midway between its outer centres.
    Source: J. Morrish (ed.), The Bass Handbook, 2005, p. 19 (both rules in use).
    """
    d = np.asarray(gauges, float)
    between = _course_edges(courses)
    inside = np.concatenate([[0.0], np.where(between > 0.0, 0.0, (d[:-1] + d[1:]) / 2.0 + course_gap)])
    course = np.concatenate([[0], np.cumsum(between)]).astype(int)
    offset = np.cumsum(inside)  # grows inside courses only
    first = np.array([offset[course == c][0] for c in range(course[-1] + 1)])
    extent = np.array([np.ptp(offset[course == c]) for c in range(course[-1] + 1)])
    local = offset - first[course] - extent[course] / 2.0
    start = bass_margin + d[0] / 2.0 + extent[0] / 2.0
    stop = width - treble_margin - d[-1] / 2.0 - extent[-1] / 2.0
    if course[-1] == 0:
        start = stop = (start + stop) / 2.0
    elif stop <= start:
        raise ValueError(f"the strings and margins need {start - stop:.3g} mm more than the board is wide")
    return np.linspace(start, stop, course[-1] + 1)[course] + local


def gaps_between(centres: ArrayLike, gauges: ArrayLike) -> Array:
    """Edge-to-edge room between neighbours, shape (n - 1,) [mm]."""
    x, d = np.asarray(centres, float), np.asarray(gauges, float)
    return np.diff(x) - (d[:-1] + d[1:]) / 2.0
