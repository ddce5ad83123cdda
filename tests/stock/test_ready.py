"""Blanks that are squared already: which way up, what is missing and what is lost, by plain arithmetic."""

from itertools import permutations

import pytest

from nutgen.nut import solve
from nutgen.stock.ready import Ready, Sizes, ready
from tests.kinds import text_of
from tests.specs import spec_of

NUT = solve(spec_of(text_of("bass-4")))
LONG, THICK, HIGH = NUT.blank.length, NUT.blank.thickness, NUT.blank.height


def one(*sizes: float) -> Ready:
    (found,) = ready(NUT, [("mine", (sizes[0], sizes[1], sizes[2]))])
    return found


@pytest.mark.parametrize("turned", [False, True])
def test_a_blank_with_a_millimetre_more_each_way(turned: bool) -> None:
    """What is over goes off the top and the back, and half of it off either end; front and underside stay."""
    sides = (HIGH + 1.0, THICK + 0.5) if turned else (THICK + 0.5, HIGH + 1.0)
    found = one(LONG + 2.0, *sides)
    assert (found.name, found.turned, found.fits) == ("mine", turned, True)
    assert found.sizes == (LONG + 2.0, *sides)
    assert found.missing == (0.0, 0.0, 0.0)
    volume = (LONG + 2.0) * (THICK + 0.5) * (HIGH + 1.0)
    assert found.waste == pytest.approx(volume - LONG * THICK * HIGH)
    assert found.waste_share == pytest.approx(1.0 - LONG * THICK * HIGH / volume)
    assert found.off == {
        "underside": 0.0,
        "front": 0.0,
        "top": pytest.approx(HIGH + 1.0 - NUT.height),
        "back": pytest.approx(THICK + 0.5 - NUT.thickness),
        "end": pytest.approx((LONG + 2.0 - NUT.extent) / 2.0),
    }


@pytest.mark.parametrize("place", range(3))
def test_what_is_missing_is_told_by_how_much_and_where(place: int) -> None:
    sizes = [LONG + 1.0, THICK + 0.1, HIGH + 0.1]
    sizes[place] = (LONG, THICK, HIGH)[place] - 0.4
    found = one(*sizes)
    wanted = [0.0, 0.0, 0.0]
    wanted[place] = 0.4
    assert found.missing == pytest.approx(tuple(wanted))
    assert not found.fits
    assert not found.turned


def test_a_blank_exactly_as_large_as_wanted_fits() -> None:
    found = one(LONG, THICK, HIGH)
    assert found.fits
    assert found.waste == 0.0


def test_where_both_ways_fit_less_is_filed_off_the_height() -> None:
    """A square section, and one a little higher than wide: the lower way leaves less to file, the rest is sanded."""
    side = max(THICK, HIGH) + 2.0
    assert one(LONG, side, side + 1.0).turned
    assert not one(LONG, side + 1.0, side).turned
    assert one(LONG, side, side + 1.0).off["top"] == pytest.approx(side - NUT.height)


def test_where_neither_way_fits_the_one_that_lacks_least() -> None:
    low, lower = HIGH - 0.5, THICK - 0.2
    assert one(LONG, lower, low).missing == pytest.approx((0.0, 0.2, 0.5))
    assert one(LONG, low, lower).turned
    assert one(LONG, low, lower).missing == pytest.approx((0.0, 0.2, 0.5))


def test_those_that_fit_come_first_the_least_waste_before_others_then_those_that_lack_least() -> None:
    blanks: list[tuple[str, Sizes]] = [
        ("much too short", (LONG - 9.0, THICK, HIGH)),
        ("large", (LONG + 20.0, THICK + 5.0, HIGH + 5.0)),
        ("a little short", (LONG - 0.5, THICK, HIGH)),
        ("near", (LONG + 1.0, THICK + 0.5, HIGH + 0.5)),
    ]
    wanted = ["near", "large", "a little short", "much too short"]
    for order in permutations(blanks):
        assert [found.name for found in ready(NUT, order)] == wanted


def test_a_nut_with_a_shelf_is_as_thick_as_from_its_farthest_start() -> None:
    nut = solve(spec_of(text_of("bass-4", {"material": "brass", "slots.setback": "0.5 mm"})))
    (found,) = ready(nut, [("mine", (LONG + 2.0, nut.blank.thickness, nut.blank.height + 9.0))])
    assert not found.turned
    assert found.off["back"] == pytest.approx(nut.blank.thickness - nut.thickness - 0.5)
