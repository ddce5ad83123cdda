"""What one purpose makes: files, how each is proved, and what is said of them."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from nutgen.proof.files import Prover
from nutgen.screen import Screen


@dataclass(frozen=True, slots=True)
class Job:
    """Files for one purpose.

    files    : name -> content
    provers  : name -> what it must say when read back
    record   : for nut.json
    warnings : in words
    volume   : of the solid, where this job made it [mm3]
    report   : says on a screen what a maker needs to know to use the files
    """

    files: dict[str, bytes]
    provers: dict[str, Prover]
    record: dict[str, Any] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    report: Callable[[Screen], None] | None = None
    volume: float | None = None
