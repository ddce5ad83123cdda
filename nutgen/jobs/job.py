"""What one purpose makes: files, how each is proved, and what is said of them."""

from dataclasses import dataclass, field
from typing import Any

from nutgen.documents.blocks import Document
from nutgen.finding import Finding
from nutgen.jobs.proof import Proof
from nutgen.jobs.provers import Prover


@dataclass(frozen=True, slots=True)
class File:
    """One file of a set.

    proof : who reads it back once it is written, or what its pages said before they were painted; None
            where it is only compared, byte by byte, and the tests look into it
    """

    name: str
    content: bytes
    proof: Prover | Proof | None = None


@dataclass(frozen=True, slots=True)
class Job:
    """Files for one purpose.

    record   : for nut.json
    warnings : for the maker
    report   : what a maker needs to know to use the files
    """

    files: tuple[File, ...]
    record: dict[str, Any] = field(default_factory=dict)
    warnings: tuple[Finding, ...] = ()
    report: Document = ()
