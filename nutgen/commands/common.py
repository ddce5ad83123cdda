"""What the commands share: where words go, how failures are told, files solved together."""

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

import nutgen
from nutgen.documents.blocks import Document
from nutgen.documents.paint.text import show
from nutgen.documents.words import placed, sentence, together
from nutgen.documents.words.quantities import Units
from nutgen.errors import CannotBeMade, SpecFaults
from nutgen.finding import echoed, refusal
from nutgen.nut import Nut
from nutgen.process import WRITTEN
from nutgen.spec.presets import find_file
from nutgen.spec.tables import Spec

if TYPE_CHECKING:
    from nutgen.bench.dryfit.fitlog import Entry


CANNOT, WRONG = 1, 2
"""Exit codes: cannot be made (with the reason); wrong usage or file. 0 is done."""

LONGEST_NAME = 200
"""Letters of a path that are told; of a longer one the middle is left out."""


def now() -> str:
    """For a log: UTC, ISO 8601, to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def units_for(spec: Spec, asked: str | None) -> Units:
    """What lengths are shown in: as the call says, else as the file was written."""
    return "in" if (asked or spec.units) == "in" else "mm"


def shown(document: Document, spec: Spec, units: str | None) -> None:
    """Put a result on stdout, in the units that were asked for, else in those of the file."""
    show(document, units=units_for(spec, units))


def written(path: Path, content: bytes) -> None:
    """Write a picture that was asked for by its name."""
    from nutgen.jobs.atomic import write_all

    write_all(path.parent, {path.name: content})
    say(f"wrote {path}")


def added_to_log(log: Path, entry: "Entry", otherwise: str = "these readings were NOT kept, write them down") -> bool:
    """Add to the log of an instrument; whether it is kept, where it is not `otherwise` is said."""
    from nutgen.bench.dryfit.fitlog import append_entry

    try:
        append_entry(log, entry)
    except OSError as error:
        say(f"{log}: {(error.strerror or str(error)).lower()}; {otherwise}")
        return False
    return True


def say(text: str) -> None:
    """Chatter, on stderr."""
    print("\n".join(map(echoed, text.split("\n"))), file=sys.stderr)


def print_json(value: Any) -> None:
    """A result for programs, on stdout."""
    print(json.dumps(value, indent=1, allow_nan=False))  # in ASCII, which any stream can hold


def print_record(spec: Spec, *parts: Any) -> None:
    """A result for programs, on stdout: what every record starts with, then mappings and dataclasses, key by key."""
    from nutgen.jobs.record import head, plain

    record = head(spec)
    for part in parts:
        record |= plain(part)
    print_json(record)


def answered(document: Document, spec: Spec, units: str | None, *parts: Any, as_json: bool) -> None:
    """A result on stdout: the document for a reader, or its parts for a program."""
    if as_json:
        print_record(spec, *parts)
    else:
        shown(document, spec, units)


def cannot_told(error: CannotBeMade, file: str = "") -> str:
    """Every reason why something cannot be made, a line each."""
    file = echoed(file, LONGEST_NAME)
    return "\n".join(f"  {file}{sentence(reason, error.units)}" for reason in together(error.findings))


def faults_told(error: SpecFaults) -> str:
    """Every fault of a file, a line each, behind its place in the file; what is wrong in several strings once."""
    source = echoed(error.source, LONGEST_NAME)
    return "\n".join(f"{source}: {placed(fault, error.units)}" for fault in together(error.findings))


def written_told() -> str:
    """What this call has written before something failed; empty where it is nothing."""
    placed = ", ".join(echoed(folder, LONGEST_NAME) for folder in WRITTEN)
    return f"; already written: files in {placed}" if placed else ""


@contextmanager
def refused_in(units: Units) -> Iterator[None]:
    """Have what cannot be made told in the units of its file."""
    try:
        yield
    except CannotBeMade as error:
        error.units = units
        raise


def solve_one(file: str) -> tuple[Spec, Nut]:
    """Read and solve one file; raises SpecFaults or CannotBeMade."""
    spec = nutgen.read(file)
    return spec, nutgen.solve(spec)


def solve_all(files: list[str]) -> dict[str, tuple[Spec, Nut]]:
    """Read and solve every file before the first is made; the faults of all come out together.

    returns : folder name -> spec and nut; a folder is named after its file
    """
    solved: dict[str, tuple[Spec, Nut]] = {}
    faults, reasons = [], []
    for file in files:
        try:
            name = find_file(file).stem
            if name in solved:
                raise SpecFaults(file, [refusal("file.same-folder", folder=name)])
            solved[name] = solve_one(file)
        except SpecFaults as error:
            faults.append(faults_told(error))
        except CannotBeMade as error:
            reasons.append(cannot_told(error, f"{file}: "))
    if faults or reasons:
        say("\n".join([*faults, *(["cannot be made:", *reasons] if reasons else [])]))
        raise typer.Exit(WRONG if faults else CANNOT)
    return solved


@contextmanager
def busy(words: str) -> Iterator[None]:
    """Show on a terminal that something is being made."""
    if not sys.stderr.isatty():
        yield
        return
    print(f"{words} ...", end="", file=sys.stderr, flush=True)
    try:
        yield
    finally:
        print(f"\r{' ' * (len(words) + 4)}\r", end="", file=sys.stderr, flush=True)
