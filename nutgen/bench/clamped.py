"""A metal nut that clamps its strings: the shims under it that bring them to their height."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from nutgen.bench.leaves import LeafStack, leaf_stack
from nutgen.finding import Finding, step, warning
from nutgen.nut.heights import line_of
from nutgen.nut.part import Nut
from nutgen.nut.places import string_shares
from nutgen.play.saddle import on_two, strings_now
from nutgen.spec.playing import Clamped
from nutgen.spec.tables import Setup
from nutgen.theory import Array

MOST_OF_A_SHEET = 3
"""Shims of one thickness at a side; more is a thicker sheet's place. Common practice, no source."""

OFF = 0.05
"""A string that ends higher or lower by more over fret 1 is told. Common practice, no source [mm]."""


@dataclass(frozen=True, slots=True)
class Shimmed:
    """The clamped nut on its shims.

    Parameters
    ----------
    wanted : ndarray, (2,)
        Shims in all under bass and treble side; below 0 where none is too many [mm].
    stacks : (LeafStack, LeafStack)
        Of the sheets that there are, as near as they come.
    over_1 : ndarray, (strings,)
        Clearance over fret 1 that comes of it [mm].
    step : Finding
        What to do.
    findings : tuple of Finding
        What the shims leave.
    """

    wanted: Array
    stacks: tuple[LeafStack, LeafStack]
    over_1: Array
    step: Finding
    findings: tuple[Finding, ...]


def shimmed(nut: Nut, setup: Setup, clamped: Clamped) -> Shimmed:
    """Shims for the clearances that a nut was solved for, the nut rigid, its strings carried along."""
    now = _floors_now(nut, setup)
    by = np.array([slot.floor_height for slot in nut.slots]) - now
    x = np.array([slot.face_x for slot in nut.slots])
    moves, shares = on_two(x, by, apart=clamped.apart)
    wanted = moves + np.array([clamped.now.bass, clamped.now.treble])
    bass, treble = (leaf_stack(max(0.0, float(one)), clamped.shims * MOST_OF_A_SHEET) for one in wanted)
    laid = np.array([bass.sum, treble.sum]) - (wanted - moves)
    comes = line_of(nut, floor_height=now + shares @ laid).clearance(1)[:, 0]
    sums, laid_of = {"bass": bass.sum, "treble": treble.sum}, {"of_bass": bass.leaves, "of_treble": treble.leaves}
    told = tuple(_told(nut, wanted, comes))
    return Shimmed(wanted, (bass, treble), comes, step("setup.nut-clamped", **sums, **laid_of), told)


def _floors_now(nut: Nut, setup: Setup) -> Array:
    """What the strings lie on, over the fret plane: the line from the saddle, as it was read, over fret 1 [mm].

    A saddle that was not read is where it is wanted.
    """
    wanted = line_of(nut)
    now = wanted if setup.action_now is None else strings_now(nut, setup, wanted.neck)[0]
    neck, start, scale = now.neck, np.asarray(wanted.neck.start), np.asarray(wanted.neck.scale_length)
    assert setup.clearance_now is not None
    over = np.array([setup.clearance_now.at(string_shares([slot.face_x for slot in nut.slots]))]).T
    one, at_1 = neck.fret(1), neck.crown(neck.fret(1)) + over
    floors = at_1 + (now.height(scale) - at_1) * (start - one) / (scale - one) - neck.fret_plane(start)
    return np.asarray(floors[:, 0])


def _told(nut: Nut, wanted: Array, over_1: Array) -> Iterator[Finding]:
    if min(wanted) < -OFF:
        yield warning("clamped.too-high", by=-float(min(wanted)))
    for slot, comes in zip(nut.slots, over_1.tolist(), strict=True):
        if abs(comes - slot.first_fret_clearance) > OFF:
            yield warning("clamped.string-off", slot.who, comes=comes, wanted=slot.first_fret_clearance)
