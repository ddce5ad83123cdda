"""Guides and bars behind the nut, against the shortest way that a general minimiser finds, and plain vectors."""

import math
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from nutgen.errors import SpecFaults
from nutgen.nut import Nut, solve
from nutgen.play.friction import friction
from nutgen.spec.read import parse_spec
from tests.kinds import text_of

POSTS = [
    (42.0, -24.0, 5.5),
    (78.0, -14.5, 10.5),
    (114.0, -5.0, 15.0),
    (150.0, 4.5, 19.5),
    (92.0, 22.0, 12.5),
]  # y, x, drop of the kind


def with_guides(*guides: dict[str, Any], kind: str = "bass-5", **more: Any) -> Nut:
    return solve(parse_spec(text_of(kind, {**more, "guides": list(guides)}), source="guides"))


def angle(a: np.ndarray, b: np.ndarray) -> float:
    return math.degrees(math.acos(a @ b / np.linalg.norm(a) / np.linalg.norm(b)))


@pytest.mark.parametrize("strung", ["right", "left"])
def test_under_a_bar_a_string_takes_the_shortest_way(strung: str) -> None:
    """Tight string without friction: the place on the bar with the least length, by a general minimiser."""
    y, drop = 36.0, 8.0
    nut = with_guides({"y": y, "drop": drop}, **{"instrument.strung": strung})
    side = 1.0 if strung == "right" else -1.0
    plain = with_guides(**{"instrument.strung": strung})
    for slot, (post_y, post_x, post_drop) in zip(nut.slots, POSTS, strict=True):
        start, post = np.array([slot.x, 0.0, slot.floor_z]), np.array([side * post_x, post_y, -post_drop])

        def on_bar(x: float, gauge: float = slot.gauge) -> np.ndarray:
            return np.array([x, y, -drop - gauge])

        def length(x: float, start: np.ndarray = start, post: np.ndarray = post) -> float:
            return float(np.linalg.norm(on_bar(x) - start) + np.linalg.norm(post - on_bar(x)))

        found = on_bar(minimize_scalar(length, bounds=(-60.0, 60.0), method="bounded", options={"xatol": 1e-9}).x)
        come, go = found - start, post - found
        straight = start[2] + (post[2] - start[2]) * y / post_y
        assert slot.guide is not None
        if straight <= found[2]:
            assert slot.guide.bend_deg == 0.0
            assert slot.fan_deg == plain.slots[nut.slots.index(slot)].fan_deg
            continue
        assert slot.guide.away == pytest.approx(math.hypot(come[0], come[1]), abs=1e-5)
        assert slot.guide.bend_deg == pytest.approx(angle(come, go), abs=1e-4)
        assert slot.fan_deg == pytest.approx(math.degrees(math.atan2(come[0], come[1])), abs=1e-4)
        down = math.degrees(math.atan2(-come[2], math.hypot(come[0], come[1])))
        assert slot.break_angle_deg == pytest.approx(down - slot.incline_deg, abs=1e-4)


def test_the_height_told_gives_the_wanted_angle_and_no_more() -> None:
    """Told by one nut, put into the file of another: the least bent string then has the angle."""
    told = [
        one for one in with_guides({"y": 36.0, "drop": 6.0, "wanted_deg": 13.0}).findings if one.code[:5] == "guide"
    ]
    height = next(one for one in told if one.code == "guide.height").value("wanted")
    given = with_guides({"y": 36.0, "drop": height})
    assert min(slot.break_angle_deg for slot in given.slots) == pytest.approx(13.0, abs=1e-6)
    assert with_guides({"y": 36.0, "wanted_deg": 13.0}).slots[-1].fan_deg == given.slots[-1].fan_deg


def test_friction_adds_up_along_nut_and_guide() -> None:
    """Ropes round two posts: exp(mu a) exp(mu b); 865.617 mu theta cents of both (calculation)."""
    nut = with_guides({"y": 40.0, "drop": 14.0, "x": 20.0, "strings": [1]})
    slot, got = nut.slots[-1], friction(nut)
    assert slot.guide is not None
    assert slot.guide.bend_deg > 1.0
    both = math.radians(got.bend_deg[-1] + slot.guide.bend_deg)
    assert got.dead_band[0][-1] == pytest.approx(865.617 * 0.1 * both, rel=1e-5)
    assert nut.slots[0].guide is None


@pytest.mark.parametrize("y", [25.0, 60.0])
@pytest.mark.parametrize("misread", [2.0, 0.5, -1.0, 1 / 25.4])
def test_a_guide_misread_sideways_is_told_and_its_post_is_not_blamed(y: float, misread: float) -> None:
    """Near the string's own way to its post it bends it little, wherever it stands; on the other side, far."""
    told = [
        {one.code for one in with_guides({"y": y, "drop": 9.0, "x": 19.0 * by, "strings": [1]}).findings}
        for by in (1.0, misread)
    ]
    assert ["guide.aside" in codes for codes in told] == [False, True]
    assert "string.post-aside" not in told[1]


@pytest.mark.parametrize(
    ("guide", "codes"),
    [
        ({"y": 36.0}, ["guide.no-height"]),
        ({"y": 5.0, "drop": 6.0}, ["guide.over-nut"]),
        ({"y": 36.0, "drop": 6.0, "strings": [6]}, ["guide.no-such-string"]),
        ({"y": 60.0, "drop": 6.0}, ["guide.behind-post"]),
    ],
)
def test_guides_that_cannot_be(guide: dict[str, Any], codes: list[str]) -> None:
    with pytest.raises(SpecFaults) as refused:
        with_guides(guide)
    assert [one.code for one in refused.value.findings] == codes


def test_one_guide_a_string_and_a_post_for_it() -> None:
    with pytest.raises(SpecFaults) as refused:
        with_guides({"y": 36.0, "drop": 6.0}, {"y": 38.0, "drop": 6.0, "strings": [2]})
    assert [one.code for one in refused.value.findings] == ["guide.second"]
    with pytest.raises(SpecFaults) as refused:
        with_guides({"y": 36.0, "drop": 6.0, "strings": [1]}, kind="electric-6")
    assert [one.code for one in refused.value.findings] == ["guide.no-post"]
