"""The whole set-up in its order: what each step changes for the next, in numbers."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from nutgen.bench.clamped import Shimmed, shimmed
from nutgen.bench.materials import STRINGS_WHIP
from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, refusal, step
from nutgen.nut.heights import behind_zero_fret, crowns_of
from nutgen.nut.part import Nut
from nutgen.play.pull import back_bow_findings, change, pull_before, pull_now
from nutgen.play.saddle import FLOORS_LEFT, SaddleMoves, saddle_moves
from nutgen.play.tops import Tops, even_tops, proud_now, tops, touching_once_even
from nutgen.play.triage import triage
from nutgen.spec.playing import Clamped, Saddle, Tuner
from nutgen.spec.tables import Setup, Spec
from nutgen.theory import Array

AS_IT_IS = 0.02
"""A relief, or a reading over fret 12, that is off by less stays as it is. Common practice, no source [mm]."""

AT_ONCE = 0.3
"""Taken off below a fixed saddle before it is read again. Common practice, no source [mm]."""


@dataclass(frozen=True, slots=True)
class SetupOrder:
    """A set-up from the frets to the last reading.

    Parameters
    ----------
    nut : Nut
        As it plays in the end: with its tops evened, where that was asked for.
    before : tuple of Finding
        Steps before the saddle: frets, strings, relief.
    saddle : Finding
        The saddle's step.
    after : tuple of Finding
        Steps after it: nut, the readings again, pitch.
    moves : SaddleMoves
        How the saddles go.
    tops : Tops
        Under the hand, in the end.
    proud_now : ndarray or None
        As `off` of the tops where the hand plucks, over the saddles as they were read; None where they were not [mm].
    shimmed : Shimmed or None
        The metal nut that clamps the strings, where there is one.
    tuner : tuple of Finding
        What the readings of a tuner ask for, first things first; empty where there are none.
    cautions : tuple of Finding
        What can hurt.
    """

    nut: Nut
    before: tuple[Finding, ...]
    saddle: Finding
    after: tuple[Finding, ...]
    moves: SaddleMoves
    tops: Tops
    proud_now: Array | None
    shimmed: Shimmed | None
    tuner: tuple[Finding, ...]
    cautions: tuple[Finding, ...]


def setup_order(
    nut: Nut,
    before: tuple[Finding, ...],
    setup: Setup,
    saddle: Saddle,
    tuner: Tuner | None = None,
    clamped: Clamped | None = None,
) -> SetupOrder:
    """The set-up that brings an instrument to what its nut was solved for, behind the steps before the saddle."""
    on_shims = shimmed(nut, setup, clamped) if clamped else None
    evened = even_tops(nut, saddle) if saddle.even_tops else None
    seen_as = nut if evened is None else evened[0]
    moves, seen = saddle_moves(seen_as, setup, saddle), tops(seen_as, saddle)
    if evened is not None:
        touching = touching_once_even(nut, seen_as)
        seen = replace(seen, evened=evened[1], findings=(*seen.findings, *touching))
    return SetupOrder(
        nut=seen_as,
        before=before,
        saddle=_saddle(moves, filed=not (clamped or behind_zero_fret(nut))),
        after=tuple(_after(seen_as, moves, on_shims)),
        moves=moves,
        tops=seen,
        proud_now=None if setup.action_now is None else proud_now(nut, saddle),
        shimmed=on_shims,
        tuner=() if tuner is None else triage(seen_as, tuner),
        cautions=(STRINGS_WHIP,),
    )


def before_saddle(spec: Spec) -> tuple[Finding, ...]:
    """Steps before the saddle: frets, strings, relief.

    raises : CannotBeMade where the rod is slack and the neck bows backward, which no rod and no nut cures
    """
    instrument, setup = spec.instrument, spec.setup
    before = pull_before(spec)
    stiffness = instrument.relief_per_100_n
    changed = None if before is None else change(pull_now(spec), before, relief_per_100_n=stiffness)
    if any(back_bow_findings(spec, changed)):
        raise CannotBeMade([refusal("pull.back-bow-stays")])
    if instrument.rod_slack and setup.relief_now is not None and setup.relief_now < setup.relief - AS_IT_IS:
        raise CannotBeMade([refusal("setup.rod-lets-off-no-further", now=setup.relief_now, wanted=setup.relief)])
    return _frets(spec), step("setup.strings"), *_relief(setup)


def _frets(spec: Spec) -> Finding:
    read = crowns_of(spec)
    high = tuple(fret for fret, height in enumerate(read.high, 1) if height >= read.shown)
    return step("setup.frets-level", frets=high) if high else step("setup.frets")


def _relief(setup: Setup) -> Iterator[Finding]:
    now, wanted = setup.relief_now, setup.relief
    if setup.back_bow:
        yield step("setup.relief-from-back-bow", wanted=wanted)
    elif now is None or abs(now - wanted) <= AS_IT_IS:
        yield step("setup.relief-read" if now is None else "setup.relief-kept", wanted=wanted)
    else:
        yield step("setup.relief", now=now, wanted=wanted, turn="tighten" if now > wanted else "slacken")


def _saddle(moves: SaddleMoves, *, filed: bool) -> Finding:
    adds = {"left": FLOORS_LEFT, "adds": moves.unfiled_adds} if filed else {}
    if not np.all(np.isfinite(moves.move)):
        return step("setup.saddle-unread", **adds)
    if moves.posts is not None:
        turned = dict(zip(("bass_eighths", "treble_eighths"), moves.post_eighths or (), strict=False))
        return step("setup.saddle-posts", bass=moves.posts[0], treble=moves.posts[1], **turned, **adds)
    if moves.underside is not None:
        bass_cut, treble_cut = moves.underside
        sanded = float(np.max(moves.left))
        return step("setup.saddle-fixed", bass=bass_cut, treble=treble_cut, crest=sanded, at_once=AT_ONCE, **adds)
    return step("setup.saddle-each", **adds)


def _after(nut: Nut, moves: SaddleMoves, on_shims: Shimmed | None) -> Iterator[Finding]:
    bass, treble = nut.slots[0], nut.slots[-1]
    over_1 = {"bass": bass.first_fret_clearance, "treble": treble.first_fret_clearance}
    if on_shims is not None:
        yield on_shims.step
    else:
        yield step("setup.nut-behind-zero-fret") if behind_zero_fret(nut) else step("setup.nut", **over_1)
    yield step("setup.again", bass=bass.action, treble=treble.action, relief=nut.relief)
    outer = [float(one) for one in moves.from_12[[0, -1]]]
    yield step("setup.pitch", **({"bass": outer[0], "treble": outer[1]} if np.all(np.isfinite(outer)) else {}))
