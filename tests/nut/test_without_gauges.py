"""What the ways without gauges claim, on necks in space: errors that hold, floors that are right."""

import pytest

from tests.nut.without_gauges import tried
from tests.specs import EXAMPLES


@pytest.mark.slow
def test_errors_hold_and_floors_are_within_a_tenth() -> None:
    shares = tried(EXAMPLES // 3)
    floors = {name: share for name, share in shares.items() if name.startswith("floors")}
    assert len(floors) == 2
    assert min(floors.values()) >= 0.95, floors
    assert min(shares.values()) >= 0.93, shares
