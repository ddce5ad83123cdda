"""A nut setback: the same string, started farther toward the bridge."""

import math

import numpy as np
import pytest

from nutgen.nut import solve
from nutgen.nut.places import End
from nutgen.nut.setback import fronts
from nutgen.nut.shelf import Shelf, Shelves
from nutgen.spec.playing import OldNut
from nutgen.spec.tables import Spec
from nutgen.spec.values import Across, Post
from tests.kinds import without
from tests.model.nuts import nut, slot
from tests.play.files import changed


def moved(kind: str, *values: float, **keys: str) -> Spec:
    spec = changed(kind, **keys)
    slots = spec.slots.model_copy(update={"setback": Across(values, each=len(values) > 2)})
    return spec.model_copy(update={"slots": slots, "material": "brass"})


@pytest.mark.parametrize("kind", without("lap", "zero_fret"))
def test_only_the_start_moves(kind: str) -> None:
    """Clearances stay; the floor is where the unmoved string's line passes over the new start."""
    plain, set_back = solve(changed(kind)), solve(moved(kind, 0.8))
    for before, after in zip(plain.slots, set_back.slots, strict=True):
        assert after.start_y == pytest.approx(
            -0.8 * math.cos(math.radians(before.line_deg)), abs=1e-9
        )  # along the string
        assert after.first_fret_clearance == pytest.approx(before.first_fret_clearance, abs=1e-9)
        assert after.action == pytest.approx(before.action, abs=1e-9)
        assert after.incline_deg == pytest.approx(before.incline_deg, abs=1e-9)
        rise = 0.8 * math.tan(math.radians(before.incline_deg))
        assert after.floor_z - before.floor_z == pytest.approx(rise, abs=1e-4)
    assert set_back.blank.thickness == pytest.approx(
        plain.blank.thickness - min(slot.start_y for slot in set_back.slots)
    )


def test_pair_and_list_and_none() -> None:
    assert [slot.start_y for slot in solve(changed("electric-6")).slots] == [0.0] * 6
    pair = solve(moved("electric-6", 0.6, 0.2)).slots
    assert (pair[0].start_y, pair[-1].start_y) == (pytest.approx(-0.6), pytest.approx(-0.2))
    assert np.all(np.diff([slot.start_y for slot in pair]) > 0.0)
    each = solve(moved("electric-6", 0.1, 0.2, 0.3, 0.0, 0.2, 0.1))
    assert [slot.start_y for slot in each.slots] == pytest.approx([-0.1, -0.2, -0.3, 0.0, -0.2, -0.1])
    assert each.blank.thickness == pytest.approx(solve(changed("electric-6")).blank.thickness + 0.3)


@pytest.mark.parametrize("floor", ['"straight"', '"rolled"'])
def test_slot_still_aims_at_its_post(floor: str) -> None:
    spec = moved("electric-6", 0.7, floor=floor)
    posts = [Post(40.0 + 22.0 * i, -14.0 + 5.0 * i, 6.0) for i in range(6)]
    aimed = spec.model_copy(
        update={
            "strings": tuple(s.model_copy(update={"post": post}) for s, post in zip(spec.strings, posts, strict=True))
        }
    )
    for post, aims in zip(posts, solve(aimed).slots, strict=True):
        assert float(aims.x_at(post.y)) == pytest.approx(post.x, abs=1e-9)


def test_left_strung_mirrors() -> None:
    right, left = solve(moved("electric-6", 0.6, 0.2)), solve(moved("electric-6-left", 0.6, 0.2))
    assert [s.start_y for s in right.slots] == pytest.approx([s.start_y for s in left.slots])


@pytest.mark.parametrize("kind", ["electric-6", "electric-6-left"])
def test_front_from_the_bass_end_on(kind: str) -> None:
    made = solve(moved(kind, 0.5, 0.0, 0.0, 0.3, 0.0, 0.0))
    found = fronts(made)
    assert [(one.ahead, one.strings) for one in found] == [
        (0.0, ()),
        (pytest.approx(0.5), (6,)),
        (0.0, (5, 4)),
        (pytest.approx(0.3), (3,)),
        (0.0, (2, 1)),
    ]
    centres = {one.number: made.from_bass_end(one) for one in made.slots}
    assert all(one.start < centres[number] < one.end for one in found for number in one.strings)
    assert [found[0].start, *(one.start for one in found[1:])] == pytest.approx([0.0, *(one.end for one in found[:-1])])
    assert found[-1].end == pytest.approx(made.length)
    assert [one.front for one in made.standing] == pytest.approx([-0.5, -0.3] if kind == "electric-6" else [-0.3, -0.5])


def test_shelves_stand_off_the_board_and_grow() -> None:
    """Their underside is a circle about the board's axis: 0.2 outside a board of 184, 0.15 once they have grown."""
    shelves, x = Shelves((Shelf(-4.0, 3.0, -1.0), Shelf(6.0, 9.0, -2.0)), 0.2, 184.0), np.linspace(-20.0, 20.0, 5)
    for one, radius in ((shelves, 184.2), (shelves.grown(0.05), 184.15)):
        assert np.hypot(x, one.under(x) + 184.0) == pytest.approx(np.full(5, radius))
    assert shelves.grown(0.05).alone[0] == Shelf(pytest.approx(-4.05), pytest.approx(3.05), -1.0)
    assert [shelves.foremost(a, b) for a, b in ((-9.0, -4.0), (-9.0, -3.0), (3.0, 6.0), (2.0, 7.0))] == [0, -1, 0, -2]


def test_old_slots_by_a_caliper_flat_on_an_end_that_leans() -> None:
    # by hand, 60 degrees: what is 1 square to the end is 2 along the face; so is the width of a slot that fans so
    leaning = nut(left=End(-20.0, 60.0), slots=(slot(x=-5.0), slot(x=5.0, fan_deg=60.0)))
    old = OldNut(edges=(1.0, 2.0), widths=(1.0, 1.0), floors=(0.0, 0.0))
    assert leaning.old_centres(old) == pytest.approx([2.5, 5.0])
