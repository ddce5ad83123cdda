"""Lines of a slot in its own frame, against what geometry says; test_cut.py simulates them on whole nuts."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.geometry.lines import Arc, Chain
from nutgen.model.mill.clearing import by_hand, corner_left
from nutgen.model.mill.milling import clamped, plan_levels
from nutgen.model.mill.runs import SKIN, WALL_ROOM, SlotCut, slot_cuts
from nutgen.spec.forming import Cutter, Mill
from tests.model.nuts import nut, slot

FANS = st.floats(-8.0, 8.0)
WIDTHS = st.floats(0.3, 3.0)


def cut(*cutters: Cutter, **values: float) -> SlotCut:
    """One slot of a bar, and how the cutters make it."""
    part = nut(slots=(slot(depth=1.2, floor_z=0.8, **values),), bevel_deg=4.0, edge_radius=0.3)
    mill = Mill(cutters=cutters)
    return slot_cuts(clamped(part, mill), cutters)[0]


@settings(max_examples=20)
@given(WIDTHS, FANS, st.floats(1.0, 12.0))
def test_a_ball_that_just_enters_makes_the_floor(width: float, fan_deg: float, tilt_deg: float) -> None:
    """Its middle runs along the axis of the round floor: radius over the cosine of the fall, less the radius."""
    ball = Cutter(width - 2.0 * WALL_ROOM - 1e-9, "ball")
    found = cut(ball, width=width, fan_deg=fan_deg, tilt_deg=tilt_deg)
    assert found.cutter == ball
    assert len(found.runs) == 1
    assert found.floor_left == pytest.approx(SKIN, abs=0.003)
    assert found.walls_left == pytest.approx(WALL_ROOM)
    (run,) = found.runs
    rises = (ball.radius + SKIN) / math.cos(math.radians(tilt_deg)) - ball.radius
    assert run.front[2] == pytest.approx(0.8 + rises - 3.0, abs=0.003)  # the bar's stock is 6 high, its foot at -3


@settings(max_examples=20)
@given(st.floats(0.3, 2.0), FANS, st.floats(1.02, 3.0))
def test_a_ball_too_wide_rides_on_the_two_edges(width: float, fan_deg: float, share: float) -> None:
    """Level top, level floor: it dips in by its sagitta over the slot, less the room."""
    part = nut(
        slots=(slot(depth=1.2, floor_z=0.8, width=width, fan_deg=fan_deg, tilt_deg=0.0),),
        bevel_deg=0.0,
        edge_radius=0.0,
    )
    ball = Cutter(share * width, "ball")
    (found,) = slot_cuts(clamped(part, Mill(cutters=(ball,))), [ball])
    r, half = ball.radius + WALL_ROOM, width / 2.0
    dip = r - math.sqrt(r * r - half * half) - WALL_ROOM
    if dip < 0.04:
        assert dip > 0.02 or found.cutter is None
        return
    assert found.then.code == "mill.marked"
    assert math.isinf(found.walls_left)
    assert found.floor_left == pytest.approx(1.2 - dip, abs=0.015)
    assert found.runs[0].level == pytest.approx(2.0 - dip - 3.0, abs=0.01)


@pytest.mark.parametrize("share", [0.4, 0.7, 0.95])
def test_a_flat_end_stands_on_its_rim_in_a_round_floor(share: float) -> None:
    """R - sqrt(R^2 - r^2) above the bottom."""
    found = cut(Cutter(2.0 * share, "flat"), width=2.0, tilt_deg=0.0)
    r = share + SKIN
    assert found.floor_left == pytest.approx(1.0 - math.sqrt(1.0 - r**2) + SKIN, abs=0.003)


def test_of_several_cutters_the_widest_ball_that_enters_is_taken() -> None:
    cutters = [Cutter(3.0, "flat"), Cutter(1.0, "ball"), Cutter(0.5, "ball"), Cutter(1.2, "flat")]
    found = cut(*cutters, width=1.3)
    assert found.cutter == Cutter(1.0, "ball")
    assert found.then.code == "mill.milled-whole"
    middle, left, right = found.runs
    assert right.front[0] - left.front[0] == pytest.approx(1.3 - 1.0 - 2.0 * WALL_ROOM)
    assert left.front[2] == right.front[2] > middle.front[2]


def test_lines_beside_each_other_are_close_enough() -> None:
    """A ball of radius r leaves r - sqrt(r^2 - (d/2)^2) between lines d apart on a flat: under 0.04 r at d = r / 2."""
    found = cut(Cutter(0.5, "ball"), width=2.5)
    across = sorted(run.front[0] for run in found.runs)
    assert max(b - a for a, b in pairwise(across)) <= 0.125 + 1e-9
    assert across[-1] - across[0] == pytest.approx(2.5 - 0.5 - 2.0 * WALL_ROOM)


@pytest.mark.parametrize("cutters", [(Cutter(3.0, "flat"),), (Cutter(6.0, "ball"),)])
def test_where_none_dips_in_the_whole_slot_is_left(cutters: tuple[Cutter, ...]) -> None:
    found = cut(*cutters, width=0.3, tilt_deg=0.0)
    assert found.cutter is None
    assert found.runs == ()
    assert found.floor_left == pytest.approx(1.2, abs=0.01)
    assert found.then.code == "mill.no-cutter-enters"


@settings(max_examples=8)
@given(st.floats(4.0, 60.0), st.floats(2.0, 20.0))
def test_a_rolled_floor_is_followed_closely(roll_radius: float, tilt_deg: float) -> None:
    """The ball's middle runs on a circle about the floor's own axis, wider by the ball; ends run on past faces."""
    if 5.0 / roll_radius + math.sin(math.radians(tilt_deg)) > 0.8:
        return
    one, ball = slot(roll_radius=roll_radius, tilt_deg=tilt_deg), Cutter(0.5, "ball")
    work = clamped(nut(slots=(one,)), Mill(cutters=(ball,)))
    run = slot_cuts(work, [ball])[0].runs[0]
    assert run.points[0][1] < work.shift[1] - ball.radius
    assert run.points[-1][1] > work.shift[1] + 5.0 + ball.radius
    tilt = math.radians(tilt_deg)
    yc, zc = -roll_radius * math.sin(tilt), 1.2 - roll_radius * math.cos(tilt)
    for a, b in pairwise(run.points[1:-1]):
        for share in (0.0, 0.5, 1.0):
            y, z = (p + share * (q - p) for p, q in zip(a[1:], b[1:], strict=True))
            middle = y - work.shift[1] - yc, z - work.shift[2] + ball.radius - zc
            assert math.hypot(*middle) == pytest.approx(roll_radius + ball.radius + SKIN, abs=0.0025)
    half_way = work.shift[1] + 2.5
    _, y, z = np.transpose(run.points)
    assert (run.front[2] + run.back[2]) / 2.0 >= np.interp(half_way, y, z) - 1e-9  # a straight run stays above it


class TestShelves:
    """A string that starts before the front face lies on a shelf, whose corners are the outline's inside ones."""

    part = nut(slots=(slot(start_y=-1.5, width=2.0, gauge=1.9),), edge_radius=0.0)

    @pytest.mark.parametrize("diameter", [0.5, 1.0, 2.0])
    def test_a_round_cutter_stays_off_the_corner_point(self, diameter: float) -> None:
        """By (sqrt 2 - 1) r: the gap between a corner and the circle that touches both its sides."""
        work = clamped(self.part, Mill(cutters=(Cutter(diameter, "flat"),)))
        assert corner_left(work) == pytest.approx((math.sqrt(2.0) - 1.0) * diameter / 2.0)
        assert [one.code for one in by_hand(work)] == [
            "mill.saw-the-tabs", "mill.square-the-corners", "mill.not-from-above",
        ]  # fmt: skip

    @pytest.mark.parametrize("radius", [0.25, 0.5])
    def test_dogbones_clear_them_where_asked(self, radius: float) -> None:
        mill = Mill(cutters=(Cutter(2.0 * radius, "flat"), Cutter(6.0, "flat")), dogbones=True)
        work = clamped(self.part, mill)
        plain, boned = (around(one) for one in (clamped(self.part, mill.model_copy(update={"dogbones": False})), work))
        arcs = [part for part in boned.parts if isinstance(part, Arc)]
        assert len(arcs) == 2
        assert {round(arc.radius, 6) for arc in arcs} == {radius} == {work.cutter.radius}
        half_disc_less_corner = (math.pi / 2.0 - 1.0) * radius**2
        assert plain.area - boned.area == pytest.approx(2.0 * half_disc_less_corner, abs=1e-6)
        assert corner_left(work) == 0.0


def around(work) -> Chain:
    return next(level.chain for level in plan_levels(work) if level.chain.layer == "outline")
