"""The old nut, slot by slot: what may stay, what a file cures, and what a shim saves."""

import math

import numpy as np
import pytest

from nutgen.bench.reuse import Reuse, old_floor_heights, reuse
from nutgen.bench.reuse_record import reuse_record
from nutgen.nut import Nut, solve
from nutgen.nut.clear import lowest_floor_height
from nutgen.play.heights import neck_of
from nutgen.spec.playing import OldNut
from nutgen.spec.tables import Spec
from nutgen.theory.heights import Neck
from tests.play.files import KINDS, changed, solved

FIRM = "[pluck]\nforce_n = 1.8\nfrom_bridge = 100"


def same_as(nut: Nut, *, floors_from: str = "fret plane", **change: tuple[float, ...]) -> OldNut:
    """An old nut that is just what is wanted, but for the changes: added slot by slot, bass first."""
    centres = [nut.from_bass_end(slot) for slot in nut.slots]
    widths = [slot.width for slot in nut.slots]
    floors = [slot.floor_height for slot in nut.slots]
    if floors_from == "seat floor":
        floors = [slot.floor_z - float(nut.underside.z(slot.x)) for slot in nut.slots]
    lists = {"centres": centres, "widths": widths, "floors": floors}
    moved = {
        key: tuple(v + d for v, d in zip(values, change.get(key, (0.0,) * len(values)), strict=True))
        for key, values in lists.items()
    }
    return OldNut(floors_from=floors_from, **moved)


def judged(spec: Spec, **change: tuple[float, ...]) -> Reuse:
    nut = solve(spec)
    return reuse(spec, nut, same_as(nut, **change))


@pytest.mark.parametrize("floors_from", ["fret plane", "seat floor"])
@pytest.mark.parametrize("kind", KINDS)
def test_the_wanted_nut_itself_is_kept(kind: str, floors_from: str) -> None:
    spec, nut = solved(kind)
    got = reuse(spec, nut, same_as(nut, floors_from=floors_from))
    assert got.verdict == "keep"
    assert got.shim == 0.0
    assert all(old.steps == () and abs(old.off) < 3e-9 and abs(old.lower_by) < 3e-9 for old in got.slots)


def test_seat_floor_readings_by_hand() -> None:
    """Fret plane over the seat: depth plus fret height less the drop of the board there."""
    spec, nut = solved("bass-4-fifths")
    old = spec.old_nut
    assert old is not None
    radius = spec.fretboard.radius
    for slot, floor, height in zip(nut.slots, old.floors, old_floor_heights(nut, old), strict=True):
        drop = radius - math.sqrt(radius**2 - slot.x**2)
        assert height == pytest.approx(floor - (3.2 + 1.05 - drop), abs=1e-9)


def test_left_strung_reads_from_its_own_bass_end() -> None:
    right, left = (reuse(spec, nut, same_as(nut)) for spec, nut in map(solved, ("electric-6", "electric-6-left")))
    assert [old.off for old in right.slots] == pytest.approx([old.off for old in left.slots], abs=1e-9)


class TestSlots:
    SPEC = changed("bass-4", FIRM)

    def test_narrow_slot_is_widened(self) -> None:
        got = judged(self.SPEC, widths=(-0.3, 0.0, 0.0, 0.0))
        assert got.verdict == "file"
        assert got.slots[0].widen_to == pytest.approx(got.slots[0].slot.width)
        assert got.slots[0].steps == (f"widen to {got.slots[0].slot.width:.2f}",)

    def test_widening_can_move_a_centre_by_half_of_what_it_takes_off(self) -> None:
        # 0.8 off, 0.5 is felt: widening by 1.0 moves the centre by up to 0.5, by 0.4 only 0.2
        near, far = (judged(self.SPEC, widths=(-w, 0, 0, 0), centres=(0.8, 0, 0, 0)) for w in (1.0, 0.4))
        assert not near.slots[0].misplaced
        assert near.slots[0].steps[0].endswith("toward the bass side")
        assert far.slots[0].misplaced

    def test_wide_slot_rattles_and_no_shim_helps(self) -> None:
        got = judged(self.SPEC, widths=(0.0, 0.0, 0.0, 0.5))
        slot = got.slots[3].slot
        assert got.verdict == "new nut"
        assert got.slots[3].too_wide_by == pytest.approx(slot.width + 0.5 - (slot.gauge + 0.25))
        assert "(rattle)" in got.slots[3].steps[0]
        assert "too wide for 1 G2" in got.reason
        assert "a shim does not help" in got.reason

    def test_off_position(self) -> None:
        got = judged(self.SPEC, centres=(0.0, -0.9, 0.0, 0.0))
        assert got.verdict == "new nut"
        assert got.slots[1].steps == ("off position by 0.90 to the bass side",)
        assert "off position for 3 A1" in got.reason

    def test_high_floor_is_filed(self) -> None:
        got = judged(self.SPEC, floors=(0.2, 0.0, 0.04, 0.0))
        assert got.verdict == "file"
        assert got.slots[0].steps == ("file the floor down by 0.20",)
        assert got.slots[2].steps == ()

    def test_low_floor_wants_a_shim_that_clears_every_string(self) -> None:
        got = judged(self.SPEC, floors=(0.0, -0.33, -0.42, 0.1))
        assert got.verdict == "shim and file"
        assert got.shim == pytest.approx(0.45)
        assert got.slots[2].steps[0].startswith("too low by 0.42 (buzz): fill, shim or new nut")
        for old in got.slots:
            assert old.floor_height + got.shim >= old.slot.floor_height - 1e-9

    def test_lower_than_wanted_but_clear_is_kept(self) -> None:
        """The lowest floor that stays clear lies under the wanted one: in between nothing needs doing."""
        spec = changed("bass-4", "[pluck]\nforce_n = 1.4\nfrom_bridge = 100")
        nut = solve(spec)
        column = neck_of(nut)
        neck = Neck(np.ravel(column.scale_length), nut.frets, nut.relief, np.ravel(column.start))
        least = lowest_floor_height(spec, neck=neck, action=np.array([s.action for s in nut.slots]))
        spare = nut.slots[1].floor_height - least[1]
        assert spare > 0.07
        above, below = (judged(spec, floors=(0.0, -spare + d, 0.0, 0.0)) for d in (0.005, -0.005))
        assert above.verdict == "keep"
        assert above.slots[1].remark.endswith("lower than wanted, still clear")
        assert below.slots[1].too_low_by == pytest.approx(spare + 0.005)

    def test_shim_thicker_than_a_seat_bears(self) -> None:
        got = judged(self.SPEC, floors=(-1.2, 0.0, 0.0, 0.0))
        assert got.verdict == "new nut"
        assert "a shim of 1.20 mm would be needed" in got.reason


def test_demo_bass_is_saved_by_a_shim() -> None:
    """Restrung in fifths: the thick bass slots are widened, the worn treble slot wants a shim."""
    spec, nut = solved("bass-4-fifths")
    assert spec.old_nut is not None
    got = reuse(spec, nut, spec.old_nut)
    assert got.verdict == "shim and file"
    assert [old.widen_to is not None for old in got.slots] == [True, True, False, False]
    assert [old.too_low_by > 0.0 for old in got.slots] == [False, False, False, True]
    record = reuse_record(spec, got)
    assert record["units"] == "mm"
    assert [entry["number"] for entry in record["strings"]] == [4, 3, 2, 1]
    assert record["strings"][2]["steps"] == ["keep"]
    assert record["shim"] == pytest.approx(got.shim)


def test_assumed_pluck_is_told() -> None:
    spec, nut = solved("bass-4")
    assert reuse(spec, nut, same_as(nut)).assumed[0].code == "reuse.pluck-assumed"
    assert judged(TestSlots.SPEC).assumed == ()
