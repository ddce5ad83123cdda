"""Stacks of leaves against every subset there is, and the stop against a file laid on them."""

import math
import re
from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.bench.leaves import (
    GRID,
    StopStack,
    floor_over_board,
    leaf_stack,
    own_stack,
    sheet_stack,
    stop_height,
    stop_stack,
)
from nutgen.documents.words import sentence
from nutgen.documents.words.bench import leaves_marked
from nutgen.nut import solve
from nutgen.spec.presets import kind_names, kind_path
from nutgen.spec.read import parse_spec, read_spec
from nutgen.spec.values import Sheet
from nutgen.spec.workshop import INCH_LEAVES, METRIC_LEAVES, Tools
from tests.kinds import text_of


def best_by_trying_all(target: float, leaves: tuple[float, ...]) -> tuple[float, ...]:
    """Every subset, ranked by the rule in words: error, count, the higher one, thickest leaves."""

    def rank(stack: tuple[float, ...]) -> tuple[int, int, int, tuple[float, ...]]:
        off = sum(round(leaf / GRID) for leaf in stack) - round(target / GRID)
        return abs(off), len(stack), -off, tuple(-leaf for leaf in stack)

    order = sorted(leaves, reverse=True)
    return min((s for n in range(len(order) + 1) for s in combinations(order, n)), key=rank)


sizes = st.one_of(
    st.integers(1, 20).map(lambda n: n * 0.05),
    st.integers(3, 70).map(lambda n: n * 0.0005 * 25.4),
    st.floats(0.02, 1.0),
)


@given(leaves=st.lists(sizes, max_size=9).map(tuple), share=st.floats(0.0, 1.2), step=st.integers(0, 200))
def test_the_stack_is_the_best_of_all_subsets(leaves: tuple[float, ...], share: float, step: int) -> None:
    for target in (share * sum(leaves), step * 0.025):
        stack = leaf_stack(target, leaves)
        assert stack.leaves == pytest.approx(best_by_trying_all(target, leaves), abs=GRID)
        assert stack.sum == pytest.approx(math.fsum(stack.leaves), abs=1e-12)
        assert stack.error == pytest.approx(stack.sum - target, abs=1e-12)


@pytest.mark.parametrize("leaves", [METRIC_LEAVES, INCH_LEAVES[:15]])
def test_whole_sets_over_their_whole_range(leaves: tuple[float, ...]) -> None:
    bits = (np.arange(2 ** len(leaves))[:, None] >> np.arange(len(leaves))) & 1
    sums = np.rint(bits @ np.array(leaves) / GRID).astype(int)
    counts = bits.sum(axis=1)
    for target in np.linspace(0.0, sum(leaves) + 0.3, 157):
        away = np.abs(sums - round(target / GRID))
        stack = leaf_stack(float(target), leaves)
        assert abs(round(stack.sum / GRID) - round(target / GRID)) == away.min(), target
        assert len(stack.leaves) == counts[away == away.min()].min(), target


@given(target=st.floats(0.0, 12.0))
def test_a_set_of_26_inch_leaves_reaches_what_growing_the_sums_reaches(target: float) -> None:
    """Another way to the same: the set of sums with their fewest leaves, grown leaf by leaf."""
    fewest = {0: 0}
    for leaf in INCH_LEAVES:
        step = round(leaf / GRID)
        for total, count in list(fewest.items()):
            fewest[total + step] = min(count + 1, fewest.get(total + step, 99))
    goal = round(target / GRID)
    nearest = min(abs(total - goal) for total in fewest)
    stack = leaf_stack(target, INCH_LEAVES)
    assert abs(round(stack.sum / GRID) - goal) == nearest
    assert len(stack.leaves) == min(fewest.get(goal - nearest, 99), fewest.get(goal + nearest, 99))


@given(leaves=st.lists(sizes, min_size=1, max_size=40), share=st.floats(0.0, 1.0))
def test_no_leaf_serves_more_often_than_it_is_there(leaves: list[float], share: float) -> None:
    stack = leaf_stack(share * sum(leaves), leaves)
    for leaf in set(stack.leaves):
        assert stack.leaves.count(leaf) <= leaves.count(leaf)
    assert list(stack.leaves) == sorted(stack.leaves, reverse=True)


def test_ties_take_the_fewest_leaves_then_the_higher_stack_then_the_thickest_leaf() -> None:
    assert leaf_stack(0.50, [0.10, 0.15, 0.25, 0.50]).leaves == (0.50,)
    assert leaf_stack(0.45, [0.40, 0.50]).leaves == (0.50,)
    assert leaf_stack(0.50, [0.10, 0.20, 0.30, 0.40]).leaves == (0.40, 0.10)
    assert leaf_stack(0.50, [0.25, 0.25]).leaves == (0.25, 0.25)


def test_a_bench_without_leaves_and_a_height_beyond_them() -> None:
    assert leaf_stack(1.0, []).error == -1.0
    assert leaf_stack(0.0, METRIC_LEAVES).leaves == ()
    assert len(leaf_stack(29.0, METRIC_LEAVES).leaves) == len(METRIC_LEAVES)


@pytest.mark.parametrize("target", [-0.1, math.nan, math.inf, 101.0])
def test_a_height_that_is_none_is_refused(target: float) -> None:
    with pytest.raises(ValueError, match="height"):
        leaf_stack(target, METRIC_LEAVES)


def test_a_leaf_without_thickness_is_refused() -> None:
    with pytest.raises(ValueError, match="leaf"):
        leaf_stack(1.0, [0.1, 0.0])


@given(
    tens=st.lists(st.one_of(st.integers(20, 900).map(lambda n: n / 100), st.floats(0.2, 9.0)), max_size=3),
    tops=st.lists(sizes, max_size=4),
    target=st.floats(0.0, 3.0),
)
def test_own_sheets_under_one_strip_are_the_surest_of_all_stacks_up_to_nine(
    tens: list[float], tops: list[float], target: float
) -> None:
    """Every stack there is, ranked by the rule in words: at worst out by, sheets, the higher one."""
    sheets = [Sheet(name, ten / 10.0) for name, ten in zip("abc", tens, strict=False)]

    def rank(top: float, counts: tuple[int, ...]) -> tuple[int, int, int]:
        off = round(top / GRID) + sum(round(s.thickness / GRID) * n for s, n in zip(sheets, counts, strict=True))
        off -= round(target / GRID)
        loose = sum(counts)
        return abs(off) + (3000 + 1000 * loose if loose else 0), loose, -off

    every = [counts for counts in product(range(10), repeat=len(sheets)) if sum(counts) <= 9]
    best = min(rank(top, counts) for top in tops or [0.0] for counts in every)
    stack = sheet_stack(target, sheets, tops or (0.0,))
    taken = {name: int(count) for count, name in (text.split() for text in stack.sheets)}
    found = rank(sum(stack.leaves), tuple(taken.get(sheet.name, 0) for sheet in sheets))
    assert found == best
    assert len(stack.leaves) == bool(tops)
    height = sum(stack.leaves) + sum(sheet.thickness * taken.get(sheet.name, 0) for sheet in sheets)
    assert stack.sum == pytest.approx(height)
    assert stack.error == pytest.approx(height - target)
    assert stack.spread == pytest.approx(0.03 + 0.01 * found[1] if found[1] else 0.0)


def test_of_own_sheets_that_miss_alike_the_higher_is_laid() -> None:
    """What is left on can still come off."""
    assert sheet_stack(0.3, [Sheet("thin", 0.2), Sheet("thick", 0.4)]).sheets == ("1 thick",)


PACK = "own_leaves = { paper = { ten = 1.02 }, card = { ten = 2.95 } }"


def stops_of(tools: str, kind: str = "electric-6") -> list[StopStack]:
    spec = parse_spec(f"{text_of(kind, {})}\n[tools]\n{tools}\n", source="x")
    nut = solve(spec)
    return [stop_stack(nut, slot, spec.tools, over=over) for slot in nut.slots for over in (0.0, 0.3)]


@pytest.mark.parametrize(
    ("tools", "tops"),
    [
        (f"{PACK}\nsteel = [0.24, 0.3]", {0.24, 0.3}),
        (f"{PACK}\nfeeler = [0.25, 0.4]", {0.25, 0.4}),
        (f"{PACK}\nfeeler_inch = [0.010]", {0.254}),
    ],
)
def test_the_top_of_a_stack_is_one_steel_strip_that_is_listed(tools: str, tops: set[float]) -> None:
    for stop in stops_of(tools):
        assert stop.own is not None
        assert stop.best is not None
        assert len(stop.own.leaves) == 1
        assert round(stop.own.leaves[0], 6) in tops
        assert stop.own.sheets
        assert stop.own.summed
        text = sentence(stop.own.told)
        assert re.fullmatch(r"\S+ steel over \d card( \+ \d paper)?", text), text


@pytest.mark.parametrize(
    ("tools", "says"),
    [
        (PACK, r"steel over \d card( \+ \d paper)?"),
        ("feeler = []\nfeeler_inch = []", "steel over packing"),
        ("steel = [0.24]", "0.24 steel over packing"),
        ("wires = [0.009]", "steel over packing"),
        ("steel = [0.24]\nown_leaves = { paper = { ten = 0.5 } }", "0.24 steel over packing"),
    ],
)
def test_what_no_sum_tells_is_measured_as_one(tools: str, says: str) -> None:
    for stop in stops_of(tools):
        assert stop.best is None
        assert stop.own is not None
        assert not stop.own.summed
        assert re.fullmatch(says, sentence(stop.own.told))


def test_steel_strips_alone_are_stacked_like_leaves() -> None:
    stack = own_stack(1.29, Tools(feeler=(), feeler_inch=(), steel=(0.3, 0.5, 0.5)))
    assert stack is not None
    assert sentence(stack.told) == "0.50 + 0.50 + 0.30 steel"
    assert sentence(stack.told, "in") == "0.0195 + 0.0195 + 0.0120 steel"


@pytest.mark.parametrize(("x", "radius", "width"), [(17.0, 241.0, 3.4), (-16.0, 184.0, 1.1), (20.0, 100.0, 3.0)])
def test_a_file_lowered_on_the_stack_rests_at_the_floor(x: float, radius: float, width: float) -> None:
    """A round file edge let down on a leaf that lies tangent to the board, by trying points of the edge."""
    nut = solve(read_spec(kind_path("bass-4-fifths")))
    slot = replace(nut.slots[0], x=x, width=width)
    wanted = 1.3
    height = stop_height(slot.x, slot.width, board_radius=radius, over_board=wanted)
    lean = math.asin(x / radius)
    across = np.linspace(-width / 2, width / 2, 20001)
    edge = width / 2 - np.sqrt((width / 2) ** 2 - across**2)  # above the file's lowest line
    leaf = (radius + height) / math.cos(lean) - radius - (x + across) * math.tan(lean)  # its upper face
    lowest_line = (leaf - edge).max()
    board = math.sqrt(radius**2 - x**2) - radius
    assert lowest_line - board == pytest.approx(wanted, abs=1e-6)


def test_on_a_flat_board_the_stack_is_fret_plane_plus_floor_height() -> None:
    """By hand: fret 1.05 mm, floor 0.20 mm above the fret plane: 1.25 mm, leaves 1.00 + 0.25."""
    heights = {"setup.first_fret_clearance": None, "setup.floor_height": 0.2}
    text = text_of("bass-4-fifths", {"fretboard.radius": "flat", "fretboard.fret_height": 1.05, **heights})
    nut = solve(parse_spec(text, source="flat"))
    for stop in (stop_stack(nut, slot, Tools()) for slot in nut.slots):
        assert stop.height == pytest.approx(1.25, abs=1e-9)
        assert stop.metric.leaves == (1.0, 0.25)
        assert stop.metric.error == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("kind", kind_names())
def test_every_kind_has_a_stop_in_both_sets(kind: str) -> None:
    nut = solve(read_spec(kind_path(kind)))
    for slot in nut.slots:
        stop = stop_stack(nut, slot, Tools())
        assert stop.over_board == pytest.approx(slot.fret_plane_z + slot.floor_height - float(nut.seat.board_z(slot.x)))
        assert abs(stop.metric.error) <= 0.0251
        assert abs(stop.inch.error) <= 0.0128 / 2
        assert stop.best is not None


def test_a_floor_below_the_board_has_no_stack() -> None:
    nut = solve(read_spec(kind_path("bass-4-fifths")))
    sunk = replace(nut.slots[0], floor_z=-2.0)
    stop = stop_stack(nut, sunk, Tools())
    assert floor_over_board(nut, sunk) < 0.0
    assert stop.best is None


def test_leaves_are_named_as_they_are_marked() -> None:
    assert leaves_marked(leaf_stack(1.35, METRIC_LEAVES).leaves, "mm") == "1.00 + 0.35"
    assert leaves_marked(leaf_stack(0.0365 * 25.4, INCH_LEAVES).leaves, "in") == ".035 + .0015"
