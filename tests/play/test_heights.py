"""Clearances and shop checks against a walk along the string, and against what the nut says of itself."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from nutgen.jobs.record import nut_record
from nutgen.nut import Nut, solve
from nutgen.nut.heights import line_of
from nutgen.play.heights import floor_for_check, fret_numbers, fretted_clearance, relief_dip, shop_checks
from nutgen.spec.values import Across
from tests.play.files import KINDS, changed, one_string, solved
from tests.play.walk import Walk


@pytest.mark.parametrize("kind", KINDS)
def test_heights_check_and_solid_speak_of_one_string(kind: str) -> None:
    """What `heights` prints, what `check` prints, and the z that the slot is cut at."""
    spec, nut = solved(kind)
    line = line_of(nut)
    strings = nut_record(spec, nut)["strings"]
    np.testing.assert_allclose(line.clearance(1)[:, 0], [s["first_fret_clearance"] for s in strings], atol=1e-6)
    np.testing.assert_allclose(line.clearance(12)[:, 0], [s["action"] for s in strings], atol=1e-6)
    starts = [s["zero_fret"]["height"] if "zero_fret" in s else s["floor_height"] for s in strings]
    np.testing.assert_allclose(line.floor_height[:, 0], starts, atol=1e-6)
    if "zero_fret" in strings[0]:
        return  # its slots are drawn by hand in tests/nut/test_zero_fret.py
    # the floor's z less the plane over frets 1 and 2 at the string's own place across the board
    drop = 0.0 if np.isinf(spec.fretboard.radius) else spec.fretboard.radius
    for slot, floor in zip(nut.slots, line.floor_height[:, 0], strict=True):
        if spec.seat.fret_plane is None:
            across = nut.in_neck.apply([slot.x, slot.start_y, 0.0])[0]
            plane = spec.fretboard.fret_height - (drop - np.sqrt(drop**2 - across**2) if drop else 0.0)
            assert slot.floor_z - plane == pytest.approx(floor, abs=1e-9)


@pytest.mark.parametrize("setback", [0.0, 0.6])
@pytest.mark.parametrize("kind", ["bass-4-fifths", "electric-6-left", "electric-6-slanted"])
def test_targets_are_met_on_a_walked_string(kind: str, setback: float) -> None:
    """Relief: solve, then walk the string over the arc at 10,000 points; both targets within 1e-6 mm."""
    spec = changed(kind).model_copy(
        update={
            "material": "brass",  # which bears a thin shelf
            "slots": changed(kind).slots.model_copy(update={"setback": Across((setback,))}),
        }
    )
    nut = solve(spec)
    for slot in nut.slots:
        walk = Walk(nut, slot)
        # the line by itself: its start, and its rise against the fret plane
        rise = np.tan(
            np.radians(slot.incline_deg)
            + np.arctan((walk.crown_at(2) - walk.crown_at(1)) / (walk.places[2] - walk.places[1]))
        )
        start = walk.floor(slot.floor_height)
        ends = [(walk.start, start), (walk.scale, start + rise * (walk.scale - walk.start))]
        assert walk.gap(ends, 1) == pytest.approx(slot.first_fret_clearance, abs=1e-6)
        assert walk.gap(ends, 12) == pytest.approx(slot.action, abs=1e-6)
    targets = spec.setup.first_fret_clearance
    assert nut.slots[0].first_fret_clearance == pytest.approx(targets.bass, abs=1e-9)
    assert nut.slots[-1].first_fret_clearance == pytest.approx(targets.treble, abs=1e-9)


@pytest.mark.parametrize("kind", ["bass-4-fifths", "classical"])
def test_every_fret_open_and_pressed_against_the_walk(kind: str) -> None:
    _, nut = solved(kind)
    line, frets = line_of(nut), fret_numbers(nut)
    for i in (0, len(nut.slots) - 1):
        slot = nut.slots[i]
        walk = Walk(nut, slot)
        walked = [walk.open(slot.floor_height, fret) for fret in frets]
        np.testing.assert_allclose(line.clearance(frets)[i], walked, atol=1e-6)
        for pressed in (1, 2, 7, 15):
            ours = fretted_clearance(line, pressed=pressed, over=frets)[i]
            assert np.all(np.isnan(ours[:pressed]))
            walked = [walk.pressed(slot.floor_height, pressed, fret) for fret in frets[pressed:]]
            np.testing.assert_allclose(ours[pressed:], walked, atol=1e-6)


def test_dip_of_the_crowns_is_the_relief_arc() -> None:
    # bass 863.6, frets 1 to 17, relief .356: chord 491.645 mm, R 84.87 m (calculation: C^2 / 8s + s / 2)
    spec = changed("bass-4-fifths", frets="17", relief="0.356")
    nut = solve(spec)
    frets = fret_numbers(nut)
    neck = line_of(nut).neck
    dip, u = relief_dip(neck, frets)[0], neck.fret(frets)[0]
    assert u[-1] - u[0] == pytest.approx(491.645, abs=0.0005)
    three = [0, 7, 16]
    fit = np.linalg.solve(np.column_stack([2 * u[three], -2 * dip[three], np.ones(3)]), u[three] ** 2 + dip[three] ** 2)
    radius = np.sqrt(fit[2] + fit[0] ** 2 + fit[1] ** 2)
    assert radius / 1000.0 == pytest.approx(84.87, abs=0.01)
    np.testing.assert_allclose(np.hypot(u - fit[0], -dip - fit[1]), radius, rtol=1e-9)


class TestShopChecks:
    @staticmethod
    def monochord(floor: float, relief: float = 0.0, action: float = 1.6, setback: float = 0.0) -> Nut:
        more, string = f"[slots]\nsetback = {setback}", 'note = "G3"\ngauge = 0.017'
        return solve(one_string(floor=floor, relief=relief, action=action, more=more, string=string))

    def test_straight_neck_by_hand(self) -> None:
        # Similar triangles on a straight neck (calculation): pressed at 3, the gap at 1 is .64724 b; barred at 1, equal
        # clearance over 2 means a nut at the fret plane.
        checks = shop_checks(line_of(self.monochord(0.4)))
        assert checks.sliver[0] / 0.4 == pytest.approx(0.64724, abs=5e-6)
        assert shop_checks(line_of(self.monochord(0.0))).barre[0] == pytest.approx(0.0, abs=1e-12)

    @settings(max_examples=30)
    @given(
        check=st.sampled_from(["feeler", "sliver", "barre"]),
        reading=st.floats(0.05, 0.6),
        relief=st.just(0.0) | st.floats(0.01, 0.6),
        action=st.floats(1.0, 4.0),
        setback=st.just(0.0) | st.floats(0.1, 1.0),
    )
    def test_conversion_against_root_finding_on_the_walk(
        self, check: str, reading: float, relief: float, action: float, setback: float
    ) -> None:
        nut = self.monochord(0.3, relief, action, setback)
        walk = Walk(nut, nut.slots[0])

        def walked(floor: float) -> dict[str, float]:
            return {
                "feeler": walk.open(floor, 1),
                "sliver": walk.pressed(floor, 3, 1),
                "barre": walk.open(floor, 1) - walk.pressed(floor, 1, 2),
            }

        floor = brentq(lambda b: walked(b)[check] - reading, -3.0, 3.0, xtol=1e-12)
        ours = floor_for_check(nut, check, reading)  # type: ignore[arg-type]
        assert ours[0] == pytest.approx(floor, abs=1e-6)
        others = shop_checks(line_of(nut, floor_height=ours))
        for name, value in walked(floor).items():
            assert getattr(others, name)[0] == pytest.approx(value, abs=1e-6), name
