"""Why something cannot be read or made: the exceptions that carry what a room found."""

from collections.abc import Iterable
from typing import Literal

from nutgen.finding import Finding, Value, refusal


class Unreadable(ValueError):
    """One value that cannot be read; what reads the whole knows where it stands."""

    def __init__(self, code: str, **values: Value) -> None:
        self.finding = Finding(code, "refusal", (), tuple(values.items()))
        super().__init__(code)


class _Refusals(Exception):
    """Carries every reason."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(map(str, self.findings)))

    @property
    def reasons(self) -> tuple[str, ...]:
        """Codes of the findings."""
        return tuple(one.code for one in self.findings)


class CannotBeMade(_Refusals):
    """A nut, or a file for one, that cannot be made; `findings` says why.

    units : of the file, once it is known, which the reasons are told in
    """

    units: Literal["mm", "in"] = "mm"


class KernelError(CannotBeMade):
    """The CAD kernel could not make something."""

    def __init__(self, what: str, *reasons: str) -> None:
        super().__init__([refusal("solid.cannot-be-made", what=what, reason="; ".join(reasons))])


class SpecFaults(_Refusals):
    """A file that cannot be used.

    source   : the file's name as the user gave it
    findings : every fault, in the order of the file
    units    : of the file, which its faults are told in
    """

    def __init__(self, source: str, findings: Iterable[Finding], *, units: Literal["mm", "in"] = "mm") -> None:
        self.source, self.units = source, units
        super().__init__(findings)

    def __str__(self) -> str:
        return "\n".join(f"{self.source}: {finding}" for finding in self.findings)
