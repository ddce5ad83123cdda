"""What the tuner says, on simulated instruments with known faults; the simulation is of lengths and uneven wire."""

import numpy as np
import pytest

from nutgen.nut import Nut, solve
from nutgen.play.pitch import pitches
from nutgen.play.triage import triage
from nutgen.spec.playing import Cents, Tuner
from nutgen.spec.read import parse_spec
from tests.kinds import text_of
from tests.play.mistuned import Fault, pressed_cents, readings
from tests.specs import EXAMPLES

KINDS = ("electric-6", "acoustic-6", "bass-4", "mandolin", "classical", "electric-7", "bass-5", "banjo-5")
HIGHEST = 1.2  # mm; a nut that is higher than that is seen by eye
CLASSES = {"nut": "nut", "slot": "nut", "saddles": "saddle", "saddle": "saddle", "string": "string"}


def instrument(seed: int, draw: np.random.Generator) -> Nut:
    kind = KINDS[seed % len(KINDS)]
    action = [round(float(one), 2) for one in draw.uniform(1.5, 2.6, 2)]
    changes = {
        "setup.action": {"bass": max(action), "treble": min(action)},
        "setup.relief": round(draw.uniform(0.0, 0.3), 2),
    }
    return solve(parse_spec(text_of(kind, changes), source=kind))


def sized(
    nut: Nut, setback: np.ndarray, kind: str, string: int, cents: float, draw: np.random.Generator
) -> Fault | None:
    """A fault that moves a reading by so many cents where it shows most; None where that takes too high a nut.

    setback : of the saddles, one a string [mm]
    """
    rows = range(len(nut.slots)) if string < 0 else [string]
    if kind == "string":
        return Fault(kind, string, cents)
    if CLASSES[kind] == "saddle":
        length = np.mean([nut.slots[i].scale_length for i in rows])
        return Fault(kind, string, float(draw.choice([-1.0, 1.0]) * cents * length / 1200.0 * np.log(2.0) / 1.0))

    def pressed(raised: float) -> np.ndarray:
        return np.array([pressed_cents(nut, i, raised=raised, saddle=float(setback[i]))[0] for i in rows])

    plain = pressed(0.0)
    for high in np.arange(0.1, HIGHEST, 0.05):
        if (pressed(float(high)) - plain).max() >= cents:
            return Fault(kind, string, float(high))
    return None


def faulty(seed: int) -> tuple[Nut, list[Fault], np.random.Generator]:
    draw = np.random.default_rng(seed)
    nut = instrument(seed, draw)
    wanted, faults = int(draw.integers(1, 3)), []
    tuning = pitches(nut)
    tuned = np.flatnonzero(tuning.tunable)
    while len(faults) < wanted:
        kind = str(draw.choice(["nut", "slot", "saddles", "saddle", "string"]))
        string = -1 if kind in ("nut", "saddles") else int(draw.choice(tuned))
        one = sized(nut, tuning.saddle, kind, string, float(draw.uniform(*CENTS)), draw)
        if one is not None and CLASSES[kind] not in {CLASSES[other.kind] for other in faults}:
            faults.append(one)
    return nut, faults, draw


CENTS = (10.0, 25.0)
"""What a fault moves the reading by where it shows most: from twice what is just noticeable [cents]."""


def first_is_right(seed: int, sd: float) -> bool:
    nut, faults, draw = faulty(seed)
    read = readings(nut, faults, draw, sd=sd).round(1)
    cents = Cents(*(tuple(read[:, column].tolist()) for column in (1, 2, 3, 0)))
    first = triage(nut, Tuner(cents=cents, within_cents=1.96 * sd))[0]
    kind = first.code.removeprefix("tuner.").removesuffix("-high").removesuffix("-off").removesuffix("-bad")
    if kind not in CLASSES:
        return False
    strings = {
        nut.slots[one.string].number if one.string >= 0 else 0 for one in faults if CLASSES[one.kind] == CLASSES[kind]
    }
    return bool(strings) and (0 in strings or not first.strings or set(first.strings) <= strings)


def share_right(count: int, sd: float) -> float:
    return sum(first_is_right(seed, sd) for seed in range(count)) / count


def first_advice(kind: str, faults: list[Fault]) -> tuple[str, tuple[int, ...]]:
    """Of readings to a tenth of a cent."""
    nut = solve(parse_spec(text_of(kind), source=kind))
    read = readings(nut, faults, np.random.default_rng(1), sd=0.1).round(1)
    cents = Cents(*(tuple(read[:, column].tolist()) for column in (1, 2, 3, 0)))
    first = triage(nut, Tuner(cents=cents, within_cents=4.0))[0]
    return first.code, first.strings


@pytest.mark.parametrize(
    ("fault", "code", "strings"),
    [
        (Fault("nut", -1, 1.2), "tuner.nut-high", ()),
        (Fault("saddle", 3, 6.0), "tuner.saddle-off", (3,)),
        (Fault("saddles", -1, -5.0), "tuner.saddles-off", ()),
        (Fault("string", 2, 22.0), "tuner.string-bad", (4,)),
    ],
)
def test_one_fault_well_read_is_named(fault: Fault, code: str, strings: tuple[int, ...]) -> None:
    assert first_advice("electric-6", [fault]) == (code, strings)


def test_nothing_is_said_of_an_instrument_in_tune() -> None:
    assert first_advice("acoustic-6", []) == ("tuner.nothing-found", ())


@pytest.mark.slow
def test_the_first_advice_is_right_on_many_instruments() -> None:
    assert share_right(EXAMPLES, 4.0 / 1.96) >= 0.9
