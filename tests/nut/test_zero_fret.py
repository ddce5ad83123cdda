"""Nuts behind a zero fret, against strings drawn by hand in the plane of each: Walk, lines and angles between them."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.bench.materials import MATERIALS
from nutgen.bench.reuse import old_floor_heights, reuse
from nutgen.bench.setup import before_saddle, setup_order
from nutgen.bench.stages import stages
from nutgen.errors import CannotBeMade
from nutgen.nut import Nut, solve
from nutgen.play.friction import friction
from nutgen.play.heights_record import heights_record
from nutgen.play.pitch import cents_with, pitches
from nutgen.play.played import played
from nutgen.play.spread import nut_spread
from nutgen.play.tops import tops
from nutgen.spec.playing import Errors
from nutgen.spec.read import overruled, parse_spec
from tests.play.files import changed, solved
from tests.play.walk import Walk
from tests.spec.refused import named, refused

KIND = "electric-6-zero-fret"


def by_hand(nut: Nut, behind: float, crowns: np.ndarray, below: float | None = None) -> None:
    """Every slot against the string drawn from saddle over the zero fret's crown and on."""
    for slot, crown in zip(nut.slots, crowns, strict=True):
        walk = Walk(nut, slot)
        assert slot.zero_fret is not None
        start, end = np.array([0.0, walk.floor(crown)]), np.array([walk.scale, walk.saddle(crown)])
        assert walk.gap([tuple(start), tuple(end)], 1) == pytest.approx(slot.first_fret_clearance, abs=1e-6)
        ahead = behind / math.cos(math.radians(slot.line_deg))
        assert slot.zero_fret.ahead == pytest.approx(ahead, abs=1e-9)
        line = (end - start) / np.linalg.norm(end - start)
        carried_on = start - line * (ahead / line[0])
        floor = np.array([-ahead, walk.plane(-ahead) + slot.floor_height])
        back, down = start - carried_on, start - floor
        cross = back[0] * down[1] - back[1] * down[0]
        bend = math.degrees(math.asin(cross / np.linalg.norm(back) / np.linalg.norm(down)))
        assert slot.zero_fret.bend_deg == pytest.approx(bend, abs=2e-4)
        under = carried_on[1] - floor[1]
        if below is not None:
            assert under == pytest.approx(below, abs=1e-6)
        else:  # the larger of 0.3 and what bends it by three degrees: both hold, and one only just
            assert under >= 0.3 - 1e-6
            assert bend >= 3.0 - 2e-4
            assert min(under - 0.3, bend - 3.0) == pytest.approx(0.0, abs=2e-4)


@settings(max_examples=60)
@given(
    behind=st.floats(2.5, 19.0),
    crown=st.tuples(st.floats(-0.1, 0.4), st.floats(-0.1, 0.4)),
    relief=st.floats(0.03, 0.5),
    action=st.floats(1.2, 2.6),
)
def test_any_zero_fret_against_strings_drawn_by_hand(behind, crown, relief, action) -> None:
    heights = f"{{ bass = {crown[0]}, treble = {crown[1]} }}"
    spec = changed(KIND, height=heights, behind=str(behind), relief=str(relief), action=str(action), depth="6.0")
    nut = solve(spec)
    places = np.array([slot.face_x for slot in nut.slots])
    share = (places - places[0]) / (places[-1] - places[0])
    by_hand(nut, behind, crown[0] + (crown[1] - crown[0]) * share)


def test_slanted_and_strung_left_and_by_its_own_depth() -> None:
    table = {"behind": 5.0, "height": 0.1, "below": 0.6}
    slanted = overruled(changed("electric-6-slanted"), {"setup": {"first_fret_clearance": None}, "zero_fret": table})
    nut = solve(slanted)
    assert abs(nut.slant_deg) > 1.0
    by_hand(nut, 5.0, np.full(len(nut.slots), 0.1), below=0.6)
    left = solve(changed(KIND, strung='"left"'))
    right = solved(KIND)[1]
    assert [slot.floor_z for slot in left.slots] == [slot.floor_z for slot in right.slots]
    assert [slot.x for slot in left.slots] == [-slot.x for slot in right.slots]


def test_what_is_read_over_fret_1_is_the_crown_by_similar_triangles() -> None:
    """A ruler on zero fret and fret 2, straight neck: h u2 = gap u2 + ..., so gap = h (u2 - u1) / u2 (geometry)."""
    one, two = (1.0 - 2.0 ** (-n / 12.0) for n in (1, 2))
    spec = parse_spec(_text().replace("height = 0.08", "gap_at_1 = 0.05"), source="gap")
    assert spec.zero_fret is not None
    assert spec.zero_fret.crown.bass == pytest.approx(0.05 * two / (two - one), abs=1e-9)
    assert solve(spec).slots[0].zero_fret.height == pytest.approx(0.1030, abs=5e-5)


@pytest.mark.parametrize(("height", "over"), [(0.08, 0.08 * (4.0 + 70.66) / 70.66), (-0.1, 0.0)])
def test_what_to_check_before_the_blank_is_cut(height: float, over: float) -> None:
    """Fret 2 lies 70.66 from the zero fret (647.7, equal temperament): a line over both, 4.0 farther on; seat and fret
    1 are 3.0 and 1.05 below and above the board. A lower zero fret is not touched."""
    told = next(one for one in solve(changed(KIND, height=str(height))).findings if one.code == "zero-fret.decides")
    assert told.value("over_seat") == pytest.approx(4.05 + over, abs=1e-4)


def _text() -> str:
    from nutgen.spec.presets import kind_path

    return kind_path(KIND).read_text("utf-8")


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ("height = 0.08", "height = 0.08\ngap_at_1 = 0.04", ("zero_fret.height", "zero-fret.height-once")),
        ("height = 0.08 ", "#", ("zero_fret.height", "zero-fret.height-once")),
        ("[setup]", "[setup]\nfirst_fret_clearance = 0.3", ("setup.first_fret_clearance", "zero-fret.decides-already")),
        ("[setup]", "[setup]\nfloor_height = 0.3", ("setup.floor_height", "zero-fret.decides-already")),
        ("[slots]", "[slots]\nsetback = 0.3", ("slots.setback", "zero-fret.decides-already")),
        ("behind = 4.0", "behind = 4.0\nbelow = [0.3, 0.4]", ("zero_fret.below", "reading.not-one-a-string")),
        ("behind = 4.0", "behind = 0.4", ("zero_fret.behind", "reading.below-range")),
    ],
)
def test_a_slip_is_named(old: str, new: str, found: tuple[str, str]) -> None:
    assert named(refused(parse_spec, _text().replace(old, new))) == [found]


def test_less_than_three_degrees_is_told() -> None:
    nut = solve(changed(KIND, "", behind="9.0\nbelow = 0.3"))
    told = [one for one in nut.findings if one.code == "zero-fret.bend-small"]
    assert len(told) == 6
    assert all(1.5 < one.value("bend_deg") < 2.5 for one in told)  # atan(0.3 / 9) = 1.9 degrees
    assert "zero-fret.bend-small" not in {one.code for one in solved(KIND)[1].findings}


def test_a_slot_below_the_line_to_the_tuner_is_refused() -> None:
    with pytest.raises(CannotBeMade) as caught:
        solve(changed(KIND, behind="1.2"))
    assert {one.code for one in caught.value.findings} == {"zero-fret.bends-past-tuner"}


def test_friction_of_both_bends_adds_up() -> None:
    """The rope over two bends holds back e^(mu (a + b)) (capstan equation): as much as over one of a + b."""
    nut = solved(KIND)[1]
    low, high = friction(nut).dead_band
    slot = nut.slots[0]
    both = math.radians(slot.break_angle_deg + slot.zero_fret.bend_deg)
    for band, mu in ((low, 0.1), (high, 0.3)):
        alone = friction(solve(changed("electric-6", break_angle_deg=str(math.degrees(both))))).dead_band
        assert band[0] == pytest.approx(alone[0 if mu == 0.1 else 1][0], rel=1e-3)


def test_what_the_heights_rest_on() -> None:
    spec, nut = solved(KIND)
    seen = nut_spread(nut, spec.errors, draws=4000)
    assert {one.name for one in seen.sources} == {"zero_fret", "action", "relief"}
    none = nut_spread(nut, Errors(zero_fret=0.0, action=0.0, relief=0.0), draws=200)
    assert none.within == pytest.approx(0.0, abs=1e-9)
    p = 1.0 - 2.0 ** (-1.0 / 12.0)  # straight neck: c1 = h (1 - 2p) + 2p a; the crown's error alone
    alone = nut_spread(nut, Errors(zero_fret=0.04, action=0.0, relief=0.0), draws=20000)
    assert alone.within == pytest.approx(0.04 * (1.0 - 2.0 * p), rel=0.03)


def test_at_the_bench_no_slot_is_filed_by_leaves_and_a_low_one_does_no_harm() -> None:
    spec, nut = solved(KIND)
    work = stages(nut, spec.tools, MATERIALS["bone"])
    assert work[-1].do.code == "stage.fix-behind-zero-fret"
    assert not work[-1].reach
    low = overruled(
        spec,
        {
            "old_nut": {
                "centres": [nut.from_bass_end(slot) for slot in nut.slots],
                "widths": [slot.width for slot in nut.slots],
                "floors": [slot.floor_height - 0.2 for slot in nut.slots],
                "floors_from": "fret plane",
            }
        },
    )
    assert low.old_nut is not None
    np.testing.assert_allclose(old_floor_heights(nut, low.old_nut), [s.floor_height - 0.2 for s in nut.slots])
    judged = reuse(nut, low.old_nut, spec.tools)
    assert all(old.too_low_by == 0.0 for old in judged.strings)
    assert judged.findings == ()


def test_what_is_said_of_the_open_string_starts_on_the_zero_fret() -> None:
    """Tops from its crown on; the nut has no setback to advise, and no step to set the saddle by an unfinished slot."""
    spec, nut = solved(KIND)
    seen = tops(nut, spec.saddle)
    crowns = [float(nut.seat.fret_plane_z(slot.x)) + 0.08 + slot.gauge for slot in nut.slots]
    np.testing.assert_allclose(seen.z[0], crowns, atol=1e-9)
    record = heights_record(nut, played(nut, spec.errors, chosen=(1, 2, 3)))
    assert record["common_setback"] is None
    assert {one["pitch"]["best"] for one in record["strings"]} == {None}
    order = setup_order(nut, before_saddle(spec), spec.setup, spec.saddle, None)
    assert dict(order.saddle.values) == {}
    assert order.after[0].code == "setup.nut-behind-zero-fret"
    raised = cents_with(nut, [1, 12], raised=0.0)
    np.testing.assert_allclose(raised, pitches(nut).cents[:, [0, 11]], atol=1e-9)
