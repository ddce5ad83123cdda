"""Gaps read with what is in the drawer: sheets whose ten were measured, wires off their packets."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.errors import Unreadable
from nutgen.spec.presets import start_path
from nutgen.spec.read import parse_piece, parse_spec
from nutgen.spec.stacks import read_stack
from nutgen.spec.values import BareUnits, Sheet
from tests.kinds import text_of
from tests.spec.refused import named, refused

SHEETS = (Sheet("paper", 0.102), Sheet("card", 0.295))
BARE = BareUnits("mm", "in", SHEETS, (0.2286, 0.3048))
TOOLS = """
[tools]
own_leaves = { paper = { ten = 1.02 }, card = { ten = 2.95 } }
wires = [0.009, 0.012]
"""


@pytest.mark.parametrize(("papers", "cards"), list(product(range(10), repeat=2)))
def test_every_stack_up_to_nine_of_a_sort(papers: int, cards: int) -> None:
    if not papers + cards:
        return
    parts = [f"{count} {name}" for count, name in ((cards, "card"), (papers, "paper")) if count]
    stack = read_stack(" + ".join(parts), BARE)
    assert stack is not None
    assert stack.mm == pytest.approx(0.102 * papers + 0.295 * cards)
    assert stack.error == pytest.approx(0.03 + 0.01 * (papers + cards))
    assert stack == read_stack("+".join(part.upper() + "S" * (part[0] != "1") for part in parts), BARE)


@pytest.mark.parametrize(
    ("text", "mm", "error"),
    [
        ("0.3 mm + 1 paper", 0.402, 0.04),
        ("0.3 + 1 paper", 0.402, 0.04),
        ("0.012 wire", 0.3048, 0.0),
        (".012 wire + 2 paper", 0.5088, 0.05),
    ],
)
def test_leaves_and_wires_among_sheets(text: str, mm: float, error: float) -> None:
    stack = read_stack(text, BARE)
    assert stack is not None
    assert (stack.mm, stack.error) == pytest.approx((mm, error))


@pytest.mark.parametrize("text", ["0.3 mm", "1 5/8 in", "2 in", '4/64"', "3 mm", "12", "flat", ""])
def test_a_plain_length_is_no_stack(text: str) -> None:
    assert read_stack(text, BARE) is None


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("2 crad", "stack.unknown-sheet"),
        ("2 card + 1 foil", "stack.unknown-sheet"),
        ("0 card", "stack.wrong-count"),
        ("10 card", "stack.wrong-count"),
        ("0.013 wire", "stack.unknown-wire"),
        ("x wire", "reading.not-a-length"),
        ("1 card + ", "reading.not-a-length"),
        ("1 card + 2 + 3 4", "reading.not-a-length"),
    ],
)
def test_what_is_not_in_the_drawer_is_refused(text: str, code: str) -> None:
    with pytest.raises(Unreadable) as raised:
        read_stack(text, BARE)
    assert raised.value.finding.code == code


@given(st.text(alphabet='0123456789.+ cardpewi/"mn', max_size=90))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        stack = read_stack(text, BARE)
    except Unreadable:
        return
    assert stack is None or stack.mm >= 0.0 or "-" in text


def test_a_file_read_with_a_pack_of_cards() -> None:
    readings = '[dry_fit]\nfeeler = ["2 card", "1 card + 1 paper", "0.012 wire", 0]\naction = "8 card"\n'
    text = text_of("bass-4", {"setup.relief": "1 card", "setup.action_now": "7 card + 2 paper"}) + TOOLS + readings
    spec = parse_spec(text, source="x")
    assert spec.setup.relief == pytest.approx(0.295)
    assert spec.errors.relief == pytest.approx(0.04)
    assert spec.setup.action_now is not None
    assert spec.setup.action_now.bass == pytest.approx(2.269)
    assert spec.dry_fit is not None
    assert spec.dry_fit.feeler == pytest.approx((0.59, 0.397, 0.3048, 0.0))
    assert (spec.tools.feeler, spec.tools.feeler_inch) == ((), ())  # what is listed is what is there
    (way,) = spec.ways
    assert (way.key, way.name, way.error) == ("setup.relief", "stack", pytest.approx(0.04))


def test_leaves_with_a_fault_of_their_own_are_not_missed_in_every_reading() -> None:
    tools = TOOLS.replace("2.95", "295").replace("0.012", "12")
    text = text_of("bass-4", {"setup.relief": "1 card", "setup.action_now": "0.012 wire"}) + tools
    assert named(refused(parse_spec, text)) == [
        ("tools.own_leaves", "reading.above-range"),
        ("tools.wires[2]", "reading.above-range"),
    ]


@pytest.mark.parametrize(
    ("tools", "path", "code"),
    [
        ("own_leaves = { Card = { ten = 2.0 } }", "tools.own_leaves", "tools.no-sheet-name"),
        ("own_leaves = { mm = { ten = 2.0 } }", "tools.own_leaves", "tools.no-sheet-name"),
        ("own_leaves = { card = 2.0 }", "tools.own_leaves", "tools.own-leaves-misread"),
        ("own_leaves = 2.0", "tools.own_leaves", "tools.own-leaves-misread"),
        ("own_leaves = { card = { ten = 295 } }", "tools.own_leaves", "reading.above-range"),
        ("wires = [9]", "tools.wires[1]", "reading.above-range"),
    ],
)
def test_slips_in_the_drawer_are_named(tools: str, path: str, code: str) -> None:
    assert named(refused(parse_spec, text_of("bass-4", {}) + f"\n[tools]\n{tools}\n")) == [(path, code)]


def test_gaps_along_a_piece_are_read_so_too() -> None:
    """Eight cards and a paper: 8 x 0.295 + 0.102 mm."""
    plain = start_path("antler-beam").read_text("utf-8")
    text = plain.replace("gap_back = 2.5", 'gap_back = "8 card + 1 paper"').replace(
        "gap_side = 0.6", 'gap_side = "2 card"'
    )
    stations = parse_piece(text + TOOLS, source="test").stations
    assert (stations[1].gap_back, stations[1].gap_side) == pytest.approx((2.462, 0.59))
    assert named(refused(parse_piece, text)) == [
        ("stations[2].gap_side", "stack.unknown-sheet"),
        ("stations[2].gap_back", "stack.unknown-sheet"),
    ]
    with_fault = text + TOOLS.replace("2.95", "295")
    assert named(refused(parse_piece, with_fault)) == [("tools.own_leaves", "reading.above-range")]
