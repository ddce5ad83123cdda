"""Where lines out of the axis meet an outline, and which ends a cut makes."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from nutgen.stock.cut.steps import ends_of
from nutgen.stock.cut.turns import QUARTERS, at_turns, before_back_line
from nutgen.stock.piece import Axis

AXIS = Axis(np.array([0.0, 100.0]), np.array([1.0, 1.0]), np.array([2.0, 2.0]))
CORNERS = np.array([[50.0, 11.0, 8.0], [50.0, -9.0, 8.0], [50.0, -9.0, -4.0], [50.0, 11.0, -4.0]])
"""A bar of 20 by 12 about the axis."""


@pytest.mark.parametrize("begins", range(4))
def test_a_bar_is_met_in_the_middle_of_its_faces_wherever_its_outline_begins(begins: int) -> None:
    loop = np.roll(CORNERS, begins, axis=0)
    found = at_turns(loop, AXIS, np.array(QUARTERS))
    middles = np.array([[50.0, 1.0, 8.0], [50.0, 11.0, 2.0], [50.0, 1.0, -4.0], [50.0, -9.0, 2.0]])
    np.testing.assert_allclose(found, middles, atol=1e-9)
    # the back's middle, from the corner before it: ten; from the others the sides on the way there more
    assert before_back_line(loop, AXIS) == pytest.approx((10.0, 22.0, 42.0, 54.0)[begins])


def test_a_cut_between_two_stretches_is_the_last_end_of_the_one_and_the_first_of_the_other() -> None:
    cuts = [SimpleNamespace(number=number) for number in (1, 2, 3)]
    stretches = [SimpleNamespace(number=n, first=a, last=b) for n, a, b in ((1, *cuts[:2]), (2, *cuts[1:]))]
    plan: Any = SimpleNamespace(stretches=stretches)
    ends: list[Any] = [ends_of(plan, cut) for cut in cuts]  # type: ignore[arg-type]
    assert ends == [((1, "first"),), ((1, "last"), (2, "first")), ((2, "last"),)]
