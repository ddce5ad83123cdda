"""What was found in a written file against what was solved."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from nutgen.errors import CannotBeMade

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

    @property
    def words(self) -> str:
        """What is wrong, for a person."""
        return f"{self.what} is {_shown(self.found)}, not {_shown(self.wanted)}"


def _shown(value: Value) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)


@dataclass(frozen=True, slots=True)
class Proof:
    """A file, who read it, what was found."""

    name: str
    reader: str
    checks: tuple[Check, ...]

    @property
    def record(self) -> dict[str, Any]:
        """For nut.json."""
        return {"reader": self.reader, "found": {check.what: check.found for check in self.checks}}


def settle(proofs: Iterable[Proof]) -> dict[str, Any]:
    """The proof of a set of files, for nut.json.

    raises : CannotBeMade with every check that does not hold
    """
    proofs = list(proofs)
    reasons = [
        f"{proof.name}, read back by {proof.reader}: {check.words}; this is a fault of nutgen's, please report it"
        for proof in proofs
        for check in proof.checks
        if not check.holds
    ]
    if reasons:
        raise CannotBeMade(reasons)
    return {proof.name: proof.record for proof in proofs}


def sizes(found: Sequence[float], wanted: Sequence[float], *, within: float) -> tuple[Check, ...]:
    """Length, thickness and height, or whatever the axes are, as checks [mm]."""
    return tuple(
        Check(f"size along {axis}", float(a), float(b), within) for axis, a, b in zip("xyz", found, wanted, strict=True)
    )
