"""The jigs of a nut as files."""

from collections.abc import Collection, Generator, Iterator, Sequence
from pathlib import Path
from typing import Any

from nutgen.bench.materials import MATERIALS
from nutgen.documents.jigs.blocks import CAUTIONS, jig_blocks
from nutgen.documents.paint.flow import flow, flow_pdf, room_of
from nutgen.formats.stamp import Stamp
from nutgen.jigs.choose import MAKERS, Made, jigs
from nutgen.jigs.jig import JigName
from nutgen.jigs.lay import Laid
from nutgen.jigs.task import Task
from nutgen.jobs.job import File, Job
from nutgen.jobs.provers import mesh_file, step_file, threemf_file
from nutgen.jobs.record import plain
from nutgen.jobs.run import Made as MadeSet
from nutgen.jobs.run import Plan, run
from nutgen.nut import Nut
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec

MARK_LETTERS = 6
"""Of the hash, on every jig."""


def make_jigs(spec: Spec, nut: Nut, *, asked: Collection[JigName], paper: str, folder: Path) -> MadeSet:
    """Write the jigs of a nut, each file read back, as one set; those of an earlier set that are not in it go.

    asked  : by name; all that the nut needs where empty
    raises : CannotBeMade where one that was asked for cannot be made; OSError
    """

    def record(done: Sequence[Job]) -> dict[str, Any]:
        return {"title": spec.title, "hash": spec_hash(spec), **done[-1].record}

    stale = tuple(f"{name}.{kind}" for name in _every_part() for kind in ("step", "stl", "3mf"))
    return run(Plan(folder, _jobs(spec, nut, asked, paper), record, "jigs.json", elsewise=stale))


def _every_part() -> Iterator[str]:
    for name in MAKERS:
        yield from (name, f"{name}-wedge")


def _jobs(spec: Spec, nut: Nut, asked: Collection[JigName], paper: str) -> Generator[Job, None, None]:
    digits = spec_hash(spec)
    task = Task(nut, spec.tools, spec.print, MATERIALS[nut.material], digits[:MARK_LETTERS])
    made, left_out = jigs(task, asked)
    for one in made:
        for laid in one.parts:
            yield Job(tuple(_files(laid, Stamp(f"{spec.title}: {laid.part.name}", digits))))
    report = jig_blocks(task, made, left_out)
    stamp = Stamp(f"{spec.title}: jigs", digits)
    pages = flow_pdf(list(flow(report, room_of(paper), spec.units)), stamp, paper=paper)
    yield Job((File("jigs.pdf", pages),), _record(made, left_out), report=report)


def _files(laid: Laid, stamp: Stamp) -> Iterator[File]:
    from nutgen.formats.step import step_bytes
    from nutgen.formats.stl import stl_bytes
    from nutgen.formats.threemf import threemf_bytes

    name, corner = laid.part.name, (0.0, 0.0, 0.0)
    yield File(f"{name}.step", step_bytes(laid.solid, stamp), step_file(corner, laid.size, laid.volume))
    yield File(f"{name}.stl", stl_bytes(laid.mesh, stamp), mesh_file(laid.size, laid.volume, lowest=corner))
    yield File(
        f"{name}.3mf", threemf_bytes(laid.mesh, stamp, name=name), threemf_file(laid.size, laid.volume, named=name)
    )


def _record(made: Sequence[Made], left_out: Sequence[Any]) -> dict[str, Any]:
    return {
        "jigs": [
            {
                "jig": one.jig.name,
                "stages": one.jig.stages,
                "parts": [
                    {
                        "name": laid.part.name,
                        "size": laid.size,
                        "volume": laid.volume,
                        "grams": laid.amount.grams,
                        "filament": laid.amount.filament,
                        "minutes": laid.amount.minutes,
                        "in_nut": {"rotation": laid.part.used.rotation, "origin": laid.part.used.origin},
                    }
                    for laid in one.parts
                ],
                "steps": [plain(found) for found in one.jig.steps],
                "holds": [plain(found) for found in one.jig.promise],
                "check": one.jig.check.size if one.jig.check else None,
                "told": [plain(found) for found in one.jig.told],
            }
            for one in made
        ],
        "left_out": [plain(found) for found in left_out],
        "cautions": [plain(found) for found in CAUTIONS],
    }
