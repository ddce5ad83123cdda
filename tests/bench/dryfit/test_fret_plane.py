"""The fret plane through what strings tell: by numpy's least squares, and by circles."""

import math
from dataclasses import replace

import numpy as np
import pytest

from nutgen.bench.dryfit.fret_plane import PlaneFit, PlaneRead, fitted
from nutgen.nut import Nut, solve
from tests.kinds import text_of
from tests.specs import spec_of

RADIUS = 250.0


@pytest.fixture
def nut() -> Nut:
    """Six strings over a board of 250 about a flat seat floor."""
    return solve(spec_of(text_of("electric-6", {"fretboard.radius": RADIUS, "seat.floor": "flat"})))


def places(nut: Nut) -> np.ndarray:
    return np.array([slot.face_x for slot in nut.slots])


def drop(x: np.ndarray, radius: float = RADIUS) -> np.ndarray:
    return np.asarray(radius - np.sqrt(radius**2 - x**2))


def true_plane(nut: Nut, radius: float = RADIUS, *, left: float = 4.2, right: float = 4.5) -> np.ndarray:
    """Over a flat floor: an arch of a radius on a line from edge to edge."""
    x, (low, high) = places(nut), nut.seat.edges
    line = left + (right - left) * (x - low) / (high - low)
    edges = np.interp(x, [low, high], drop(np.array([low, high]), radius))
    return np.asarray(line + edges - drop(x, radius))


def read(plane: np.ndarray, *, alone: float = 0.02, shared: float = 0.0) -> PlaneRead:
    """Of strings that are off by so much each, and by so much together."""
    told = int(np.count_nonzero(np.isfinite(plane)))
    spread = np.eye(told) * alone**2 + shared**2
    return PlaneRead(plane, spread, np.full(told, alone))


def shares(nut: Nut, count: int) -> np.ndarray:
    """How much of each height a string's plane takes: polynomials through the edges, and the middle of three."""
    x, (low, high) = places(nut), nut.seat.edges
    at = np.array([low, 0.0, high][:: 1 if count == 3 else 2])
    return np.array([np.prod([(x - b) / (a - b) for b in at if b != a], axis=0) for a in at]).T


def test_sound_readings_give_the_plane_itself(nut: Nut) -> None:
    fit = fitted(nut, read(true_plane(nut)), radius_error=0.05)
    low, high = nut.seat.edges
    middle = 4.2 + 0.3 * -low / (high - low) + float(drop(np.array(high)))
    assert fit.plane == pytest.approx((4.2, middle, 4.5), abs=1e-6)
    assert fit.off == pytest.approx(np.zeros(6), abs=1e-9)
    assert (fit.arched, fit.unlike) == (pytest.approx(0.0, abs=1e-6), pytest.approx(0.0, abs=1e-3))
    assert fit.doubted == ()


@pytest.mark.parametrize("radius", [150.0, 200.0, 400.0])
def test_a_board_of_another_radius_is_told_by_how_much_it_is_arched(nut: Nut, radius: float) -> None:
    """By circles: the drop at the edge of the one less that of the other."""
    (low, high) = nut.seat.edges
    assert low == pytest.approx(-high)
    arched = float(drop(np.array(high), radius) - drop(np.array(high)))
    sure, unsure = (fitted(nut, read(true_plane(nut, radius)), radius_error=error) for error in (0.0, 0.2))
    assert sure.arched == pytest.approx(arched, abs=2e-3)
    # a string is off by 0.02, so the middle over the edges by the same times the share that each takes of it
    takes = np.array([-0.5, 1.0, -0.5]) @ np.linalg.pinv(shares(nut, 3))
    assert sure.unlike == pytest.approx(sure.arched / (0.02 * np.linalg.norm(takes)), rel=1e-6)
    by_radius = float(drop(np.array(high), RADIUS * (1.0 + 0.2 / 1.959964)) - drop(np.array(high)))
    off = np.hypot(0.02 * np.linalg.norm(takes), by_radius)
    assert unsure.unlike == pytest.approx(unsure.arched / off, rel=1e-3)


@pytest.mark.parametrize("radius", [200.0, RADIUS])
def test_over_a_rounded_seat_floor_the_board_is_told_as_over_a_flat_one(nut: Nut, radius: float) -> None:
    """Every height over the floor is more by what the floor, a circle of 300, drops there."""
    rounded = solve(spec_of(text_of("electric-6", {"fretboard.radius": RADIUS, "seat.floor": 300.0})))
    plane = true_plane(nut, radius) + drop(places(nut), 300.0)
    edge = np.array(nut.seat.edges[1])
    fit = fitted(rounded, read(plane), radius_error=0.0)
    assert fit.arched == pytest.approx(float(drop(edge, radius) - drop(edge)), abs=2e-3)


@pytest.mark.parametrize("place", range(6))
def test_one_string_that_is_off_stands_over_the_fit_of_all(nut: Nut, place: int) -> None:
    """By the least squares of numpy, each string weighed by how sure it is."""
    plane, alone = true_plane(nut), np.array([0.02, 0.03, 0.01, 0.02, 0.04, 0.02])
    plane[place] += 0.3
    told = PlaneRead(plane, np.diag(alone**2), alone)
    fit = fitted(nut, told, radius_error=0.05)
    takes, heights = shares(nut, 3), plane - true_plane(nut)
    through, *_ = np.linalg.lstsq(takes / alone[:, None], heights / alone, rcond=None)
    left = heights - takes @ through
    assert fit.off == pytest.approx(left, abs=1e-9)
    hat = takes @ np.linalg.pinv(takes / alone[:, None]) / alone
    spread = (np.eye(6) - hat) @ np.diag(alone**2) @ (np.eye(6) - hat).T
    assert fit.odd == pytest.approx(left / np.sqrt(np.diag(spread)))
    worst = np.abs(fit.odd)
    assert fit.doubted == tuple(np.flatnonzero((worst > 3.0) & (worst > 0.95 * worst.max())))


def by_each(nut: Nut, told: PlaneRead) -> np.ndarray:
    """How far the plane moves at every string where one that tells moves by 1: (strings, those that tell)."""

    def at_strings(plane: np.ndarray) -> np.ndarray:
        heights = np.array(fitted(nut, replace(told, plane=plane), radius_error=0.0).plane)
        return shares(nut, len(heights)) @ heights if len(heights) > 1 else np.repeat(heights, len(nut.slots))

    tell = np.flatnonzero(np.isfinite(told.plane))
    return np.array([at_strings(told.plane + np.eye(len(nut.slots))[one]) - at_strings(told.plane) for one in tell]).T


@pytest.mark.parametrize("silent", [(), (0, 1), (1, 2, 3, 4)])
def test_how_far_it_may_be_off_is_what_its_readings_may_be_off(nut: Nut, silent: tuple[int, ...]) -> None:
    """Carried to every string, those that tell nothing too: 95 of 100 within 1.96 standard deviations."""
    plane = true_plane(nut)
    plane[list(silent)] = np.nan
    told = read(plane, alone=0.03, shared=0.02)
    fit = fitted(nut, told, radius_error=0.0)
    assert len(fit.plane) == min(3, 6 - len(silent))
    moves = by_each(nut, told)
    assert fit.within == pytest.approx(1.959964 * np.sqrt(np.diag(moves @ told.spread @ moves.T)), rel=1e-4)
    # heights that are off by so much each, on their own, are so far off at the strings in the mean
    at_strings = fit.error**2 * np.sum(shares(nut, len(fit.plane)) ** 2, axis=1)
    assert np.mean(at_strings) == pytest.approx(np.mean(fit.within**2), rel=1e-6)
    assert np.array_equal(np.isnan(fit.off), [place in silent for place in range(6)])


def test_where_two_strings_tell_the_radius_makes_the_rest_unsure(nut: Nut) -> None:
    """Between them the plane runs with the board: by circles, off by what the radius is off, and not at the two."""
    plane = true_plane(nut)
    plane[1:5] = np.nan
    sure, unsure = (fitted(nut, read(plane), radius_error=error) for error in (0.0, 0.2))
    x, rounder = places(nut), RADIUS * (1.0 + 0.2 / 1.959964)
    more = drop(x) - drop(x, rounder)
    more = more - np.interp(x, x[[0, -1]], more[[0, -1]])
    assert np.sqrt(unsure.within**2 - sure.within**2) == pytest.approx(1.96 * np.abs(more), abs=2e-4)
    flat = solve(spec_of(text_of("electric-6", {"fretboard.radius": "flat", "seat.floor": "flat"})))
    told = read(np.where(np.isnan(plane), np.nan, 4.3))
    assert np.array_equal(*(fitted(flat, told, radius_error=error).within for error in (0.0, 0.2)))


def test_one_string_is_the_plane(nut: Nut) -> None:
    """At both edges alike; with nothing left over to doubt it by."""
    plane = np.full(6, np.nan)
    plane[2] = 4.4
    fit: PlaneFit = fitted(nut, read(plane), radius_error=0.0)
    x, edge = places(nut), np.array(nut.seat.edges[1])
    (height,) = fit.plane
    assert height == pytest.approx(4.4 - float(drop(edge) - drop(x[2])), abs=1e-6)
    assert (fit.odd[2], fit.doubted, fit.arched, fit.unlike) == (0.0, (), 0.0, 0.0)
    assert math.isnan(fit.odd[0])
    assert fit.within == pytest.approx(np.full(6, 1.959964 * 0.02), rel=1e-4)
