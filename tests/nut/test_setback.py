"""A nut setback: the same string, started farther toward the bridge."""

import math

import numpy as np
import pytest

from nutgen.nut import solve
from nutgen.spec.tables import Spec
from nutgen.spec.values import Across, Post
from tests.play.files import KINDS, changed


def moved(kind: str, *values: float, **keys: str) -> Spec:
    spec = changed(kind, **keys)
    slots = spec.slots.model_copy(update={"setback": Across(values, each=len(values) > 2)})
    return spec.model_copy(update={"slots": slots, "material": "brass"})


@pytest.mark.parametrize("kind", KINDS)
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
    for post, slot in zip(posts, solve(aimed).slots, strict=True):
        assert float(slot.x_at(post.y)) == pytest.approx(post.x, abs=1e-9)


def test_left_strung_mirrors() -> None:
    right, left = solve(moved("electric-6", 0.6, 0.2)), solve(moved("electric-6-left", 0.6, 0.2))
    assert [s.start_y for s in right.slots] == pytest.approx([s.start_y for s in left.slots])
