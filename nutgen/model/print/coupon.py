"""The fit coupon: a bar that a printer prints beside the nut, so that its errors are read and not guessed.

     _   _   _   _   _   _   _
    | |_| |_| |_| |_| |_| |_| |________    slots for one string, each a step wider than the one before,
    |                            :  :  |   then a stair for the seat, a layer to each tread, thinnest last
    |/|_| |_|_| ... |_|  ... |_|_:__:__|   notches count the steps from the nominal, which has none:
                                           a shallow notch is one, a deep one is five

The cut corner is at the end of the narrow slots. The bar lies on the bed as the nut does: slots
upright, their width in the plane of the layers; the seat's thickness in layers.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.geometry import kernel
from nutgen.geometry.kernel import Edge, SharedEdges, Solid, making
from nutgen.model.block import block
from nutgen.model.print.printing import LEAST_VOID, whole_layers
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.forming import COUPON_MOST, COUPON_MOST_LAYERS, Print, side_from_coupon
from nutgen.theory import Array

Point = tuple[float, float]

FIVE = 5
"""Steps that a deep notch stands for."""

_WALL_LINES = 3.0  # lines between two slots
_NOTCH_NOZZLES, _BETWEEN_LINES = 1.75, 2.0
_SHALLOW, _DEEP = 0.8, 1.8  # mm
_BODY = 3.0  # mm of bar between slots and notches
_TREAD = 6.0  # mm along the bar


@dataclass(frozen=True, slots=True)
class Coupon:
    """What is on the bar.

    slot        : the nut's, whose string is tried
    step        : from one slot to the next [mm]
    widths      : step number -> width as drawn [mm]
    treads      : step number -> height as drawn, whole layers [mm]
    centres     : step number -> where the slot stands along the bar [mm]
    length, depth : of the bar [mm]
    height      : of the bar under the slots: the seat's thickness in whole layers [mm]
    """

    slot: Slot
    step: float
    widths: dict[int, float]
    treads: dict[int, float]
    centres: dict[int, float]
    length: float
    depth: float
    height: float

    @property
    def tries(self) -> tuple["Try", ...]:
        """Every slot, from the narrowest."""
        return tuple(
            Try(number, width, side_from_coupon(number, self.step)) for number, width in sorted(self.widths.items())
        )


@dataclass(frozen=True, slots=True)
class Try:
    """One slot of the bar.

    step     : counted from the nominal one
    width    : as drawn [mm]
    per_side : what is then added to every side of the nut, where the string enters this slot first [mm]
    """

    step: int
    width: float
    per_side: float


def coupon_of(nut: Nut, table: Print, *, number: int | None = None) -> Coupon:
    """Plan the coupon for one string of a nut.

    number : of the string that is tried, 1 = treble-most; the thickest where not given
    raises : CannotBeMade where there is no such string, or where its slots are too narrow to print
    """
    slot = _slot(nut, number)
    step = table.coupon_step
    widths = {k: slot.gauge + k * step for k in range(-COUPON_MOST, COUPON_MOST + 1)}
    least = LEAST_VOID * table.nozzle
    if widths[-COUPON_MOST] < least:
        about = slot.who
        raise CannotBeMade(
            [refusal("coupon.too-thin", about, width=widths[-COUPON_MOST], nozzle=table.nozzle, least=least)]
        )
    pitch = max(widths[COUPON_MOST] + _WALL_LINES * table.line, _notch_room(table))
    centres = {k: (k + COUPON_MOST + 0.5) * pitch for k in widths}
    layer, count = table.layer_height, whole_layers(nut.rough().thickness, table.layer_height)
    treads = {j: (count + j) * layer for j in range(-COUPON_MOST_LAYERS, COUPON_MOST_LAYERS + 1) if count + j > 0}
    bar = len(widths) * pitch
    return Coupon(
        slot=slot,
        step=step,
        widths=widths,
        treads=treads,
        centres=centres,
        length=bar + len(treads) * _TREAD,
        depth=_slot_depth(slot) + _BODY + _DEEP,
        height=count * layer,
    )


def _slot(nut: Nut, number: int | None) -> Slot:
    if number is None:
        return max(nut.slots, key=lambda slot: slot.gauge)
    for slot in nut.slots:
        if slot.number == number:
            return slot
    raise CannotBeMade([refusal("coupon.no-such-string", number=number, count=len(nut.slots))])


def _slot_depth(slot: Slot) -> float:
    return max(2.0, 1.5 * slot.gauge)


def _notch(table: Print) -> tuple[float, float]:
    """Width of a notch, and from one to the next [mm]."""
    wide = _NOTCH_NOZZLES * table.nozzle
    return wide, wide + _BETWEEN_LINES * table.line


def notch_depths(step: int) -> list[float]:
    """The notches that count a step: deep ones for five, shallow ones for one [mm]."""
    fives, ones = divmod(abs(step), FIVE)
    return [_DEEP] * fives + [_SHALLOW] * ones


def _notch_room(table: Print) -> float:
    most = max(len(notch_depths(step)) for step in range(COUPON_MOST + 1))
    return most * _notch(table)[1] + 2.0 * table.line


def coupon_solid(coupon: Coupon, table: Print) -> Solid:
    """The bar, lying as it is printed: x along it, y toward the open ends of the slots, z up from the bed."""
    top = max(coupon.height, *coupon.treads.values())
    with making("the fit coupon"):
        body = kernel.prism(_outline(coupon, table), (0.0, 0.0, top))
        left = kernel.cut(body, list(_above(coupon, top)))
    return left[0]


def _above(coupon: Coupon, top: float) -> list[Solid]:
    """What is taken off above the bar and above each tread."""
    end = coupon.length - len(coupon.treads) * _TREAD
    spans = [(-1.0, end, coupon.height)]
    for index, step in enumerate(sorted(coupon.treads, reverse=True)):
        start = end + index * _TREAD
        stop = start + _TREAD + (1.0 if index == len(coupon.treads) - 1 else 0.0)
        spans.append((start, stop, coupon.treads[step]))
    return [block((start, -1.0, low), (stop, coupon.depth + 1.0, top + 1.0)) for start, stop, low in spans if low < top]


def _outline(coupon: Coupon, table: Print) -> object:
    """The bar from above, counterclockwise: notches along the lower side, slots along the upper."""
    edges, long, deep = SharedEdges(), coupon.length, coupon.depth
    corners = [(_DEEP, 0.0), *_notches(coupon, table), (long, 0.0), (long, deep)]
    rounds: dict[Point, tuple[float, float]] = {}  # where a slot's floor begins: its middle and radius
    for step in sorted(coupon.widths, reverse=True):
        x, r = coupon.centres[step], coupon.widths[step] / 2.0
        floor = deep - _slot_depth(coupon.slot) + r
        corners += [(x + r, deep), (x + r, floor), (x - r, floor), (x - r, deep)]
        rounds[x + r, floor] = x, r
    corners += [(0.0, deep), (0.0, _DEEP), (_DEEP, 0.0)]
    chain: list[Edge] = []
    for a, b in pairwise(corners):
        if a in rounds:
            x, r = rounds[a]
            chain.append(edges.arc(_flat(a), _flat(b), centre=(x, a[1], 0.0), axis=(0.0, 0.0, -1.0), radius=r))
        else:
            chain.append(edges.line(_flat(a), _flat(b)))
    return kernel.face(kernel.plane((0.0, 0.0, 0.0), (0.0, 0.0, 1.0)), chain)


def _flat(point: Point) -> Array:
    return np.array([point[0], point[1], 0.0])


def _notches(coupon: Coupon, table: Print) -> list[Point]:
    """The lower side from left to right, with every notch in it."""
    wide, apart = _notch(table)
    end = coupon.length - len(coupon.treads) * _TREAD
    places = [(coupon.centres[step], step) for step in sorted(coupon.widths)]
    treads = sorted(coupon.treads, reverse=True)
    places += [(end + (index + 0.5) * _TREAD, step) for index, step in enumerate(treads)]
    points: list[Point] = []
    for centre, step in places:
        depths = notch_depths(step)
        first = centre - (len(depths) - 1) * apart / 2.0
        for index, deep in enumerate(depths):
            left = first + index * apart - wide / 2.0
            points += [(left, 0.0), (left, deep), (left + wide, deep), (left + wide, 0.0)]
    return points
