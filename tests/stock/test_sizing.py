"""The block to saw out of a piece: it holds the finished nut, agrees with the stages, keeps core where it may be.

The finished nut is taken from the solved nut's own surfaces, point by point; sections are held against
each other by shapely.
"""

from typing import get_args

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import unary_union
from shapely.geometry import MultiPoint, Point, Polygon

from nutgen.bench.materials import MATERIALS
from nutgen.bench.stages import stages
from nutgen.errors import CannotBeMade
from nutgen.finding import of_key
from nutgen.nut import Nut, solve
from nutgen.spec.piece import Permit
from nutgen.spec.read import parse_spec, read_spec
from nutgen.spec.workshop import MaterialName, Tools
from nutgen.stock.block import Block, Region
from nutgen.stock.sizing import block_of, if_more_were_permitted
from tests.kinds import text_of
from tests.specs import PRESETS, solved, specs

NATURAL = [name for name in get_args(MaterialName) if not MATERIALS[name].printed]
TOOLS = Tools()

CLOSE = 1e-9
"""Rounding of sums [mm]."""

SETTINGS = settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
)

MATERIAL = st.sampled_from(NATURAL)


def permit(*core_in: str, wane: float = 0.0, compact: float = 1.0, sawn_face: float | None = None) -> Permit:
    return Permit(grain_deg=10.0, wane=wane, core_in=core_in, compact=compact, kerf=0.8, sawn_face=sawn_face)


SET_BACK = {"slots.setback": [0.6, 0.0, 0.3, 0.35, 0.1]}
"""Of five strings."""


@pytest.fixture(scope="module", params=[*(path.stem for path in PRESETS), "bass-5, set back"])
def preset(request: pytest.FixtureRequest) -> Nut:
    kind, _, changed = request.param.partition(", ")
    return solve(parse_spec(text_of(kind, SET_BACK if changed else {}), source=kind))


def foremost_of(nut: Nut) -> float:
    """The front face, or the farthest place before it where a string starts; less than 0.02 makes no shelf [mm]."""
    return min([0.0, *(slot.start_y for slot in nut.slots if slot.start_y <= -0.02)])


def finished(block: Block) -> tuple[float, float, float, float]:
    """The finished nut in the block, seen from its end: front, back, underside, top [mm]."""
    (front, underside), _, (back, top), _ = block.section(block.to_sand).tolist()
    return front, back, underside, top


def silhouette(nut: Nut, block: Block) -> Polygon:
    """The finished nut in the block, seen from its end, its edges not yet eased: every top there is along x.

    From the nut's own surfaces; the foremost place is the front face, or where a string starts before it.
    """
    front, _, underside, _ = finished(block)
    foremost = foremost_of(nut)
    y = np.concatenate([[foremost, 0.0, nut.land], np.linspace(0.0, nut.thickness, 61)])
    left, right = (end.x + y * np.tan(np.radians(end.lean_deg)) for end in (nut.left, nut.right))
    x = np.linspace(left, right, 401)
    highest = x[nut.top_z(x, y).argmax(axis=0), np.arange(len(y))]
    about = highest + np.linspace(-1.0, 1.0, 41)[:, np.newaxis] * (x[1] - x[0])
    top = nut.top_z(np.clip(about, left, right), y).max(axis=0)
    lowest = float(nut.underside.z(x, y)[:, 1:].min())  # what stands before the front face has no underside
    places = np.column_stack([np.tile(y, 2), np.concatenate([top, np.full(len(y), lowest)])])
    return MultiPoint(np.add(places, [front - foremost, underside - lowest])).convex_hull


def section(region: Region) -> Polygon:
    return Polygon(region.outline)


def rectangle(thickness: float, height: float) -> Polygon:
    y, z = thickness / 2.0, height / 2.0
    return Polygon([(-y, -z), (y, -z), (y, z), (-y, z)])


def check_nested(nut: Nut, block: Block) -> None:
    """The finished nut lies in the squared block, that in the sawn one; what is sanded off makes up the difference."""
    sand, square = block.to_sand, block.to_square
    assert all(0.0 <= square[face] <= sand[face] + CLOSE for face in sand)
    pairs = (("end", "end"), ("front", "back"), ("underside", "top"))
    for axis, (one, other) in enumerate(pairs):
        assert sand[one] + sand[other] == pytest.approx(block.size[axis] - block.finished[axis], abs=CLOSE)
        assert square[one] + square[other] == pytest.approx(block.size[axis] - block.squared[axis], abs=CLOSE)
    nut_seen = silhouette(nut, block)
    low_y, low_z, high_y, high_z = nut_seen.bounds
    front, back, underside, top = finished(block)
    assert (low_y, high_y) == pytest.approx((front, back), abs=1e-6)
    assert low_z == pytest.approx(underside, abs=1e-6)
    assert top - 1e-3 < high_z <= top + CLOSE  # the highest place may lie between two that are looked at
    assert (high_y - low_y, nut.extent) == pytest.approx((block.finished[1], block.finished[0]), abs=1e-6)
    y, z = block.thickness / 2.0, block.height / 2.0
    squared = Polygon(
        [
            (-y + square["front"], -z + square["underside"]),
            (y - square["back"], -z + square["underside"]),
            (y - square["back"], z - square["top"]),
            (-y + square["front"], z - square["top"]),
        ]
    )
    assert squared.buffer(1e-6).contains(nut_seen)
    assert rectangle(block.thickness, block.height).buffer(1e-6).contains(squared)


def check_stages(nut: Nut, material: MaterialName, block: Block) -> None:
    """What the stages at the bench say of the sawn and of the squared block."""
    assert TOOLS is not None
    found = stages(nut, TOOLS, MATERIALS[material])
    work = {stage.name: {size.kind: size.target for size in stage.reach} for stage in found}
    names = ("length", "thickness" if foremost_of(nut) == 0.0 else "whole thickness", "height")
    assert [work["saw"][name] for name in names] == pytest.approx(block.size, abs=CLOSE)
    assert [work["square"][name] for name in names] == pytest.approx(block.squared, abs=CLOSE)


def check_regions(block: Block) -> None:
    """Convex, counter-clockwise, within the block; one against the skin, and it is the block itself."""
    whole = rectangle(block.thickness, block.height)
    for region in block.regions:
        shape = section(region)
        assert shape.is_valid, region
        assert shape.exterior.is_ccw, region
        assert shape.area == pytest.approx(shape.convex_hull.area, rel=1e-9), region
        assert whole.buffer(1e-6).contains(shape), region
        assert -block.length / 2.0 - CLOSE <= region.low < region.high <= block.length / 2.0 + CLOSE
    (skin,) = (region for region in block.regions if region.against == "skin")
    assert (skin.low, skin.high, skin.keep) == (-block.length / 2.0, block.length / 2.0, 0.0)
    assert section(skin).area == pytest.approx(whole.area - block.wane**2 / 2.0, rel=1e-9)


def core_free(block: Block) -> dict[str, Region]:
    return {region.part: region for region in block.regions if region.against == "core"}


def check_core(nut: Nut, material: MaterialName) -> None:
    """What must be free of core, for each permit: the whole nut, less its underside, less what lies behind its land."""
    compact = 0.7
    blocks = {
        core_in: block_of(nut, material, permit(*core_in, compact=compact))
        for core_in in [(), ("underside",), ("back",), ("underside", "back")]
    }
    whole, low, land, least = (core_free(block) for block in blocks.values())
    assert set(whole) == set(land) == {"front edge and slot floors", "nut"}
    assert set(low) == set(least) == {"front edge and slot floors"}
    every = [region for part in (whole, low, land, least) for region in part.values()]
    assert all((region.low, region.high) == (-nut.extent / 2.0, nut.extent / 2.0) for region in every)
    assert all(region.keep == (0.0 if region.part == "nut" else compact) for region in every)
    block = blocks[()]
    nut_seen = silhouette(nut, block)
    assert section(whole["nut"]).buffer(1e-6).contains(nut_seen)
    front, _, underside, _ = finished(block)
    to_land = nut.land - foremost_of(nut)
    assert section(land["nut"]).bounds[2] - front == pytest.approx(to_land, abs=CLOSE)
    assert section(land["nut"]).bounds[1] == pytest.approx(underside, abs=CLOSE)
    for more, less in ((whole, low), (whole, land), (low, least), (land, least)):
        for name, region in less.items():
            assert section(more[name]).buffer(1e-6).contains(section(region))
    for part in (whole, low, land, least):
        fronts = section(part["front edge and slot floors"]).bounds
        assert (fronts[0], fronts[3]) == pytest.approx((front, finished(block)[3]), abs=CLOSE)
    check_floors(nut, block, low["front edge and slot floors"], nut.thickness)
    check_floors(nut, block, least["front edge and slot floors"], nut.land)


def check_floors(nut: Nut, block: Block, region: Region, behind: float) -> None:
    """Every slot's bottom line lies in what must be compact, from its start to a plane; the lowest is on its rim."""
    front, _, underside, _ = finished(block)
    foremost = foremost_of(nut)
    shape, lowest = section(region), np.inf
    for slot in nut.slots:
        y = np.linspace(max(slot.start_y, foremost), behind, 41)
        seen = np.column_stack([y + front - foremost, slot.floor_at(y) + underside - nut.lowest_z])
        assert all(shape.distance(Point(place)) < 1e-6 for place in seen), slot
        across = slot.x_at(y)
        across = across[np.abs(across) <= nut.right.x]  # a slot that fans far may leave by the nut's end
        assert region.low <= across.min() <= across.max() <= region.high
        lowest = min(lowest, seen[:, 1].min())
    assert shape.bounds[1] == pytest.approx(lowest, abs=1e-6)


def largest_wane(nut: Nut, material: MaterialName) -> float:
    """The largest wane that is let in, as the refusal of a greater one names it."""
    with pytest.raises(CannotBeMade) as refused:
        block_of(nut, material, permit(wane=20.0))
    (why,) = refused.value.findings
    assert (why.code, why.about, why.value("wane")) == ("permit.wane-too-large", (of_key("permit.wane"),), 20.0)
    return why.value("most")


def check_wane(nut: Nut, material: MaterialName) -> None:
    """The largest wane that is let in is the most, to a tenth, that leaves a file's slip over the finished nut.

    A chamfer of w takes away all that lies beyond y + z = y_back + z_top - w; the finished nut reaches as far
    as its own greatest y + z.
    """
    most = largest_wane(nut, material)
    block = block_of(nut, material, permit(wane=most))
    plain = block_of(nut, material, permit())
    assert block.size == plain.size
    nut_seen = silhouette(nut, block)
    reach = max(y + z for y, z in nut_seen.exterior.coords)
    room = (block.thickness + block.height) / 2.0 - reach
    assert most <= room - 0.2 + 1e-6
    left = section(block.regions[0])
    assert left.is_valid
    assert left.exterior.is_ccw
    assert left.area == pytest.approx(left.convex_hull.area, rel=1e-9)
    assert left.buffer(1e-6).contains(nut_seen)
    if most > 0.0:
        assert left.area < section(plain.regions[0]).area
    with pytest.raises(CannotBeMade) as refused:
        block_of(nut, material, permit(wane=most + 0.1))
    assert refused.value.findings[0].value("most") == most


@pytest.mark.parametrize("material", ["bone", "antler", "hardwood"])
class TestPresets:
    def test_the_nut_in_the_squared_block_in_the_sawn_one(self, preset: Nut, material: MaterialName) -> None:
        block = block_of(preset, material, permit())
        check_nested(preset, block)
        check_regions(block)

    def test_sizes_are_those_of_the_stages(self, preset: Nut, material: MaterialName) -> None:
        check_stages(preset, material, block_of(preset, material, permit()))

    def test_core_only_where_it_is_permitted(self, preset: Nut, material: MaterialName) -> None:
        check_core(preset, material)

    def test_a_wane_that_the_bevel_takes_away(self, preset: Nut, material: MaterialName) -> None:
        check_wane(preset, material)
        most = largest_wane(preset, material)
        for share in (0.1, 0.5, 1.0):
            check_regions(block_of(preset, material, permit("underside", "back", wane=share * most)))

    def test_no_more_wane_is_refused_than_must_be(self, preset: Nut, material: MaterialName) -> None:
        """Against the nut's own section, and half a face: it falls short of these by the rounding to a tenth."""
        most = largest_wane(preset, material)
        block = block_of(preset, material, permit())
        reach = max(y + z for y, z in silhouette(preset, block).exterior.coords)
        over_the_top = (block.thickness + block.height) / 2.0 - reach - 0.2
        half_a_face = min(block.thickness, block.height) / 2.0
        assert most == pytest.approx(min(over_the_top, half_a_face) - 0.05, abs=0.05 + 1e-6)


@pytest.mark.slow
@SETTINGS
@given(specs(), MATERIAL)
def test_any_nut_lies_in_its_block(text: str, material: MaterialName) -> None:
    nut = solved(text)
    block = block_of(nut, material, permit())
    check_nested(nut, block)
    check_regions(block)
    check_stages(nut, material, block)


@pytest.mark.slow
@SETTINGS
@given(specs(), MATERIAL)
def test_core_of_any_nut_only_where_it_is_permitted(text: str, material: MaterialName) -> None:
    check_core(solved(text), material)


@pytest.mark.slow
@SETTINGS
@given(specs(), MATERIAL)
def test_wane_of_any_nut_is_taken_away_by_its_bevel(text: str, material: MaterialName) -> None:
    nut = solved(text)
    check_wane(nut, material)


def test_much_left_on_the_top_lets_no_wane_past_the_front_face() -> None:
    """On a nut of 3.4 mm with 4.9 mm to take off its top, a chamfer that passes over the top would miss the front."""
    nut = solve(parse_spec(text_of("electric-6", {"body.top": 4.9}), source="much left on"))
    check_wane(nut, "bone")


@pytest.mark.parametrize("stem", ["bass-4-fifths", "mandolin", "electric-6"])
def test_what_more_could_be_permitted_asks_for_less_of_the_piece(stem: str) -> None:
    """The same block, each time with less that must lie inside the skin or outside the core, never with more."""
    nut = solve(read_spec(next(path for path in PRESETS if path.stem == stem)))
    plain, most = block_of(nut, "bone", permit()), largest_wane(nut, "bone")
    more = if_more_were_permitted(nut, "bone", permit())
    assert [what.value("most") for what in more if what.code == "permit.wane"] == [most]
    assert [what.code for what in more].count("permit.core") == 3
    codes = [what.code for what in more]
    assert codes.index("permit.sawn-face") < min(
        n for n, what in enumerate(more) if what.code == "permit.core" and "back" in what.value("parts")
    )
    for what, block in more.items():
        if what.code == "permit.sawn-face":
            assert block.size == pytest.approx([size - 1.0 for size in plain.size])
            assert block.squared == plain.squared
            continue
        assert block.size == plain.size
        check_regions(block)
        assert covered(plain, "skin").buffer(1e-6).contains(covered(block, "skin"))
        assert covered(plain, "core").buffer(1e-6).contains(covered(block, "core"))
        lessened = "skin" if what.code == "permit.wane" else "core"
        assert covered(block, lessened).area < covered(plain, lessened).area - 0.1
    every = if_more_were_permitted(nut, "bone", permit("underside", "back", wane=most, sawn_face=0.5))
    assert every == {}


def covered(block: Block, against: str) -> Polygon:
    """All that must keep away from a surface, by its sections."""
    return unary_union([section(region) for region in block.regions if region.against == against])
