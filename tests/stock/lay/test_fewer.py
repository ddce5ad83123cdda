"""How the fewest steps are found after which a smaller block fits, without a piece."""

import numpy as np
import pytest

from nutgen.stock.laid import ERROR
from nutgen.stock.lay.fewer import _least


@pytest.mark.parametrize("seed", range(40))
def test_the_fewest_steps_of_room_that_grows_ever_more_slowly(seed: int) -> None:
    """Held against every number of steps; far fewer are tried."""
    random = np.random.default_rng(seed)
    most, margin = int(random.integers(1, 300)), -float(random.uniform(0.0, 1.0))
    gains = np.sort(random.uniform(0.0, 0.1, most))[::-1] * random.choice([0.02, 0.3, 1.0])
    rooms, tried = margin + np.append(0.0, np.cumsum(gains)), list[int]()

    def room(steps: int) -> float:
        tried.append(steps)
        return float(rooms[steps])

    found = _least(room, margin, most)
    enough = np.flatnonzero(rooms > ERROR)
    assert found == (enough[0] if len(enough) else most + 1)
    assert len(tried) <= 2 + 2 * np.log2(most + 1)
    assert set(tried) <= set(range(1, most + 1))
