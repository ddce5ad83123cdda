"""Which places are held against the surface itself, and in which order they are told."""

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block
from nutgen.stock.laid import Tight
from nutgen.stock.lay import laying
from nutgen.stock.lay.lay import _cheapest
from tests.stock.solids import block


@pytest.mark.parametrize(
    ("seen", "rooms", "truly", "told", "proven"),
    [
        ([0.2, 1.0, 0.96], [0.2, 1.0, 0.9], {1.0: 1.0}, [1.0, 0.9, 0.2], [1.0]),
        ([1.0, 0.9, 0.2], [1.0, 0.9, 0.2], {1.0: -0.3, 0.9: 0.9}, [0.9, 0.2, -0.3], [1.0, 0.9]),  # a crack none saw
        ([1.0, 1.0, 1.0], [1.0, 0.995, 0.98], {1.0: 1.0, 0.995: 0.4}, [1.0, 0.98, 0.4], [1.0, 0.995]),  # to a saw
        ([-0.1, -0.1], [-0.1, -0.2], {-0.1: -0.1}, [-0.1, -0.2], [-0.1]),
        ([0.1, 0.5], [0.1, -2.0], {0.1: 0.1, -2.0: -2.0}, [0.1, -2.0], [-2.0, 0.1]),  # more was seen than there is
        ([0.5, 0.3], [0.5, -9.0], {0.5: 0.5}, [0.5, 0.3], [0.5]),  # what has less is not measured
    ],
)
def test_the_roomiest_place_is_proven_and_what_falls_behind_is_not(
    monkeypatch: pytest.MonkeyPatch,
    seen: list[float],
    rooms: list[float],
    truly: dict[float, float],
    told: list[float],
    proven: list[float],
) -> None:
    what, nothing, asked = block(45.5, 7.4, 8.8), cast(Any, None), list[float]()

    def tightest(field: object, what: Block, pose: Pose) -> list[Tight]:
        return [Tight(what.regions[0], rooms[round(pose.origin[0])], np.zeros(3))]

    def held(field: object, found: list[Tight], pose: Pose) -> list[Tight]:
        asked.append(found[0].room)
        return [Tight(found[0].region, truly[found[0].room], found[0].at)]

    monkeypatch.setattr(laying, "tightest", tightest)
    monkeypatch.setattr(laying, "proven", held)
    places = [(Pose.of(np.array([float(number), 0.0, 0.0]), np.eye(3)), room) for number, room in enumerate(seen)]
    found = laying.Laying(nothing, nothing, nothing, laying.BRISK)._proven(what, places)
    assert [margin for _, margin in found] == told
    assert asked == proven


@pytest.mark.parametrize(("margins", "taken"), [([1.0, 0.5, 0.995], 2), ([1.0, 0.9, 0.8], 0)])
def test_of_places_with_the_same_room_the_cheapest_is_taken(margins: list[float], taken: int) -> None:
    """The same to a saw, within 0.01; what has less room is not taken for costing less."""
    costs = [3.0, 1.0, 2.0]
    nowhere_else: Any = SimpleNamespace(
        field=SimpleNamespace(grain=lambda at: np.array([[1.0, 0.0, 0.0]])),
        rules=SimpleNamespace(hold=lambda poses: False),
        fine=lambda what: None,
        cost=lambda what, poses: costs[round(poses[0].origin[0])],
    )
    places = [Pose.of(np.array([float(number), 0.0, 0.0]), np.eye(3)) for number in range(3)]
    best = list(zip(places, margins, strict=True))
    assert _cheapest(nowhere_else, block(45.5, 7.4, 8.8), best) is places[taken]
