"""The one way to a set of files: set aside, prove, record, place."""

import json
from collections.abc import Callable, Generator, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from nutgen.documents.blocks import Document
from nutgen.finding import Finding, note
from nutgen.formats.stamp import Stamp
from nutgen.geometry.mesh import Mesh
from nutgen.jobs.atomic import staged
from nutgen.jobs.proof import Check, Proof, settle
from nutgen.jobs.provers import Prover, json_file, mesh_file, proof_of, threemf_file
from nutgen.jobs.record import digest, plain

Record = dict[str, Any]


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
            settle({plan.record_name: proof_of(partial(json_file, record), stage.add(plan.record_name, content))})
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


def on_the_bed(
    name: str, mesh: Mesh, stamp: Stamp, *, size: Sequence[float], volume: float, named: str
) -> tuple[File, File]:
    """A mesh that stands on the printer's bed, in 3MF under a name and in STL.

    size, volume : that the files must come to [mm, mm3]
    """
    from nutgen.formats.stl import stl_bytes
    from nutgen.formats.threemf import threemf_bytes

    return (
        File(f"{name}.3mf", threemf_bytes(mesh, stamp, name=named), partial(threemf_file, size, volume, named=named)),
        File(f"{name}.stl", stl_bytes(mesh, stamp), partial(mesh_file, size, volume, lowest=(0.0, 0.0, 0.0))),
    )


def _proof(file: File, path: Path) -> Proof:
    if callable(file.proof):
        return proof_of(file.proof, path)
    as_painted = Check("its bytes are as painted", path.read_bytes() == file.content, True)
    return Proof(file.proof.reader, (*file.proof.checks, as_painted)) if file.proof else Proof("itself", (as_painted,))
