"""The report on cutters: each slot in its own frame, against what geometry says."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.geometry.lines import Arc
from nutgen.model.mill.clearing import clearings, slot_clearing, top_clearing
from nutgen.model.mill.milling import clamped, plan_chains
from nutgen.model.mill.relief import height_above
from nutgen.spec.forming import Cutter, Mill
from nutgen.theory.crown import Crown
from tests.model.nuts import nut, slot

FANS = st.floats(-8.0, 8.0)
WIDTHS = st.floats(0.3, 3.0)


def with_slot(**values: float):
    one = slot(depth=1.2, floor_z=0.8, **values)
    return nut(slots=(one,), bevel_deg=4.0, edge_radius=0.3), one


@settings(deadline=None)
@given(WIDTHS, FANS, st.floats(1.0, 12.0))
def test_a_ball_exactly_as_wide_makes_the_slot(width: float, fan_deg: float, tilt_deg: float) -> None:
    part, one = with_slot(width=width, fan_deg=fan_deg, tilt_deg=tilt_deg)
    found = slot_clearing(part, one, [Cutter(width, "ball")])
    assert found.largest == width
    assert found.cutter is not None
    assert found.floor_left < max(0.01, found.pitch)
    assert found.walls_left == 0.0


@settings(deadline=None)
@given(WIDTHS, FANS)
def test_a_ball_a_hair_too_wide_does_not_reach_the_floor(width: float, fan_deg: float) -> None:
    part, one = with_slot(width=width, fan_deg=fan_deg)
    found = slot_clearing(part, one, [Cutter(width * 1.01, "ball")])
    r, half = width * 1.01 / 2.0, width / 2.0
    least_depth = 1.2 - width / 2.0  # the walls' height; the ball's rim cannot pass between them
    dip = r - math.sqrt(r * r - half * half)
    if least_depth > 0.2:
        assert found.floor_left == pytest.approx(1.2 - dip, abs=0.45 + width / 5.0)
        assert found.floor_left > 0.1


@pytest.mark.parametrize("share", [0.4, 0.7, 0.95])
def test_a_flat_end_in_a_round_floor(share: float) -> None:
    part, one = with_slot(width=2.0, tilt_deg=3.0)
    cutter = Cutter(2.0 * share, "flat")
    found = slot_clearing(part, one, [cutter])
    exact = 1.0 - math.sqrt(1.0 - share**2)
    slope = share / math.sqrt(1.0 - share**2)
    assert found.floor_left == pytest.approx(exact, abs=found.pitch * (1.0 + slope))


def test_of_several_cutters_the_one_that_fits_is_named() -> None:
    part, one = with_slot(width=1.3)
    cutters = [Cutter(3.0, "flat"), Cutter(1.0, "ball"), Cutter(0.5, "ball"), Cutter(1.2, "flat")]
    found = slot_clearing(part, one, cutters)
    assert found.cutter == Cutter(1.0, "ball")
    assert found.then.code == "mill.milled-whole"


def test_where_none_enters_the_whole_slot_is_left() -> None:
    part, one = with_slot(width=0.3)
    found = slot_clearing(part, one, [Cutter(3.0, "flat")])
    assert found.cutter is None
    assert found.walls_left == pytest.approx(0.15, abs=0.01)
    assert found.then.code == "mill.no-cutter-enters"


@pytest.mark.parametrize("crown", [Crown(2.0, 0.0, 0.0), Crown(2.0, 1.0, 1.0 / 240.0)])
@pytest.mark.parametrize("cutter", [Cutter(3.0, "flat"), Cutter(6.0, "ball")])
def test_a_top_that_bulges_everywhere_is_reached_by_any_cutter(crown: Crown, cutter: Cutter) -> None:
    found = top_clearing(nut(crown=crown, slots=()), [cutter])
    assert found.floor_left < 0.01


def test_every_feature_has_its_line() -> None:
    part = nut(slots=(slot(number=2, x=-8.0), slot(number=1, x=8.0)))
    lines = clearings(part, [Cutter(1.0, "ball")])
    assert [one.number for line in lines for one in line.feature.about] == [2, 1]
    assert len({line.feature for line in lines}) == len(lines) == 5


class TestShelves:
    """A string that starts before the front face lies on a shelf, whose corners are the outline's inside ones."""

    part = nut(slots=(slot(start_y=-1.5, width=2.0, gauge=1.9),), edge_radius=0.0)

    @pytest.mark.parametrize("diameter", [0.5, 1.0, 2.0])
    def test_a_round_cutter_stays_off_the_corner_point(self, diameter: float) -> None:
        """By (sqrt 2 - 1) r: the gap between a corner and the circle that touches both its sides."""
        lines = {line.feature.code: line for line in clearings(self.part, [Cutter(diameter, "flat")])}
        found = lines["mill.inside-corners"]
        exact = (math.sqrt(2.0) - 1.0) * diameter / 2.0
        assert found.walls_left == pytest.approx(exact, abs=1.5 * found.pitch)
        assert found.largest == 0.0  # no turning cutter makes a square inside corner
        assert lines["mill.under-shelves"].then.code == "mill.not-from-above"

    def test_the_surface_reaches_forward_as_far_as_the_shelf(self) -> None:
        assert height_above(self.part, 1.5, -1.4) == pytest.approx(2.0)
        assert height_above(self.part, 0.0, -1.4) == pytest.approx(self.part.slots[0].floor_at(-1.4))
        assert height_above(self.part, 2.0, -1.4) == self.part.lowest_z

    @pytest.mark.parametrize("radius", [0.25, 0.5])
    def test_dogbones_clear_them_where_asked(self, radius: float) -> None:
        mill = Mill(cutters=(Cutter(2.0 * radius, "flat"), Cutter(6.0, "flat")), dogbones=True)
        plain, cut = (
            next(
                level.chain for level in plan_chains(clamped(self.part, table), table) if level.chain.layer == "outline"
            )
            for table in (mill.model_copy(update={"dogbones": False}), mill)
        )
        arcs = [part for part in cut.parts if isinstance(part, Arc)]
        assert len(arcs) == 2
        assert {round(arc.radius, 6) for arc in arcs} == {radius}
        half_disc_less_corner = (math.pi / 2.0 - 1.0) * radius**2
        assert plain.area - cut.area == pytest.approx(2.0 * half_disc_less_corner, abs=1e-6)
