"""The nut on the router: how it lies in its stock and is held, and the contours that are cut.

The stock stands on its underside and is cut from above, because the floors of slots fall and fan: no other way up
do they lie open to the cutter. It is longer than the nut, and clamped on what sticks out:

      y ^   .------.-----------------------.------.    x along the nut, y from the bridge toward the headstock,
        |   | clamp| tab [ the nut ] tab   | clamp|    z up; zero is the stock's left corner on the bridge side,
        |   |______|_______________________|______|    on its top, so that every depth is negative
        zero ------------------------------------> x

For its outline alone the same piece may lie on its back, held likewise: that is `profile_levels`.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, of_key, refusal, warning
from nutgen.geometry.lines import Box, Chain, polygon, rectangle
from nutgen.model.front import front_outline
from nutgen.model.mill.dogbones import inside_corners, relieved
from nutgen.model.shelf import plan_corners
from nutgen.nut.part import Blank, Nut
from nutgen.nut.places import End
from nutgen.nut.seat import Underside
from nutgen.spec.forming import Cutter, Mill

Point3 = tuple[float, float, float]

HAIR = 1e-6  # mm; stock smaller than the part by less is as large as the part

CLAMP = 8.0
"""Length of stock under a clamp, at either end. Common practice, no source [mm]."""

FREE = 1.0
"""Between a clamp and the cutter on its way round the ends. Common practice, no source [mm]."""

TAB_WIDTH, TAB_HEIGHT = 3.0, 1.5
"""Of the bridges that hold the nut at its ends until it is sawn off; no wider than half the end. Common practice, no
source [mm]."""

STEP_DOWN = 0.5
"""A pass goes down by this share of a cutter's diameter. Common practice for hard materials, no source."""


MEANINGS = {
    "stock": "the piece as it is clamped; its lower left corner is zero",
    "clamps": "clamps lie here and nowhere else",
    "tabs": "bridges that stay: the outline is cut no deeper here than z",
    "top": "clear inside, down to z; the surface below is in the STEP file",
    "outline": "cut outside, down to z; last",
    "profile": "lying on its back: cut outside, down to z",
}
"""Every layer of the files for the router but those of slots, and what it means."""

SLOT_MEANING = "the tip of the ball along a slot; z in space, or level as mill.txt says"


@dataclass(frozen=True, slots=True)
class Level:
    """A closed contour that lies level, at a height [mm]."""

    chain: Chain
    z: float


@dataclass(frozen=True, slots=True)
class Clamped:
    """A part in its stock.

    nut      : as it is to be milled, its allowances on
    stock    : sizes of the piece [mm]
    shift    : from the nut's frame to the stock's corner [mm]
    around   : the part from above, in the nut's frame: counterclockwise, material inside
    cutter   : that goes round it
    beyond   : stock at either end [mm]
    wanted   : to be clamped there and let the cutter pass [mm]
    """

    nut: Nut
    stock: Blank
    shift: Point3
    around: Chain
    cutter: Cutter
    beyond: float
    wanted: float

    @property
    def warnings(self) -> tuple[Finding, ...]:
        """What a maker must know before clamping it."""
        if self.beyond >= self.wanted - HAIR:
            return ()
        longer = self.stock.length + 2.0 * (self.wanted - self.beyond)
        about = of_key("mill.stock_length")
        return (warning("mill.nothing-to-clamp", about, beyond=self.beyond, wanted=self.wanted, longer=longer),)


def clamped(nut: Nut, mill: Mill) -> Clamped:
    """Lay a nut into its stock: in the middle of its length and thickness, on its underside.

    nut    : final; its allowances are put on here
    raises : CannotBeMade with every reason: stock smaller than the part, a cutter larger than it
    """
    part = nut.rough()
    around, cutter = _around(part, mill)
    left, low, right, high = Chain("", polygon(plan_corners(part, part.thickness))).box
    needs = {"length": right - left, "thickness": high - low, "height": part.height}
    wanted = CLAMP + FREE + cutter.diameter
    stock = Blank(
        length=mill.stock_length or needs["length"] + 2.0 * wanted,
        thickness=mill.stock_thickness or max(nut.blank.thickness, needs["thickness"]),
        height=mill.stock_height or max(nut.blank.height, needs["height"]),
    )
    reasons = [
        refusal("mill.stock-too-small", of_key(f"mill.stock_{key}"), size=getattr(stock, key), need=need)
        for key, need in needs.items()
        if getattr(stock, key) < need - HAIR
    ]
    reasons += [
        refusal("mill.cutter-too-large", diameter=cutter.diameter, end=cutter.end, length=part.extent)
        for cutter in mill.cutters
        if cutter.diameter > part.extent
    ]
    if reasons:
        raise CannotBeMade(reasons)
    shift = ((stock.length - left - right) / 2.0, (stock.thickness - low - high) / 2.0, -stock.height - part.lowest_z)
    return Clamped(part, stock, shift, around, cutter, (stock.length - needs["length"]) / 2.0, wanted)


def _around(part: Nut, mill: Mill) -> tuple[Chain, Cutter]:
    """The part from above, and the cutter that goes round it: the largest flat one.

    Where it is asked for, its inside corners are cut out, by the largest that may.
    """
    outline = Chain("outline", polygon(plan_corners(part, part.thickness)))
    flat = [cutter for cutter in mill.cutters if cutter.end == "flat"]
    cutters = sorted(flat or mill.cutters, key=lambda cutter: -cutter.diameter)
    corners = inside_corners(outline)
    if mill.dogbones and corners:
        for cutter in cutters:
            cut = relieved(outline, radius=cutter.radius)
            if len(cut.parts) == len(outline.parts) + len(corners):
                return cut, cutter
    return outline, cutters[0]


def plan_levels(work: Clamped) -> Iterator[Level]:
    """The level contours from above, all counterclockwise."""
    nut, stock = work.nut, work.stock
    dx, dy, _ = work.shift
    outline = work.around.moved(dx, dy)
    yield Level(Chain("stock", rectangle(0.0, 0.0, stock.length, stock.thickness)), 0.0)
    _, low, _, high = outline.box
    ys = [(low + high + side * tab_width(high - low)) / 2.0 - dy for side in (-1.0, 1.0)]
    meets = dx + max(nut.end_x(-1, y) for y in ys), dx + min(nut.end_x(1, y) for y in ys)
    yield from _held(work, stock.thickness, stock.height, outline.box, meets)
    yield Level(Chain("top", polygon(plan_corners(nut, nut.thickness))).moved(dx, dy), cleared(work))
    yield Level(outline, through(work))


def profile_levels(work: Clamped) -> Iterator[Level]:
    """The piece lying on its back, the front face up: outline without slots, zero at the lower left corner."""
    stock = work.stock
    outline = Chain("profile", front_outline(_upright(work.nut))).moved(work.shift[0], -work.nut.lowest_z)
    yield Level(Chain("stock", rectangle(0.0, 0.0, stock.length, stock.height)), 0.0)
    left, _, right, _ = outline.box
    yield from _held(work, stock.height, stock.thickness, outline.box, (left, right))
    yield Level(outline, -stock.thickness - tip_below(work.cutter))


def _upright(nut: Nut) -> Nut:
    """The nut without slots that an upright cut from the front needs: ends that lean, and an arch that runs askew,
    are left to the file."""
    (left, right), under = nut.reach, nut.underside
    straight = under if under.axis_deg == 0.0 else Underside(nut.lowest_z, 0.0)
    return replace(nut, slots=(), left=End(left), right=End(right), underside=straight)


def _held(work: Clamped, across: float, deep: float, part: Box, meets: tuple[float, float]) -> Iterator[Level]:
    """Where clamps may lie, and the tabs between them and the part.

    across, deep : the stock's sizes across the table and down [mm]
    part         : the outline's box on the table [mm]
    meets        : where the tabs have met the part for sure, at the left and at the right [mm]
    """
    left, low, right, high = part
    room = FREE + work.cutter.diameter
    middle, half = (low + high) / 2.0, tab_width(high - low) / 2.0
    for end, outer, met in ((left, 0.0, meets[0]), (right, work.stock.length, meets[1])):
        edge = end + math.copysign(min(room, abs(outer - end)), outer - end)
        if abs(outer - edge) > HAIR:
            yield Level(Chain("clamps", rectangle(min(edge, outer), 0.0, max(edge, outer), across)), 0.0)
        if abs(edge - end) > HAIR:
            tab = rectangle(min(edge, met), middle - half, max(edge, met), middle + half)
            yield Level(Chain("tabs", tab), TAB_HEIGHT - deep)


def tab_width(end: float) -> float:
    """Of a tab on an end as wide as this [mm]."""
    return min(TAB_WIDTH, end / 2.0)


def cleared(work: Clamped) -> float:
    """Height of the part's highest place in the stock's frame: nothing is left above it [mm]."""
    nut = work.nut
    left, _, right, _ = work.around.box
    x = [left, right]
    if nut.crown.curvature:
        x.append(min(max(nut.crown.centre[0], left), right))
    return float(max(nut.top_z(np.array(x), 0.0))) + work.shift[2]


def tip_below(cutter: Cutter) -> float:
    """How far a cutter's tip must be below a place that its side is to cut [mm]."""
    return cutter.radius if cutter.end == "ball" else 0.0


def through(work: Clamped) -> float:
    """Height of the tip of the cutter that goes round, when its side cuts through the stock [mm]."""
    return -work.stock.height - tip_below(work.cutter)


def passes(deep: float, cutter: Cutter) -> int:
    """Passes of a cutter to a depth [mm]."""
    return max(1, math.ceil(deep / (STEP_DOWN * cutter.diameter) - 1e-9))
