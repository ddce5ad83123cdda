"""The one way to a set of files: set aside, prove, record, place."""

import json
from collections.abc import Callable, Generator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nutgen.documents.blocks import Document
from nutgen.finding import Finding, note
from nutgen.jobs.atomic import staged
from nutgen.jobs.job import File, Job
from nutgen.jobs.proof import Check, Proof, settle
from nutgen.jobs.provers import json_file, proof_of
from nutgen.jobs.record import digest, plain

Record = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to be made.

    jobs        : each as soon as it is done
    record      : what is told of all of them; their files and proofs are added
    record_name : of the file that holds it; none is written where empty
    elsewise    : files that must not be left from an earlier set where this one has none of that name
    """

    folder: Path
    jobs: Generator[Job, None, None]
    record: Callable[[Sequence[Job]], Record]
    record_name: str = ""
    elsewise: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Made:
    """A set of files on the disk.

    files      : names and sizes in bytes
    record     : what the record says
    findings   : for the maker
    reports    : what a maker needs to know to use the files
    taken_away : files of an earlier set
    """

    folder: Path
    files: tuple[tuple[str, int], ...]
    record: Record
    findings: tuple[Finding, ...]
    reports: tuple[Document, ...]
    taken_away: tuple[str, ...]


def run(plan: Plan) -> Made:
    """Write every file beside its place, read it back, record what was found, then place the whole set.

    raises : CannotBeMade with every reason, a file that does not read back as solved among them;
             OSError where the folder cannot be written; nothing is then left half-done
    """
    jobs: list[Job] = []
    proofs: dict[str, Proof] = {}
    with staged(plan.folder) as stage, closing(plan.jobs):
        for job in plan.jobs:
            jobs.append(job)
            for file in job.files:
                proofs[file.name] = _proof(file, stage.add(file.name, file.content))
        files = {file.name: file.content for job in jobs for file in job.files}
        record = plan.record(jobs)
        record["files"] = {name: digest(content) for name, content in sorted(files.items())}
        record["proof"] = settle(proofs)
        record = plain(record)
        if plan.record_name:
            content = (json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
            files[plan.record_name] = content
            settle({plan.record_name: proof_of(json_file(record), stage.add(plan.record_name, content))})
        stale = tuple(name for name in plan.elsewise if name not in files and (plan.folder / name).is_file())
        stage.place(without=stale)
    mended = (note("files.placed-late", names=stage.mended),) if stage.mended else ()
    return Made(
        plan.folder,
        tuple((name, len(content)) for name, content in files.items()),
        record,
        (*mended, *(found for job in jobs for found in job.warnings)),
        tuple(job.report for job in jobs if job.report),
        stale,
    )


def _proof(file: File, path: Path) -> Proof:
    if callable(file.proof):
        return proof_of(file.proof, path)
    as_painted = Check("its bytes are as painted", path.read_bytes() == file.content, True)
    return Proof(file.proof.reader, (*file.proof.checks, as_painted)) if file.proof else Proof("itself", (as_painted,))
