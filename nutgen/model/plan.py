"""Slots in plan: what lies on the nut of a strip that may run out of its ends."""

from nutgen.geometry.lines import Point
from nutgen.nut.part import Nut, Slot


def slot_plan(nut: Nut, slot: Slot, *, start: float) -> list[Point]:
    """A slot's full width in plan from a plane y to the back, as far as it lies on the nut; counterclockwise [mm]."""
    reach, back = slot.half_width_along_x, nut.thickness
    front_x, back_x = float(slot.x_at(start)), float(slot.x_at(back))
    corners = [(front_x - reach, start), (front_x + reach, start), (back_x + reach, back), (back_x - reach, back)]
    return clipped(corners, nut.half_length)


def clipped(corners: list[Point], limit: float) -> list[Point]:
    """The part of a convex polygon, or of a line, with |x| <= limit; nothing where it lies beyond."""
    for side in (-1.0, 1.0):
        kept: list[Point] = []
        for a, b in zip(corners, [*corners[1:], *corners[:1]], strict=True):
            inside_a, inside_b = side * a[0] <= limit, side * b[0] <= limit
            if inside_a:
                kept.append(a)
            if inside_a != inside_b:
                share = (side * limit - a[0]) / (b[0] - a[0])
                kept.append((side * limit, a[1] + share * (b[1] - a[1])))
        corners = kept
    return corners
