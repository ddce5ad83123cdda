"""Inside corners of an outline, cut out so far that a square edge fits: only where it is asked for.

A turning cutter of radius r leaves a fillet in an inside corner. A round of the same radius whose rim
passes through the corner's point clears it:

        |                    |
        |   .--.             the round's centre lies r inside the free room,
        |  ( r  )            on the line that halves the corner
        '---'--'-----
"""

import math

from nutgen.geometry.lines import Arc, Chain, Line, Part

INSIDE = 1e-4
"""A turn back by less is no corner [deg]."""


def relieved(outline: Chain, *, radius: float) -> Chain:
    """An outline with every inside corner between two lines cut out by a round.

    outline : closed, counterclockwise, material inside
    radius  : of the cutter [mm]
    returns : the same outline where it has no inside corner, or where its sides are too short
    """
    parts = list(outline.parts)
    done: list[Part] = []
    for index, part in enumerate(parts):
        following = parts[(index + 1) % len(parts)]
        done.append(part)
        if isinstance(part, Line) and isinstance(following, Line) and _turn_deg(part, following) < -INSIDE:
            arc = _round(part, following, radius)
            if arc is not None:
                done.append(arc)
    return Chain(outline.layer, _joined(done))


def inside_corners(outline: Chain) -> list[float]:
    """Where two lines of a counterclockwise outline meet with the material all around: how wide it is open [deg]."""
    pairs = zip(outline.parts, [*outline.parts[1:], outline.parts[0]], strict=True)
    turns = (_turn_deg(a, b) for a, b in pairs if isinstance(a, Line) and isinstance(b, Line))
    return [180.0 + turn for turn in turns if turn < -INSIDE]


def _turn_deg(a: Line, b: Line) -> float:
    """From one line into the next, positive to the left; negative at an inside corner."""
    (ax, ay), (bx, by) = a.direction, b.direction
    return math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))


def _round(a: Line, b: Line, radius: float) -> Arc | None:
    """The round at the corner of two lines: from the first line, past the corner point, to the second."""
    (ax, ay), (bx, by) = a.direction, b.direction
    corner = a.end
    free = bx - ax, by - ay  # halves the free room between the line left and the line taken
    size = math.hypot(*free)
    if size < 1e-9:
        return None
    centre = corner[0] + radius * free[0] / size, corner[1] + radius * free[1] / size
    cut = 2.0 * radius * (free[0] * bx + free[1] * by) / size  # chord along either line
    if cut <= 0.0 or cut >= min(a.length, b.length):
        return None
    start = corner[0] - cut * ax, corner[1] - cut * ay
    end = corner[0] + cut * bx, corner[1] + cut * by
    return Arc(start, end, centre, -1)


def _joined(parts: list[Part]) -> tuple[Part, ...]:
    """Lines cut back to the rounds beside them."""
    joined: list[Part] = []
    for index, part in enumerate(parts):
        if isinstance(part, Line):
            before, after = parts[index - 1], parts[(index + 1) % len(parts)]
            start = before.end if isinstance(before, Arc) else part.start
            end = after.start if isinstance(after, Arc) else part.end
            joined.append(Line(start, end))
        else:
            joined.append(part)
    return tuple(joined)
