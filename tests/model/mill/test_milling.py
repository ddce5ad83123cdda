"""Stock, frame, contours and dogbones, before they become a file."""

import math

import pytest
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon

from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, of_key, refusal, warning
from nutgen.geometry.lines import Arc, Chain, polygon
from nutgen.model.mill.dogbones import relieved
from nutgen.model.mill.milling import clamped, plan_levels, profile_levels
from nutgen.model.mill.runs import slot_cuts
from nutgen.spec.forming import Cutter, Mill
from tests.model.nuts import nut, slot


def outline_of(work) -> Chain:
    return next(level.chain for level in plan_levels(work) if level.chain.layer == "outline")


def test_zero_is_the_stocks_corner_and_the_nut_lies_inside() -> None:
    mill = Mill(stock_length=60.0, stock_thickness=9.0, stock_height=12.0)
    work = clamped(nut(slots=(slot(),)), mill)
    levels = {level.chain.layer: level for level in plan_levels(work)}
    assert levels["stock"].chain.box == (0.0, 0.0, 60.0, 9.0)
    assert levels["stock"].z == 0.0
    assert levels["outline"].chain.box == pytest.approx((10.0, 2.0, 50.0, 7.0))
    assert levels["outline"].z == -12.0
    assert all(level.z <= 0.0 for level in levels.values())


def test_a_nut_that_reaches_over_the_board_lies_in_the_middle_too() -> None:
    """Its slot starts 1 mm before the face: 6 mm deep, so that 1.5 of 9 are left on either side."""
    work = clamped(nut(slots=(slot(start_y=-1.0),)), Mill(stock_length=60.0, stock_thickness=9.0, stock_height=12.0))
    assert outline_of(work).box == pytest.approx((10.0, 1.5, 50.0, 7.5))


def test_allowances_are_on() -> None:
    from nutgen.nut.part import Allowances

    part = nut(allowances=Allowances(top=0.5, back=0.3, ends=0.2, floors=0.1), slots=(slot(),))
    mill = Mill(stock_length=60.0, stock_thickness=9.0, stock_height=12.0)
    left, low, right, high = outline_of(clamped(part, mill)).box
    assert (right - left, high - low) == pytest.approx((40.4, 5.3))
    (cut,) = slot_cuts(clamped(part, mill), mill.cutters)
    assert cut.runs[0].front[2] == pytest.approx(1.2 + 0.1 + 3.0 - 12.0, abs=0.015)


def stock_too_small(side: str, **sizes: float) -> Finding:
    return refusal("mill.stock-too-small", of_key(f"mill.stock_{side}"), **sizes)


@pytest.mark.parametrize(
    ("mill", "told"),
    [
        (Mill(stock_thickness=4.9), stock_too_small("thickness", size=4.9, need=5.0)),
        (Mill(stock_length=39.0), stock_too_small("length", size=39.0, need=40.0)),
        (Mill(stock_height=4.0), stock_too_small("height", size=4.0, need=5.0)),
        (
            Mill(cutters=(Cutter(41.0, "flat"),)),
            refusal("mill.cutter-too-large", diameter=41.0, end="flat", length=40.0),
        ),
    ],
)
def test_what_does_not_go_together_is_told(mill: Mill, told: Finding) -> None:
    with pytest.raises(CannotBeMade) as refused:
        clamped(nut(slots=(slot(),)), mill)
    assert refused.value.findings == (told,)


class TestHeld:
    """The nut is held by what sticks out of it: clamps at the ends, tabs between, the cutter all round."""

    @pytest.mark.parametrize("levels", [plan_levels, profile_levels])
    @pytest.mark.parametrize("diameter", [2.0, 6.0])
    def test_the_cutter_passes_between_clamps_and_nut(self, levels, diameter: float) -> None:
        work = clamped(nut(slots=(slot(),)), Mill(cutters=(Cutter(diameter, "flat"),)))
        drawn = {name: [one for one in levels(work) if one.chain.layer == name] for name in ("clamps", "tabs", "stock")}
        (outline,) = (one for one in levels(work) if one.chain.layer in ("outline", "profile"))
        left, low, right, high = outline.chain.box
        swept = Polygon([(left, low), (right, low), (right, high), (left, high)]).buffer(diameter)
        for clamp in drawn["clamps"]:
            x0, y0, x1, y1 = clamp.chain.box
            assert not swept.intersects(Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))
            assert x1 - x0 >= 8.0 - 1e-9
        assert len(drawn["clamps"]) == len(drawn["tabs"]) == 2
        for tab in drawn["tabs"]:
            x0, y0, x1, y1 = tab.chain.box
            assert min(abs(x1 - left), abs(x0 - right)) < 1e-9
            assert x1 - x0 > diameter
            assert low < y0 < y1 < high
            assert outline.z + 1.5 == pytest.approx(tab.z)
        assert work.warnings == ()

    def test_a_ball_that_goes_round_cuts_with_its_side(self) -> None:
        work = clamped(nut(slots=(slot(),)), Mill(cutters=(Cutter(2.0, "ball"),)))
        (outline,) = (one for one in plan_levels(work) if one.chain.layer == "outline")
        assert outline.z == pytest.approx(-work.stock.height - 1.0)

    def test_stock_too_short_to_clamp_is_told(self) -> None:
        work = clamped(nut(slots=(slot(),)), Mill(stock_length=46.0))
        about = of_key("mill.stock_length")
        assert work.warnings == (warning("mill.nothing-to-clamp", about, beyond=3.0, wanted=12.0, longer=64.0),)
        assert not [one for one in plan_levels(work) if one.chain.layer == "clamps"]


def area_by_shapely(chain: Chain) -> float:
    """Arcs as many short lines."""
    points = []
    for part in chain.parts:
        steps = 400 if isinstance(part, Arc) else 1
        for i in range(steps):
            share = i / steps
            if isinstance(part, Arc):
                points.append(part.at_deg(part.start_deg + share * part.sweep_deg))
            else:
                points.append(part.start)
    return Polygon(points).area


@pytest.mark.parametrize("radius", [0.5, 1.0])
def test_a_dogbone_clears_the_point_of_an_inside_corner(radius: float) -> None:
    ell = Chain("outline", polygon([(0, 0), (10, 0), (10, 4), (6, 4), (6, 9), (0, 9)]))
    boned = relieved(ell, radius=radius)
    (arc,) = (part for part in boned.parts if isinstance(part, Arc))
    assert arc.radius == pytest.approx(radius)
    assert math.dist(arc.centre, (6.0, 4.0)) == pytest.approx(radius)  # the rim passes through the corner
    assert arc.centre[0] > 6.0
    assert arc.centre[1] > 4.0
    assert boned.closed
    body = Polygon([(0, 0), (10, 0), (10, 4), (6, 4), (6, 9), (0, 9)])
    expected = body.difference(Spot(arc.centre).buffer(radius, quad_segs=512)).area
    assert boned.area == pytest.approx(expected, abs=1e-4)
    assert boned.area == pytest.approx(area_by_shapely(boned), abs=1e-3)


def test_an_outline_without_inside_corners_has_no_dogbone() -> None:
    mill = Mill(dogbones=True)
    work = clamped(nut(slots=(slot(),)), mill)
    assert not any(isinstance(part, Arc) for part in outline_of(work).parts)
    assert outline_of(work) == outline_of(clamped(nut(slots=(slot(),)), Mill()))
