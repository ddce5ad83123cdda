"""The three views of a nut, line by line; what stands on which layer is told in `drawing`."""

import math
from collections.abc import Callable, Iterator

from nutgen.geometry.fit import Curve, fitted
from nutgen.geometry.lines import HAIR, Arc, Chain, Line, Part, Point, polygon, rectangle
from nutgen.model.front import along_board, fret_plane, front_outline, slotted_top, top_of_section
from nutgen.model.section import ProfilePart, corner, profile
from nutgen.model.shelf import end_contour, end_edges, joined_lines, plan_corners, shelf_edges
from nutgen.nut.edges import eased_radius
from nutgen.nut.part import Nut
from nutgen.nut.places import End
from nutgen.nut.setback import set_back
from nutgen.nut.slot import Slot

TICK = 0.8
"""How far the mark of a floor stands out beside its slot, and a centre line beyond the nut [mm]."""


def front_view(nut: Nut) -> Iterator[Chain]:
    """Across x and up z, seen from the bridge."""
    left, right = _blank_reach(nut)
    yield Chain("front-outline", front_outline(nut))
    yield Chain("front-blank", rectangle(left, nut.lowest_z, right, nut.lowest_z + nut.blank.height))
    if nut.tops is None:
        yield Chain("fret-plane", fret_plane(nut))
    yield Chain("board-surface", along_board(nut, 0.0))
    yield Chain("front-hidden", top_of_section(nut, *profile(nut, edge_radius=eased_radius(nut))[-1].stop))
    yield from _leaning_ends(nut, profile(nut, edge_radius=eased_radius(nut))[-1].stop[1])
    for edges in shelf_edges(nut, slotted_top(nut)):
        yield Chain("front-shelves", edges)
    top = nut.lowest_z + nut.height
    for slot in nut.slots:
        x, floor = slot.x, slot.floor_z
        reach = slot.half_width_along_x + TICK
        yield Chain("slot-centres", (Line((x, nut.lowest_z - TICK), (x, top + TICK)),))
        yield Chain("slot-floors", (Line((max(x - reach, left), floor), (min(x + reach, right), floor)),))


def top_view(nut: Nut) -> Iterator[Chain]:
    """Across x and up y, seen from above, the headstock at the top."""
    back, front, (left, right) = nut.thickness, nut.foremost, _blank_reach(nut)
    yield Chain("top-outline", polygon(plan_corners(nut, back)))
    yield Chain("top-blank", rectangle(left, front, right, front + nut.blank.thickness))
    for piece in profile(nut, edge_radius=eased_radius(nut))[1:]:
        if piece.centre is None:
            y = piece.start[0]
            yield Chain("top-edges", (Line((nut.end_x(-1, y), y), (nut.end_x(1, y), y)),))
    for slot in nut.slots:
        corners = slot_plan(nut, slot, start=_start(slot))
        if corners:
            yield Chain("top-slots", polygon(corners))
        ends = [(float(slot.x_at(y)), y) for y in (_start(slot) - TICK, back + TICK)]
        centre = clipped(ends, End(left), End(right))
        if centre:
            yield Chain("top-centres", (Line(centre[0], centre[1]),))


def end_view(nut: Nut) -> Iterator[Chain]:
    """Across y and up z, seen from the +x end: the front face to the left."""
    back, front = nut.thickness, nut.foremost
    low, high = nut.lowest_z, nut.lowest_z + nut.blank.height
    yield Chain("end-outline", _silhouette(nut))
    yield Chain("end-blank", rectangle(front, low, front + nut.blank.thickness, high))
    for edge in end_edges(nut, top_of_section(nut)):
        yield Chain("end-edges", (edge,))
    if eased_radius(nut):
        yield Chain("end-edges", _roof(nut, _foot_of_corner(nut, 1)))
    if nut.underside.curvature:
        yield Chain("end-hidden", (Line((0.0, nut.underside.z0), (back, nut.underside.z0)),))
    for slot in nut.slots:
        yield Chain("end-floors", _floor(slot, back))


def _leaning_ends(nut: Nut, inset: float) -> Iterator[Chain]:
    """The upright edges of the back face that stand beyond the front face, or behind it, where ends lean."""
    back, top = nut.thickness, top_of_section(nut, nut.thickness, inset)
    for side, high in ((-1, top[0].start), (1, top[-1].end)):
        x = nut.end_x(side, back)
        if abs(x - nut.end_x(side)) > HAIR:
            beyond = side * (x - nut.end_x(side)) > 0.0
            edge = Line((x, float(nut.underside.z(x, back))), (x, high[1]))
            yield Chain("front-ends" if beyond else "front-hidden", (edge,))


def _blank_reach(nut: Nut) -> tuple[float, float]:
    """The blank's ends: the same is sawn off on either side [mm]."""
    left, right = nut.reach
    over = (nut.blank.length - nut.extent) / 2.0
    return left - over, right + over


Height = Callable[[float, float], tuple[float, float, float]]
"""A section's y and how far its top lies inside the crown give a height on it [mm], and its change with the one and
with the other."""


def _silhouette(nut: Nut) -> tuple[Part, ...]:
    """Outline of the end view: front face and shelves, land, bevel, eased back edge, back face, underside."""
    roof = _roof(nut, _highest(nut))
    front, back = (0.0, nut.lowest_at(0.0)), (nut.thickness, nut.lowest_at(nut.thickness))
    face = joined_lines(end_contour(nut, top_of_section(nut), front[1], roof[0].start[1]))
    return *face, *roof, Line(roof[-1].end, back), Line(back, front)


def _highest(nut: Nut) -> Height:
    """Where a section is highest: on the crown, or on an eased corner where the crown is tilted so far."""
    parts = top_of_section(nut)
    left, right = (parts[0].end, parts[-1].start) if len(parts) > 1 else (parts[0].start, parts[0].end)
    if nut.crown.curvature and left[0] <= nut.crown.centre[0] <= right[0]:
        crest = nut.crown.centre[1] + nut.top_radius
        return lambda _y, inset: (crest - inset, 0.0, -1.0)
    foot, radius = _foot_of_corner(nut, 1 if right[1] >= left[1] else -1), eased_radius(nut)

    def height(y: float, inset: float) -> tuple[float, float, float]:
        z, *changes = foot(y, inset)
        return z + radius, changes[0], changes[1]

    return height


def _foot_of_corner(nut: Nut, side: int) -> Height:
    """Where the top, eased or sharp, meets an end."""
    radius, lean, slope = eased_radius(nut), nut.end(side).per_y, math.radians(nut.crown.slope_deg)

    def height(y: float, inset: float) -> tuple[float, float, float]:
        z = float(corner(nut, y, inset, side=float(side), edge_radius=radius).end[0, 1])
        if nut.crown.curvature == 0.0:
            return z, lean * math.tan(slope), -1.0 / math.cos(slope)
        across, up = nut.end_x(side, y) - side * radius - nut.crown.centre[0], z - nut.crown.centre[1]
        return z, -lean * across / up, -(nut.top_radius - inset - radius) / up

    return height


def _roof(nut: Nut, height: Height) -> tuple[Part, ...]:
    """A line along the top from the front face to the back, seen from the end."""
    parts: list[Part] = []
    for piece in profile(nut, edge_radius=eased_radius(nut)):
        if piece.centre is not None and height(0.0, 0.0)[1:] == (0.0, -1.0):
            start, stop, centre = ((y, height(y, inset)[0]) for y, inset in (piece.start, piece.stop, piece.centre))
            parts.append(Arc(start, stop, centre, -1))
        else:
            parts += fitted(_seen(piece, height), 0.0, 1.0)
    return tuple(parts)


def _seen(piece: ProfilePart, height: Height) -> Curve:
    """A stretch of the profile as a curve in the end view, from 0 at its start to 1."""

    def curve(share: float) -> tuple[Point, Point]:
        y, inset = (float(value) for value in piece.at(share))
        z, with_y, with_inset = height(y, inset)
        dy, deeper = piece.stop[0] - piece.start[0], piece.stop[1] - piece.start[1]
        if piece.centre is not None:
            dy, deeper = piece.centre[1] - inset, y - piece.centre[0]
        return (y, z), (dy, with_y * dy + with_inset * deeper)

    return curve


def _floor(slot: Slot, back: float) -> tuple[Part, ...]:
    """A slot's bottom line, seen from the end."""
    start = _start(slot)
    if not slot.rolled:
        return (Line((start, float(slot.floor_at(start))), (back, float(slot.floor_at(back)))),)
    run = 1.0 / math.cos(math.radians(slot.fan_deg))

    def point(y: float) -> tuple[Point, Point]:
        return (y, float(slot.floor_at(y))), (1.0, -run * math.tan(math.radians(slot.tilt_at(y))))

    return fitted(point, start, back)


def _start(slot: Slot) -> float:
    """Where the slot begins on the nut: at the front face, or at the front of its shelf."""
    return slot.start_y if set_back(slot) else 0.0


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
