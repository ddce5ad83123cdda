"""The front face worked out another way: space geometry for the slots, fine polygons for the body."""

import math
from pathlib import Path

import numpy as np
from scipy.optimize import brentq
from shapely import LineString, Point, Polygon

from nutgen.geometry.lines import Arc, Line, Part
from nutgen.nut.edges import eased_radius
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot

PRESETS = sorted((Path(__file__).parents[2] / "presets").glob("*.toml"))


def dense(parts: tuple[Part, ...], *, sagitta: float = 2e-6) -> np.ndarray:
    """Points along a chain, arcs cut into chords; worked out from centre and angles, not by the drawing's helpers."""
    points = [parts[0].start]
    for part in parts:
        if isinstance(part, Arc):
            (cx, cy), radius = part.centre, math.dist(part.centre, part.start)
            first = math.atan2(part.start[1] - cy, part.start[0] - cx)
            last = math.atan2(part.end[1] - cy, part.end[0] - cx)
            turn = (last - first) % math.tau if part.turning > 0 else -((first - last) % math.tau)
            count = max(8, math.ceil(abs(turn) / math.sqrt(8.0 * sagitta / radius)))
            for share in np.arange(1, count) / count:
                angle = first + turn * share
                points.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
        points.append(part.end)
    return np.array(points)


def heading(part: Part, *, at_end: bool) -> tuple[float, float]:
    """Unit vector along a part at one of its ends."""
    if isinstance(part, Line):
        return (part.end[0] - part.start[0]) / part.length, (part.end[1] - part.start[1]) / part.length
    x, y = part.end if at_end else part.start
    out = (x - part.centre[0]) / part.radius, (y - part.centre[1]) / part.radius
    return -part.turning * out[1], part.turning * out[0]


def brute_trace(one: Slot, turns: np.ndarray) -> np.ndarray:
    """Where lines on the slot's round floor pierce the plane of its start, found in space, shape (n, 2)."""
    tilt, fan, r = math.radians(one.tilt_deg), math.radians(one.fan_deg), one.width / 2.0
    along, side = np.array([math.sin(fan), math.cos(fan), 0.0]), np.array([math.cos(fan), -math.sin(fan), 0.0])
    up, start = np.array([0.0, 0.0, 1.0]), np.array([one.x, one.start_y, one.floor_z])
    points = []
    for turn in turns:
        offset = math.sin(turn) * side
        if not one.rolled:
            normal = math.sin(tilt) * along + math.cos(tilt) * up
            line = math.cos(tilt) * along - math.sin(tilt) * up
            on = start + r * normal + r * (offset - math.cos(turn) * normal)
            points.append(on - line * (on[1] - one.start_y) / line[1])
            continue
        centre = start - one.roll_radius * (math.sin(tilt) * along + math.cos(tilt) * up)

        reach = one.roll_radius + r * (1.0 - math.cos(turn))

        def on_torus(angle: float, centre=centre, reach=reach, offset=offset) -> np.ndarray:
            normal = math.sin(angle) * along + math.cos(angle) * up
            return centre + reach * normal + r * offset

        points.append(on_torus(brentq(lambda angle, on=on_torus: on(angle)[1] - one.start_y, -1.2, 1.2, xtol=1e-15)))
    return np.array(points)[:, [0, 2]]


def body(one: Nut) -> Polygon:
    """The front face before slots; its upper corners are cut off outside discs that a search finds."""
    radius = eased_radius(one)
    x = np.linspace(one.left.x, one.right.x, 4001)
    top, bottom = np.column_stack([x, one.crown.z(x)]), np.column_stack([x, one.underside.z(x)])
    face, crown = Polygon([*bottom, *reversed(top)]), LineString(top)
    for side in (-1.0, 1.0) if radius else ():
        across = one.end_x(side) - side * radius

        def room(up: float, across: float = across) -> float:
            return crown.distance(Point(across, up)) - radius

        above = float(one.crown.z(across))
        centre = np.array([across, brentq(room, above - 3.0 * radius, above, xtol=1e-12)])
        touch = np.array(crown.interpolate(crown.project(Point(centre))).coords[0])
        aside, up = np.array([side * 9.0, 0.0]), np.array([0.0, 9.0])
        wedge = Polygon([centre, centre + aside, centre + aside + up, centre + (touch - centre) * 9.0 / radius])
        face = face.difference(wedge.difference(Point(centre).buffer(radius, quad_segs=400)))
    return face


def gap(one: Slot) -> Polygon:
    """What a slot takes out of the plane where its string starts."""
    floor = brute_trace(one, np.linspace(-math.pi / 2.0, math.pi / 2.0, 361))
    return Polygon([*floor, (floor[-1, 0], 60.0), (floor[0, 0], 60.0)])
