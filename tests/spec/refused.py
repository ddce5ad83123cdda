"""What is wrong with the text of a file, as findings."""

from collections.abc import Callable

import pytest

from nutgen.documents.words import placed
from nutgen.errors import SpecFaults
from nutgen.finding import Finding


def refused(parse: Callable[..., object], what: object) -> list[Finding]:
    """Every fault of the text of a file, or of what else is read; it must have some, all of them findings."""
    with pytest.raises(SpecFaults) as caught:
        parse(what, source="x")
    assert all(isinstance(one, Finding) and one.severity == "refusal" for one in caught.value.findings)
    found = [one for one in caught.value.findings if isinstance(one, Finding)]
    for one in found:
        as_written = (path_of(one), f"[[{path_of(one)}]]")
        assert all(placed(one, units).startswith(as_written) for units in ("mm", "in"))  # every code has its words
    return found


def path_of(finding: Finding) -> str:
    """The key that a finding is about; empty where it is about the whole file."""
    return "".join(subject.name for subject in finding.about if subject.kind == "key")


def named(findings: list[Finding]) -> list[tuple[str, str]]:
    """Path and code of each."""
    return [(path_of(one), one.code) for one in findings]


def the_only(findings: list[Finding], path: str) -> tuple[str, str]:
    """Code, and what was meant, of the one finding about a path."""
    (found,) = (one for one in findings if path_of(one) == path)
    likely = dict(found.values).get("likely", "")
    if isinstance(likely, tuple):
        likely = likely[0][1] if likely else ""  # type: ignore[index]
    return found.code, str(likely)
