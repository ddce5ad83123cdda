"""The nut in its neck, seen from above: the view in which a post that was misread stands out.

    headstock up     post o
                     label \\  string, on from its start to its post
    straight on, dashed   : \\
              ____________:__\\___ nut
                          |       string, from fret 1
    fret 1    ____________|_______
"""

import math
from collections.abc import Callable, Iterator

from nutgen.documents.blocks import Document, Figure, remark
from nutgen.documents.lettering import Align, Words, spread
from nutgen.documents.words.quantities import Units, quantity
from nutgen.geometry.lines import Arc, Box, Chain, Line, Point, joined, polygon
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.theory.frets import fret_position

SCALES = (1, 2, 5, 10)
"""Part to paper: ISO 5455."""

TYPE = 2.3
APART = 1.4 * TYPE
"""Between the lines of labels beside the view [mm]."""

READ = (
    "Angles: the bend of each string at the nut, sideways from its line over the board (dashed), and down. Lay it"
    " beside the neck: a post that stands elsewhere was misread."
)
POST = 3.0
"""Radius of a post as drawn, of the part [mm]. Common practice, no source."""

NO_POST, STRAIGHT_ON, PAST_FRET = 60.0, 30.0, 8.0
"""How far a string without a post is drawn on, how far its line over the board, and the neck before fret 1 [mm]."""

WITHOUT_POSTS = 110.0
"""Height enough for a view that shows no posts [mm]."""

NO_BEND_DEG = 0.05
"""A bend smaller than this is none on paper."""

_AWAY, _KNEE = 6.0, 3.0  # mm on the paper: from the view to its labels, and of that to the leader's knee

Placed = Callable[[float, float], Point]


def neck_blocks(nut: Nut, units: Units = "mm", *, widest: float, highest: float) -> Document:
    """The figure, and how to read it."""
    posts = "" if _posts(nut) else " The file gives angles, no posts."
    return neck_figure(nut, units, widest=widest, highest=highest), remark(f"{READ}{posts}")


def neck_figure(nut: Nut, units: Units = "mm", *, widest: float, highest: float) -> Figure:
    """The nut in its neck, the first fret, the strings on to their posts, every bend with its angle.

    widest, highest : room on the paper; the largest scale that fits is taken [mm]
    """
    highest = highest if _posts(nut) else min(highest, WITHOUT_POSTS)
    for scale in SCALES:
        lines = tuple(_lines(nut, scale))
        box = joined([chain.box for chain in lines])
        (labels, leaders), (names, beside) = _labels(nut, scale, units, box), _names(nut, scale, box)
        found = Figure(
            "neck",
            (*lines, *leaders, *beside),
            (*labels, *names),
            f"The nut in its neck, seen from above, headstock up, 1:{scale}",
        )
        left, low, right, high = found.box
        if right - left <= widest and high - low <= highest:
            break
    return found


def _posts(nut: Nut) -> bool:
    return any(slot.to_post for slot in nut.slots)


def _placed(nut: Nut, scale: float) -> Placed:
    """From the nut's plan to the neck's, on the paper."""

    def place(x: float, y: float) -> Point:
        across, along, _ = nut.in_neck.apply((x, y, 0.0)).tolist()
        return across / scale, along / scale

    return place


def _on(slot: Slot, run: float) -> tuple[float, float]:
    """A place behind a string's start, toward its post."""
    turn = math.radians(slot.fan_deg)
    return slot.x + run * math.sin(turn), slot.start_y + run * math.cos(turn)


def _ahead(slot: Slot, run: float) -> tuple[float, float]:
    """A place on a string's line over the board, so far from the front face; toward the bridge where positive."""
    turn = math.radians(slot.line_deg)
    return slot.face_x - run * math.sin(turn), -run * math.cos(turn)


def _first_fret(nut: Nut) -> tuple[Point, Point]:
    """Where fret 1 meets the edges of the board, in the nut's plan."""
    return _across(nut, *(_to_fret_1(nut.slots[i]) for i in (0, -1)))


def _zero_fret(nut: Nut) -> Iterator[tuple[Point, Point]]:
    """The same of a zero fret, where there is one."""
    bass, treble = (nut.slots[i].zero_fret for i in (0, -1))
    if bass and treble:
        yield _across(nut, bass.ahead, treble.ahead)


def _to_fret_1(slot: Slot) -> float:
    """From the front face to fret 1, along the string [mm]."""
    return float(fret_position(1, scale_length=slot.scale_length)) + (slot.zero_fret.ahead if slot.zero_fret else 0.0)


def _across(nut: Nut, bass: float, treble: float) -> tuple[Point, Point]:
    """Where a line across the outer strings, so far before the face on either, meets the edges of the board."""
    first, last = (nut.slots[i] for i in (0, -1))
    start, stop = _ahead(first, bass), _ahead(last, treble)
    if abs(stop[0] - start[0]) < 1.0:  # one string, or strings that meet: along the nut
        turn = math.radians(nut.slant_deg)
        stop = start[0] + math.cos(turn), start[1] + math.sin(turn)
    rise = (stop[1] - start[1]) / (stop[0] - start[0])
    ends = []
    for end in (nut.left, nut.right):
        y = (start[1] + rise * (end.x - start[0])) / (1.0 - rise * end.per_y)
        ends.append((end.x + end.per_y * y, y))
    return ends[0], ends[1]


def _lines(nut: Nut, scale: float) -> Iterator[Chain]:
    place, fret = _placed(nut, scale), _first_fret(nut)
    corners = [(nut.end_x(side, y), y) for side, y in ((-1, 0.0), (1, 0.0), (1, nut.thickness), (-1, nut.thickness))]
    yield Chain("neck-nut", polygon([place(*corner) for corner in corners]))
    for ends in (fret, *_zero_fret(nut)):
        yield Chain("neck-fret", (Line(place(*ends[0]), place(*ends[1])),))
    for end, (_, y) in zip((nut.left, nut.right), fret, strict=True):
        front = y - PAST_FRET
        yield Chain("neck-edges", (Line(place(end.x + end.per_y * front, front), place(end.x, 0.0)),))
    highest = 0.0
    for slot in nut.slots:
        run = slot.to_post or NO_POST
        start, post = place(slot.x, slot.start_y), place(*_on(slot, run))
        one = _to_fret_1(slot) + PAST_FRET
        yield Chain("neck-strings", (Line(place(*_ahead(slot, one)), start), Line(start, post)))
        yield Chain("neck-straight-on", (Line(start, place(*_ahead(slot, slot.setback - STRAIGHT_ON))),))
        if slot.to_post:
            yield _post(post, POST / scale)
        highest = max(highest, post[1])
    lowest = min(place(*corner)[1] for corner in fret) - PAST_FRET / scale
    yield Chain("neck-centre", (Line((0.0, lowest), (0.0, highest)),))


def _post(at: Point, radius: float) -> Chain:
    left, right = (at[0] - radius, at[1]), (at[0] + radius, at[1])
    return Chain("neck-posts", (Arc(left, right, at, 1), Arc(right, left, at, 1)))


def _labels(nut: Nut, scale: float, units: Units, box: Box) -> tuple[list[Words], list[Chain]]:
    """Number, note and both bends of each string, beside the view on the side of its post, and a leader to it."""
    place = _placed(nut, scale)
    labels, leaders = [], []
    ends = {slot.number: place(*_on(slot, slot.to_post or NO_POST)) for slot in nut.slots}
    posts = _posts(nut)
    middle = 0.0 if posts else sum(x for x, _ in ends.values()) / len(ends)
    sides: tuple[tuple[float, float, Align], ...] = ((-1.0, box[0], "right"), (1.0, box[2], "left"))
    for side, edge, align in sides:
        here = [slot for slot in nut.slots if (ends[slot.number][0] < middle) == (side < 0.0)]
        if posts:
            here.sort(key=lambda slot: ends[slot.number][1])
            heights = spread([ends[slot.number][1] for slot in here], APART)
        else:  # strings that end side by side: the outermost lowest, none below its string's end
            here.sort(key=lambda slot: -side * ends[slot.number][0])
            first = max((y for _, y in ends.values()), default=0.0)
            heights = [first + index * APART for index in range(len(here))]
        if side > 0.0:  # above the name of the nut
            lowest = place(nut.right.x, 0.0)[1] + APART
            heights = [max(height, lowest + index * APART) for index, height in enumerate(heights)]
        for slot, height in zip(here, heights, strict=True):
            x, y = ends[slot.number]
            knee, gap = edge + side * (_AWAY - _KNEE), POST / scale if slot.to_post else 0.3
            leaders.append(
                Chain(
                    "leaders",
                    (Line((x + side * gap, y), (knee, height)), Line((knee, height), (edge + side * _AWAY, height))),
                )
            )
            words = _bends(nut, slot, units)
            labels.append(Words(edge + side * (_AWAY + 0.8), height - 0.27 * TYPE, words, TYPE, align=align))
    return labels, leaders


def _bends(nut: Nut, slot: Slot, units: Units) -> str:
    toward = "treble" if (slot.bend_deg > 0.0) == (nut.strung == "right") else "bass"
    aside, down = quantity(abs(slot.bend_deg), "angle", units), quantity(slot.break_angle_deg, "angle", units)
    aside = f"{aside} to {toward}" if abs(slot.bend_deg) >= NO_BEND_DEG else "straight on"
    where = " to its guide" if slot.guide and slot.guide.bend_deg else ""
    return f"{slot.number} {slot.note}: {aside}, {down} down{where}"


def _names(nut: Nut, scale: float, box: Box) -> tuple[list[Words], list[Chain]]:
    """Which line is which, led out to the right, and below which side."""
    place, (left, right) = _placed(nut, scale), _first_fret(nut)
    sides = ("bass side", "treble side") if nut.strung == "right" else ("treble side", "bass side")
    foot = box[1] - 1.3 * TYPE
    words = [Words(place(*left)[0], foot, sides[0], TYPE, align="right"), Words(place(*right)[0], foot, sides[1], TYPE)]
    leaders = []
    edge, level = box[2] + _AWAY, math.inf
    named = [("nut", (nut.right.x, 0.0)), *(("zero fret", treble) for _, treble in _zero_fret(nut)), ("fret 1", right)]
    for name, (x, y) in ((name, place(*at)) for name, at in named):
        level = min(y, level - APART)
        leaders.append(Chain("leaders", (Line((x + 0.3, y), (edge, level)),)))
        words.append(Words(edge + 0.8, level - 0.27 * TYPE, name, TYPE))
    return words, leaders
