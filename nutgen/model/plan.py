"""Slots in plan: what lies on the nut of a strip that may run out of its ends."""

from nutgen.geometry.lines import Point
from nutgen.nut.part import Nut
from nutgen.nut.places import End
from nutgen.nut.slot import Slot


def slot_plan(nut: Nut, slot: Slot, *, start: float) -> list[Point]:
    """A slot's full width in plan from a plane y to the back, as far as it lies on the nut; counterclockwise [mm]."""
    reach, back = slot.half_width_along_x, nut.thickness
    front_x, back_x = float(slot.x_at(start)), float(slot.x_at(back))
    corners = [(front_x - reach, start), (front_x + reach, start), (back_x + reach, back), (back_x - reach, back)]
    return clipped(corners, nut.left, nut.right)


def clipped(corners: list[Point], left: End, right: End) -> list[Point]:
    """The part of a convex polygon, or of a line, between two ends; nothing where it lies beyond."""
    for side, end in ((-1.0, left), (1.0, right)):
        kept: list[Point] = []
        out = [side * (x - end.x - y * end.per_y) for x, y in corners]
        for a, b, out_a, out_b in zip(corners, [*corners[1:], *corners[:1]], out, [*out[1:], *out[:1]], strict=True):
            if out_a <= 0.0:
                kept.append(a)
            if (out_a <= 0.0) != (out_b <= 0.0):
                share = out_a / (out_a - out_b)
                y = a[1] + share * (b[1] - a[1])
                kept.append((end.x + y * end.per_y, y))
        corners = kept
    return corners
