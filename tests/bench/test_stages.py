"""The chain of sizes from the raw piece to the finished nut, and the way back from a slip."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from nutgen.bench.leaves import floor_over_board
from nutgen.bench.materials import MATERIALS, NutMaterial
from nutgen.bench.remedies import shim
from nutgen.bench.sizes import Size, SizeKind, StageName
from nutgen.bench.stages import STAGES, Stage, stages
from nutgen.documents.words import CATALOGUE, sentence
from nutgen.documents.words.quantities import Units
from nutgen.errors import CannotBeMade, SpecFaults
from nutgen.finding import Subject
from nutgen.nut import Nut, solve
from nutgen.spec.presets import kind_names, kind_path
from nutgen.spec.read import parse_spec, read_spec, read_table
from nutgen.spec.values import BareUnits
from nutgen.spec.workshop import Tools
from tests.kinds import text_of
from tests.specs import EXAMPLES

NUT = solve(read_spec(kind_path("bass-4-fifths")))
BONE = MATERIALS["bone"]
UNITS: tuple[Units, ...] = ("mm", "in")


def bench(tools: dict[str, object]) -> Tools:
    return read_table(Tools, tools, BareUnits(), at="tools")


Array = NDArray[np.float64]
Key = tuple[SizeKind, int | None]
"""What is measured, and the number of the string."""


def sizes_of(work: tuple[Stage, ...]) -> dict[Key, list[tuple[StageName, Size]]]:
    """Each size and the stages that touch it, in the order of the work."""
    found: dict[Key, list[tuple[StageName, Size]]] = {}
    for stage in work:
        for size in stage.reach:
            found.setdefault((size.kind, size.string.number if size.string else None), []).append((stage.name, size))
    return found


def final_sizes(nut: Nut) -> dict[Key, float]:
    """What the finished nut measures, off the part itself by sampling its surfaces."""
    x = np.linspace(nut.left.x, nut.right.x, 4001)
    lowest = float(nut.underside.z(x).min())
    bass = nut.right.x if nut.strung == "left" else nut.left.x
    ahead = max(0.0, *(-slot.start_y for slot in nut.slots if slot.start_y <= -0.02)) if nut.shelves.alone else 0.0
    final: dict[Key, float] = {
        ("length", None): nut.length,
        ("whole thickness" if ahead else "thickness", None): nut.thickness + ahead,
        ("height", None): float(nut.top_z(x, 0.0).max()) - lowest,
        ("bass height", None): float(nut.top_z(bass, 0.0)) - lowest,
        ("treble height", None): float(nut.top_z(-bass, 0.0)) - lowest,
        ("back height", None): float(nut.top_z(x, nut.thickness).max()) - lowest,
        ("land", None): nut.land + ahead,
    }
    if ahead:
        final |= _shelf_sizes(nut, x, lowest)
    for slot in nut.slots:
        final["floor", slot.number] = slot.floor_z - float(nut.seat.board_z(slot.x))
        final["width", slot.number] = slot.width
        final["depth", slot.number] = float(nut.top_z(slot.x, 0.0)) - slot.floor_z
        final["clearance", slot.number] = slot.first_fret_clearance
    return final


def _shelf_sizes(nut: Nut, x: Array, lowest: float) -> dict[Key, float]:
    """Where the shelves stand, by looking at every place across."""
    front = np.min([np.where((x >= s.left) & (x <= s.right), s.front, 0.0) for s in nut.shelves.alone], axis=0)
    over = np.asarray(nut.seat.board_z(x)) + 0.15  # straight up; the arc about the board's own axis is a hair lower
    found: dict[Key, float] = {
        ("seat thickness", None): nut.thickness,
        ("rebate", None): max(0.0, float(over[front < 0.0].min()) - lowest),
        ("off the board", None): 0.15,
    }
    if len({round(y, 3) for y in front}) > 1:
        found |= {("start", slot.number): nut.thickness - front[np.abs(x - slot.x).argmin()] for slot in nut.slots}
    return found


def test_a_nut_that_reaches_over_the_board_says_so_at_its_stages() -> None:
    """0.5 far, the underside of its shelf a circle about the axis of a board of 241, 0.15 off it."""
    text = text_of("electric-6", {"slots.setback": [f"{far} mm" for far in (0.5, 0.5, 0.0, 0.25, 0.25, 0.25)]})
    nut = solve(parse_spec(f'material = "brass"\n{text}', source="mine"))
    told = {stage.name: dict(stage.do.values) for stage in stages(nut, bench({}), MATERIALS["brass"])}
    assert {name for name, values in told.items() if "deep" in values} == {
        "square",
        "shelf",
        "rough slots",
        "final slots",
    }
    assert all(values.get("deep", 0.5) == pytest.approx(0.5) for values in told.values())
    assert told["fit to seat"]["shelf_radius"] == pytest.approx(241.15)
    assert told["bevel"]["land"] == pytest.approx(nut.land + 0.5)


def test_under_a_slanted_shelf_the_board_is_as_round_as_a_gauge_square_to_the_neck_shows() -> None:
    """508 by the file, and a shelf 0.15 off it; along the nut the same board is flatter."""
    text = text_of("electric-6-slanted", {"material": "brass", "slots.setback": "0.5 mm"})
    nut = solve(parse_spec(text, source="mine"))
    told = next(one.do for one in stages(nut, bench({}), MATERIALS["brass"]) if one.name == "fit to seat")
    assert told.value("shelf_radius") == pytest.approx(508.15)


@st.composite
def nuts(draw: st.DrawFn) -> Nut:
    """Nuts over the range of the file; those that cannot be made are left out."""
    number = lambda low, high: round(draw(st.floats(low, high)), 3)  # noqa: E731
    kind = draw(st.sampled_from(["channel", "ledge", "surface"]))
    depth = "" if kind == "surface" else f"depth = {number(1.0, 8.0)}"
    radius = draw(st.one_of(st.just('"flat"'), st.floats(120.0, 600.0).map(str)))
    thickness = number(2.5, 12.0)
    strung = draw(st.sampled_from(["right", "left"]))
    gauges = sorted((number(0.009, 0.13) for _ in range(draw(st.integers(1, 8)))), reverse=True)
    back = draw(st.sampled_from([[0.0], [0.0], [0.5], [number(0.0, 2.0) for _ in gauges]]))
    strings = "\n".join(
        f'[[strings]]\nnote = "A1"\ngauge = {gauge}\nwound = {str(gauge > 0.02).lower()}' for gauge in gauges
    )
    text = f"""
        title = "any nut"
        material = "{"brass" if any(back) else "bone"}"
        instrument = {{ scale_length = {number(330, 900)}, frets = 20, strung = "{strung}" }}
        fretboard = {{ width = {number(25, 90)}, radius = {radius}, fret_height = {number(0.5, 1.8)} }}
        headstock = {{ break_angle_deg = {number(4, 15)}, fan_deg = {number(-4, 4)} }}
        setup = {{ relief = {number(0, 0.5)}, action = {number(1, 4)}, first_fret_clearance = {number(0.1, 1.2)} }}
        spacing = {{ rule = "centres", margin = {number(1, 6)} }}
        slots = {{ clearance = {number(0, 0.5)}, buried = {number(0.2, 1.5)}, setback = {back} }}
        [seat]
        kind = "{kind}"
        thickness = {thickness}
        {depth}
        [body]
        land = {round(min(thickness, number(0.3, 12)), 3)}
        bevel_deg = {draw(st.sampled_from([0.0, 3.0, 8.0, 15.0, 30.0]))}
        top = {draw(st.sampled_from([0.0, 0.3, 2.0]))}
        back = {draw(st.sampled_from([0.0, 0.2, 2.0]))}
        ends = {draw(st.sampled_from([0.0, 0.5, 3.0]))}
        floors = {draw(st.sampled_from([0.0, 0.1, 1.0]))}
        {strings}
    """
    try:
        return solve(parse_spec(text, source="any"))
    except (CannotBeMade, SpecFaults):
        assume(False)
        raise


materials = st.sampled_from(list(MATERIALS.values()))
benches = st.sampled_from(
    [{}, {"caliper": 0.2}, {"feeler": [], "feeler_inch": []}, {"files": [], "needle_files": [], "drill_shanks": []}]
).map(bench)
roomy = settings(max_examples=-(-EXAMPLES // 6), suppress_health_check=list(HealthCheck))


@roomy
@given(nut=nuts(), material=materials, tools=benches)
def test_every_size_runs_down_to_the_finished_nut(nut: Nut, material: NutMaterial, tools: Tools) -> None:
    final = final_sizes(nut)
    found = sizes_of(stages(nut, tools, material))
    behind = nut.thickness - nut.land  # a strip of 0.02, or such a fall, is no face to file
    bevelled = behind >= 0.02 and behind * math.tan(math.radians(nut.bevel_deg)) >= 0.02
    assert set(found) == set(final) - (set() if bevelled else {("back height", None), ("land", None)})
    for name, steps in found.items():
        sign = -1.0 if steps[0][1].grows else 1.0
        near = 0.03 if name[0] == "rebate" else 1e-6
        assert steps[-1][1].target == pytest.approx(final[name], abs=near), (name, nut)
        for (_, before), (stage, after) in pairwise(steps):
            assert sign * (before.target - after.target) >= -1e-9, (name, stage, nut)
            assert sign * (before.target - after.stop) >= -1e-9 or after.grows, (name, stage, nut)
        for stage, size in steps:
            assert sign * (size.stop - size.target) >= 0.0, (name, stage, nut)
            assert size.grows or size.stop >= final[name] - 1e-6, (name, stage, nut)
            assert sign * (final[name] - size.least) >= -near, (name, stage, nut)
            assert size.least >= 0.0
            assert all(math.isfinite(value) for value in (size.target, size.stop, size.least))


@roomy
@given(nut=nuts(), material=materials, tools=benches)
def test_what_the_next_stages_take_off_adds_up(nut: Nut, material: NutMaterial, tools: Tools) -> None:
    """target - what comes off next = the next target, for every size, down to the finished nut."""
    for steps in sizes_of(stages(nut, tools, material)).values():
        for (_, before), (following, after) in pairwise(steps):
            sign = -1.0 if before.grows else 1.0
            assert all(off.amount >= -1e-12 for off in before.takes_off)
            assert all(off.by == following for off in before.takes_off)
            off = sum(off.amount for off in before.takes_off)
            assert before.target - sign * off == pytest.approx(after.target, abs=1e-9)
        assert steps[-1][1].takes_off == ()


@roomy
@given(nut=nuts(), material=materials)
def test_the_squared_block_holds_the_blank_and_the_rough_part(nut: Nut, material: NutMaterial) -> None:
    """No size is under what the drawn blank and the part with its allowances on have."""
    found = sizes_of(stages(nut, Tools(), material))
    sizes = {kind: dict(steps) for (kind, string), steps in found.items() if string is None}
    rough = nut.rough()
    assert sizes["length"]["square"].target >= rough.length - 1e-9
    thick: SizeKind = "whole thickness" if nut.shelves.alone else "thickness"
    assert sizes[thick]["square"].target >= rough.thickness - nut.shelves.front - 1e-9
    # not rough.height: an arched underside that is longer than the board has feet that stand on nothing
    assert sizes["height"]["square"].target >= sizes["height"]["crown"].target
    assert sizes["height"]["crown"].target >= nut.height + nut.allowances.top - 1e-9
    for slot, final in zip(rough.slots, nut.slots, strict=True):
        floor = dict(found["floor", slot.number])
        assert floor["rough slots"].target >= floor_over_board(rough, slot) - 1e-9
        assert floor["final slots"].target == pytest.approx(floor_over_board(nut, final))
    if not material.printed:
        assert sizes["length"]["square"].target >= nut.blank.length - 1e-9
        assert sizes[thick]["square"].target >= nut.blank.thickness - 1e-9
        assert sizes["height"]["square"].target >= nut.blank.height - 1e-9


@pytest.mark.parametrize("kind", kind_names())
def test_every_stage_of_every_kind_is_said_in_full(kind: str) -> None:
    nut = solve(read_spec(kind_path(kind)))
    for material in MATERIALS.values():
        work = stages(nut, Tools(), material)
        assert tuple(stage.name for stage in work) == STAGES
        for stage in work:
            assert stage.do.code in CATALOGUE
            assert stage.measure.code in CATALOGUE
            assert all(sentence(one, units).endswith(".") for one in (stage.do, stage.measure) for units in UNITS)
            assert stage.cautions
            cured = {one for cure in stage.if_under for one in cure.about}
            assert {Subject("size", size.kind) for size in stage.reach} == cured
            assert all(sentence(one) for one in (*stage.if_under, *stage.cautions))
            assert bool(stage.slots) == (stage.name in ("rough slots", "final slots"))


def test_the_chain_of_a_bone_nut_worked_by_hand() -> None:
    """Common practice, no source: 1 mm a face to square raw bone, 1 mm on ends and top, 0.4 over in thickness.

    Polish after P240: (58.5 + 46.2 + 35.0 + 25.8 + 18.3) / 2 = 91.9 um a face; dressing 0.2, bedding 0.1.
    """
    sizes = sizes_of(stages(NUT, Tools(), BONE))
    found = {kind: [size.target for _, size in steps] for (kind, string), steps in sizes.items() if string is None}
    assert (NUT.length, NUT.thickness) == (41.5, 5.0)
    assert found["length"] == pytest.approx([45.5, 43.5, 41.6838, 41.5])
    assert found["thickness"] == pytest.approx([7.4, 5.4, 5.1, 5.0])
    stops = {key: [size.stop - size.target for _, size in steps] for key, steps in sizes.items()}
    assert stops["length", None] == pytest.approx([0.3, 0.1, 0.05, 0.02])
    # leaves of .035, .015 and .0015 in stop the file 0.0023 over the floor of string 4; those of string 1 are too thin
    floors = [stops["floor", number] for number in (4, 3, 2, 1)]
    assert floors == [pytest.approx([0.05, over], abs=5e-5) for over in (0.0023, 0.0057, 0.0014, 0.0)]
    over = [over - NUT.height for over in found["height"]]
    assert over == pytest.approx([3.1, 1.1, 1.0, 0.2919, 0.0919, 0.0])


def test_printed_parts_are_offered_where_a_stage_has_work_for_them() -> None:
    """A bone nut by every jig; a printed one by those of its slots; none where there is nothing to file."""
    flat = solve(parse_spec(text_of("bass-4", {"body.bevel_deg": 0.0}), source="flat"))
    for nut, material, offered in (
        (NUT, "bone", {"thickness", "ends", "crown", "bevel", "rough slots"}),
        (NUT, "printed plastic", {"rough slots"}),
        (flat, "bone", {"thickness", "ends", "crown", "rough slots"}),
        (flat, "printed plastic", {"rough slots"}),
    ):
        found = stages(nut, bench({}), MATERIALS[material])
        assert {stage.name for stage in found if stage.jigs} == offered
        assert all(stage.jigs == ("comb", "depth", "gauges") for stage in found if stage.name == "rough slots")
        assert {stage.name for stage in found if stage.slots} == {"rough slots", "final slots"}
        assert [stage.number for stage in found] == list(range(1, len(found) + 1))
        assert found[0].do.code == ("stage.saw" if material == "bone" else "stage.clean-print")


def test_the_polish_is_told_paper_by_paper() -> None:
    """Bone after P240 (58.5 um, ISO 6344): P320 takes half of it off each face, both ends of the length."""
    (length,) = stages(NUT, Tools(), BONE)[STAGES.index("ends")].reach
    offs = {off.paper: off.amount for off in length.takes_off}
    assert list(offs) == list(BONE.papers)
    assert {off.by for off in length.takes_off} == {"polish"}
    assert offs["P320"] == pytest.approx(0.0585)


def test_a_nut_in_a_channel_keeps_its_thickness_in_the_polish() -> None:
    assert NUT.seat.kind == "channel"
    assert [stage for stage, _ in sizes_of(stages(NUT, Tools(), BONE))["thickness", None]][-1] == "fit to seat"


# The way back


@given(missing=st.floats(0.001, 1.0), stock=st.lists(st.floats(0.05, 1.0), max_size=4))
def test_packing_is_thick_enough_and_nothing_much_is_sanded_off(missing: float, stock: list[float]) -> None:
    """A step more than wanted at the most; only veneer is sanded, by a third of a sheet at the most."""
    packing = shim(missing, bench({"veneer": stock}))
    sheets, sand_off = packing.value("sheets"), packing.value("sand_off")
    assert packing.value("thickness") - missing == pytest.approx(0.025, abs=0.025 + 1e-7)
    if sheets:
        assert math.fsum(sheets) - sand_off == pytest.approx(packing.value("thickness"), abs=1e-7)
    assert 0.0 <= sand_off <= max((sheet for sheet in sheets if sheet >= 0.3), default=0.0) / 3.0 + 1e-7
    exact = [sheet for sheet in stock if sheet <= missing and abs(missing / sheet - round(missing / sheet)) < 1e-9]
    if exact:
        assert len(sheets) <= min(round(missing / sheet) for sheet in exact)


@pytest.mark.parametrize(
    ("missing", "sheets", "sand_off"),
    [
        (0.10, (0.1,), 0.0),  # not 0.6 of veneer sanded to a sixth
        (0.12, (0.1, 0.05), 0.0),
        (0.25, (0.1, 0.1, 0.05), 0.0),
        (0.45, (0.6,), 0.15),
        (0.65, (0.6, 0.05), 0.0),
    ],
)
def test_packing_by_hand(missing: float, sheets: tuple[float, ...], sand_off: float) -> None:
    packing = shim(missing, Tools())
    assert packing.value("sheets") == sheets
    assert packing.value("sand_off") == pytest.approx(sand_off)
    assert packing.value("veneers") == sheets.count(0.6)


def test_a_sheet_of_0_3_is_veneer() -> None:
    packing = shim(0.35, bench({"veneer": [0.3, 0.05]}))
    assert (packing.value("sheets"), packing.value("veneers")) == ((0.3, 0.05), 1)


def test_packing_is_proved_with_leaves() -> None:
    assert shim(0.25, Tools()).value("leaves") == (0.25,)


def test_a_bench_with_nothing_that_thin_is_told_the_thickness_alone() -> None:
    packing = shim(0.1, bench({"veneer": [0.6]}))
    assert (packing.value("thickness"), packing.value("sheets")) == (0.1, ())


def cures(material: NutMaterial, stage: StageName, nut: Nut = NUT) -> dict[str, str]:
    """Which remedy each kind of size has at a stage."""
    found = stages(nut, Tools(), material)[STAGES.index(stage)].if_under
    return {kind.name: cure.code for cure in found for kind in cure.about}


@pytest.mark.parametrize(
    ("seat", "stage", "expected"),
    [
        (
            "channel",
            "square",
            {
                "length": "remedy.too-short",
                "thickness": "remedy.turn-for-thickness",
                "height": "remedy.turn-for-height",
            },
        ),
        ("channel", "fit to seat", {"thickness": "remedy.pack-behind", "height": "remedy.pack-below"}),
        ("ledge", "fit to seat", {"thickness": "remedy.too-thin", "height": "remedy.pack-below"}),
        ("channel", "bevel", {"back height": "remedy.pack-below", "land": "remedy.dress-top"}),
        ("channel", "fix", {"clearance": "remedy.too-low"}),
    ],
)
def test_every_size_past_its_limit_has_a_remedy(seat: str, stage: StageName, expected: dict[str, str]) -> None:
    assert cures(BONE, stage, replace(NUT, seat=replace(NUT.seat, kind=seat))) == expected


def test_metal_is_not_filled() -> None:
    assert cures(BONE, "final slots")["width"] == "remedy.fill-wide"
    assert cures(MATERIALS["brass"], "final slots")["width"] == "remedy.too-wide"
    for material in (BONE, MATERIALS["brass"]):
        (low,) = stages(NUT, Tools(), material)[-1].if_under
        assert low.value("fill") == material.can_be_filled


def test_a_tenth_off_the_top_widens_the_land_by_its_cotangent() -> None:
    """0.1 mm / tan(bevel)."""
    land = next(one for one in stages(NUT, Tools(), BONE)[STAGES.index("bevel")].if_under if one.code.endswith("top"))
    assert land.value("wider") == pytest.approx(0.1 / math.tan(math.radians(NUT.bevel_deg)))


def test_without_leaves_the_last_clearances_are_read_by_sheets() -> None:
    """Of sheets of 0.1 what comes nearest to each, by no more than half a sheet and what loose ones are off."""
    sheets = bench({"feeler": [], "feeler_inch": [], "own_leaves": {"paper": {"ten": 1.0}}})
    measure = stages(NUT, sheets, BONE)[-1].measure
    assert (measure.code, measure.strings) == ("measure.fix-by-sheets", (4, 3, 2, 1))
    wanted = [slot.first_fret_clearance for slot in NUT.slots]
    assert measure.value("sums") == pytest.approx(wanted, abs=0.06)
    assert sentence(measure)


def test_the_saddle_is_set_before_the_last_clearances_are_read() -> None:
    """setup.action_now, where it is not what is wanted."""
    set_now, high = (
        replace(NUT, slots=tuple(replace(slot, action_now=slot.action + off) for slot in NUT.slots))
        for off in (0.04, 0.4)
    )
    assert stages(set_now, Tools(), BONE)[-1].do.values == ()
    do = stages(high, Tools(), BONE)[-1].do
    assert do.value("bass_now") == pytest.approx(high.slots[0].action + 0.4)
    assert do.value("treble_wanted") == high.slots[-1].action
