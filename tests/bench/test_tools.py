"""The bench at the door, and the files that cut each slot."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from nutgen.bench.materials import MATERIALS
from nutgen.bench.tools import MARKED, SHANK_ROCK, SlotPlan, rock, slot_plan, slot_plans, strokes_between_looks
from nutgen.nut import solve
from nutgen.spec.presets import kind_names, kind_path
from nutgen.spec.read import read_spec, read_table
from nutgen.spec.values import BareUnits
from nutgen.spec.workshop import SLOT_FILES, Needle, Tools
from tests.spec.refused import named, refused

NUT = solve(read_spec(kind_path("bass-4-fifths")))
BONE = MATERIALS["bone"]


def tools_from(units: str = "mm", **tables: object) -> Tools:
    return read_table(Tools, tables, BareUnits(units), at="tools")


def bare(**tables: object) -> Tools:
    """A bench with nothing for slots but what is named."""
    return tools_from(**({"files": [], "needle_files": [], "saws": [], "drill_shanks": []} | tables))


def plan_for(tools: Tools, *, gauge: float, width: float) -> SlotPlan:
    return slot_plan(NUT, replace(NUT.slots[-1], gauge=gauge, width=width), tools, BONE)


# The door


def test_lengths_become_mm_at_the_door() -> None:
    tools = tools_from(
        files=[0.010, "0.5 mm"],
        feeler=[0.05, 0.05, "0.002 in"],
        feeler_inch=[0.0015, "0.1 mm"],
        needle_files=[1.0, {"tip": 0.8, "shank": "1/8 in"}],
        caliper=0.01,
    )
    assert tools.files == pytest.approx((0.254, 0.5))
    assert tools.feeler == pytest.approx((0.05, 0.05, 0.0508))  # listed twice, there twice
    assert tools.feeler_inch == pytest.approx((0.0381, 0.1))
    assert tools.needle_files == (Needle(1.0, 1.0), Needle(0.8, 3.175))
    inch = tools_from("in", feeler=[0.002], feeler_inch=[0.002], saws=[0.012])
    assert inch.feeler == inch.feeler_inch == pytest.approx((0.0508,))
    assert inch.saws == pytest.approx((0.3048,))


@pytest.mark.parametrize(
    ("table", "path", "code"),
    [
        ({"files": [10]}, "tools.files[1]", "reading.above-range"),
        ({"files": 0.010}, "tools.files", "reading.not-a-list"),
        ({"feeler": [0.05, 5.0, -0.1]}, "tools.feeler[3]", "reading.below-range"),
        ({"feeler_inch": [2]}, "tools.feeler_inch[1]", "reading.above-range"),
        ({"feeler_inch": [True]}, "tools.feeler_inch[1]", "reading.not-a-length"),
        ({"needle_files": [{"tip": 3.0, "shank": 1.0}]}, "tools.needle_files[1]", "tools.tip-wider-than-shank"),
        ({"needle_files": [{"tip": 3.0}]}, "tools.needle_files[1].shank", "reading.missing"),
        ({"saws": [0.3] * 41}, "tools.saws", "reading.wrong-count"),
        ({"caliper": 0.5}, "tools.caliper", "reading.above-range"),
        ({"file": [0.010]}, "tools.file", "reading.unknown-key"),
    ],
)
def test_slips_in_the_table_are_named(table: dict[str, object], path: str, code: str) -> None:
    faults = refused(lambda tables, source: tools_from(**tables), table)
    assert (path, code) in named(faults)


def test_the_table_is_frozen() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        Tools().caliper = 0.1


# The plan


def test_the_usual_files_follow_from_the_slots_of_the_kinds() -> None:
    """From the narrowest slot on: a file for the first slot that the file before cannot be rocked to."""
    slots = set[float]()
    for spec in (read_spec(kind_path(kind)) for kind in kind_names()):
        room = spec.slots.clearance
        slots |= {string.gauge + (room.wound if string.wound else room.plain) for string in spec.strings}
    files: list[float] = []
    for width in sorted(slots):
        if not files or width > files[-1] + rock(files[-1]) + 1e-6:
            files.append(math.floor(width / 25.4 * 1000.0 + 1e-6) / 1000.0 * 25.4)
    assert pytest.approx(files) == SLOT_FILES


def test_a_plan_is_of_its_slot() -> None:
    for slot, plan in zip(NUT.slots, slot_plans(NUT, Tools(), BONE), strict=True):
        assert (plan.number, plan.note, plan.gauge, plan.width) == (slot.number, slot.note, slot.gauge, slot.width)
        assert plan.verdict.strings == (slot.number,)
        assert plan.rough_stop.over_board > plan.stop.over_board
        assert plan.rough_stop.number == plan.stop.number == slot.number


@pytest.mark.parametrize(("gauge", "width"), [(0.012, 0.016), (0.025, 0.029), (0.042, 0.046), (0.054, 0.058)])
def test_the_trade_set_makes_a_repairers_widths(gauge: float, width: float) -> None:
    """One repairer's table of slot widths (in); common practice, no source."""
    plan = plan_for(Tools(), gauge=gauge * 25.4, width=width * 25.4)
    assert plan.error == 0.0
    last = plan.final[-1]
    assert last.tool == "slotting file"
    assert last.tool_width / 25.4 == pytest.approx(max(f for f in np.array(SLOT_FILES) / 25.4 if f <= width + 1e-9))
    assert last.width == pytest.approx(width * 25.4)


benches = st.builds(
    lambda files, needles, saws, shanks: bare(
        files=[f"{f} mm" for f in files], needle_files=needles, saws=saws, drill_shanks=shanks
    ),
    files=st.lists(st.floats(0.2, 4.0).map(lambda f: round(f, 3)), max_size=6),
    needles=st.lists(st.tuples(st.floats(0.5, 1.5), st.floats(0.0, 2.0)).map(
        lambda t: {"tip": t[0], "shank": t[0] + t[1]}), max_size=2),
    saws=st.lists(st.floats(0.2, 0.8), max_size=2),
    shanks=st.lists(st.floats(0.3, 3.0), max_size=3),
)  # fmt: skip


@given(tools=benches, gauge=st.floats(0.2, 3.4), clearance=st.floats(0.03, 0.2), name=st.sampled_from(list(MATERIALS)))
def test_no_other_tool_comes_nearer(tools: Tools, gauge: float, clearance: float, name: str) -> None:
    """Every width that every tool can leave, tried in small steps."""
    width = gauge + clearance
    plan = slot_plan(NUT, replace(NUT.slots[-1], gauge=gauge, width=width), tools, MATERIALS[name])
    spans = [(f, f + rock(f)) for f in tools.files]
    spans += [(s + 2 * tools.abrasive, s + 2 * tools.abrasive + SHANK_ROCK) for s in tools.drill_shanks]
    spans += [(n.tip, n.shank if n.shank > n.tip else n.tip + rock(n.tip)) for n in tools.needle_files]
    if not spans:
        assert plan.final == ()
        assert plan.error == -width
        assert plan.verdict.code == "tools.none"
        return
    widths = np.concatenate([np.linspace(low, high, 2001) for low, high in spans])
    nearest = np.abs(widths - width).min()
    assert abs(plan.error) <= max(nearest, MARKED) + 1e-9
    last = plan.final[-1]
    assert last.width - width == pytest.approx(plan.error, abs=1e-9)
    assert any(low - 1e-9 <= last.width <= high + 1e-9 for low, high in spans)
    assert (plan.verdict.code != "tools.fits") == (abs(plan.error) > MARKED)
    off = {"slotting file": 0.02, "needle file": 0.02 + tools.caliper}  # its mark, and the caliper on its taper
    assert plan.plus_minus == pytest.approx(off.get(last.tool, 0.05))


@given(tools=benches, gauge=st.floats(0.2, 3.4))
def test_the_steps_widen_and_only_the_last_reaches_the_floor(tools: Tools, gauge: float) -> None:
    plan = plan_for(tools, gauge=gauge, width=gauge + 0.08)
    steps = plan.rough + plan.final
    assert [step.width for step in steps] == sorted(step.width for step in steps)
    assert all(step.width < plan.final[-1].width - MARKED for step in plan.rough[1:])
    assert all(step.floor_left == BONE.left_on.floors and step.widen == 0.0 for step in plan.rough)
    assert all(step.floor_left == 0.0 for step in plan.final)
    assert all(1 <= step.strokes <= 25 for step in steps)
    assert all((step.rock_strokes > 0) == (step.widen > 0.0) for step in steps)
    for step in steps:
        assert step.widen <= 0.15 + 1e-9 or step.tool == "needle file"
    if len(plan.rough) > 1 or (plan.rough and plan.rough[0].tool_width < plan.final[0].tool_width):
        assert plan.rough[0].width <= 0.8 * plan.final[0].tool_width + 1e-9


def test_of_two_files_that_miss_alike_the_narrow_one_is_taken() -> None:
    plan = plan_for(bare(files=["0.6 mm", "1.5 mm"], feeler=[]), gauge=1.0, width=1.125)
    assert plan.final[0].tool_width == pytest.approx(0.6) or plan.error > 0.0
    even = plan_for(bare(files=["0.8 mm", "1.30 mm"]), gauge=1.05, width=1.125)
    assert even.error == pytest.approx(0.8 + 0.15 - 1.125)
    assert even.verdict.code == "tools.below-gauge"


def test_a_rough_slot_begins_with_the_widest_saw_that_is_narrow_enough() -> None:
    """Four fifths of the slot at most, so that a crooked start can be put right; without one the file near its half."""
    files = ["0.5 mm", "0.7 mm", "1.0 mm"]
    sawn, filed = (plan_for(bare(files=files, saws=saws), gauge=0.9, width=1.0) for saws in ([0.3, 0.6, 0.85], [0.85]))
    assert [(one.tool, one.tool_width) for one in sawn.rough] == [("saw", pytest.approx(0.6))]
    assert [(one.tool, one.tool_width) for one in filed.rough] == [("slotting file", pytest.approx(0.5))]


def test_where_no_tool_is_within_reach_the_narrowest_follows() -> None:
    """0.6, or half its width, is as far as a groove guides a wider tool."""
    tools = bare(files=["1.6 mm", "3.0 mm"], saws=[0.4], drill_shanks=[2.0], abrasive=0.1)
    plan = plan_for(tools, gauge=2.9, width=3.0)
    assert [one.tool_width for one in plan.steps] == pytest.approx([0.4, 1.6, 2.2, 3.0])


def test_a_slot_too_narrow_for_its_string_is_called_that() -> None:
    plan = plan_for(bare(files=["0.5 mm"]), gauge=2.0, width=2.1)
    assert plan.error == pytest.approx(0.5 + 0.125 - 2.1)
    assert plan.verdict.code == "tools.below-gauge"
    assert plan.verdict.value("off") == pytest.approx(2.0 - 0.625)


def test_a_tapering_needle_file_flares_the_slot_toward_its_handle() -> None:
    plan = plan_for(bare(needle_files=[{"tip": 0.8, "shank": 2.9}]), gauge=1.4, width=1.5)
    assert plan.error == 0.0
    assert plan.flare == pytest.approx((2.9 - 0.8) / 70.0 * NUT.thickness)
    assert plan.final[0].do.code == "tools.needle-file"
    assert plan.final[0].do.value("tool_width") == pytest.approx(1.5)


def test_paper_on_a_shank_adds_twice_its_thickness() -> None:
    plan = plan_for(bare(drill_shanks=[1.5], abrasive=0.2), gauge=1.85, width=1.9)
    assert plan.error == 0.0
    assert plan.final[0].tool == "drill shank"
    assert plan.final[0].tool_width == pytest.approx(1.9)


@given(amount=st.floats(0.0, 2.0), per_stroke=st.floats(0.001, 0.2))
def test_strokes_never_pass_the_floor_even_at_twice_the_rate(amount: float, per_stroke: float) -> None:
    strokes = strokes_between_looks(amount, per_stroke=per_stroke)
    assert strokes == 1 or strokes * 2.0 * per_stroke <= amount / 2.0 + 1e-9


def test_a_harder_material_allows_more_strokes_and_a_thin_slot_fewer() -> None:
    brass, wood = (slot_plans(NUT, Tools(), MATERIALS[name])[0].final[0].strokes for name in ("brass", "hardwood"))
    assert brass > wood
    thin = plan_for(Tools(), gauge=0.25, width=0.30).final[0].strokes
    thick = plan_for(Tools(), gauge=3.3, width=3.40).final[0].strokes
    assert thin < thick


@pytest.mark.parametrize("kind", kind_names())
def test_the_trade_set_serves_every_kind(kind: str) -> None:
    nut = solve(read_spec(kind_path(kind)))
    for slot, plan in zip(nut.slots, slot_plans(nut, Tools(), BONE), strict=True):
        assert plan.number == slot.number
        assert abs(plan.error) <= MARKED, plan.verdict
        assert plan.final[0].width >= slot.gauge
        assert plan.rough_stop.over_board == pytest.approx(plan.stop.over_board + BONE.left_on.floors)
