"""What was found in a written file, or in the pages it is painted from, against what was solved."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nutgen.errors import CannotBeMade
from nutgen.finding import Subject, refusal

Value = float | int | str | bool


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that a file must say.

    what   : in words, with its unit
    found  : in the file, by the reader
    wanted : as solved
    within : how far a number may be off; 0 for words and counts
    """

    what: str
    found: Value
    wanted: Value
    within: float = 0.0

    @property
    def holds(self) -> bool:
        """Whether the file says it."""
        if self.within and not isinstance(self.found, str) and not isinstance(self.wanted, str):
            return abs(float(self.found) - float(self.wanted)) <= self.within
        return self.found == self.wanted


def _shown(value: Value) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)


@dataclass(frozen=True, slots=True)
class Proof:
    """Who looked, and what was found."""

    reader: str
    checks: tuple[Check, ...]

    @property
    def record(self) -> dict[str, Any]:
        """For nut.json."""
        return {"reader": self.reader, "found": {check.what: check.found for check in self.checks}}


def settle(proofs: Mapping[str, Proof]) -> dict[str, Any]:
    """The proofs of files by their names, for nut.json.

    raises : CannotBeMade with every check that does not hold
    """
    reasons = [
        refusal(
            "file.not-as-solved",
            Subject("file", name),
            reader=proof.reader,
            what=check.what,
            found=_shown(check.found),
            wanted=_shown(check.wanted),
        )
        for name, proof in proofs.items()
        for check in proof.checks
        if not check.holds
    ]
    if reasons:
        raise CannotBeMade(reasons)
    return {name: proof.record for name, proof in proofs.items()}


def along_axes(what: str, found: Iterable[float], wanted: Sequence[float | None], *, within: float) -> list[Check]:
    """Sizes or places along x, y and z as checks; an axis of which nothing is wanted is not asked [mm]."""
    return [
        Check(f"{what} {axis}", float(a), float(b), within)
        for axis, a, b in zip("xyz", found, wanted, strict=True)
        if b is not None
    ]
