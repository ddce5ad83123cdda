"""The one model of neck and seat: arrays against one reading at a time, and against geometry worked out by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.nut import solve
from nutgen.nut.heights import Readings, heights, line_of, lowest_of, readings_of
from nutgen.nut.seat import SeatHeights
from nutgen.spec.presets import kind_names
from tests.play.files import changed, solved

FLAT = SeatHeights("channel", (-21.0, 21.0), 0.0, np.inf, 3.0, np.inf, 1.0, None)


@pytest.mark.parametrize("kind", kind_names())
def test_a_solved_nut_reads_back_as_its_slots(kind: str) -> None:
    nut = solved(kind)[1]
    floors, lines = heights(readings_of(nut))
    np.testing.assert_allclose(floors[:, 0], [slot.sounds_from for slot in nut.slots], atol=1e-9)
    np.testing.assert_allclose(lines.clearance(1)[:, 0], [slot.first_fret_clearance for slot in nut.slots], atol=3e-9)
    np.testing.assert_allclose(lines.clearance(12)[:, 0], [slot.action for slot in nut.slots], atol=3e-9)


@pytest.mark.parametrize("kind", ["electric-6-slanted", "classical", "bass-5", "electric-6-left"])
def test_floors_over_the_seat_are_floors_over_the_fret_plane(kind: str) -> None:
    nut = solved(kind)[1]
    cut = np.array([[slot.floor_z - float(nut.underside.z(slot.x))] for slot in nut.slots])
    floors, _ = heights(replace(readings_of(nut), floor_height=None, floor_above_seat=cut))
    np.testing.assert_allclose(floors[:, 0], [slot.floor_height for slot in nut.slots], atol=3e-9)


@settings(max_examples=40)
@given(
    relief=st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3),
    action=st.lists(st.floats(0.5, 5.0), min_size=3, max_size=3),
    depth=st.lists(st.floats(1.0, 8.0), min_size=3, max_size=3),
    radius=st.floats(100.0, 1000.0),
    x=st.floats(-20.0, 20.0),
)
def test_arrays_are_one_reading_at_a_time(relief, action, depth, radius, x) -> None:
    def read(relief, action, depth) -> Readings:
        seat = replace(FLAT, board_radius=radius, depth=depth)
        return Readings(
            scale_length=650.0, frets=22, relief=relief, action=action, start=0.0, x=x, seat=seat, floor_above_seat=4.3
        )

    floors, lines = heights(read(*map(np.array, (relief, action, depth))))
    each = [heights(read(*one)) for one in zip(relief, action, depth, strict=True)]
    np.testing.assert_allclose(floors, [floor for floor, _ in each], rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(lines.clearance(7), [line.clearance(7) for _, line in each], rtol=1e-12, atol=1e-12)


def test_a_deeper_seat_lowers_floor_and_clearance_by_similar_triangles() -> None:
    """Straight neck, flat board: c1 = b (1 - 2p) + 2p a with p = 1 - 2^(-1/12) (geometry)."""
    p = 1.0 - 2.0 ** (-1.0 / 12.0)
    wanted = Readings(
        scale_length=650.0, frets=22, relief=0.0, action=2.0, start=0.0, x=0.0, seat=FLAT, floor_above_seat=4.3
    )
    for depth, floor in ((3.0, 0.3), (3.1, 0.2)):
        floors, lines = heights(replace(wanted, seat=replace(FLAT, depth=depth)))
        assert floors == pytest.approx(floor, abs=1e-12)
        assert lines.clearance(1) == pytest.approx(floor * (1.0 - 2.0 * p) + 2.0 * p * 2.0, abs=1e-12)


def test_nothing_says_how_high() -> None:
    with pytest.raises(ValueError, match="clearance or a floor"):
        heights(Readings(scale_length=650.0, frets=22, relief=0.0, action=2.0, start=0.0, x=0.0, seat=FLAT))


@pytest.mark.parametrize("kind", kind_names())
def test_a_nut_hashes_and_compares(kind: str) -> None:
    spec, nut = solved(kind)
    again = solve(spec)
    assert hash(again) == hash(nut)
    assert again == nut
    assert replace(nut, relief=nut.relief + 0.1) != nut
    assert (nut.in_neck.apply([[1.0, 2.0, 3.0]]).tolist() == [[1.0, 2.0, 3.0]]) == (nut.slant_deg == 0.0)


def test_lowest_floors_of_a_solved_nut_are_those_it_is_solved_to() -> None:
    nut = solve(changed("electric-6", "[pluck]\nforce_n = 0.7\nfrom_bridge = 90", first_fret_clearance='"lowest"'))
    np.testing.assert_allclose(lowest_of(nut), [slot.floor_height for slot in nut.slots], atol=3e-9)
    assert line_of(nut).clearance(1)[:, 0] == pytest.approx([slot.first_fret_clearance for slot in nut.slots], abs=3e-9)
