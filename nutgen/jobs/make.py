"""From a solved nut to a set of files: what each purpose wants, made, read back and written whole."""

import json
from collections.abc import Callable, Collection, Generator, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, Literal

from nutgen.documents.paint.papers import paper_size
from nutgen.documents.screen import Screen
from nutgen.documents.words import said
from nutgen.errors import CannotBeMade
from nutgen.findings import Finding
from nutgen.formats.stamp import Stamp
from nutgen.jobs.beside import beside
from nutgen.jobs.job import Job
from nutgen.jobs.proof import Check, Proof, settle
from nutgen.jobs.provers import drawing_file, mesh_file, pdf_file, png_file, proof_of, step_file, svg_file
from nutgen.jobs.record import digest, nut_record, plain
from nutgen.jobs.whole import staged
from nutgen.nut import Nut
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec

Purpose = Literal["trace", "print", "mill", "wall"]
PURPOSES: tuple[Purpose, ...] = ("trace", "print", "mill", "wall")

PAGES = ("template.pdf", "template.svg")


@dataclass(frozen=True, slots=True)
class Made:
    """A set of files on the disk, what nut.json says of them, and what a maker needs to know to use them."""

    folder: Path
    files: tuple[tuple[str, int], ...]
    record: dict[str, Any]
    findings: tuple[Finding | str, ...]
    reports: tuple[Callable[[Screen], None], ...] = ()


def make(
    spec: Spec,
    nut: Nut,
    *,
    purposes: Collection[Purpose],
    paper: str,
    folder: Path,
    asked: Collection[Purpose] = PURPOSES,
) -> Made:
    """Make every file that the purposes want, read each one back and write them as one set.

    asked  : purposes that must succeed; where another one cannot be made, its files are left out
             and a warning says why
    raises : CannotBeMade with every reason, a file that does not read back as solved among them;
             OSError where the folder cannot be written; nothing is then left half-done
    """
    stamp = Stamp(spec.title, spec_hash(spec))
    jobs: list[Job] = []
    proofs: list[Proof] = []
    with staged(folder) as stage, closing(_jobs(spec, nut, stamp, purposes, asked, paper)) as done:
        for job in done:
            jobs.append(job)
            proofs += [proof_of(job.provers[name], name, stage.add(name, data)) for name, data in job.files.items()]
        record = nut_record(spec, nut, volume=next((job.volume for job in jobs if job.volume is not None), None))
        files = {name: content for job in jobs for name, content in job.files.items()}
        record |= {key: value for job in jobs for key, value in job.record.items()}
        findings: tuple[Finding | str, ...] = (*nut.findings, *(found for job in jobs for found in job.warnings))
        record["findings"] = plain(findings)
        record["files"] = {name: digest(content) for name, content in sorted(files.items())}
        record["proof"] = settle(proofs)
        files["nut.json"] = (json.dumps(plain(record), indent=1, ensure_ascii=False) + "\n").encode()
        written = stage.add("nut.json", files["nut.json"])
        settle([Proof("nut.json", "json", (Check("reads back", json.loads(written.read_bytes()) is not None, True),))])
    reports = tuple(job.report for job in jobs if job.report is not None)
    return Made(folder, tuple((name, len(content)) for name, content in files.items()), record, findings, reports)


def _jobs(
    spec: Spec, nut: Nut, stamp: Stamp, purposes: Collection[Purpose], asked: Collection[Purpose], paper: str
) -> Generator[Job, None, None]:
    """The jobs of all purposes, each as soon as it is done; one that is left out has a warning and no files.

    What is only drawn, on paper and for the wall, is made beside the solid; the picture beside the rest.
    """
    wanted = set(purposes)
    if wanted & {"trace", "mill"}:
        from nutgen.model.drawing import draw

        draw(nut)  # kept, so that what goes on beside need not draw it again
    with ExitStack() as going:
        drawn = going.enter_context(beside(partial(_drawn, spec, nut, stamp, paper, wanted)))
        part = None
        if wanted & {"print", "mill", "wall"}:
            part = _Part.of(nut, stamp, mesh_too="print" in wanted)
            picture = going.enter_context(beside(partial(_picture, part.mesh, stamp)))
            yield part.job
        if part and "print" in wanted:
            yield _done_or_told(partial(_print, spec, nut, stamp), "print", asked)
        if part and "mill" in wanted:
            yield _done_or_told(partial(_mill, spec, nut, stamp, part), "mill", asked)
        if wanted & {"trace", "mill"}:
            yield _drawing_job(nut, stamp)
        if "trace" in wanted:
            yield _pages_job(nut, paper, {name: drawn()[name] for name in PAGES})
        if part:
            yield _picture_job(picture())
        if part and "wall" in wanted:
            yield _done_or_told(partial(_wall, spec, nut, stamp, part, paper, picture(), drawn), "wall", asked)


def _done_or_told(run: Callable[[], Job], purpose: Purpose, asked: Collection[Purpose]) -> Job:
    """A job that may be left out with a warning where it was not asked for by name."""
    try:
        return run()
    except CannotBeMade as error:
        if purpose in asked:
            raise
        return Job(
            {}, {}, warnings=tuple(f"the files to {purpose} were left out: {said(why)}" for why in error.findings)
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """The rough part in the nut's own frame."""

    solid: Any
    mesh: Any
    volume: float
    front: float
    job: Job

    @classmethod
    def of(cls, nut: Nut, stamp: Stamp, *, mesh_too: bool) -> "_Part":
        """Solid and, to print, the mesh as a file."""
        from nutgen.formats.step import step_bytes
        from nutgen.formats.stl import stl_bytes
        from nutgen.geometry import kernel
        from nutgen.model.mesh import mesh_of
        from nutgen.model.solid import nut_solid

        rough = nut.rough()
        with _made_or_told():
            solid = nut_solid(rough)
            mesh = mesh_of(solid)
        volume = kernel.volume(solid)
        half, front = rough.half_length, float(mesh.vertices[:, 1].min())
        low = (-half, front, rough.lowest_z)
        size = (rough.length, rough.thickness - front, float(mesh.vertices[:, 2].max()) - rough.lowest_z)
        files = {"nut.step": step_bytes(solid, stamp)}
        provers = {"nut.step": step_file(low, (half, rough.thickness, None), volume)}
        if mesh_too:
            files["nut.stl"] = stl_bytes(mesh, stamp)
            provers["nut.stl"] = mesh_file(size, volume, lowest=low)
        return cls(solid, mesh, volume, front, Job(files, provers, volume=volume))


@contextmanager
def _made_or_told() -> Iterator[None]:
    """A failure of the kernel is a nut that cannot be made."""
    from nutgen.geometry.kernel import KernelError

    try:
        yield
    except KernelError as error:
        raise CannotBeMade([str(error)]) from error


def _print(spec: Spec, nut: Nut, stamp: Stamp) -> Job:
    from nutgen.jobs.print import print_job

    with _made_or_told():
        job = print_job(spec, nut, stamp)
    return replace(job, record={"print": job.record})


def _mill(spec: Spec, nut: Nut, stamp: Stamp, part: _Part) -> Job:
    from nutgen.jobs.mill import mill_job

    with _made_or_told():
        job = mill_job(spec, nut, stamp, part.solid, part.job.files["nut.step"], volume=part.volume, front=part.front)
    return replace(job, record={"mill": job.record})


def _wall(
    spec: Spec,
    nut: Nut,
    stamp: Stamp,
    part: _Part,
    paper: str,
    picture: bytes,
    drawn: Callable[[], dict[str, bytes]],
) -> Job:
    from nutgen.jobs.wall import wall_job

    files = {name: content for name, content in drawn().items() if name not in PAGES}
    return wall_job(spec, nut, stamp, page=paper_size(paper), mesh=part.mesh, picture=picture, drawn=files)


def _picture(mesh: Any, stamp: Stamp) -> bytes:
    from nutgen.formats.picture import png_bytes

    return png_bytes(mesh, stamp)


def _picture_job(picture: bytes) -> Job:
    from nutgen.formats.picture import HEIGHT, WIDTH

    return Job({"nut.png": picture}, {"nut.png": png_file((WIDTH, HEIGHT))})


def _drawn(spec: Spec, nut: Nut, stamp: Stamp, paper: str, wanted: Collection[Purpose]) -> dict[str, bytes]:
    """What is drawn from numbers alone: the template as pages, the sheet on paper, the pictures of the setup."""
    files = {}
    if "trace" in wanted:
        from nutgen.documents.template.template import template_pdf, template_svg

        files["template.pdf"] = template_pdf(nut, stamp, paper=paper, units=spec.units)
        files["template.svg"] = template_svg(nut, stamp, paper=paper, units=spec.units)
    if "wall" in wanted:
        from nutgen.jobs.wall import drawn_files

        files |= drawn_files(spec, nut, stamp, paper=paper)
    return files


def _drawing_job(nut: Nut, stamp: Stamp) -> Job:
    """The template of the final nut as a drawing file."""
    from nutgen.formats.dxf import template_dxf
    from nutgen.model.drawing import LAYERS

    layers = [layer.name for layer in LAYERS]
    prover = drawing_file(layers, "front-outline", across=nut.length)
    return Job({"template.dxf": template_dxf(nut, stamp)}, {"template.dxf": prover})


def _pages_job(nut: Nut, paper: str, files: dict[str, bytes]) -> Job:
    """The same on paper."""
    page = paper_size(paper)
    bars = {"bar-50-mm": 50.0, "front.front-outline": nut.length}
    return Job(files, {"template.pdf": pdf_file(page), "template.svg": svg_file(page[0], bars)})
