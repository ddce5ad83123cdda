"""The trial nut against necks of plain geometry: what was misread falls out, and what is left is what was stated."""

import math
from typing import Any

import numpy as np
import pytest

from nutgen.ask.trial import readings_from
from nutgen.bench.dryfit.trial import TrialFit
from nutgen.errors import CannotBeMade
from nutgen.jobs import trial as jobs
from nutgen.nut import solve
from nutgen.theory.heights import height_over_arch
from tests.bench.dryfit.trial_neck import BENCHES, Strung, TrueNeck, drawn, on_the_neck, read
from tests.specs import EXAMPLES


def tried(neck: TrueNeck, seed: int, **how: Any) -> tuple[TrialFit, Strung]:
    """A trial on a neck, by a hand."""
    spec, nut, strung = on_the_neck(neck, seed)
    table = read(strung, np.random.default_rng([seed, 2]), **how)
    return jobs.tried(spec, nut, readings_from(table, spec=spec)[0]), strung


def off(fit: TrialFit, strung: Strung) -> list[float]:
    """How far each new floor is from the one that gives the clearance wanted on the true neck."""
    return [
        string.floor - strung.floor_for(index, slot.first_fret_clearance, slot.action, strung.neck.wanted)
        for index, (slot, string) in enumerate(zip(strung.nut.slots, fit.strings, strict=True))
    ]


def neck_of(kind: str, misread: dict[str, Any] | None = None, *, arch: float = math.inf) -> TrueNeck:
    """A true neck with its relief as it is wanted, its seat higher at the treble side by a tenth or two."""
    return TrueNeck(kind, 250.0, 3.4, 1.05, arch, bent=0.2, wanted=0.2, misread=misread or {}, lean=0.004)


MISREAD = [
    {"seat.depth": 3.7},
    {"seat.depth": 3.1},
    {"fretboard.fret_height": 1.35},
    {"fretboard.fret_height": 0.75},
    {"seat.fret_plane": 4.45 + 0.3},
    {"seat.fret_plane": {"bass": 3.2, "treble": 3.6}},
    {"fretboard.radius": 200.0},
    {"seat.depth": 3.7, "fretboard.fret_height": 1.35, "fretboard.radius": 320.0},
]


@pytest.mark.parametrize("kind", ["electric-6", "electric-6-left", "electric-6-slanted"])
@pytest.mark.parametrize("misread", MISREAD)
def test_every_misread_height_falls_out(kind: str, misread: dict[str, Any]) -> None:
    fit, strung = tried(neck_of(kind, misread), 1, by="exactly", hand=0.0)
    before = [one.floor_was - one.floor for one in fit.strings]
    assert max(map(abs, before)) > 0.1
    assert off(fit, strung) == pytest.approx([0.0] * len(fit.strings), abs=0.008)
    assert not fit.doubted


@pytest.mark.parametrize("arch", [150.0, 250.0])
def test_an_arched_underside_is_read_square_to_it(arch: float) -> None:
    """The jaw follows the arch: at its ends what it shows is some hundredths off what stands straight up."""
    fit, strung = tried(neck_of("electric-6", arch=arch), 1, by="exactly", hand=0.0)
    assert off(fit, strung) == pytest.approx([0.0] * 6, abs=0.008)
    x, thick = strung.start[0][0], fit.strings[0].floor_read
    assert thick is not None
    straight_up = math.hypot(x, math.sqrt(arch**2 - x**2) + thick) - arch
    assert thick - straight_up > 0.01


def test_a_wire_on_a_steep_floor_stands_higher_than_its_gauge() -> None:
    neck = neck_of("electric-6", {"slots.tilt_deg": 15.0})
    fit, strung = tried(neck, 1, by="exactly", hand=0.0)
    assert off(fit, strung) == pytest.approx([0.0] * 6, abs=0.008)
    thick = strung.nut.slots[0].gauge
    assert thick / math.cos(math.radians(15.0)) - thick > 0.04


@pytest.mark.parametrize("kind", ["electric-6-left", "electric-6-slanted"])
def test_strings_that_start_before_the_face(kind: str) -> None:
    """On a shelf, over an arched seat; a slot's floor counts where its string crosses the face."""
    neck = neck_of(kind, {"seat.depth": 3.7}, arch=200.0)
    neck.more = {"material": "brass", "slots.setback": {"bass": 0.6, "treble": 0.4}}
    fit, strung = tried(neck, 1, by="exactly", hand=0.0)
    assert off(fit, strung) == pytest.approx([0.0] * 6, abs=0.01)


@pytest.mark.parametrize("kind", ["electric-6", "acoustic-12", "ukulele-soprano"])
def test_a_nut_on_the_board(kind: str) -> None:
    """It rides on the board: its underside is as hollow as that is round."""
    neck = TrueNeck(kind, 250.0, 0.0, 1.05, 250.0, 0.1, 0.1, {"fretboard.fret_height": 1.3})
    neck.more = {"seat.kind": "surface", "seat.floor": "flat"}
    fit, strung = tried(neck, 1, by="exactly", hand=0.0)
    assert off(fit, strung) == pytest.approx([0.0] * len(fit.strings), abs=0.01)


def test_height_over_an_arch_by_a_circle_cut() -> None:
    """Points t outside a circle, walked along the radius; by hand: R 100, x 60, t 5: sqrt(105^2 - 60^2) - 80."""
    assert float(height_over_arch(5.0, offset=60.0, radius=100.0)) == pytest.approx(6.1684, abs=1e-4)
    assert float(height_over_arch(5.0, offset=60.0, radius=math.inf)) == 5.0
    with pytest.raises(ValueError, match="offset"):
        height_over_arch(1.0, offset=2.0, radius=1.0)


def test_slots_without_a_clearance_tell_nothing() -> None:
    spec, nut, strung = on_the_neck(neck_of("electric-6", {"seat.depth": 3.7}), 1)
    table = read(strung, np.random.default_rng(2), by="exactly", hand=0.0)
    for silent, heights in ([2], 3), ([1, 3, 4], 3), ([1, 2, 3, 4], 2), ([1, 2, 3, 4, 5], 1):
        some = {**table, "clearances": list(table["clearances"]), "over_wires": list(table["over_wires"])}
        for place in silent:
            some["clearances"][place] = "none"
            some["over_wires"][place] = 30.0  # a reading of an over-filed slot: nobody may look at it
        fit = jobs.tried(spec, nut, readings_from(some, spec=spec)[0])
        assert len(fit.plane) == heights
        assert [one.plane_read is None for one in fit.strings] == [place in silent for place in range(6)]
        codes = [finding.code for finding in fit.findings]
        assert "trial.no-clearance" in codes
        assert ("trial.few-strings" in codes) == (heights < 3)
        if heights == 3:
            assert off(fit, strung) == pytest.approx([0.0] * 6, abs=0.02)


def test_relief_and_action_of_the_day_are_reckoned_with() -> None:
    neck = neck_of("electric-6")
    neck.bent, neck.wanted = 0.5, 0.05
    fit, strung = tried(neck, 1, by="exactly", hand=0.0)
    assert off(fit, strung) == pytest.approx([0.0] * 6, abs=0.04)  # the seat rides on a neck that bends
    assert "trial.relief-off" in [finding.code for finding in fit.findings]


@pytest.mark.parametrize(("key", "error", "moves"), [("action", 1.0, 0.1264), ("relief", 0.2, 0.0)])
def test_errors_of_the_neck_move_every_floor(key: str, error: float, moves: float) -> None:
    """Straight neck, by hand: b = (c - 2p a) / (1 - 2p), p = 1 - 2^(-1/12); so 2p / (1 - 2p) = 0.1264 of the action."""
    neck = neck_of("electric-6", {"errors": {key: 0.0}})
    sure = tried(neck, 1)[0].strings[0].within
    neck.misread = {"errors": {key: error}}
    unsure = tried(neck, 1)[0].strings[0].within
    assert math.sqrt(unsure**2 - sure**2) == pytest.approx(moves * error, rel=0.1) or not moves
    assert unsure > sure


def test_with_two_strings_alone_the_radius_counts() -> None:
    within = {}
    for share in (0.0, 0.2):
        spec, nut, strung = on_the_neck(neck_of("electric-6", {"errors": {"radius": share}}), 1)
        table = read(strung, np.random.default_rng(2))
        three = jobs.tried(spec, nut, readings_from(table, spec=spec)[0]).strings[2].within
        table["clearances"][1:5] = ["none"] * 4
        within[share] = three, jobs.tried(spec, nut, readings_from(table, spec=spec)[0]).strings[2].within
    sag = 21.0**2 / 2.0 / 250.0  # of the board at its edge; a fifth of it at the middle of the nut, about
    assert within[0.2][0] == pytest.approx(within[0.0][0], abs=0.002)
    assert math.sqrt(within[0.2][1] ** 2 - within[0.0][1] ** 2) == pytest.approx(0.2 * sag, rel=0.5)


def test_a_string_that_lies_on_its_fret_tells_nothing() -> None:
    spec, nut, strung = on_the_neck(neck_of("electric-6"), 1)
    table = read(strung, np.random.default_rng(2), by="exactly", hand=0.0)
    table["clearances"][0] = 0
    fit = jobs.tried(spec, nut, readings_from(table, spec=spec)[0])
    assert fit.strings[0].plane_read is None


def test_what_lies_beyond_the_strings_that_were_read_is_less_sure() -> None:
    spec, nut, strung = on_the_neck(neck_of("electric-6"), 1)
    table = read(strung, np.random.default_rng(2))
    table["clearances"][:3] = ["none"] * 3
    fit = jobs.tried(spec, nut, readings_from(table, spec=spec)[0])
    withins = [one.within for one in fit.strings]
    assert withins[0] > withins[1] > 0.1
    (told,) = (one for one in fit.findings if one.code == "trial.too-coarse")
    assert {6, 5} <= set(told.strings)
    assert told.value("within") == pytest.approx(max(withins))


@pytest.mark.parametrize("place", range(6))
@pytest.mark.parametrize("by", [-0.25, 0.25])
def test_a_string_that_was_misread_is_named(place: int, by: float) -> None:
    spec, nut, strung = on_the_neck(neck_of("electric-6"), 1)
    table = read(strung, np.random.default_rng(3))
    assert not jobs.tried(spec, nut, readings_from(table, spec=spec)[0]).doubted
    table["over_wires"][place] += by
    fit = jobs.tried(spec, nut, readings_from(table, spec=spec)[0])
    codes = [finding.code for finding in fit.findings]
    if place in (0, 5):  # the plane bends after an outer one: that is what is told
        assert fit.doubted in ((), (6 - place,))
        assert "trial.arch-unlike-board" in codes
    else:
        assert 6 - place in fit.doubted
        assert codes[0] == "trial.off-the-fit"


def test_of_four_strings_one_cannot_tell_which_was_misread() -> None:
    spec, nut, strung = on_the_neck(neck_of("bass-4"), 1)
    table = read(strung, np.random.default_rng(3))
    table["over_wires"][1] += 0.5
    assert jobs.tried(spec, nut, readings_from(table, spec=spec)[0]).doubted == (4, 3, 2, 1)


def test_what_was_misread_is_told_beside_it() -> None:
    """A seat read 0.4 too deep, or twice as deep: the plane that the trial gives is told as the right one."""
    for depth, slips in ((3.8, 0), (6.8, 1)):
        neck = neck_of("electric-6", {"seat.depth": depth})
        neck.lean = 0.0
        fit, _ = tried(neck, 1)
        found = [one for one in fit.findings if one.code == "trial.others-misread"]
        assert len(found) == 1
        assert found[0].value("apart") == pytest.approx(depth - 3.4, abs=0.15)
        assert len(found[0].value("slips")) >= slips  # type: ignore[arg-type]
        assert "seat.readings-disagree" not in [one.code for one in fit.findings]


def test_wires_taken_off_before_are_told() -> None:
    spec, nut, strung = on_the_neck(neck_of("bass-4"), 1)
    table = read(strung, np.random.default_rng(3))
    less = [over - float(wire.split()[0]) for over, wire in zip(table["over_wires"], table["wires"], strict=True)]
    fit = jobs.tried(spec, nut, readings_from({**table, "over_wires": less}, spec=spec)[0])
    (told,) = (one for one in fit.findings if one.code == "trial.plane-far")
    assert told.value("less_wire") is True


def test_wires_that_ride_and_wires_that_lie_under_the_top() -> None:
    spec, nut, strung = on_the_neck(neck_of("bass-4"), 1)
    table = read(strung, np.random.default_rng(3))
    wires = {"4": nut.slots[0].width + 0.02, "3": nut.slots[1].depth - 0.02}
    table["wires"][:2] = [f"{wire} mm" for wire in wires.values()]
    fit = jobs.tried(spec, nut, readings_from(table, spec=spec)[0])
    found = {one.code: one.strings for one in fit.findings if one.code.startswith("trial.wire-")}
    assert found == {"trial.wire-over-slot": (4,), "trial.wire-under-top": (3,)}


def test_the_plane_that_is_written_gives_the_floors_that_are_told() -> None:
    neck = neck_of("electric-6-left", {"seat.depth": 3.7})
    fit, _ = tried(neck, 1)
    neck.misread["seat.fret_plane"] = dict(zip(("bass", "middle", "treble"), fit.plane, strict=True))
    made = solve(neck.spec())
    assert [made.floor_over_seat(slot) for slot in made.slots] == pytest.approx([one.floor for one in fit.strings])


@pytest.mark.slow
@pytest.mark.parametrize(("by", "within"), [("leaves", 0.05), ("wires", 0.05), ("drawer", 0.05), ("sheets", 0.07)])
def test_floors_of_a_thousand_necks(by: str, within: float) -> None:
    """Of every height misread by tenths: 95 % within so much, and 93 % within what was stated."""
    found, stated = tried_on(EXAMPLES // 3, by)
    assert len(found) > EXAMPLES
    assert np.mean(np.abs(found) <= within) >= 0.95
    assert np.mean(np.abs(found) <= stated) >= 0.93
    assert abs(np.mean(found)) < 0.005


def tried_on(count: int, by: str) -> tuple[list[float], list[float]]:
    """How far floors are off, and what was stated of them, on so many necks."""
    found, stated = [], []
    for seed in range(count):
        neck = drawn(seed)
        if by in BENCHES:
            neck.more["tools"] = BENCHES[by]
        try:
            fit, strung = tried(neck, seed, by=by)
        except CannotBeMade:
            continue  # a seat so much shallower than it was read leaves a shelf too thin
        found += off(fit, strung)
        stated += [one.within for one in fit.strings]
    return found, stated
