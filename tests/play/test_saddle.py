"""Saddles and tops against a set-up built in space from points and lines, on random instruments."""

import math
from typing import Any

import numpy as np
import pytest
from scipy.optimize import linprog

from nutgen.errors import SpecFaults
from nutgen.nut import Nut, solve
from nutgen.play.saddle import saddle_moves
from nutgen.play.tops import even_tops, proud_now, tops
from nutgen.spec.read import parse_spec
from nutgen.spec.tables import Spec
from nutgen.theory.bridge import ISO_261, eighth_turns, flat_cut
from tests.kinds import text_of
from tests.play.bridge_space import move_of, off_circle, tops_of
from tests.specs import EXAMPLES

KINDS = ("bass-4", "electric-6", "classical", "mandolin", "electric-6-slanted", "electric-6-left", "ukulele-tenor")


def drawn(seed: int) -> tuple[Spec, Nut]:
    """A random instrument, read now and wanted otherwise."""
    draw = np.random.default_rng(seed)
    kind = KINDS[seed % len(KINDS)]
    plain = parse_spec(text_of(kind), source=kind)
    strings, scale = len(plain.strings), plain.instrument.scale_length.bass * draw.uniform(0.93, 1.07)
    width = plain.fretboard.width
    base = plain.setup.action.at([0.0, 1.0])
    wanted = [round(one + draw.uniform(-0.3, 0.3), 3) for one in base]
    lists = {
        "setup.action_now": [round(float(one), 3) for one in base[0] + draw.uniform(-0.5, 0.8, strings)],
        "setup.clearance_now": [round(float(one), 3) for one in draw.uniform(0.2, 1.1, strings)],
    }
    changes: dict[str, Any] = {
        "instrument.scale_length": round(scale, 2),
        "fretboard.width_at_12": round(width * draw.uniform(1.0, 1.25), 2),
        "fretboard.radius": "flat" if draw.random() < 0.2 else round(draw.uniform(190.0, 500.0), 1),
        "setup.relief": round(draw.uniform(0.0, 0.4), 3),
        "setup.relief_now": round(draw.uniform(0.0, 0.6), 3),
        "setup.action": {"bass": wanted[0], "treble": wanted[1]},
        "setup.first_fret_clearance": round(draw.uniform(0.3, 0.7), 3),
        "setup.action_read": "capo 1" if draw.random() < 0.5 else "open",
        **lists,
    }
    if kind == "electric-6-slanted":
        del changes["instrument.scale_length"], changes["fretboard.width_at_12"]
    if "fret_plane" in text_of(kind):
        changes["seat.fret_plane"] = None
    spec = parse_spec(text_of(kind, changes), source=kind)
    return spec, solve(spec)


def against_space(seed: int) -> None:
    spec, nut = drawn(seed)
    moves, seen = saddle_moves(nut, spec.setup, spec.saddle), tops(nut, spec.saddle)
    now = spec.setup.action_now
    assert now is not None
    for i in range(len(nut.slots)):
        if math.isnan(moves.from_12[i]):
            continue
        due = move_of(spec, nut, i, from_12=float(moves.from_12[i]), reading=lambda i: now.values[i])
        assert moves.move[i] == pytest.approx(due, abs=0.01), (seed, i)
    due_tops = np.array([tops_of(nut, i, spec.fretboard.radius) for i in range(len(nut.slots))])
    np.testing.assert_allclose(seen.x.T, due_tops[..., 0], atol=0.01)
    np.testing.assert_allclose(seen.z.T, due_tops[..., 1], atol=0.01)
    for place in range(3):
        x, z = due_tops[:, place].T
        for i in range(len(nut.slots)):
            due = off_circle(x, z, i, 1.0 / spec.fretboard.radius)
            assert seen.off[place, i] == pytest.approx(due, abs=0.01), (seed, place, i)


@pytest.mark.parametrize("seed", range(7))
def test_moves_and_tops_are_those_of_lines_in_space(seed: int) -> None:
    against_space(seed)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, EXAMPLES, 100))
def test_many_set_ups_in_space(first: int) -> None:
    for seed in range(first, first + 100):
        against_space(seed)


def test_a_high_treble_string_is_found_its_saddle_named_and_mended_in_numbers() -> None:
    """A restrung bass whose highest string stands proud under the finger."""
    text = text_of("bass-4", {"setup.action": [2.3, 2.2, 2.0, 2.7], "saddle": {"thread": "M3"}})
    spec = parse_spec(text, source="proud")
    nut = solve(spec)
    found = [one for one in tops(nut, spec.saddle).findings if one.strings == (1,)]
    assert [(one.code, one.value("cause"), one.value("place")) for one in found] == [("tops.proud", "saddle", "pluck")]
    evened, up = even_tops(nut, spec.saddle)
    assert up[-1] < -0.1
    assert np.max(np.abs(up)) <= 0.3 + 1e-9
    assert [slot.floor_z for slot in evened.slots] == [slot.floor_z for slot in nut.slots]
    before, after = (tops(one, spec.saddle).off[2, 3] for one in (nut, evened))
    assert 0.0 <= after < before - 0.25
    # read so, and wanted evenly: proud now as it was, but for the floor, which goes with the action; then no longer
    as_read = {"setup.action": [2.3, 2.2, 2.0, 1.9], "setup.action_now": [2.3, 2.2, 2.0, 2.7]}
    wanted = solve(parse_spec(text_of("bass-4", as_read), source="read"))
    assert proud_now(wanted, spec.saddle)[3] == pytest.approx(before, abs=0.1)
    assert tops(wanted, spec.saddle).off[2, 3] < before - 0.8


@pytest.mark.parametrize("seed", range(14))
def test_evened_tops_stand_proud_of_nothing_where_the_saddles_reach(seed: int) -> None:
    """Judged by a circle fitted by a general optimiser to the others, as `off_circle` does it."""
    spec, nut = drawn(seed)
    evened, up = even_tops(nut, spec.saddle)
    assert np.max(np.abs(up)) <= 0.3 + 1e-9
    x, z = np.array([tops_of(evened, i, spec.fretboard.radius)[2] for i in range(len(nut.slots))]).T
    off = [off_circle(x, z, i, 1.0 / spec.fretboard.radius) for i in range(len(nut.slots))]
    assert max(np.abs(off)) < 0.02 or np.max(np.abs(up)) > 0.3 - 1e-9


def test_pitches_are_those_of_iso_261() -> None:
    """ISO 261:1998, table 2: coarse and fine pitches of M3, M4, M5 and M6."""
    assert {size: ISO_261[size] for size in (3.0, 4.0, 5.0, 6.0)} == {
        3.0: (0.5, 0.35),
        4.0: (0.7, 0.5),
        5.0: (0.8, 0.5),
        6.0: (1.0, 0.75),
    }
    assert eighth_turns([0.5, -0.3, 0.02], pitch=0.5).tolist() == [8, -5, 0]


@pytest.mark.parametrize(
    ("written", "pitch"),
    [("M3", 0.5), ("M3 x 0.35", 0.35), ("M4", 0.7), ("32 per inch", 0.79375), ("10 turns = 7.0 mm", 0.7)],
)
def test_threads_are_read_as_they_are_told(written: str, pitch: float) -> None:
    spec = parse_spec(text_of("electric-6", {"saddle": {"thread": written}}), source="thread")
    assert spec.saddle.thread == pytest.approx(pitch)


@pytest.mark.parametrize("written", ["M3 x 0.4", "M9", "3", "0 turns = 1 mm", "1 turn = 9 mm", "0 per inch"])
def test_other_threads_are_refused(written: str) -> None:
    with pytest.raises(SpecFaults) as refused:
        parse_spec(text_of("electric-6", {"saddle": {"thread": written}}), source="thread")
    assert [one.code for one in refused.value.findings] == ["saddle.thread-misread"]


def test_a_flat_cut_takes_the_most_that_leaves_no_string_too_low() -> None:
    """Against a linear programme of scipy."""
    draw = np.random.default_rng(7)
    for _ in range(50):
        at, wanted = np.sort(draw.uniform(0.0, 60.0, 6)), draw.uniform(-0.2, 0.9, 6)
        best = linprog([-1.0, -at.mean()], A_ub=np.stack([np.ones(6), at], axis=1), b_ub=wanted, bounds=(None, None))
        offset, slope = flat_cut(wanted, at=at)
        assert offset + slope * at.mean() == pytest.approx(-best.fun, abs=1e-6)
        assert np.all(offset + slope * at <= wanted + 1e-9)


def test_two_posts_in_the_line_of_the_wanted_moves() -> None:
    """Moves along one line are made whole by two posts; the posts stand beyond the strings: calculation."""
    changes = {
        "setup.action": {"bass": 2.0, "treble": 1.6},
        "setup.action_now": {"bass": 2.4, "treble": 2.0},
        "saddle": {"bridge": "two posts", "posts": 74.0, "spread": 52.0, "thread": "M4"},
    }
    spec = parse_spec(text_of("electric-6", changes), source="posts")
    moves = saddle_moves(solve(spec), spec.setup, spec.saddle)
    assert moves.posts is not None
    assert np.max(np.abs(moves.left)) < 0.02
    assert moves.posts == pytest.approx((moves.move[0], moves.move[-1]), abs=0.03)
    assert moves.post_eighths == tuple(round(one / 0.7 * 8) for one in moves.posts)


def test_what_is_left_in_a_slot_shows_at_fret_12_by_half() -> None:
    """0.25 left in a slot adds 0.12 to 0.13 over fret 12 (calculation: half way along)."""
    spec = parse_spec(text_of("bass-4"), source="bass-4")
    assert saddle_moves(solve(spec), spec.setup, spec.saddle).unfiled_adds == pytest.approx(0.125, abs=0.002)
