"""The nut on the router: how it lies in its stock, and the lines that an operator cuts along.

The stock stands on its underside, clamped front and back, and is cut from above:

      y ^   .----------------------.        x along the nut, y from the bridge toward the headstock,
        |   |   ==== the nut ====  |        z up; zero is the stock's left corner on the bridge side,
        |   |______________________|        on its top, so that every depth is negative
        zero ------------------------> x

For its outline alone the same piece may lie on its back: that is `profile_chains`.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import of_key, refusal
from nutgen.geometry.lines import Chain, polygon, rectangle
from nutgen.model.front import front_outline
from nutgen.model.mill.dogbones import inside_corners, relieved
from nutgen.model.plan import slot_plan
from nutgen.model.shelf import plan_corners
from nutgen.nut.part import Blank, Nut, Slot
from nutgen.nut.shelf import front_of
from nutgen.spec.forming import Mill

Point3 = tuple[float, float, float]

CHORD = 0.001
"""Greatest distance between a rolled floor and the straight lines that stand for it [mm]."""

HAIR = 1e-6  # mm; stock smaller than the part by less is as large as the part


OPERATIONS = {
    "stock": "the piece as it is clamped; its left front corner is zero",
    "outline": "cut outside, down through the stock",
    "land": "clear to the top over the land; the surface is in the STEP file",
    "bevel": "clear to the top over the bevel; the surface is in the STEP file",
    "slot-outline": "a slot from wall to wall, at the height of its floor at the front",
    "slot-centre": "along the floor of a slot; z is that of the floor at either end",
    "profile": "lying on its back: cut outside, down through the stock",
}
"""Every layer there is, in both files for the router: what is cut along its lines."""


@dataclass(frozen=True, slots=True)
class Level:
    """A contour that lies level, at a height [mm]."""

    chain: Chain
    z: float


@dataclass(frozen=True, slots=True)
class Along:
    """A line in space, point by point."""

    layer: str
    points: tuple[Point3, ...]


@dataclass(frozen=True, slots=True)
class Clamped:
    """A part in its stock.

    nut   : as it is to be milled, its allowances on
    stock : sizes of the piece [mm]
    shift : from the nut's frame to the stock's corner [mm]
    """

    nut: Nut
    stock: Blank
    shift: Point3


def clamped(nut: Nut, mill: Mill) -> Clamped:
    """Lay a nut into its stock: in the middle of its length and thickness, on its underside.

    nut    : final; its allowances are put on here
    raises : CannotBeMade with every reason: stock smaller than the part, a cutter larger than it
    """
    part = nut.rough()
    front = front_of(part)
    needs = {"length": part.extent, "thickness": part.thickness - front, "height": part.height}
    stock = Blank(
        length=mill.stock_length or max(nut.blank.length, needs["length"]),
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
    shift = (
        (stock.length - needs["length"]) / 2.0 - part.reach[0],
        (stock.thickness - needs["thickness"]) / 2.0 - front,
        -stock.height - part.lowest_z,
    )
    return Clamped(part, stock, shift)


def plan_chains(work: Clamped, mill: Mill) -> Iterator[Level]:
    """The level contours: outer ones counterclockwise, slots clockwise."""
    nut, stock = work.nut, work.stock
    dx, dy, dz = work.shift
    back = nut.thickness
    yield Level(Chain("stock", rectangle(0.0, 0.0, stock.length, stock.thickness)), 0.0)
    yield Level(_outline(nut, mill).moved(dx, dy), -stock.height)
    land = min(nut.land, back)
    yield Level(Chain("land", polygon(plan_corners(nut, land))).moved(dx, dy), _highest(nut, 0.0) + dz)
    if land < back:
        (x0, x1), (x3, x2) = nut.reach_of(land), nut.reach_of(back)
        corners = [(x0, land), (x1, land), (x2, back), (x3, back)]
        yield Level(Chain("bevel", polygon(corners)).moved(dx, dy), _highest(nut, land) + dz)
    for slot in nut.slots:
        corners = slot_plan(nut, slot, start=slot.start_y)
        if len(corners) > 2:
            yield Level(Chain("slot-outline", polygon(corners[::-1])).moved(dx, dy), slot.floor_z + dz)


def _outline(nut: Nut, mill: Mill) -> Chain:
    """The nut from above; where it is asked for, its inside corners cut out by the largest cutter that may."""
    outline = Chain("outline", polygon(plan_corners(nut, nut.thickness)))
    corners = inside_corners(outline)
    if not mill.dogbones or not corners:
        return outline
    for radius in sorted({cutter.radius for cutter in mill.cutters}, reverse=True):
        cut = relieved(outline, radius=radius)
        if len(cut.parts) == len(outline.parts) + len(corners):
            return cut
    return outline


def slot_lines(work: Clamped) -> Iterator[Along]:
    """The floor of every slot from its start to the back face, as lines in space."""
    dx, dy, dz = work.shift
    for slot in work.nut.slots:
        y = np.array(_stations(slot, work.nut.thickness))
        points = zip(slot.x_at(y) + dx, y + dy, slot.floor_at(y) + dz, strict=True)
        yield Along("slot-centre", tuple((float(px), float(py), float(pz)) for px, py, pz in points))


def profile_chains(work: Clamped) -> Iterator[Level]:
    """The piece lying on its back, the front face up: outline without slots, zero at the lower left corner."""
    nut, stock = work.nut, work.stock
    yield Level(Chain("stock", rectangle(0.0, 0.0, stock.length, stock.height)), 0.0)
    outline = Chain("profile", front_outline(replace(nut, slots=())))
    yield Level(outline.moved(work.shift[0], -nut.lowest_z), -stock.thickness)


def _stations(slot: Slot, back: float) -> list[float]:
    """Where the straight lines along a floor end, from its start to a plane y [mm].

    A chord c on a radius R stands off by c^2 / (8 R); equal turns make equal chords.
    """
    if not slot.rolled:
        return [slot.start_y, back]
    first, last = math.radians(slot.tilt_deg), math.radians(slot.tilt_at(back))
    count = max(1, math.ceil((last - first) * math.sqrt(slot.roll_radius / (8.0 * CHORD))))
    reach = slot.roll_radius * math.cos(math.radians(slot.fan_deg))
    turns = [first + (last - first) * i / count for i in range(count)]
    return [slot.start_y + reach * (math.sin(turn) - math.sin(first)) for turn in turns] + [back]


def _highest(nut: Nut, y: float) -> float:
    """Greatest height of the top over a plane y [mm]."""
    x = [*nut.reach_of(y)]
    if nut.crown.curvature:
        x.append(min(max(nut.crown.centre[0], x[0]), x[1]))
    return float(max(nut.top_z(np.array(x), y)))
