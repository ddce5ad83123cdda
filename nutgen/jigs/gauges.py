"""Flat gauges, printed or cut from card: the top, the places of the strings, the bevel, the board's radius."""

import math
from collections.abc import Sequence

import numpy as np

from nutgen.finding import note, step
from nutgen.geometry.lines import Chain, Line, Part, Point, polygon
from nutgen.geometry.pose import Pose
from nutgen.jigs.foot import MARGIN, row
from nutgen.jigs.jig import Check, Jig
from nutgen.jigs.jig import Part as Printed
from nutgen.jigs.shapes.fits import PRINTED
from nutgen.jigs.shapes.form import Form, curve
from nutgen.jigs.shapes.marks import CAP, long
from nutgen.jigs.task import Task
from nutgen.nut.edges import has_bevel
from nutgen.theory.crown import Crown

THICK, HIGH = 2.0, 13.0
"""Of a gauge: its plate, and its height over the edge that is tried against the nut [mm]."""

NOTCH_DEEP, NOTCH_HALF = 3.0, 0.6
"""Of the notch at a string's place [mm]."""

BESIDE = 10.0
"""The bevel's gauge goes on past the nut, before and behind [mm]."""

ON_EDGE = Pose(((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)))
"""A gauge, drawn as it lies, held against the front face."""

APART = 19.0
"""From one to the next in their picture [mm]."""

BETWEEN = 6.0
"""From one gauge to the next, on paper and in the drawing [mm]."""


def gauges(task: Task) -> Jig:
    """The gauges of a nut: each the shape that the finished nut must fill."""
    outlines, low = [], 0.0
    for chain, _ in _shapes(task, 0.0):
        left, bottom, _, top = chain.box
        outlines.append(chain.moved(-left, low - top))
        low -= top - bottom + BETWEEN
    shapes = _shapes(task, task.fit.grown)
    parts = [_plate(task, chain, words, APART * place) for place, (chain, words) in enumerate(shapes)]
    return Jig(
        name="gauges",
        stages=("crown", "bevel", "rough slots"),
        parts=tuple(parts),
        steps=(step("jig.gauges-use", within=PRINTED), step("jig.gauges-paper")),
        promise=(note("jig.gauges-hold", within=PRINTED),),
        check=Check(note("jig.check-strings"), task.nut.length),
        outlines=tuple(outlines),
    )


def _shapes(task: Task, grown: float) -> list[tuple[Chain, str]]:
    """Contour and letters of each gauge; counterclockwise, the words upright.

    grown : added to every side [mm]
    """
    nut = task.nut
    found: list[tuple[str, Sequence[Part], str]] = [("top", _over(task, nut.crown, grown), "TOP")]
    found.append(("strings", _grown(_places(task), grown), "STRINGS"))
    if has_bevel(nut):
        fall = math.tan(math.radians(nut.bevel_deg))
        far = nut.thickness + BESIDE
        level = HIGH - 4.0
        bevel = [(far, -(far - nut.land) * fall), (far, level), (-BESIDE, level), (-BESIDE, 0.0), (nut.land, 0.0)]
        found.append(("bevel", _grown(bevel, grown), ""))
    if math.isfinite(nut.board_radius):
        found.append(("radius", _over(task, Crown(0.0, 0.0, 1.0 / nut.board_radius), grown), "BOARD"))
    return [(Chain(f"gauge-{name}", tuple(contour)), words) for name, contour, words in found]


def _over(task: Task, crown: Crown, grown: float) -> list[Part]:
    """A plate that lies on a crown from end to end of the nut."""
    left, right = task.nut.reach[0] - grown, task.nut.reach[1] + grown
    high = crown.highest(left, right) + HIGH + grown
    under, corners = curve(crown.grown(-grown), left, right), [(right, high), (left, high)]
    return [under, Line(under.end, corners[0]), Line(*corners), Line(corners[1], under.start)]


def _grown(points: Sequence[Point], by: float) -> tuple[Line, ...]:
    """A contour, counterclockwise, with every side moved outward [mm]."""
    sides = polygon(points)
    moved = []
    for before, after in zip((sides[-1], *sides), sides, strict=False):
        ways = [np.subtract(one.end, one.start) / one.length for one in (before, after)]
        out = [np.array([way[1], -way[0]]) for way in ways]
        moved.append(np.asarray(after.start) + by * (out[0] + out[1]) / (1.0 + float(out[0] @ out[1])))
    return polygon([(float(x), float(y)) for x, y in moved])


def _places(task: Task) -> list[Point]:
    """A strip as long as the nut, with a notch at every string where it leaves the front face."""
    nut = task.nut
    points = [(nut.left.x, 0.0)]
    places = [nut.left.x, *sorted(slot.face_x for slot in nut.slots), nut.right.x]
    for before, x, after in zip(places, places[1:], places[2:], strict=False):
        half = min(NOTCH_HALF, 0.4 * (x - before), 0.4 * (after - x))  # beside a near neighbour: two teeth, not one
        points += [(x - half, 0.0), (x, NOTCH_DEEP), (x + half, 0.0)]
    points += [(nut.right.x, 0.0), (nut.right.x, HIGH), (nut.left.x, HIGH)]
    return points


def _plate(task: Task, chain: Chain, words: str, down: float) -> Printed:
    """A gauge as a plate, with its name and the nut's hash where there is room."""
    form, thick = Form(), task.fit.layers(THICK)
    left, _, right, top = chain.box
    form.prism(chain.parts, 0.0, thick)
    name = chain.layer
    room = right - left - 2.0 * MARGIN
    told = [word for word in (words, task.mark) if word]
    while told and sum(map(long, told)) + 4.0 * (len(told) - 1) > room:
        told.pop()
    form.marks(row(told, left, right, top - CAP - MARGIN, thick))
    return Printed(name, form.solid("a gauge"), ON_EDGE, (0.0, 0.0, -down))
