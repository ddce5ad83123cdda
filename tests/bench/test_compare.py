"""From one nut to another: each number against the two nuts, after less before."""

import math
from typing import Any

import pytest

from nutgen.bench.compare import SEEN, Compared, compared
from nutgen.nut import Nut, solve
from tests.kinds import text_of
from tests.specs import spec_of


def between(kind: str, changes: dict[str, Any], other: str = "") -> tuple[Compared, Nut, Nut]:
    """A file, and the same with changes."""
    before, after = spec_of(text_of(kind)), spec_of(text_of(other or kind, changes))
    was, becomes = solve(before), solve(after)
    return compared(before, was, after, becomes), was, becomes


def test_a_file_and_itself() -> None:
    found, was, _ = between("bass-4", {})
    assert (found.keys, found.work) == ((), ())
    assert found.sizes == tuple(
        (name, getattr(was, name), getattr(was, name)) for name in ("length", "thickness", "height")
    )
    for one, slot in zip(found.strings, was.slots, strict=True):
        assert (one.number, one.note) == (slot.number, slot.note)
        assert (one.gauge, one.centre, one.width, one.floor_above_seat) == (0.0, 0.0, 0.0, 0.0)
        assert (one.first_fret_clearance, one.action) == (0.0, 0.0)
    assert found.slots is not None
    assert found.slots.verdict == "keep"


def test_what_becomes_of_each_string() -> None:
    """A seat 0.4 deeper, 0.1 more over fret 1, 0.2 more over fret 12, slots 0.03 wider: floors rise by hand."""
    changes = {
        "seat.depth": 3.6,
        "setup.first_fret_clearance": 0.6,
        "setup.action": 2.4,
        "slots.clearance": {"plain": 0.13, "wound": 0.13},
    }
    found, was, becomes = between("bass-4", changes)
    for one, a, b in zip(found.strings, was.slots, becomes.slots, strict=True):
        assert one.width == pytest.approx(b.width - a.width)
        assert one.width > 0.0
        assert one.first_fret_clearance == pytest.approx(0.6 - a.first_fret_clearance)
        assert one.action == pytest.approx(2.4 - a.action)
        # floors over the seat rise by what it is deeper, and by what the clearances ask for over the plane
        assert one.floor_above_seat == pytest.approx(
            becomes.seat.depth - was.seat.depth + b.floor_height - a.floor_height, abs=1e-6
        )
        assert (one.gauge, one.centre) == (0.0, pytest.approx(0.0))
    assert set(found.keys) == {"seat.depth", "setup.action", "setup.first_fret_clearance", "slots.clearance"}


@pytest.mark.parametrize("kind", ["bass-4", "electric-6-left"])
def test_a_wider_spacing_moves_centres_from_the_bass_end(kind: str) -> None:
    found, was, becomes = between(kind, {"spacing": {"rule": "centres", "margin": 5.0}})
    inward = -1.0 if was.strung == "left" else 1.0
    for one, a, b in zip(found.strings, was.slots, becomes.slots, strict=True):
        assert one.centre == pytest.approx(inward * (b.x - a.x), abs=0.02)
    assert abs(found.strings[0].centre) > 0.1


def test_under_a_bar_nothing_is_told_over_frets() -> None:
    found, _, _ = between("lap-6", {})
    assert all(math.isnan(one.first_fret_clearance) and math.isnan(one.action) for one in found.strings)
    assert all(one.gauge == 0.0 for one in found.strings)


@pytest.mark.parametrize(
    ("more", "code"), [(0.3, "compare.thickness-short"), (-0.3, "compare.thickness-off"), (0.04, ""), (-0.04, "")]
)
def test_work_at_its_faces(more: float, code: str) -> None:
    """What is too thin cannot be made thicker; what is too thick comes off; what nobody sees stays."""
    was = solve(spec_of(text_of("bass-4"))).thickness
    found, _, becomes = between("bass-4", {"seat.thickness": was + more})
    assert becomes.thickness - was == pytest.approx(more)
    assert [one.code for one in found.work] == ([code] if code else [])
    if code:
        assert found.work[0].value("by") == pytest.approx(0.3)
        assert (found.work[0].severity == "warning") == (more > 0.0)
    assert SEEN == 0.05


def test_keys_that_differ_are_named_down_to_the_string() -> None:
    before = text_of("bass-4")
    after = before.replace("0.045", "0.050", 1)
    assert after != before
    one, other = spec_of(before), spec_of(after)
    found = compared(one, solve(one), other, solve(other))
    assert any(key.startswith("strings[") and key.endswith("].gauge") for key in found.keys)
    assert all("gauge" in key for key in found.keys)
    changed = [string for string in found.strings if string.gauge]
    assert [string.gauge for string in changed] == [pytest.approx(0.005 * 25.4)]


def test_another_number_of_strings() -> None:
    found, _, _ = between("bass-4", {}, other="bass-5")
    assert (found.strings, found.slots) == ((), None)
    assert [one.code for one in found.work] == ["compare.other-strings"]
    assert "strings" in found.keys


def test_slots_of_the_nut_that_was_are_judged_by_what_is_wanted() -> None:
    """Floors that are to come down by 0.3 are filed by that, in the material that the old nut is of."""
    found, was, becomes = between("bass-4", {"setup.first_fret_clearance": 0.2, "material": "brass"})
    assert found.slots is not None
    assert found.slots.verdict == "file"
    for one, a, b in zip(found.slots.strings, was.slots, becomes.slots, strict=True):
        assert one.slot_width == pytest.approx(a.width)
        assert one.off_position_by == pytest.approx(0.0, abs=1e-6)
        (step,) = (step for step in one.steps if step.code == "old-slot.file-down")
        assert step.value("by") == pytest.approx(a.floor_height - b.floor_height, abs=1e-6)
    assert found.slots.cautions[0].value("material") == "bone"
