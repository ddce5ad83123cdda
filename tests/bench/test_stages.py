"""The chain of sizes from the raw piece to the finished nut, and the way back from a slip."""

import math
from itertools import pairwise
from typing import get_args

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from nutgen.bench.leaves import floor_over_board
from nutgen.bench.materials import MATERIALS, Material
from nutgen.bench.remedies import SEEN_AT_FRET_1, THICKEST_SHIM, shim
from nutgen.bench.sizes import Size
from nutgen.bench.stages import STAGES, Stage, StageName, stages
from nutgen.errors import CannotBeMade, SpecFaults
from nutgen.nut import Nut, solve
from nutgen.spec.fields import Reading
from nutgen.spec.kinds import kind_names, kind_path
from nutgen.spec.read import parse_spec, read_spec
from nutgen.spec.workshop import Tools

NUT = solve(read_spec(kind_path("bass-4-fifths")))
BONE = MATERIALS["bone"]


def bench(tools: dict[str, object]) -> Tools:
    table, faults = Tools.read(tools, Reading(), ("tools",))
    assert table is not None, faults
    return table


def sizes_of(work: tuple[Stage, ...]) -> dict[str, list[tuple[str, Size]]]:
    """Each size and the stages that touch it, in the order of the work."""
    found: dict[str, list[tuple[str, Size]]] = {}
    for stage in work:
        for size in stage.reach:
            found.setdefault(size.name, []).append((stage.name, size))
    return found


def final_sizes(nut: Nut) -> dict[str, float]:
    """What the finished nut measures, off the part itself by sampling its surfaces."""
    x = np.linspace(-nut.half_length, nut.half_length, 4001)
    lowest = float(nut.underside.z(x).min())
    bass = nut.half_length if nut.strung == "left" else -nut.half_length
    final = {
        "length": nut.length,
        "thickness": nut.thickness,
        "height": float(nut.top_z(x, 0.0).max()) - lowest,
        "height at the bass end": float(nut.top_z(bass, 0.0)) - lowest,
        "height at the treble end": float(nut.top_z(-bass, 0.0)) - lowest,
        "height at the back": float(nut.top_z(x, nut.thickness).max()) - lowest,
        "land": nut.land,
    }
    for slot in nut.slots:
        name = f"string {slot.number} ({slot.note})"
        final[f"{name}: floor over the board"] = slot.floor_z - float(nut.board_z(slot.x))
        final[f"{name}: width"] = slot.width
        final[f"{name}: depth"] = float(nut.top_z(slot.x, 0.0)) - slot.floor_z
        final[f"{name}: clearance at fret 1"] = slot.first_fret_clearance
    return final


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
    strings = "\n".join(
        f'[[strings]]\nnote = "A1"\ngauge = {gauge}\nwound = {str(gauge > 0.02).lower()}' for gauge in gauges
    )
    text = f"""
        title = "any nut"
        instrument = {{ scale_length = {number(330, 900)}, frets = 20, strung = "{strung}" }}
        fretboard = {{ width = {number(25, 90)}, radius = {radius}, fret_height = {number(0.5, 1.8)} }}
        headstock = {{ break_angle_deg = {number(4, 15)}, fan_deg = {number(-4, 4)} }}
        setup = {{ relief = {number(0, 0.5)}, action = {number(1, 4)}, first_fret_clearance = {number(0.1, 1.2)} }}
        spacing = {{ rule = "centres", margin = {number(1, 6)} }}
        slots = {{ clearance = {number(0, 0.5)}, buried = {number(0.2, 1.5)} }}
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
roomy = settings(suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow], deadline=None)


@roomy
@given(nut=nuts(), material=materials, tools=benches)
def test_every_size_runs_down_to_the_finished_nut(nut: Nut, material: Material, tools: Tools) -> None:
    final = final_sizes(nut)
    found = sizes_of(stages(nut, tools, material))
    bevelled = nut.bevel_deg > 0.0 and nut.land < nut.thickness
    assert set(found) == set(final) - (set() if bevelled else {"height at the back", "land"})
    for name, steps in found.items():
        sign = -1.0 if steps[0][1].opens else 1.0
        assert steps[-1][1].target == pytest.approx(final[name], abs=1e-6), (name, nut)
        for (_, before), (stage, after) in pairwise(steps):
            assert sign * (before.target - after.target) >= -1e-9, (name, stage, nut)
            assert sign * (before.target - after.stop) >= -1e-9 or after.opens, (name, stage, nut)
        for stage, size in steps:
            assert sign * (size.stop - size.target) >= 0.0, (name, stage, nut)
            assert size.opens or size.stop >= final[name] - 1e-6, (name, stage, nut)
            assert sign * (final[name] - size.least) >= -1e-6, (name, stage, nut)
            assert size.least >= 0.0
            assert all(math.isfinite(value) for value in (size.target, size.stop, size.least))


@roomy
@given(nut=nuts(), material=materials, tools=benches)
def test_what_the_next_stages_take_off_adds_up(nut: Nut, material: Material, tools: Tools) -> None:
    """target - what comes off next = the next target, for every size, down to the finished nut."""
    work = stages(nut, tools, material)
    for name, steps in sizes_of(work).items():
        for (stage, before), (following, after) in pairwise(steps):
            offs = [off for off in work[STAGES.index(stage)].next_takes_off if off.size == name]
            sign = -1.0 if before.opens else 1.0
            assert all(off.amount >= -1e-12 for off in offs)
            assert all(off.by.split(", ")[0] == following for off in offs)
            assert before.target - sign * sum(off.amount for off in offs) == pytest.approx(after.target, abs=1e-9)
        assert not [off for off in work[STAGES.index(steps[-1][0])].next_takes_off if off.size == name]


@roomy
@given(nut=nuts(), material=materials)
def test_the_squared_block_holds_the_blank_and_the_rough_part(nut: Nut, material: Material) -> None:
    """No size is under what the drawn blank and the part with its allowances on have."""
    sizes = {name: dict(steps) for name, steps in sizes_of(stages(nut, Tools(), material)).items()}
    rough = nut.rough()
    assert sizes["length"]["square"].target >= rough.length - 1e-9
    assert sizes["thickness"]["square"].target >= rough.thickness - 1e-9
    # not rough.height: an arched underside that is longer than the board has feet that stand on nothing
    assert sizes["height"]["square"].target >= sizes["height"]["crown"].target
    assert sizes["height"]["crown"].target >= nut.height + nut.allowances.top - 1e-9
    for slot, final in zip(rough.slots, nut.slots, strict=True):
        floor = sizes[f"string {slot.number} ({slot.note}): floor over the board"]
        assert floor["rough slots"].target >= floor_over_board(rough, slot) - 1e-9
        assert floor["final slots"].target == pytest.approx(floor_over_board(nut, final))
    if not material.printed:
        assert sizes["length"]["square"].target >= nut.blank.length - 1e-9
        assert sizes["thickness"]["square"].target >= nut.blank.thickness - 1e-9
        assert sizes["height"]["square"].target >= nut.blank.height - 1e-9


@pytest.mark.parametrize("kind", kind_names())
def test_every_stage_of_every_kind_is_said_in_full(kind: str) -> None:
    nut = solve(read_spec(kind_path(kind)))
    for material in MATERIALS.values():
        work = stages(nut, Tools(), material)
        assert tuple(stage.name for stage in work) == STAGES == get_args(StageName)
        for stage in work:
            assert stage.do.endswith(".")
            assert stage.how_to_measure.endswith(".")
            assert "{" not in stage.do + stage.how_to_measure
            assert stage.cautions
            assert [cure.size for cure in stage.if_under] == [size.name for size in stage.reach]
            assert all(cure.words for cure in stage.if_under)
            assert bool(stage.slots) == (stage.name in ("rough slots", "final slots"))


def test_the_chain_of_a_bone_nut_worked_by_hand() -> None:
    """Common practice, no source: 1 mm a face to square raw bone, 1 mm on ends and top, 0.4 over in thickness.

    Polish after P240: (58.5 + 46.2 + 35.0 + 25.8 + 18.3) / 2 = 91.9 um a face; dressing 0.2, bedding 0.1.
    """
    found = {name: [size.target for _, size in steps] for name, steps in sizes_of(stages(NUT, Tools(), BONE)).items()}
    assert (NUT.length, NUT.thickness) == (41.5, 5.0)
    assert found["length"] == pytest.approx([45.5, 43.5, 41.6838, 41.5])
    assert found["thickness"] == pytest.approx([7.4, 5.4, 5.1, 5.0])
    over = [over - NUT.height for over in found["height"]]
    assert over == pytest.approx([3.1, 1.1, 1.0, 0.2919, 0.0919, 0.0])


def test_the_polish_is_told_paper_by_paper() -> None:
    """Bone after P240 (58.5 um, ISO 6344): P320 takes half of it off each face, both ends of the length."""
    ends = stages(NUT, Tools(), BONE)[STAGES.index("ends")]
    offs = {off.by: off.amount for off in ends.next_takes_off}
    assert list(offs) == [f"polish, {paper}" for paper in BONE.papers]
    assert offs["polish, P320"] == pytest.approx(0.0585)


def test_a_nut_in_a_channel_keeps_its_thickness_in_the_polish() -> None:
    assert NUT.seat_kind == "channel"
    assert [stage for stage, _ in sizes_of(stages(NUT, Tools(), BONE))["thickness"]][-1] == "fit to seat"


# The way back


@roomy
@given(nut=nuts(), material=materials, tools=benches, share=st.floats(0.0, 1.3))
def test_every_measured_size_has_an_answer(nut: Nut, material: Material, tools: Tools, share: float) -> None:
    for stage in stages(nut, tools, material):
        for size in stage.reach:
            measured = share * size.target
            answer = stage.way_back(size.name, measured, tools)
            sign = -1.0 if size.opens else 1.0
            if sign * measured > sign * size.stop:
                assert answer.verdict == "go on"
            elif sign * measured >= sign * size.target:
                assert answer.verdict == "stop here"
            elif sign * measured >= sign * size.least:
                assert answer.verdict == "spare the rest"
            else:
                assert answer.verdict not in ("go on", "stop here", "spare the rest")
                assert answer.missing == pytest.approx(abs(measured - size.target))
            assert (answer.shim is not None) == (answer.verdict == "shim")
            assert answer.words


@given(missing=st.floats(0.001, 3.0), veneer=st.lists(st.floats(0.05, 1.0), max_size=4))
def test_packing_is_thick_enough_and_of_the_fewest_sheets(missing: float, veneer: list[float]) -> None:
    packing = shim(missing, bench({"veneer": veneer}))
    if not veneer:
        assert packing.sheets == ()
        return
    assert math.fsum(packing.sheets) - packing.sand_off == pytest.approx(missing, abs=1e-7)
    assert packing.sand_off >= 0.0
    assert len(set(packing.sheets)) == 1
    assert len(packing.sheets) == math.ceil(round(missing / max(veneer), 6))


def test_a_nut_too_thin_for_its_channel_is_packed_behind_it() -> None:
    fit = stages(NUT, Tools(), BONE)[STAGES.index("fit to seat")]
    answer = fit.way_back("thickness", NUT.thickness - 0.25, Tools())
    assert answer.verdict == "shim"
    assert answer.shim is not None
    assert answer.shim.leaves.leaves == (0.25,)
    assert answer.shim.sheets == (0.6,)
    assert answer.shim.sand_off == pytest.approx(0.35)
    assert "never in front" in answer.words


def test_a_floor_too_low_for_any_packing_starts_again() -> None:
    final = stages(NUT, Tools(), BONE)[STAGES.index("final slots")]
    name = final.reach[0].name
    assert final.way_back(name, final.reach[0].target - 0.3, Tools()).verdict == "shim"
    assert final.way_back(name, final.reach[0].target - THICKEST_SHIM - 0.01, Tools()).verdict == "start again"


def test_packing_for_a_low_clearance_is_thicker_than_what_is_missing() -> None:
    """A nut that comes down by t lowers the clearance at fret 1 by 0.9439 t: calculation, saddle left alone."""
    assert pytest.approx(0.9439, abs=5e-5) == SEEN_AT_FRET_1
    fix = stages(NUT, Tools(), BONE)[-1]
    size = fix.reach[0]
    answer = fix.way_back(size.name, size.target - 0.2, Tools())
    assert answer.shim is not None
    assert answer.shim.thickness == pytest.approx(0.2 / 0.9439, abs=1e-4)


def test_metal_is_not_filled() -> None:
    for name, remedy in (("bone", "fill"), ("brass", "start again")):
        final = stages(NUT, Tools(), MATERIALS[name])[STAGES.index("final slots")]
        width = next(size for size in final.reach if size.opens)
        assert final.way_back(width.name, width.least + 0.1, Tools()).verdict == remedy


@pytest.mark.parametrize("measured", [-1.0, math.nan, math.inf])
def test_a_measurement_that_is_none_is_refused(measured: float) -> None:
    with pytest.raises(ValueError, match="not a measured length"):
        stages(NUT, Tools(), BONE)[0].way_back("length", measured, Tools())


def test_an_unknown_size_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="length, thickness, height"):
        stages(NUT, Tools(), BONE)[0].way_back("width", 1.0, Tools())
