"""One fret plane through what several strings tell of it, by least squares, and how sure it is."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from nutgen.nut.part import Nut
from nutgen.nut.seat import SeatHeights
from nutgen.theory import Array, Flags
from nutgen.theory.uncertainty import WITHIN_95

UNLIKELY = 3.0
"""Standard deviations that a string may lie off the fit: of sound readings one in 370 does."""


@dataclass(frozen=True, slots=True)
class PlaneRead:
    """Fret plane over the seat floor by each string, nan where one does not tell [mm].

    spread : covariance between the strings that tell [mm^2]
    alone  : standard deviation of each of them that it shares with no other
    """

    plane: Array
    spread: Array
    alone: Array

    @property
    def tells(self) -> Flags:
        """Which strings tell."""
        return np.isfinite(self.plane)


@dataclass(frozen=True, slots=True)
class PlaneFit:
    """The plane through what was read, from -x to +x.

    off    : of each string over it, nan where none tells [mm]
    odd    : the same in its standard deviations
    within : how far the plane may be off at each string, half-width that holds 95 % [mm]
    error  : how far each height may be off, on its own, for the plane to be off by as much at the strings [mm]
    arched : how much higher its middle stands over its edges than the file's radii say [mm]
    unlike : the same in its standard deviations
    """

    plane: tuple[float, ...]
    off: Array
    odd: Array
    within: Array
    error: float
    arched: float
    unlike: float

    @property
    def doubted(self) -> tuple[int, ...]:
        """Places of the strings of which one was misread: those farthest off, alike where one cannot tell."""
        odd = np.where(np.isfinite(self.odd), np.abs(self.odd), 0.0)
        return tuple(np.flatnonzero(odd > max(UNLIKELY, 0.95 * np.max(odd))).tolist())


def _plane_over_seat(seat: SeatHeights, x: Array, plane: Iterable[float]) -> Array:
    at = replace(seat, fret_plane=tuple(plane))
    return at.fret_plane_z(x) - at.floor_z(x)


def fitted(nut: Nut, read: PlaneRead, *, radius_error: float) -> PlaneFit:
    """Weighted least squares: three heights where three strings or more tell, else as many as tell.

    radius_error : of the board, as a share of it, half-width that holds 95 %
    """
    x, seat = np.array([slot.face_x for slot in nut.slots]), nut.seat
    count = min(int(np.count_nonzero(read.tells)), 3)

    def shape(seat: SeatHeights) -> Array:
        return _plane_over_seat(seat, x, [0.0] * count)

    base = shape(seat)
    takes = np.array([_plane_over_seat(seat, x, one) - base for one in np.eye(count)]).T
    weights = 1.0 / read.alone
    solved = np.linalg.pinv(takes[read.tells] * weights[:, np.newaxis]) * weights
    plane = solved @ (read.plane - base)[read.tells]
    carries = takes @ solved
    off = read.plane - base - takes @ plane
    missed = np.eye(len(read.alone)) - carries[read.tells]
    left = np.sqrt(np.clip(np.diag(missed @ read.spread @ missed.T), 1e-12, None))
    odd = np.full(len(x), np.nan)
    odd[read.tells] = off[read.tells] / left if len(left) > count else 0.0
    rounder = _rounder(nut, radius_error)
    by_radius = shape(rounder) - base - carries @ (shape(rounder) - base)[read.tells]
    variance = np.diag(carries @ read.spread @ carries.T) + by_radius**2
    middle = _middle_over_edges(nut.seat, count)
    arched = float(middle @ plane) - _arch(nut.seat, middle)
    sure = math.hypot(
        math.sqrt(float(middle @ solved @ read.spread @ solved.T @ middle)),
        _arch(rounder, middle) - _arch(nut.seat, middle),
    )
    return PlaneFit(
        plane=tuple(plane.tolist()),
        off=off,
        odd=odd,
        within=WITHIN_95 * np.sqrt(variance),
        error=WITHIN_95 * math.sqrt(float(np.mean(variance) / np.mean(np.sum(takes**2, axis=1)))),
        arched=arched,
        unlike=arched / sure if sure else 0.0,
    )


def _rounder(nut: Nut, error: float) -> SeatHeights:
    """The seat before a board whose radius is off by its standard deviation."""
    if nut.seat.kind == "surface" or not math.isfinite(nut.board_radius):
        return nut.seat
    return replace(nut.seat, board_radius=nut.board_radius * (1.0 + error / WITHIN_95))


def _middle_over_edges(seat: SeatHeights, count: int) -> Array:
    """How much of each of three heights makes up how far the middle one stands over the line through the others."""
    if count < 3:
        return np.zeros(count)
    left, right = seat.edges
    return np.array([-right / (right - left), 1.0, left / (right - left)])


def _arch(seat: SeatHeights, middle: Array) -> float:
    """How far the middle of the board stands so over its edges, from the seat's floor [mm]."""
    at = np.array([seat.edges[0], 0.0, seat.edges[1]])
    return float(middle @ (seat.board_z(at) - seat.floor_z(at))) if len(middle) == 3 else 0.0
