"""What the readings of a dry fit say about the rest of the file: slips that no single key shows."""

from collections.abc import Iterator
from typing import Any

from nutgen.spec.faults import Fault
from nutgen.spec.fields import shown
from nutgen.spec.fitting import DryFit
from nutgen.spec.strings import String
from nutgen.spec.workshop import Tools

LEAF_WEAR = 0.002  # mm; how far a leaf may be from its mark


def _counts(dry_fit: DryFit | None, strings: tuple[String, ...]) -> Iterator[Fault]:
    if dry_fit is None:
        return
    for key in ("passes", "drags", "barred"):
        readings = getattr(dry_fit, key)
        if readings is not None and len(readings) != len(strings):
            words = f"{len(readings)} readings for {len(strings)} strings; write one a string, bass first"
            yield Fault(f"dry_fit.{key}", words)
    if dry_fit.action is not None and dry_fit.action.each and len(dry_fit.action.values) != len(strings):
        words = f"{len(dry_fit.action.values)} values for {len(strings)} strings; write one a string, bass first"
        yield Fault("dry_fit.action", words)
    if dry_fit.check == "barre" and dry_fit.barred is None:
        yield Fault("dry_fit.barred", "missing; with a barre at fret 1, write the thickest leaf over fret 2")
    if dry_fit.check != "barre" and dry_fit.barred is not None:
        yield Fault("dry_fit.barred", f'given, but the check is "{dry_fit.check}"; write check = "barre"')


def _leaves(dry_fit: DryFit | None, tools: Tools) -> Iterator[Fault]:
    if dry_fit is None:
        return
    leaves = (*tools.feeler, *tools.feeler_inch)
    thinnest = min(leaves, default=0.0)
    for key in ("passes", "drags", "barred"):
        for index, reading in enumerate(getattr(dry_fit, key) or ()):
            if 0.0 < reading < thinnest - LEAF_WEAR or (key == "drags" and reading == 0.0):
                yield Fault(f"dry_fit.{key}[{index + 1}]", _less_than_a_leaf(reading, thinnest))
    for index, (passes, drags) in enumerate(zip(dry_fit.passes, dry_fit.drags or (), strict=False)):
        if drags <= passes:
            words = f"{shown(drags)} mm drags but {shown(passes)} mm passes; the one that drags is the thicker"
            yield Fault(f"dry_fit.drags[{index + 1}]", words)


def _less_than_a_leaf(reading: float, thinnest: float) -> str:
    guess = f'; inches? write "{shown(reading)} in"' if 0.1 <= reading * 25.4 <= 3.0 else ""
    return (
        f"{shown(reading)} mm is less than the thinnest leaf, {shown(thinnest)} mm{guess};"
        " write 0 where none passes, or list the leaf in tools.feeler"
    )


FITTING_CHECKS: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (_counts, ("dry_fit", "strings")),
    (_leaves, ("dry_fit", "tools")),
)
"""Checks, and the tables that each needs whole."""
