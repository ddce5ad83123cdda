"""The set-up in its order: each step with its numbers, against the readings it was made from."""

from typing import Any

import numpy as np
import pytest

from nutgen.bench.setup import AT_ONCE, SetupOrder, before_saddle, setup_order
from nutgen.errors import CannotBeMade
from nutgen.finding import Finding
from nutgen.nut import solve
from nutgen.play.saddle import FLOORS_LEFT
from tests.kinds import text_of
from tests.specs import spec_of

OPEN = {"setup.action_now": {"bass": 2.6, "treble": 2.2}, "setup.action_read": "capo 1"}


def ordered(kind: str, changes: dict[str, Any]) -> SetupOrder:
    spec = spec_of(text_of(kind, changes))
    return setup_order(solve(spec), before_saddle(spec), spec.setup, spec.saddle, spec.tuner, spec.clamped)


def told(kind: str, changes: dict[str, Any]) -> dict[str, Finding]:
    """Every step but the cautions, by its code."""
    order = ordered(kind, changes)
    return {one.code: one for one in (*order.before, order.saddle, *order.after)}


@pytest.mark.parametrize(
    ("now", "wanted", "code", "turn"),
    [
        (0.4, 0.2, "setup.relief", "tighten"),
        (0.1, 0.2, "setup.relief", "slacken"),
        (0.215, 0.2, "setup.relief-kept", None),
        (0.185, 0.2, "setup.relief-kept", None),
        (None, 0.2, "setup.relief-read", None),
    ],
)
def test_relief_is_turned_kept_or_read(now: float | None, wanted: float, code: str, turn: str | None) -> None:
    changes = {"setup.relief": wanted, **({} if now is None else {"setup.relief_now": now})}
    order = ordered("electric-6", changes)
    assert [one.code for one in order.before] == ["setup.frets", "setup.strings", code]
    values = dict(order.before[-1].values)
    assert values == {"wanted": wanted, **({"now": now, "turn": turn} if turn else {})}


def test_high_frets_are_levelled_before_anything_else() -> None:
    first = ordered("electric-6", {"crowns": {"high": {"7": 0.08, "9": 0.05}}}).before[0]
    assert (first.code, first.value("frets")) == ("setup.frets-level", (7, 9))


def test_a_back_bow_comes_before_any_relief() -> None:
    order = ordered("electric-6", {"setup.back_bow": True, "setup.relief": 0.2})
    assert dict(order.before[-1].values) == {"wanted": 0.2}
    assert order.before[-1].code == "setup.relief-from-back-bow"


@pytest.mark.parametrize(("now", "stops"), [(0.28, False), (0.17, True)])
def test_a_slack_rod_lets_off_no_further(now: float, stops: bool) -> None:
    """To 0.3 from 0.02 below it nothing is turned; from farther below, a slack rod cannot be."""
    spec = spec_of(text_of("electric-6", {"setup.relief": 0.3, "setup.relief_now": now, "instrument.rod_slack": True}))
    if not stops:
        assert before_saddle(spec)[-1].code == "setup.relief-kept"
        return
    with pytest.raises(CannotBeMade) as caught:
        before_saddle(spec)
    (finding,) = caught.value.findings
    assert (finding.code, finding.value("now"), finding.value("wanted")) == (
        "setup.rod-lets-off-no-further",
        now,
        pytest.approx(0.3),
    )


def test_nut_readings_and_pitch_with_their_numbers() -> None:
    order = ordered("electric-6", OPEN)
    bass, treble = order.nut.slots[0], order.nut.slots[-1]
    nut, again, pitch = order.after
    assert (nut.code, dict(nut.values)) == (
        "setup.nut",
        {"bass": bass.first_fret_clearance, "treble": treble.first_fret_clearance},
    )
    assert (again.code, dict(again.values)) == (
        "setup.again",
        {"bass": bass.action, "treble": treble.action, "relief": order.nut.relief},
    )
    assert (pitch.code, dict(pitch.values)) == (
        "setup.pitch",
        {"bass": order.moves.from_12[0], "treble": order.moves.from_12[-1]},
    )
    # half the scale and what the saddle stands back: some millimetres
    for slot, far in ((bass, pitch.value("bass")), (treble, pitch.value("treble"))):
        assert 0.0 < float(str(far)) - slot.scale_length / 2.0 < 10.0
    assert bass.action != treble.action
    assert [one.code for one in order.cautions] == ["caution.strings"]
    assert (order.tuner, order.shimmed) == ((), None)
    assert order.proud_now is not None
    assert ordered("electric-6", {}).proud_now is None


def test_the_saddle_by_its_bridge() -> None:
    """What each way of moving it tells, and what a slot that is not filed yet adds to the reading."""
    each = told("electric-6", OPEN)["setup.saddle-each"]
    assert set(dict(each.values)) == {"left", "adds"}
    assert each.value("left") == FLOORS_LEFT
    # a floor 0.25 high raises the string over fret 12, half way to the saddle, by half of that
    assert each.value("adds") == pytest.approx(FLOORS_LEFT / 2.0, rel=0.15)
    order = ordered("electric-6", {**OPEN, "saddle": {"bridge": "two posts", "posts": 74.0, "thread": "M8 x 1.0"}})
    posts, values = order.moves.posts, dict(order.saddle.values)
    assert posts is not None
    assert order.saddle.code == "setup.saddle-posts"
    assert (values["bass"], values["treble"]) == posts
    assert (values["left"], values["adds"]) == (each.value("left"), pytest.approx(each.value("adds"), rel=0.1))
    # a thread of 1 mm: an eighth of a turn is 0.125
    eighths = (values["bass_eighths"], values["treble_eighths"])
    assert np.array(eighths) * 0.125 == pytest.approx(np.array(posts), abs=0.0626)
    plain = told("electric-6", {**OPEN, "saddle": {"bridge": "two posts", "posts": 74.0}})["setup.saddle-posts"]
    assert set(dict(plain.values)) == {"bass", "treble", "left", "adds"}
    fixed = ordered("acoustic-6", {**OPEN, "saddle": {"bridge": "fixed", "spread": 54.0}})
    assert fixed.moves.underside is not None
    values = dict(fixed.saddle.values)
    assert (values["bass"], values["treble"]) == fixed.moves.underside
    assert (values["crest"], values["at_once"]) == (float(np.max(fixed.moves.left)), AT_ONCE)
    assert {"left", "adds"} <= set(values)
    unread = told("electric-6", {})["setup.saddle-unread"]
    assert set(dict(unread.values)) == {"left", "adds"}


def test_behind_a_zero_fret_no_slot_is_filed_for_height() -> None:
    found = told("electric-6-zero-fret", OPEN)
    assert "setup.nut-behind-zero-fret" in found
    assert found["setup.saddle-each"].values == ()


def test_a_clamped_nut_is_shimmed_instead() -> None:
    found = told(
        "electric-6", {**OPEN, "setup.clearance_now": {"bass": 0.9, "treble": 0.8}, "clamped": {"apart": 35.0}}
    )
    assert "setup.nut-clamped" in found
    assert "setup.nut" not in found
    assert found["setup.saddle-each"].values == ()


def test_tops_are_evened_where_it_is_asked_for() -> None:
    """Over the hand: saddles move strings by what they stand off the arc, and less is left of it."""
    plain, even = (ordered("electric-6", {**OPEN, "saddle": {"even_tops": on}}) for on in (False, True))
    assert np.ptp(np.asarray(even.tops.off)) <= np.ptp(np.asarray(plain.tops.off)) + 1e-9
    assert plain.tops.evened is None
    assert even.tops.evened is not None
    assert [slot.action for slot in even.nut.slots] != [slot.action for slot in plain.nut.slots]
