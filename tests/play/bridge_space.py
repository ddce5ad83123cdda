"""A set-up in space, by points and lines alone: crowns on a circle over a round board, strings as straight lines.

It shares no formula with the package: circles are solved for, heights found by bisection, arcs fitted by scipy.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq, least_squares

from nutgen.nut import Nut
from nutgen.spec.tables import Spec


@dataclass(frozen=True)
class Side:
    """One string's plane: along it from the face (u), and up from the line over its crowns 1 and last (z)."""

    scale: float
    last: int
    relief: float

    def fret(self, number: int) -> float:
        return self.scale - self.scale * 0.5 ** (number / 12.0)

    def crown(self, u: float) -> float:
        """On the circle through crown 1, the last crown and the dip half way, solved for by its centre's height."""
        first, last = self.fret(1), self.fret(self.last)
        middle = (first + last) / 2.0
        if self.relief == 0.0:
            return 0.0
        ends = last - middle
        centre = brentq(lambda c: np.hypot(ends, c) - (c + self.relief), 1.0, 1e9, xtol=1e-6, rtol=1e-15)
        radius = centre + self.relief
        return float(centre - np.sqrt((radius - (u - middle)) * (radius + (u - middle))))

    def body_turn(self) -> float:
        """Direction of the circle at the last crown [rad]."""
        last, step = self.fret(self.last), 1e-4
        return float(np.arctan((self.crown(last + step) - self.crown(last - step)) / (2.0 * step)))


def saddle_for(near: tuple[float, float], over: tuple[float, float], at: float) -> float:
    """Height at which a straight string from one point passes through another."""

    def miss(height: float) -> float:
        share = (over[0] - near[0]) / (at - near[0])
        return near[1] + (height - near[1]) * share - over[1]

    return float(brentq(miss, -200.0, 200.0, xtol=1e-12))


def in_neck(nut: Nut, index: int) -> tuple[np.ndarray, np.ndarray]:
    """Where a string crosses the face, and its direction to the bridge, in plan."""
    slot = nut.slots[index]
    place = nut.in_neck.apply(np.array([[slot.x, slot.start_y, 0.0]]))[0, :2]
    turn = np.radians(slot.line_deg)
    toward = nut.in_neck.apply(np.array([[-np.sin(turn), -np.cos(turn), 0.0]]))[0, :2]
    return place, toward


def move_of(spec: Spec, nut: Nut, index: int, *, from_12: float, reading: Callable[[int], float]) -> float:
    """What a saddle goes up, by the circle, two lines and a body that turns about the last crown."""
    slot = nut.slots[index]
    wanted = Side(slot.scale_length, nut.frets, nut.relief)
    relief = spec.setup.relief_now
    now = Side(slot.scale_length, nut.frets, nut.relief if relief is None else relief)
    one, twelve, last = (now.fret(n) for n in (1, 12, nut.frets))
    at = twelve + from_12
    over = (twelve, now.crown(twelve) + reading(index))
    if spec.setup.action_read == "capo 1":
        height = saddle_for((one, now.crown(one)), over, at)
    else:
        assert spec.setup.clearance_now is not None
        clear = spec.setup.clearance_now.values[index]
        height = saddle_for((one, now.crown(one) + clear), over, at)
    turn = wanted.body_turn() - now.body_turn()
    along, up = at - last, height
    there = along * np.sin(turn) + up * np.cos(turn)
    target = saddle_for(
        (one, wanted.crown(one) + slot.first_fret_clearance), (twelve, wanted.crown(twelve) + slot.action), at
    )
    return float(target - there)


def tops_of(nut: Nut, index: int, radius: float) -> list[tuple[float, float]]:
    """x and top of a string at its start, over fret 12 and at the pluck: a tube through two points in space."""
    slot = nut.slots[index]
    side = Side(slot.scale_length, nut.frets, nut.relief)
    start, toward = in_neck(nut, index)
    one, two, twelve = (side.fret(n) for n in (1, 2, 12))
    rise = (side.crown(two) - side.crown(one)) / (two - one)

    def crown(u: float, plan: float) -> float:
        board = 0.0 if np.isinf(radius) else np.sqrt(radius**2 - plan**2) - radius
        over_plane = side.crown(u) - side.crown(one) - rise * (u - one)
        return float(board + np.asarray(nut.seat.fret_height) + over_plane)

    begin = start - toward * slot.setback
    face = begin + toward * slot.setback
    across = face + toward * (twelve - slot.setback)
    a = np.array([*face, slot.floor_z])
    b = np.array([*across, crown(twelve, across[0]) + slot.action])
    told = []
    for u in (slot.setback, twelve, slot.scale_length - nut.swing.from_bridge[index]):
        share = (u - slot.setback) / (twelve - slot.setback)
        point = a + (b - a) * share
        told.append((float(point[0]), float(point[2] + slot.gauge)))
    return told


def off_circle(x: np.ndarray, z: np.ndarray, index: int, curvature: float) -> float:
    """A point over the circle through the others, by scipy; its radius is free from four others on."""
    rest = np.arange(len(x)) != index
    free = int(rest.sum()) > 3

    def height(p: np.ndarray, at: np.ndarray) -> np.ndarray:
        bend = p[2] / 1000.0 if free else curvature
        if abs(bend) < 1e-12:
            return p[0] + p[1] * at
        radius, sine = 1.0 / bend, p[1] / np.hypot(1.0, p[1])
        centre_x, centre_z = radius * sine, p[0] - radius * np.sqrt(1.0 - sine**2)
        return centre_z + np.sign(radius) * np.sqrt(radius**2 - (at - centre_x) ** 2)

    first = np.array([z[rest].mean(), 0.0, 1000.0 * curvature or 1.0][: 3 if free else 2])
    fit = least_squares(lambda p: height(p, x[rest]) - z[rest], first, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    return float(z[index] - height(fit.x, x[index : index + 1])[0])
