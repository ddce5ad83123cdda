"""Offcuts of plain strings as go and no-go of a slot, against slots whose width is known."""

import math
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.bench.reuse import reuse
from nutgen.bench.wires import width_bounds, width_check
from nutgen.documents.words import sentence
from nutgen.errors import SpecFaults
from nutgen.nut import solve
from nutgen.spec.playing import OldNut
from nutgen.spec.presets import kind_path
from nutgen.spec.read import parse_spec, read_spec
from nutgen.spec.workshop import Tools
from tests.kinds import text_of

PACKETS = tuple(round(0.0254 * n, 4) for n in (8, 9, 10, 11, 12, 13, 14, 16, 17, 18, 20, 22, 24, 26))
"""Plain strings by their packets, thousandths of an inch. Common practice, no source."""
NUT = solve(read_spec(kind_path("electric-6")))


def enters(wire: float, slot: float) -> bool:
    """A wire goes into a slot that is as wide as itself."""
    return wire <= slot


@pytest.mark.parametrize(("go", "no_go"), list(combinations(PACKETS, 2)))
def test_every_pair_holds_the_slots_that_it_tells(go: float, no_go: float) -> None:
    for slot in (go, go + 1e-6, (go + no_go) / 2.0, no_go - 1e-6):
        read = max(wire for wire in (go, no_go) if enters(wire, slot))
        assert width_bounds(read, (no_go, go)) == (go, no_go)
        told = width_check(slot, (go, no_go))
        assert told is not None
        assert (told.value("go"), told.value("no_go")) == (go, no_go)
    assert width_bounds(no_go, (go, no_go)) == (no_go, math.inf)
    assert width_bounds((go + no_go) / 2.0, ()) == ((go + no_go) / 2.0,) * 2


def test_what_does_not_enter_may_be_told() -> None:
    """The .011 enters and the .017 does not, though a .013 is on the bench: it was not tried."""
    old = {
        "widths": ["0.011 wire"] * 6,
        "too_thick": ["0.017 wire", *["none"] * 5],
        "centres": [4, 11, 18, 25, 32, 39],
        "floors": [8.0] * 6,
    }
    text = text_of("electric-6", {"old_nut": old})
    spec = parse_spec(text + "\n[tools]\nwires = [0.011, 0.013, 0.017]\n", source="test")
    assert spec.old_nut is not None
    got = reuse(solve(spec), spec.old_nut, spec.tools).strings
    bounds = [(one.slot_width, one.slot_width_below) for one in got]
    assert bounds == [pytest.approx((0.2794, 0.4318)), *[pytest.approx((0.2794, 0.3302))] * 5]
    with pytest.raises(SpecFaults) as caught:
        parse_spec(text.replace("0.017 wire", "0.010 in") + "\n[tools]\nwires = [0.011]\n", source="test")
    assert [(one.about[0].name, one.code) for one in caught.value.findings] == [
        ("old_nut.too_thick[1]", "old-nut.no-go-enters")
    ]


@given(
    wires=st.lists(st.floats(0.2, 1.8), min_size=1, max_size=12, unique_by=lambda one: round(one, 2)),
    slots=st.lists(st.floats(0.2, 2.2), min_size=6, max_size=6),
)
def test_an_old_nut_read_by_wire_is_judged_as_its_true_widths_or_left_open(
    wires: list[float], slots: list[float]
) -> None:
    read = tuple(max((wire for wire in wires if enters(wire, slot)), default=0.0) for slot in slots)
    if not all(read):
        return
    centres = tuple(NUT.from_bass_end(slot) for slot in NUT.slots)
    floors = tuple(slot.floor_height for slot in NUT.slots)
    old = [OldNut(centres=centres, widths=w, floors=floors, floors_from="fret plane") for w in (read, tuple(slots))]
    bench = Tools(wires=tuple(wires))
    by_wire, true = reuse(NUT, old[0], bench), reuse(NUT, old[1], Tools())
    for one, known, slot in zip(by_wire.strings, true.strings, slots, strict=True):
        below = math.inf if one.slot_width_below is None else one.slot_width_below
        assert one.slot_width <= slot <= below
        assert not one.too_wide_by or known.too_wide_by
        assert one.widen_to is None or known.widen_to is not None
        if one.width_untold is None:
            assert bool(one.too_wide_by) == bool(known.too_wide_by)
            assert (one.widen_to is None) == (known.widen_to is None)
        else:
            assert sentence(one.width_untold, "in")
            read_as = (one.width_untold.value("go"), one.width_untold.value("no_go"))
            assert read_as == (one.slot_width, one.slot_width_below or 0.0)


@pytest.mark.parametrize(
    ("wires", "says"),
    [
        ((0.2286, 0.3048, 0.4064), "the .012 enters, the .016 does not: then it is 0.30 to 0.41 mm"),
        ((0.2286,), ""),
        ((0.4064,), ""),
        ((), ""),
    ],
)
def test_what_tells_that_a_slot_has_its_width(wires: tuple[float, ...], says: str) -> None:
    found = width_check(0.35, wires)
    assert (sentence(found) if found else "") == says


def test_a_file_whose_widths_were_read_by_wire() -> None:
    old = 'centres = [5, 16, 27, 37]\nwidths = ["0.024 wire", 2.3, 1.8, "0.026 wire"]\nfloors = [4.2, 4.5, 4.4, 4.1]'
    tools = "wires = [0.026, 0.024]"
    spec = parse_spec(f"{text_of('bass-4', {})}\n[tools]\n{tools}\n[old_nut]\n{old}\n", source="x")
    assert spec.old_nut is not None
    strings = reuse(solve(spec), spec.old_nut, spec.tools).strings
    assert strings[0].slot_width == pytest.approx(0.024 * 25.4)
    assert strings[0].slot_width_below == pytest.approx(0.026 * 25.4)
    assert [one.slot_width_below for one in strings[1:]] == [None, None, None]
