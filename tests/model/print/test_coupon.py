"""The fit coupon: sound, readable by its notches, and closing the loop through a printer that errs."""

import io
import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from nutgen.errors import CannotBeMade
from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import stl_bytes
from nutgen.geometry.mesh import Mesh
from nutgen.model.mesh import FINE, mesh_of
from nutgen.model.print.coupon import Coupon, coupon_of, coupon_solid, notch_depths
from nutgen.model.print.printing import lay, print_plan
from nutgen.model.solid import nut_solid
from nutgen.nut import solve
from nutgen.spec.forming import COUPON_MOST, COUPON_STEP, Print
from nutgen.spec.read import read_spec
from tests.model.nuts import nut, slot
from tests.model.print.test_printing import floor_at, gap_at, section
from tests.specs import PRESETS

STAMP = Stamp("Bench test", "0123456789ab")
PART = nut(
    slots=(
        slot(number=2, x=-8.0, width=1.6, gauge=1.5, floor_z=0.6, depth=1.4),
        slot(number=1, x=8.0, width=1.3, gauge=1.2, floor_z=0.6, depth=1.4),
    )
)


def read(mesh: Mesh) -> trimesh.Trimesh:
    return trimesh.load(io.BytesIO(stl_bytes(mesh, STAMP)), file_type="stl")


def bar(part=PART, table: Print | None = None, number: int | None = None) -> tuple[Coupon, trimesh.Trimesh]:
    table = table or Print()
    coupon = coupon_of(part, table, number=number)
    return coupon, read(mesh_of(coupon_solid(coupon, table)))


@pytest.mark.parametrize("path", [p for p in PRESETS if p.stem in ("bass-4-fifths", "mandolin", "ukulele-soprano")])
def test_presets_give_a_sound_bar(path) -> None:
    coupon, mesh = bar(solve(read_spec(path)))
    assert mesh.is_watertight
    assert mesh.body_count == 1
    top = max(coupon.height, *coupon.treads.values())
    assert mesh.extents == pytest.approx((coupon.length, coupon.depth, top), abs=1e-3)
    drawn = section(mesh, coupon.height / 2.0)
    assert drawn.buffer(-0.39).geom_type == "Polygon"  # nowhere thinner than two lines of 0.4


def test_slots_are_as_wide_as_they_say() -> None:
    coupon, mesh = bar()
    drawn = section(mesh, 2.5)
    for step, width in coupon.widths.items():
        assert width == pytest.approx(1.5 + step * COUPON_STEP)
        assert gap_at(drawn, coupon.centres[step], coupon.depth - 0.2) == pytest.approx(width, abs=1e-4)


def test_notches_count_the_steps() -> None:
    coupon, mesh = bar()
    drawn = section(mesh, 2.5)
    places = sorted(coupon.centres.values())
    half = (places[1] - places[0]) / 2.0
    for step, centre in coupon.centres.items():
        counted = 0
        for depth, worth in ((0.4, 1), (1.3, 4)):  # a deep notch is cut by both lines: 1 + 4
            ray = LineString([(centre - half, depth), (centre + half, depth)]).difference(drawn)
            inside = [p for p in getattr(ray, "geoms", [ray]) if p.length < 1.2 and not p.is_empty]
            inside = [p for p in inside if p.bounds[0] > 1.9]  # the cut corner is no notch
            counted += worth * len(inside)
        assert counted == abs(step)


@pytest.mark.parametrize("steps", range(COUPON_MOST + 1))
def test_fives_and_ones(steps: int) -> None:
    depths = notch_depths(-steps)
    assert sum(5 if depth > 1.0 else 1 for depth in depths) == steps
    assert len(depths) <= 4


def test_stair_goes_up_a_layer_at_a_time_and_is_thin_at_the_end() -> None:
    coupon, mesh = bar()
    x = [coupon.length - 3.0 - 6.0 * i for i in range(5)]
    tops = []
    for place in x:
        lines = trimesh.intersections.mesh_plane(mesh, (1.0, 0.0, 0.0), (place, 0.0, 0.0))
        tops.append(float(lines[:, :, 2].max()))
    assert tops == pytest.approx([4.6, 4.8, 5.0, 5.2, 5.4], abs=1e-4)


def test_too_thin_a_string_is_told() -> None:
    with pytest.raises(CannotBeMade, match=r"coupon\.too-thin"):
        coupon_of(nut(slots=(slot(gauge=0.3),)), Print())


def reading(coupon: Coupon, came_out: Polygon) -> int:
    """The narrowest slot that the string enters, as a maker would find it."""
    low = came_out.bounds[3] - 0.2
    fits = [k for k, x in coupon.centres.items() if gap_at(came_out, x, low) >= coupon.slot.gauge]
    return min(fits)


@pytest.mark.slow
@settings(max_examples=12)
@given(st.floats(-0.10, 0.09))
def test_the_coupon_closes_the_loop(shrink: float) -> None:
    """A printer draws every side in by `shrink`; the coupon, printed and read, gives back a part within 0.02 mm."""

    def printer(drawn: Polygon) -> Polygon:
        return drawn.buffer(-shrink, join_style="mitre")

    coupon, mesh = bar()
    step = reading(coupon, printer(section(mesh, 2.5)))
    assert step > -COUPON_MOST
    table = Print(coupon_slot=step)
    assert table.added_per_side == pytest.approx(shrink, abs=COUPON_STEP / 4.0 + 1e-3)
    plan = print_plan(PART, table)
    came_out = printer(section(read(lay(mesh_of(nut_solid(plan.drawn), within=FINE), plan).mesh), 4.9))
    left, low, right, _ = came_out.bounds
    assert right - left == pytest.approx(PART.length, abs=0.02)
    at_layer = 0.1 * math.tan(math.radians(5.0))  # half a layer behind the front the floor is so much lower
    for one in PART.slots:
        x = left + PART.right.x + one.x
        assert gap_at(came_out, x, low + 5.0 - 0.2) == pytest.approx(one.width, abs=0.02)
        floor = floor_at(came_out, x) - low + PART.lowest_z
        assert floor == pytest.approx(one.floor_z - at_layer, abs=0.02)


def test_the_stair_sets_the_thickness_in_whole_layers() -> None:
    plan = print_plan(nut(thickness=5.07, slots=(slot(),)), Print(coupon_seat=-1))
    assert plan.nut.thickness == pytest.approx(5.0)  # a tread under 26 layers
    assert np.isclose(plan.nut.thickness / 0.2, round(plan.nut.thickness / 0.2))
