"""The three views of a nut, line by line; what stands on which layer is told in `layers`."""

import math
from collections.abc import Iterator
from itertools import pairwise

from nutgen.model.fit import fitted
from nutgen.model.front import along_board, corner, crown_part, fret_plane, front_outline
from nutgen.model.lines import HAIR, Arc, Chain, Line, Part, Point, polygon, rectangle
from nutgen.nut.part import Nut, Slot

TICK = 0.8
"""How far the mark of a floor stands out beside its slot, and a centre line beyond the nut [mm]."""


def front_view(nut: Nut) -> Iterator[Chain]:
    """Across x and up z, seen from the bridge."""
    blank, half = nut.blank, nut.blank.length / 2.0
    yield Chain("front-outline", front_outline(nut))
    yield Chain("front-blank", rectangle(-half, nut.lowest_z, half, nut.lowest_z + blank.height))
    yield Chain("fret-plane", fret_plane(nut))
    yield Chain("board-surface", along_board(nut, 0.0))
    yield Chain("front-hidden", (_back_edge(nut),))
    top = nut.lowest_z + nut.height
    for slot in nut.slots:
        x, floor = float(slot.x_at(0.0)), float(slot.floor_at(0.0))
        reach = slot.half_width_along_x + TICK
        yield Chain("slot-centres", (Line((x, nut.lowest_z - TICK), (x, top + TICK)),))
        yield Chain("slot-floors", (Line((x - reach, floor), (x + reach, floor)),))


def top_view(nut: Nut) -> Iterator[Chain]:
    """Across x and up y, seen from above, the headstock at the top."""
    half, back = nut.half_length, nut.thickness
    yield Chain("top-outline", rectangle(-half, 0.0, half, back))
    yield Chain("top-blank", rectangle(-nut.blank.length / 2.0, 0.0, nut.blank.length / 2.0, nut.blank.thickness))
    if nut.land < back:
        yield Chain("top-edges", (Line((-half, nut.land), (half, nut.land)),))
    for slot in nut.slots:
        corners = _slot_plan(nut, slot)
        if corners:
            yield Chain("top-slots", polygon(corners))
        ends = [(float(slot.x_at(y)), y) for y in (-TICK, back + TICK)]
        yield Chain("top-centres", (Line(ends[0], ends[1]),))


def end_view(nut: Nut) -> Iterator[Chain]:
    """Across y and up z, seen from the +x end: the front face to the left."""
    yield Chain("end-outline", _silhouette(nut))
    yield Chain("end-blank", rectangle(0.0, nut.lowest_z, nut.blank.thickness, nut.lowest_z + nut.blank.height))
    if nut.edge_radius > 0.0:
        yield Chain("end-edges", _eased_end_edge(nut))
    for slot in nut.slots:
        yield Chain("end-floors", _floor(slot, nut.thickness))


def fall_at(nut: Nut, y: float) -> float:
    """Fall of the top behind the land, square to the crown, before its back edge is eased [mm]."""
    return max(0.0, y - nut.land) * math.tan(math.radians(nut.bevel_deg))


def _top_z(nut: Nut, x: float, fall: float) -> float:
    """The top, or a surface at an even fall inside it, above or below x."""
    if nut.crown.curvature == 0.0:
        return float(nut.crown.z(x)) - fall / math.cos(math.radians(nut.crown.slope_deg))
    xc, zc = nut.crown.centre
    return zc + math.sqrt((nut.top_radius - fall) ** 2 - (x - xc) ** 2)


def _inset(nut: Nut, y: float) -> float:
    """Fall of a ball of the edge radius that touches the top at a plane y from inside, to its centre."""
    r, bevel = nut.edge_radius, math.radians(nut.bevel_deg)
    return max(r, (y - nut.land) * math.tan(bevel) + r / math.cos(bevel))


def _back_edge(nut: Nut) -> Part:
    """Where the eased top meets the back face."""
    inner = nut.half_length - nut.edge_radius
    fall = _inset(nut, nut.thickness - nut.edge_radius)
    ends = [(x, _top_z(nut, x, fall)) for x in (-inner, inner)]
    return crown_part(nut, ends[0], ends[1])


def _eased_end_edge(nut: Nut) -> tuple[Part, ...]:
    """Where the eased top meets the end face on the +x side."""
    x, r = nut.half_length - nut.edge_radius, nut.edge_radius
    back = nut.thickness - r
    turn = min(back, nut.land - r * math.tan(math.radians(nut.bevel_deg) / 2.0))
    places = [0.0, turn, back] if 0.0 < turn < back else [0.0, back]
    points = [(y, _top_z(nut, x, _inset(nut, y))) for y in places]
    return tuple(Line(a, b) for a, b in pairwise(points))


def _highest(nut: Nut) -> tuple[float, float]:
    """Where the front face is highest: x, and what the eased corner takes off the unbroken top there."""
    limit = nut.half_length - nut.edge_radius
    apex = nut.crown.centre[0] if nut.crown.curvature else math.copysign(math.inf, nut.crown.slope_deg)
    if abs(apex) <= limit:
        return apex, 0.0
    x = math.copysign(limit, apex)
    if nut.crown.slope_deg == 0.0 or nut.edge_radius == 0.0:
        return x, 0.0
    crest = corner(nut, int(math.copysign(1, apex))).centre[1] + nut.edge_radius
    return x, float(nut.crown.z(x)) - crest


def _silhouette(nut: Nut) -> tuple[Part, ...]:
    """Outline of the end view: front face, land, bevel, eased back edge, back face, underside.

    Exact where the crown is highest between the ends; where it is highest at an end, the
    bevel is within 0.001 mm.
    """
    x, lower = _highest(nut)
    crest, rim = (_top_z(nut, x, fall_at(nut, y)) - lower for y in (0.0, nut.thickness))
    front, back = (0.0, nut.lowest_z), (nut.thickness, nut.lowest_z)
    roof = [(0.0, crest), (nut.land, crest), (nut.thickness, rim)] if nut.land < nut.thickness else [(0.0, crest)]
    if nut.land >= nut.thickness:
        roof.append((nut.thickness, crest))
    eased = _eased_back(roof, nut.edge_radius)
    path = [Line(a, b) for a, b in zip([front, *roof[:-1]], roof[:-1], strict=False)]
    chain: list[Part] = (
        [*path, Line(roof[-2], eased.start), eased, Line(eased.end, back)]
        if eased
        else [*path, Line(roof[-2], roof[-1]), Line(roof[-1], back)]
    )
    return tuple(part for part in [*chain, Line(back, front)] if part.length > HAIR)


def _eased_back(roof: list[Point], r: float) -> Arc | None:
    """An arc of radius r, tangent to the roof and to the back face; it may take the bevel whole."""
    if r == 0.0:
        return None
    (y0, z0), (y1, z1) = roof[-2], roof[-1]
    slope = math.atan2(z0 - z1, y1 - y0)
    y = y1 - r
    on_bevel = z0 - (y - y0) * math.tan(slope) - r / math.cos(slope)
    on_land = roof[0][1] - r
    if on_land < on_bevel:
        return Arc((y, on_land + r), (y1, on_land), (y, on_land), -1)
    start = y + r * math.sin(slope), on_bevel + r * math.cos(slope)
    return Arc(start, (y1, on_bevel), (y, on_bevel), -1)


def _slot_plan(nut: Nut, slot: Slot) -> list[Point]:
    """A slot's full width in plan, wall to wall, as far as it lies on the nut."""
    reach, half = slot.half_width_along_x, nut.half_length
    rows = [(float(slot.x_at(y)), y) for y in (0.0, nut.thickness)]
    corners = [(rows[0][0] - reach, 0.0), (rows[0][0] + reach, 0.0)]
    corners += [(rows[1][0] + reach, nut.thickness), (rows[1][0] - reach, nut.thickness)]
    return _clipped(_clipped(corners, half, 1), half, -1)


def _clipped(corners: list[Point], limit: float, side: int) -> list[Point]:
    """The part of a convex polygon with side * x <= limit."""
    kept: list[Point] = []
    for a, b in zip(corners, [*corners[1:], *corners[:1]], strict=True):
        inside_a, inside_b = side * a[0] <= limit, side * b[0] <= limit
        if inside_a:
            kept.append(a)
        if inside_a != inside_b:
            share = (side * limit - a[0]) / (b[0] - a[0])
            kept.append((side * limit, a[1] + share * (b[1] - a[1])))
    return kept


def _floor(slot: Slot, back: float) -> tuple[Part, ...]:
    """A slot's bottom line, seen from the end."""
    if not slot.rolled:
        return (Line((0.0, float(slot.floor_at(0.0))), (back, float(slot.floor_at(back)))),)
    run = 1.0 / math.cos(math.radians(slot.fan_deg))

    def point(y: float) -> tuple[Point, Point]:
        return (y, float(slot.floor_at(y))), (1.0, -run * math.tan(math.radians(slot.tilt_at(y))))

    return fitted(point, 0.0, back)
