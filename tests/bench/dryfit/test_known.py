"""What stays known of a slot floor from one round to the next."""

import pytest

from nutgen.bench.dryfit.belief import Belief, FloorRange
from nutgen.bench.dryfit.slips import Known


def test_a_floor_stays_falls_or_is_unknown_by_the_work_between() -> None:
    known = Known(Belief.nothing().read([FloorRange(0.1, 0.2)]), told=0.05)
    assert known.after("nothing") is known.floor
    assert known.after("filing").middle == pytest.approx(known.floor.middle - 0.05, abs=0.005)
    for work in ("fill", "shim", "new nut"):
        assert known.after(work).between().high > 3.0
