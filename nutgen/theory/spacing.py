"""Where the strings lie across the nut: three rules, single strings and courses.

All positions are counted from the bass end of the board at the front face.

    |<-margin->(o)<----gap---->(o)(o)<----gap---->(o)<-margin->|
    0                           <> course gap                  width
"""

from collections.abc import Sequence
from itertools import accumulate, groupby, pairwise


class NoRoom(ValueError):
    """Strings and margins that need more than the board's width; `missing` says how much more [mm]."""

    def __init__(self, missing: float) -> None:
        self.missing = missing
        super().__init__(f"the strings and margins need {missing:.3g} mm more than the board is wide")


def equal_gaps(
    gauges: Sequence[float],
    *,
    width: float,
    bass_margin: float,
    treble_margin: float,
    courses: Sequence[int],
    course_gap: float = 0.0,
) -> list[float]:
    """Centres of the strings with the same room, edge to edge, between neighbouring courses.

    Parameters
    ----------
    gauges : sequence of float
        Diameters, bass to treble, one a string [mm].
    width : float
        Board at the front face [mm].
    bass_margin, treble_margin : float
        Board edge to the near edge of the outer string [mm].
    courses : sequence of int
        A label per string; neighbours of the same label form one course.
    course_gap : float, optional
        Room edge to edge inside a course [mm].

    Returns
    -------
    list of float
        Centres from the bass end, one a string [mm].

    Raises
    ------
    NoRoom
        Where no room is left between the courses.

    Notes
    -----
    g = (W - margins - sum d - course gaps) / (courses - 1). A lone course stands in the middle.

    References
    ----------
    J. Morrish (ed.), The Bass Handbook, 2005, p. 19 (both rules in use).
    """
    apart = [a != b for a, b in pairwise(courses)]
    room = width - bass_margin - treble_margin - sum(gauges) - course_gap * apart.count(False)
    steps = apart.count(True)
    gap = room / steps if steps else 0.0
    if room < 0.0 or (steps and gap <= 0.0):
        raise NoRoom(-room)
    lead = bass_margin + (0.0 if steps else room / 2.0)
    edges = accumulate((d + (gap if new else course_gap) for d, new in zip(gauges, apart, strict=False)), initial=lead)
    return [edge + d / 2.0 for edge, d in zip(edges, gauges, strict=True)]


def equal_centres(
    gauges: Sequence[float],
    *,
    width: float,
    bass_margin: float,
    treble_margin: float,
    courses: Sequence[int],
    course_gap: float = 0.0,
) -> list[float]:
    """Centres of the strings with the same step between the middles of neighbouring courses.

    Parameters
    ----------
    gauges : sequence of float
        Diameters, bass to treble, one a string [mm].
    width : float
        Board at the front face [mm].
    bass_margin, treble_margin : float
        Board edge to the near edge of the outer string [mm].
    courses : sequence of int
        A label per string; neighbours of the same label form one course.
    course_gap : float, optional
        Room edge to edge inside a course [mm].

    Returns
    -------
    list of float
        Centres from the bass end, one a string [mm].

    Raises
    ------
    NoRoom
        Where no room is left between the courses.

    Notes
    -----
    The outer strings keep their margins; the middle of a course is midway between its outer centres.

    References
    ----------
    J. Morrish (ed.), The Bass Handbook, 2005, p. 19 (both rules in use).
    """
    groups = [[gauge for _, gauge in group] for _, group in groupby(zip(courses, gauges, strict=True), lambda p: p[0])]
    inside = [[0.0, *accumulate((a + b) / 2.0 + course_gap for a, b in pairwise(group))] for group in groups]
    start = bass_margin + (groups[0][0] + inside[0][-1]) / 2.0
    stop = width - treble_margin - (groups[-1][-1] + inside[-1][-1]) / 2.0
    if len(groups) == 1:
        start = stop = (start + stop) / 2.0
    elif stop <= start:
        raise NoRoom(start - stop)
    step = (stop - start) / max(1, len(groups) - 1)
    return [
        start + step * course + offset - offsets[-1] / 2.0
        for course, offsets in enumerate(inside)
        for offset in offsets
    ]
