"""The answer as findings, and what is short where: a prism 40 long, 4 thick and 6 high, 30 along the piece."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from nutgen.finding import note
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Region
from nutgen.stock.laid import Tight
from nutgen.stock.lay.shortage import shortage, tightest_place
from nutgen.stock.verdict import reasons, verdict

POSE = Pose(origin=(30.0, 0.0, 0.0))
TURNED = Pose(((-1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0)), (30.0, 0.0, 0.0))


def tight(against: Any, part: Any, room: float, at: tuple[float, float, float]) -> Tight:
    outline = ((-2.0, -3.0), (2.0, -3.0), (2.0, 3.0), (-2.0, 3.0))
    return Tight(Region(part, against, -20.0, 20.0, outline, 1.0), room, np.array(at))


@pytest.mark.parametrize(
    ("at", "pose", "place"),
    [
        ((-19.8, -1.8, 2.8), POSE, ("top", "front", "first", 10.2)),
        ((-19.8, -1.8, 2.8), TURNED, ("top", "front", "last", 49.8)),
        ((19.8, 1.8, -2.8), POSE, ("underside", "back", "last", 49.8)),
        ((0.0, 0.0, 2.6), POSE, ("", "", "", 30.0)),
        ((-19.6, -1.6, -2.6), POSE, ("", "", "", 10.4)),
    ],
)
def test_the_place_of_the_tightest_point(at: Any, pose: Pose, place: tuple[str, str, str, float]) -> None:
    told = tightest_place(tight("skin", "block", 0.2, at), pose)
    *words, along = (told.value(name) for name in ("level", "side", "end", "along"))
    assert (*words, along) == (*place[:3], pytest.approx(place[3]))
    assert (told.code, told.value("part"), told.value("against")) == ("piece.tightest", "block", "skin")


def test_what_is_short() -> None:
    skin = shortage(tight("skin", "block", -0.4, (0.0, 0.0, 3.0)), POSE)
    assert (skin.code, skin.value("missing"), skin.value("level")) == ("piece.out-of-skin", 0.4, "top")
    assert shortage(tight("core", "nut", -0.4, (0.0, 0.0, 3.0)), POSE).code == "piece.nut-in-core"
    # 1 was to be kept: 0.4 short of that it is 0.6 from the core, and 1.5 short of it 0.5 inside
    for room, away, inside in ((-0.4, 0.6, -0.6), (-1.5, -0.5, 0.5)):
        core = shortage(tight("core", "front edge and slot floors", room, (0.0, 0.0, 3.0)), POSE)
        assert core.code == "piece.core-too-near"
        assert (core.value("missing"), core.value("keep")) == (-room, 1.0)
        assert (core.value("from_core"), core.value("inside_core")) == pytest.approx((away, inside))
        assert (core.value("level"), core.value("along")) == ("top", pytest.approx(30.0))
    assert shortage(tight("skin", "block", 0.004, (0.0, 0.0, 3.0)), POSE).value("missing") == 0.01  # what it may be off


def test_the_verdict_in_each_case() -> None:
    wide, narrow = (SimpleNamespace(margin=margin, tightest=note("piece.tightest", at=margin)) for margin in (0.9, 0.3))
    yes = SimpleNamespace(unseen=(), fits=True, laid=(wide, narrow), margin=0.3)
    assert verdict(yes) == note("piece.yields", nuts=2, margin=0.3)
    assert reasons(yes) == (narrow.tightest,)
    no = SimpleNamespace(unseen=(), fits=False, laid=(narrow,), margin=-0.4, missing=0.4, short=("short",))
    assert (verdict(no).code, verdict(no).value("missing"), reasons(no)) == ("piece.short", 0.4, ("short",))
    assert verdict(SimpleNamespace(unseen=(), fits=False, margin=-np.inf)).code == "piece.no-room"
    unseen = SimpleNamespace(unseen=("look", "3", "4"), fits=False)
    assert (verdict(unseen), reasons(unseen)) == ("look", ("3", "4"))
