"""Stock, frame, contours and dogbones, before they become a file."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon

from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, of_key, refusal
from nutgen.geometry.lines import Arc, Chain, polygon
from nutgen.model.mill.dogbones import relieved
from nutgen.model.mill.milling import clamped, plan_chains, slot_lines
from nutgen.spec.forming import Cutter, Mill
from tests.model.nuts import nut, slot


def outline_of(work, mill: Mill) -> Chain:
    return next(level.chain for level in plan_chains(work, mill) if level.chain.layer == "outline")


def test_zero_is_the_stocks_corner_and_the_nut_lies_inside() -> None:
    mill = Mill(stock_length=60.0, stock_thickness=9.0, stock_height=12.0)
    work = clamped(nut(slots=(slot(),)), mill)
    levels = {level.chain.layer: level for level in plan_chains(work, mill)}
    assert levels["stock"].chain.box == (0.0, 0.0, 60.0, 9.0)
    assert levels["stock"].z == 0.0
    assert levels["outline"].chain.box == pytest.approx((10.0, 2.0, 50.0, 7.0))
    assert levels["outline"].z == -12.0
    assert all(level.z <= 0.0 for level in levels.values())


def test_allowances_are_on() -> None:
    from nutgen.nut.part import Allowances

    part = nut(allowances=Allowances(top=0.5, back=0.3, ends=0.2, floors=0.1), slots=(slot(),))
    mill = Mill(stock_length=60.0, stock_thickness=9.0, stock_height=12.0)
    left, low, right, high = outline_of(clamped(part, mill), mill).box
    assert (right - left, high - low) == pytest.approx((40.4, 5.3))
    start = next(iter(slot_lines(clamped(part, mill)))).points[0]
    assert start[2] == pytest.approx(1.2 + 0.1 + 3.0 - 12.0)


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


@given(st.floats(4.0, 60.0), st.floats(2.0, 20.0))
@settings(deadline=None)
def test_a_rolled_floor_is_followed_closely(roll_radius: float, tilt_deg: float) -> None:
    """Against the circle itself: no chord leaves it by more than a thousandth."""
    if 5.0 / roll_radius + math.sin(math.radians(tilt_deg)) > 0.9:
        return
    one = slot(roll_radius=roll_radius, tilt_deg=tilt_deg)
    work = clamped(nut(slots=(one,)), Mill())
    (line,) = slot_lines(work)
    _, dy, dz = work.shift
    tilt = math.radians(tilt_deg)
    yc, zc = -roll_radius * math.sin(tilt), 1.2 - roll_radius * math.cos(tilt)
    for a, b in zip(line.points, line.points[1:], strict=False):
        for share in (0.0, 0.5, 1.0):
            y, z = (p + share * (q - p) for p, q in zip(a[1:], b[1:], strict=True))
            assert abs(math.hypot(y - dy - yc, z - dz - zc) - roll_radius) < 0.0011
    assert line.points[-1][1] - dy == pytest.approx(5.0)


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
    assert not any(isinstance(part, Arc) for part in outline_of(work, mill).parts)
    assert outline_of(work, mill) == outline_of(work, Mill())
