"""After the fit: what a tuner's readings say is at fault, and in which order it is cured.

A nut too high is sharp at fret 1, less so higher up, on every string; a slot too high, on its string alone; a saddle
is off most at fret 12; a string that is not the same all along fits neither, and its harmonic is no octave.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from nutgen.finding import Finding, note, step
from nutgen.nut.part import Nut
from nutgen.play.pitch import cents_with
from nutgen.spec.playing import FRETS_TUNED, Tuner
from nutgen.theory import Array
from nutgen.theory.uncertainty import WITHIN_95

COST = 9.0
"""What a fault must explain of the readings to be named: three standard deviations, squared."""

STRING_COST = 22.0
"""The same of a string that is at fault itself, which explains any four readings (chi squared with 4: one in 5,000)."""

RAISED, MOVED = 0.4, 1.0
"""Floors and saddle are moved by so much to see what each does to the readings [mm]."""

TOO_HIGH, UNHEARD_CENTS = 0.5, 5.0
"""A nut so much too high that sharpens fret 1 by less is not for a tuner to find [mm, cents]."""


@dataclass(frozen=True, slots=True)
class _Fault:
    """A fault that may be: what it is, of which string, and the columns of readings that it explains."""

    kind: str
    string: int
    columns: Array
    cost: float


def triage(nut: Nut, tuner: Tuner) -> tuple[Finding, ...]:
    """What to do, first things first: a bad string, then the nut, then saddles, each read anew before the next.

    The readings are explained by the fewest faults: the one that explains most is taken, then the next, until none
    explains more than its cost.
    """
    count, frets = len(nut.slots), FRETS_TUNED
    base = cents_with(nut, frets)
    tuned = np.isfinite(base[:, 0])
    by_nut, by_saddle = (
        _with_harmonic((cents_with(nut, frets, **moved) - base) / by)
        for moved, by in (({"raised": RAISED}, RAISED), ({"saddle_by": MOVED}, MOVED))
    )
    cents = tuner.cents
    read = np.array([cents.harmonic or (0.0,) * count, cents.fret_1, cents.fret_3, cents.fret_12]).T
    weights = np.where(tuned, WITHIN_95 / tuner.within_cents, 0.0)[:, np.newaxis] * np.ones((1, 4))
    weights[:, 0] *= bool(cents.harmonic)
    off = np.where(weights > 0.0, np.nan_to_num(read - _with_harmonic(base)), 0.0)
    found = _explained(off, weights, list(_may_be(np.nan_to_num(by_nut), np.nan_to_num(by_saddle))))
    heard = float(np.max(np.nan_to_num(by_nut[:, 1]))) * TOO_HIGH
    high = heard >= UNHEARD_CENTS or any(one.kind in ("nut", "slot") for one, _ in found)
    unheard = () if high else (note("tuner.nut-unheard", high=TOO_HIGH, most_cents=heard),)
    return (*_told(nut, found), *unheard)


def _with_harmonic(cents: Array) -> Array:
    """Readings at the frets behind that of the harmonic, which neither nut nor saddle moves."""
    return np.hstack([np.zeros((len(cents), 1)), cents])


def _may_be(by_nut: Array, by_saddle: Array) -> Iterator[_Fault]:
    count = len(by_nut)
    yield _Fault("nut", -1, by_nut.ravel()[:, np.newaxis], COST)
    yield _Fault("saddles", -1, by_saddle.ravel()[:, np.newaxis], COST)
    for i in range(count):
        own = np.zeros((count, 4, 6))
        own[i, :, 0], own[i, :, 1], own[i, :, 2:] = by_nut[i], by_saddle[i], np.eye(4)
        columns = own.reshape(-1, 6)
        yield _Fault("slot", i, columns[:, :1], COST)
        yield _Fault("saddle", i, columns[:, 1:2], COST)
        yield _Fault("string", i, columns[:, 2:], STRING_COST)


def _explained(off: Array, weights: Array, faults: list[_Fault]) -> list[tuple[_Fault, float]]:
    """The fewest faults that explain what is off, with how far each is."""
    seen, weight = off.ravel() * weights.ravel(), weights.ravel()[:, np.newaxis]
    taken: list[_Fault] = []

    def left(some: list[_Fault]) -> tuple[float, Array]:
        if not some:
            return float(seen @ seen), np.zeros(0)
        columns = np.hstack([one.columns for one in some]) * weight
        size = np.linalg.lstsq(columns, seen, rcond=1e-9)[0]
        rest = seen - columns @ size
        return float(rest @ rest), np.asarray(size, float)

    def first_of(some: list[_Fault], size: Array) -> list[float]:
        at = np.cumsum([0, *(one.columns.shape[1] for one in some)])
        return [float(size[place]) for place in at[:-1]]

    while True:
        rest = left(taken)[0]
        gains = []
        for one in faults:
            if one in taken:
                continue
            after, size = left([*taken, one])
            sizes = first_of([*taken, one], size)
            high = all(by > 0.0 for each, by in zip([*taken, one], sizes, strict=True) if each.kind in ("nut", "slot"))
            gains.append((rest - after - one.cost if high else -1.0, one))
        gain, best = max(gains, key=lambda each: each[0], default=(0.0, None))
        if best is None or gain <= 0.0:
            return list(zip(taken, first_of(taken, left(taken)[1]), strict=True))
        taken.append(best)


_ORDER = ("string", "nut", "slot", "saddles", "saddle")


def _told(nut: Nut, found: list[tuple[_Fault, float]]) -> Iterator[Finding]:
    if not found:
        yield note("tuner.nothing-found")
    bad = {one.string for one, _ in found if one.kind == "string"}
    for one, by in sorted(found, key=lambda each: (_ORDER.index(each[0].kind), each[0].string)):
        who = () if one.string < 0 else (nut.slots[one.string].who,)
        match one.kind:
            case "string":
                yield step("tuner.string-bad", *who)
            case "nut" | "slot":
                yield step(f"tuner.{one.kind}-high", *who, by=by)
            case _ if one.string not in bad:
                yield step(f"tuner.{one.kind}-off", *who, by=abs(by), toward=by > 0.0)
