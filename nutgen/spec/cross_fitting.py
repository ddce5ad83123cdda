"""What the readings of a dry fit say about the rest of the file: slips that no single key shows."""

from collections.abc import Iterator
from typing import Any

from nutgen.errors import Fault
from nutgen.spec.fields import shown
from nutgen.spec.fitting import DryFit
from nutgen.spec.strings import String
from nutgen.spec.workshop import Tools

LEAF_WEAR = 0.002  # mm; how far a leaf may be from its mark


LISTS = ("feeler", "feeler_drags", "sliver", "sliver_drags", "barred")


def _counts(dry_fit: DryFit | None, strings: tuple[String, ...]) -> Iterator[Fault]:
    if dry_fit is None:
        return
    for key in LISTS:
        readings = getattr(dry_fit, key)
        if readings is not None and len(readings) != len(strings):
            words = f"{len(readings)} readings for {len(strings)} strings; write one a string, bass first"
            yield Fault(f"dry_fit.{key}", words)
    if dry_fit.action is not None and dry_fit.action.each and len(dry_fit.action.values) != len(strings):
        words = f"{len(dry_fit.action.values)} values for {len(strings)} strings; write one a string, bass first"
        yield Fault("dry_fit.action", words)
    if dry_fit.feeler is None and dry_fit.sliver is None:
        yield Fault("dry_fit.feeler", "missing; write the thickest leaf that passes over fret 1, string by string")
    for key, needs in (("barred", "feeler"), ("feeler_drags", "feeler"), ("sliver_drags", "sliver")):
        if getattr(dry_fit, key) is not None and getattr(dry_fit, needs) is None:
            yield Fault(f"dry_fit.{needs}", f"missing; {key} says nothing without it")


def leaf_faults(dry_fit: DryFit | None, tools: Tools) -> Iterator[Fault]:
    """Readings that no leaf of these can give."""
    if dry_fit is None:
        return
    thinnest = min((*tools.feeler, *tools.feeler_inch), default=0.0)
    for key in LISTS:
        for index, reading in enumerate(getattr(dry_fit, key) or ()):
            if 0.0 < reading < thinnest - LEAF_WEAR:
                yield Fault(f"dry_fit.{key}[{index + 1}]", _less_than_a_leaf(reading, thinnest))
    for key in ("feeler", "sliver"):
        pairs = zip(getattr(dry_fit, key) or (), getattr(dry_fit, f"{key}_drags") or (), strict=False)
        for index, (passes, drags) in enumerate(pairs):
            if drags <= passes:
                words = f"{shown(drags)} mm drags but {shown(passes)} mm passes; the one that drags is the thicker"
                yield Fault(f"dry_fit.{key}_drags[{index + 1}]", words)


def _less_than_a_leaf(reading: float, thinnest: float) -> str:
    guess = f'; inches? write "{shown(reading)} in"' if 0.1 <= reading * 25.4 <= 3.0 else ""
    return (
        f"{shown(reading)} mm is less than the thinnest leaf, {shown(thinnest)} mm{guess};"
        " write 0 where none passes, or list the leaf in tools.feeler"
    )


FITTING_CHECKS: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (_counts, ("dry_fit", "strings")),
    (leaf_faults, ("dry_fit", "tools")),
)
"""Checks, and the tables that each needs whole."""
