"""Readings held against the log: what is told of a string that rose, stayed or fell, and what the hand is learned from.

Expected values are worked out by hand from the heights given.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from nutgen.bench.dryfit.belief import HEIGHTS, Belief, FloorRange
from nutgen.bench.dryfit.filing import in_tolerance
from nutgen.bench.dryfit.fitlog import LoggedString, Round
from nutgen.bench.dryfit.hand import Hand
from nutgen.bench.dryfit.readings import Gap
from nutgen.bench.dryfit.slips import Doubts, Known, doubts, known_from
from nutgen.finding import of_string

A, B, C = of_string(3, "E1"), of_string(2, "A1"), of_string(1, "D2")
NEAR = 0.006  # two steps of the heights that a belief is kept on


def lies_between(low: float, high: float) -> Belief:
    """Anywhere between two heights, as likely at each."""
    weights = ((low <= HEIGHTS) & (high >= HEIGHTS)).astype(float)
    return Belief(weights / weights.sum())


def known(low: float, high: float, *, told: float = 0.0, doubted: FloorRange | None = None) -> Known:
    return Known(lies_between(low, high), told, doubted)


def held(now: Sequence[tuple[float, float]], before: Sequence[Known | None]) -> Doubts:
    floors = [FloorRange(*one) for one in now]
    strings = [A, B, C][: len(floors)]
    return doubts(strings, floors, before, lambda order: [floors[place] for place in order])


@pytest.mark.parametrize(
    ("now", "before", "code", "by"),
    [
        ((0.205, 0.215), known(0.20, 0.22, told=0.10), "dry-fit.stayed", None),
        ((0.205, 0.215), known(0.20, 0.22, told=0.03), "", None),
        ((0.17, 0.18), known(0.20, 0.22, told=0.10), "", None),
        ((0.02, 0.05), known(0.20, 0.22, told=0.05), "dry-fit.fell-too-far", 0.20 - 0.05 - 0.05),
        ((0.02, 0.05), known(0.20, 0.22), "dry-fit.fell-unfiled", 0.20 - 0.05),
        ((0.26, 0.30), known(0.20, 0.22, doubted=FloorRange(0.25, 0.31)), "dry-fit.rose-twice", None),
    ],
)
def test_what_is_odd_but_may_be_is_a_note(now: tuple[float, float], before: Known, code: str, by: float | None) -> None:
    found = held([now], [before])
    assert found.strings == (None,)
    assert [(one.code, one.about) for one in found.notes] == ([(code, (A,))] if code else [])
    if by is not None:
        assert found.notes[0].value("by") == pytest.approx(by, abs=NEAR)


@pytest.mark.parametrize("doubted", [None, FloorRange(0.40, 0.45), FloorRange(0.20, 0.22)])
def test_a_floor_that_rose_is_in_doubt_until_it_reads_so_again(doubted: FloorRange | None) -> None:
    found = held([(0.26, 0.30)], [known(0.20, 0.22, doubted=doubted)])
    assert found.strings[0] is not None
    assert found.strings[0].code == "dry-fit.rose"
    assert found.strings[0].value("by") == pytest.approx(0.04, abs=NEAR)


def test_two_readings_that_changed_places_are_named_with_what_else_is_odd() -> None:
    """The notes of the two go with their mistake; that of the third stays."""
    before = [known(0.10, 0.12), known(0.40, 0.42), known(0.20, 0.22, told=0.10)]
    found = held([(0.40, 0.42), (0.10, 0.12), (0.205, 0.215)], before)
    for one in found.strings[:2]:
        assert one is not None
        assert (one.code, one.about) == ("dry-fit.swapped", (A, B))
    assert found.strings[2] is None
    assert [(one.code, one.about) for one in found.notes] == [("dry-fit.stayed", (C,))]


def test_where_two_orders_fit_none_is_named() -> None:
    before = [known(0.10, 0.12), known(0.40, 0.42), known(0.40, 0.42)]
    found = held([(0.40, 0.42), (0.05, 0.45), (0.05, 0.45)], before)
    assert [one and one.code for one in found.strings] == ["dry-fit.rose", None, None]


def entry(low: float, high: float, *, file_off: float = 0.0, after: str = "filing", doubt: str = "") -> Round:
    gap = Gap("feeler", low, high, low, high)
    string = LoggedString(1, "E1", (gap,), low, high, 0.0, file_off, "file", doubt)
    return Round("2030-01-01T12:00:00+00:00", after, 0.3, None, None, (string,))


READ_FIRST = entry(0.59, 0.61, file_off=0.2)


@pytest.mark.parametrize(
    ("rounds", "learns"),
    [
        ([READ_FIRST, entry(0.33, 0.35)], True),
        ([READ_FIRST, entry(0.33, 0.35, after="nothing")], False),
        ([READ_FIRST, entry(0.33, 0.35, after="shim")], False),
        ([READ_FIRST, entry(0.33, 0.35, doubt="dry-fit.rose")], False),
        ([READ_FIRST, entry(0.8, 0.9, doubt="dry-fit.rose"), entry(0.33, 0.35, after="nothing")], True),
        ([READ_FIRST, entry(0.8, 0.9, doubt="dry-fit.rose"), entry(0.33, 0.35, after="shim")], False),
    ],
)
def test_a_hand_is_learned_from_readings_that_stand_after_a_filing(rounds: list[Round], learns: bool) -> None:
    """Told to take off 0.2, it took off 0.26: a gain of 1.3, of which some is believed at once."""
    _, hand = known_from(rounds, [0.0], Hand())
    if learns:
        assert 1.05 < hand.gain < 1.3
        assert hand.doubt < Hand().doubt
    else:
        assert hand == Hand()


def test_one_filing_in_twenty_takes_off_anything_up_to_twice_what_was_meant() -> None:
    """From 0.5, told 0.2: less than 0.05 comes off in an eighth of those twenty times, no other time."""
    point = Belief(np.eye(len(HEIGHTS))[np.argmin(abs(HEIGHTS - 0.5))])
    filed = point.filed(0.2, Hand(doubt=0.0))
    assert filed.weights[HEIGHTS > 0.45].sum() == pytest.approx(0.05 / 8.0, rel=0.08)
    assert filed.mean == pytest.approx(0.3, abs=0.002)


@pytest.mark.parametrize(
    ("low", "high", "sure"), [(-0.02, 0.04, True), (-0.04, 0.02, False), (0.0, 0.06, False), (-0.2, 0.2, False)]
)
def test_a_floor_is_surely_in_tolerance_between_0_03_below_and_0_05_above(low: float, high: float, sure: Any) -> None:
    assert in_tolerance(lies_between(low, high)) is sure
