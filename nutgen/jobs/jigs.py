"""The jigs of a nut as files."""

from collections.abc import Collection, Generator, Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from nutgen.bench.materials import MATERIALS
from nutgen.documents.jigs.blocks import CAUTIONS, jig_blocks
from nutgen.documents.jigs.html import jigs_html
from nutgen.documents.jigs.pdf import jigs_pdf
from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, note, warning
from nutgen.formats.stamp import Stamp
from nutgen.geometry.lines import Chain
from nutgen.jigs.choose import PART_NAMES, Made, jigs
from nutgen.jigs.jig import JigName
from nutgen.jigs.lay import Laid
from nutgen.jigs.task import Task
from nutgen.jobs.print import print_job
from nutgen.jobs.provers import NEAR, drawing_file, step_file
from nutgen.jobs.record import plain
from nutgen.jobs.run import File, Job, Plan, on_the_bed, run
from nutgen.jobs.run import Made as MadeSet
from nutgen.model.print.printing import LEAST_PILOT
from nutgen.nut import Nut
from nutgen.play.heights import only_by_leaves
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec

MARK_LETTERS = 6
"""Of the hash, on every jig."""

TRIAL_OVER = 0.3
"""The floors of a trial nut stay so high, and its top where a slot is shallower [mm]."""

KINDS = ("step", "stl", "3mf")


def make_jigs(spec: Spec, nut: Nut, *, asked: Collection[JigName], paper: str, folder: Path) -> MadeSet:
    """Write the jigs of a nut, each file read back, as one set; those of an earlier set that are not in it go.

    asked  : by name; all that the nut needs where empty
    raises : CannotBeMade where one that was asked for cannot be made; OSError
    """

    def record(done: Sequence[Job]) -> dict[str, Any]:
        return {"title": spec.title, "hash": spec_hash(spec), **done[-1].record}

    stale = (*(f"{name}.{kind}" for name in PART_NAMES for kind in KINDS), "trial.stl", "trial.3mf", "gauges.dxf")
    return run(Plan(folder, _jobs(spec, nut, asked, paper), record, "jigs.json", elsewise=stale))


def _jobs(spec: Spec, nut: Nut, asked: Collection[JigName], paper: str) -> Generator[Job, None, None]:
    digits = spec_hash(spec)
    task = Task(nut, spec.tools, spec.print, MATERIALS[nut.material], spec.errors, digits[:MARK_LETTERS])
    by_name = [name for name in asked if name != "trial"]
    made, left_out = jigs(task, by_name) if by_name or not asked else ((), ())
    first: Finding | None = None
    if not asked or "trial" in asked:
        try:
            yield _trial(spec, nut, digits)
            first = note("jig.trial", floors=TRIAL_OVER)
        except CannotBeMade as error:
            if asked:
                raise
            left_out = (*left_out, *(warning("jig.not-made", jig="trial", why=why) for why in error.findings))
    for one in made:
        for laid in one.parts:
            yield Job(tuple(_files(laid, Stamp(f"{spec.title}: {laid.part.name}", digits))))
        if one.jig.outlines:
            yield Job((_drawing(one.jig.outlines, nut, Stamp(f"{spec.title}: gauges", digits)),))
    report = jig_blocks(task, made, left_out, first)
    stamp = Stamp(f"{spec.title}: jigs", digits)
    pages = jigs_pdf(report, stamp, paper=paper, units=spec.units)
    files = (File("jigs.pdf", pages), File("jigs.html", jigs_html(task, made, stamp)))
    yield Job(files, _record(made, left_out), report=report)


def _trial(spec: Spec, nut: Nut, digits: str) -> Job:
    """The nut to print with its floors high, as the printer takes it."""
    only_by_leaves(spec, "fret plane to measure by a trial nut")
    left = nut.allowances
    top = TRIAL_OVER if min(slot.depth for slot in nut.slots) < TRIAL_OVER + LEAST_PILOT else 0.0
    left = replace(left, floors=max(left.floors, TRIAL_OVER), top=max(left.top, top))
    job = print_job(spec, replace(nut, allowances=left), Stamp(f"{spec.title}: trial nut", digits))
    meshes = [file for file in job.files if not file.name.endswith(".txt")]
    return Job(tuple(replace(file, name=file.name.replace("print", "trial")) for file in meshes), job.record)


def _drawing(outlines: Sequence[Chain], nut: Nut, stamp: Stamp) -> File:
    from nutgen.formats.dxf import outlines_dxf

    proof = partial(drawing_file, [chain.layer for chain in outlines], "gauge-strings", across=nut.length)
    return File("gauges.dxf", outlines_dxf(outlines, stamp), proof)


def _files(laid: Laid, stamp: Stamp) -> Iterator[File]:
    from nutgen.formats.step import step_bytes

    name, corner = laid.part.name, (0.0, 0.0, 0.0)
    places = [vertex.toTuple() for vertex in laid.solid.Vertices()]
    highest = [max(axis) for axis in zip(*places, strict=True)]  # of corners; an arc may rise over them
    told = [high if size - high < NEAR else None for size, high in zip(laid.size, highest, strict=True)]
    yield File(f"{name}.step", step_bytes(laid.solid, stamp), partial(step_file, corner, told, laid.volume))
    yield from on_the_bed(name, laid.mesh, stamp, size=laid.size, volume=laid.volume, named=name)


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
                "check": one.jig.check.size,
                "edge_to_shoe": [{"string": given.string.number, "size": given.shoe} for given in one.jig.settings],
                "told": [plain(found) for found in one.jig.told],
            }
            for one in made
        ],
        "order": [one.jig.name for one in made],
        "left_out": [plain(found) for found in left_out],
        "cautions": [plain(found) for found in CAUTIONS],
    }
