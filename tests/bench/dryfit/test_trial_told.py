"""What a trial tells of each string and besides, against the true neck that it was read on."""

import math
from typing import Any

import numpy as np
import pytest

from nutgen.ask.trial import readings_from
from nutgen.bench.dryfit.trial import TrialFit, trial_fit
from nutgen.jobs import trial as jobs
from tests.bench.dryfit.test_trial import neck_of
from tests.bench.dryfit.trial_neck import Strung, TrueNeck, on_the_neck, read

SLOPE = 2.0 * (1.0 - 2.0 ** (-1.0 / 12.0))
"""2p, p = 1 - 2^(-1/12): how much of the way from the floor to the crown of fret 12 the string rises up to fret 1."""


def tried(neck: TrueNeck, change: dict[str, Any] | None = None) -> tuple[TrialFit, Strung, dict[str, Any]]:
    spec, nut, strung = on_the_neck(neck, 1)
    table = {**read(strung, np.random.default_rng(2), by="exactly", hand=0.0), **(change or {})}
    return jobs.tried(spec, nut, readings_from(table, spec=spec)[0]), strung, table


def codes(fit: TrialFit) -> list[str]:
    return [one.code for one in fit.findings]


@pytest.mark.parametrize("kind", ["electric-6", "electric-6-left"])
def test_each_string_is_told_as_it_stands_on_the_neck(kind: str) -> None:
    """The seat was read 0.3 too deep: the floor by the file is that much off, by the trial it is not."""
    fit, strung, table = tried(neck_of(kind, {"seat.depth": 3.7}))
    nut, neck = strung.nut, strung.neck
    assert [(one.number, one.note) for one in fit.strings] == [(slot.number, slot.note) for slot in nut.slots]
    for index, (one, slot) in enumerate(zip(fit.strings, nut.slots, strict=True)):
        assert one.floor_read == pytest.approx(neck.floors[index], abs=0.006)
        assert one.clearance == pytest.approx(table["clearances"][index], abs=0.001)
        assert one.plane_read is not None
        assert one.floor_read is not None
        assert one.floor_height == pytest.approx(one.floor_read - one.plane_read)
        # fret plane over the seat floor where the string crosses the face, on the bent neck
        across, along = strung.face[index]
        plane = strung.crown(np.array([across, along]), 0.0) - strung.seat(index, 0.0)
        assert one.plane_read == pytest.approx(plane, abs=0.06)
        assert one.floor_was == pytest.approx(nut.floor_over_seat(slot))
        wanted = strung.floor_for(index, slot.first_fret_clearance, slot.action, neck.wanted)
        assert one.floor == pytest.approx(wanted, abs=0.008)
        assert one.off_fit == pytest.approx(0.0, abs=0.01)
        assert 0.02 < one.within < 0.06
    assert fit.plane_was == ()
    assert fit.error_was == 0.04
    assert codes(fit)[-3:] == ["trial.within", "trial.same-day", "caution.strings"]
    assert fit.findings[-3].value("within") == pytest.approx(max(one.within for one in fit.strings))


def test_the_file_keeps_a_height_to_a_micrometre_and_its_error_rounded_up() -> None:
    fit, _, _ = tried(neck_of("electric-6", {"seat.fret_plane": {"bass": 4.2, "treble": 4.4}}))
    assert fit.plane_was == (4.2, 4.4)
    assert all(height == round(height, 3) for height in fit.plane)
    assert fit.error == round(fit.error, 3)
    # of three heights whose shares at a string make it 0.6 to 1 as sure: no less than the strings' own, and not twice
    within = [one.within for one in fit.strings]
    assert min(within) <= fit.error <= 1.5 * max(within)


@pytest.mark.parametrize(
    ("action", "shares"),
    [
        (None, np.ones(6)),  # one reading for all strings
        ("both", None),  # one at either side: what each is off counts by how near a string is
    ],
)
def test_an_action_that_is_off_moves_floors_as_a_straight_string_says(action: str | None, shares: Any) -> None:
    """By hand: floor = (clearance - 2p action) / (1 - 2p) over the plane; so floors are 2p / (1 - 2p) of it off."""
    within = {}
    for off in (0.0, 0.8):
        neck = neck_of("electric-6", {"errors": {"action": off}})
        neck.bent = neck.wanted = 0.0
        fit, strung, _ = tried(neck, {"action": 1.8} if action is None else None)
        within[off] = np.array([one.within for one in fit.strings])
    x = np.array([slot.x for slot in strung.nut.slots])
    share = (x - x[0]) / (x[-1] - x[0])
    wanted = shares if shares is not None else np.hypot(1.0 - share, share)
    more = np.sqrt(within[0.8] ** 2 - within[0.0] ** 2)
    assert more == pytest.approx(0.8 * SLOPE / (1.0 - SLOPE) * wanted, rel=0.06)


def test_a_relief_counts_by_what_its_reading_may_be_off_but_by_no_more_than_itself() -> None:
    """Twice as far off counts twice, and a relief of 0.1 cannot be 0.3 less."""
    found = {}
    for off in (0.0, 0.05, 0.1, 0.3):
        neck = neck_of("electric-6", {"errors": {"relief": off, "action": 0.0}})
        neck.bent = neck.wanted = 0.1
        fit, strung, _ = tried(neck)
        found[off] = np.array([one.within for one in fit.strings]) ** 2
    more = {off: np.sqrt(np.maximum(found[off] - found[0.0], 0.0)) for off in found}
    assert more[0.1] == pytest.approx(2.0 * more[0.05], rel=1e-3)
    assert more[0.3] == pytest.approx(more[0.1])
    # by the true neck, whose arc is carried on to the seat: the floor that leaves the same gap without that relief
    for index, slot in enumerate(strung.nut.slots):
        with_it, without = (strung.floor_for(index, 0.4, slot.action, relief) for relief in (0.1, 0.0))
        assert more[0.1][index] == pytest.approx(abs(with_it - without), rel=0.3)


def test_a_way_of_reading_the_relief_brings_its_own_error() -> None:
    spec, nut, strung = on_the_neck(neck_of("electric-6"), 1)
    trial = readings_from(read(strung, np.random.default_rng(2), by="exactly", hand=0.0), spec=spec)[0]

    def within(error: float, own: float | None) -> list[float]:
        errors = spec.errors.model_copy(update={"relief": error})
        fit = trial_fit(nut, trial, tools=spec.tools, errors=errors, relief_error=own, remade=lambda _: nut)
        return [one.within for one in fit.strings]

    assert within(0.05, 0.15) == within(0.15, None) != within(0.05, None)


def test_what_else_is_told_of_a_day_unlike_the_one_wanted() -> None:
    neck = neck_of("electric-6", {"fretboard.radius": 150.0})
    neck.bent = 0.45
    fit, strung, _ = tried(neck)
    found = {one.code: one for one in fit.findings}
    relief = found["trial.relief-off"]
    assert (relief.value("relief"), relief.value("wanted")) == (0.45, 0.2)
    arch = found["trial.arch-unlike-board"]
    edge = strung.nut.seat.edges[1]
    by_circles = edge**2 / 2.0 * (1.0 / 250.0 - 1.0 / 150.0)
    assert arch.value("by") == pytest.approx(by_circles, abs=0.03)
    assert arch.strings == (strung.nut.slots[0].number, strung.nut.slots[-1].number)
    near = neck_of("electric-6")
    near.bent = 0.25
    assert not {"trial.relief-off", "trial.arch-unlike-board", "trial.few-strings"} & set(codes(tried(near)[0]))


def test_a_plane_that_is_far_is_told_with_its_sign() -> None:
    for depth, sign in ((3.9, -1.0), (2.9, 1.0)):
        neck = neck_of("electric-6", {"seat.depth": depth})
        fit, _, _ = tried(neck)
        (told,) = (one for one in fit.findings if one.code == "trial.plane-far")
        far = max((one.floor - one.floor_was for one in fit.strings), key=abs)
        assert told.value("by") == pytest.approx(far)
        assert math.copysign(1.0, far) == sign
        assert told.value("less_wire") is False
    fit, _, _ = tried(neck_of("electric-6", {"seat.depth": 3.5}))
    assert "trial.plane-far" not in codes(fit)


def test_wires_are_told_with_slot_and_wire() -> None:
    spec, nut, strung = on_the_neck(neck_of("bass-4"), 1)
    table = read(strung, np.random.default_rng(3))
    wires = nut.slots[0].width + 0.02, nut.slots[1].depth - 0.02
    table["wires"][:2] = [f"{wire} mm" for wire in wires]
    fit = jobs.tried(spec, nut, readings_from(table, spec=spec)[0])
    found = {one.code: dict(one.values) for one in fit.findings if one.code.startswith("trial.wire-")}
    assert found == {
        "trial.wire-over-slot": {"wire": pytest.approx(wires[0], abs=1e-3), "width": nut.slots[0].width},
        "trial.wire-under-top": {"wire": pytest.approx(wires[1], abs=1e-3), "depth": nut.slots[1].depth},
    }


def test_strings_that_tell_nothing_are_told_and_few_are() -> None:
    _, _, table = tried(neck_of("electric-6"))
    clearances = ["none", *table["clearances"][1:4], "none", "none"]
    fit, strung, _ = tried(neck_of("electric-6"), {"clearances": clearances, "drags": ["none"] * 6})
    (silent,) = (one for one in fit.findings if one.code == "trial.no-clearance")
    assert silent.strings == (6, 2, 1)
    assert [one.clearance is None for one in fit.strings] == [True, False, False, False, True, True]
    assert [one.off_fit is None for one in fit.strings] == [True, False, False, False, True, True]
    two, _, _ = tried(neck_of("electric-6"), {"clearances": ["none", *table["clearances"][1:3], *["none"] * 3]})
    (few,) = (one for one in two.findings if one.code == "trial.few-strings")
    assert few.value("strings") == 2
    assert len(two.plane) == 2
    assert strung.nut.slots[0].number == 6
