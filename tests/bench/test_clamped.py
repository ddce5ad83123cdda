"""Shims under a nut that clamps its strings, against similar triangles over a straight neck."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.bench.clamped import shimmed
from nutgen.nut import solve
from nutgen.spec.read import parse_spec
from tests.kinds import text_of
from tests.spec.refused import named, refused

P = 1.0 - 2.0 ** (-1.0 / 12.0)  # fret 1 from the nut, of the scale (equal temperament)


def file_of(floors_off: np.ndarray, *, action: float, relief: float = 0.0, **clamped: object) -> str:
    """A nut whose strings are wanted 0.4 over fret 1, and whose clamped nut holds them so much lower than that.

    Straight neck: c1 = b (1 - 2p) + 2 p a12 by similar triangles.
    """
    wanted = (0.4 - 2.0 * P * 1.6) / (1.0 - 2.0 * P)
    reads = (wanted - floors_off) * (1.0 - 2.0 * P) + 2.0 * P * action
    changes = {
        "setup.relief": relief,
        "setup.first_fret_clearance": 0.4,
        "setup.action": 1.6,
        "setup.action_now": action,
        "setup.clearance_now": [float(one) for one in reads],
        "clamped": {"apart": 26.0, **clamped},
    }
    return text_of("electric-6", changes)


@settings(max_examples=25)
@given(low=st.tuples(st.floats(0.1, 0.4), st.floats(0.1, 0.4)), action=st.floats(1.5, 2.4), now=st.floats(0.0, 0.5))
def test_shims_lift_a_nut_that_leans(low: tuple[float, float], action: float, now: float) -> None:
    """Low by `low` where the shims lie, 13 to either side, and so on one line through both at every string."""
    plain = solve(parse_spec(text_of("electric-6"), source="x"))
    x = np.array([slot.face_x for slot in plain.slots])
    off = low[0] + (low[1] - low[0]) * (x + 13.0) / 26.0
    spec = parse_spec(file_of(off, action=action, now=now, shims=[0.03, 0.05, 0.1, 0.2, 0.5]), source="x")
    got = shimmed(solve(spec), spec.setup, spec.clamped)
    np.testing.assert_allclose(got.wanted, np.array(low) + now, atol=1e-6)
    assert [stack.sum for stack in got.stacks] == pytest.approx(got.wanted.tolist(), abs=0.02)
    np.testing.assert_allclose(got.over_1, 0.4, atol=0.04)
    sums = [sum(got.step.value(f"of_{side}")) for side in ("bass", "treble")]
    assert sums == pytest.approx([stack.sum for stack in got.stacks])
    assert got.findings == ()


def test_a_nut_that_is_too_high_and_one_whose_curve_is_another() -> None:
    high = parse_spec(file_of(np.full(6, -0.2), action=1.6, now=0.1), source="x")
    found = shimmed(solve(high), high.setup, high.clamped).findings
    assert found[0].code == "clamped.too-high"
    assert found[0].value("by") == pytest.approx(0.1)
    bent = np.array([0.3, 0.2, 0.05, 0.05, 0.2, 0.3])  # the middle strings stand higher than its outer ones
    curved = parse_spec(file_of(bent, action=1.6), source="x")
    found = shimmed(solve(curved), curved.setup, curved.clamped).findings
    assert {one.code for one in found} == {"clamped.string-off"}
    assert {3, 4} <= {number for one in found for number in one.strings}


def test_what_shims_go_by_has_to_be_read() -> None:
    text = text_of("electric-6", {"clamped": {"apart": 26.0}})
    assert named(refused(parse_spec, text)) == [("setup.clearance_now", "clamped.not-read")]


def test_what_is_made_is_the_block_in_its_place() -> None:
    nut = solve(parse_spec(file_of(np.zeros(6), action=1.6), source="x"))
    told = next(one for one in nut.findings if one.code == "clamped.filler")
    assert (told.value("length"), told.value("thickness")) == (pytest.approx(42.0), pytest.approx(3.4))


def test_clearances_read_at_both_ends_lie_on_a_line_between() -> None:
    """Low by 0.3 at the bass-most string and 0.1 at the treble-most, and so in between."""
    plain = solve(parse_spec(text_of("electric-6"), source="x"))
    x = np.array([slot.face_x for slot in plain.slots])
    off = 0.3 - 0.2 * (x - x[0]) / (x[-1] - x[0])
    wanted = (0.4 - 2.0 * P * 1.6) / (1.0 - 2.0 * P)
    reads = (wanted - off) * (1.0 - 2.0 * P) + 2.0 * P * 1.8
    at_both = {"bass": float(reads[0]), "treble": float(reads[-1])}
    changes = {"setup.relief": 0.0, "setup.first_fret_clearance": 0.4, "setup.action": 1.6, "setup.action_now": 1.8}
    changes |= {"setup.clearance_now": at_both, "clamped": {"apart": 26.0}}
    spec = parse_spec(text_of("electric-6", changes), source="x")
    got = shimmed(solve(spec), spec.setup, spec.clamped)
    line = np.polyfit(x, off, 1)
    np.testing.assert_allclose(got.wanted, np.polyval(line, [-13.0, 13.0]), atol=1e-6)
