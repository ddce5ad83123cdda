"""From a solved nut to a set of files: what each purpose wants, as one plan."""

from collections.abc import Callable, Collection, Generator, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from nutgen.bench.materials import MATERIALS
from nutgen.documents.paint.look import paper_size
from nutgen.documents.words import sentence
from nutgen.errors import CannotBeMade
from nutgen.finding import warning
from nutgen.formats.stamp import Stamp
from nutgen.jobs.beside import beside
from nutgen.jobs.provers import drawing_file, mesh_file, pages_proof, step_file
from nutgen.jobs.record import nut_record, plain
from nutgen.jobs.run import File, Job, Made, Plan, run
from nutgen.nut import Nut
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec

if TYPE_CHECKING:
    from nutgen.documents.sheet.sheet import Sheet

Purpose = Literal["trace", "print", "mill", "wall"]
PURPOSES: tuple[Purpose, ...] = ("trace", "print", "mill", "wall")


@dataclass(frozen=True, slots=True)
class Order:
    """A nut to make files of, and where.

    asked : purposes that must succeed; where another one cannot be made, its files are left out
            and a warning says why
    """

    spec: Spec
    nut: Nut
    folder: Path
    asked: Collection[Purpose] = PURPOSES

    @property
    def stamp(self) -> Stamp:
        """What its files say of themselves."""
        return Stamp(self.spec.title, spec_hash(self.spec), sentence(MATERIALS[self.nut.material].in_short))


def make(orders: Sequence[Order], *, purposes: Collection[Purpose], paper: str) -> Iterator[Made]:
    """Make every file that the purposes want, nut by nut; read each one back and write those of a nut as one set.

    What is only drawn, on paper and for the wall, is made beside the solids, for one nut after the other.

    raises : CannotBeMade with every reason, a file that does not read back as solved among them;
             OSError where the folder cannot be written; nothing of that nut is then left half-done
    """
    wanted = set(purposes)
    with beside([partial(_drawn, order, wanted, paper) for order in orders]) as drawn:
        for order in orders:
            yield run(Plan(order.folder, _jobs(order, wanted, drawn), partial(_record, order), "nut.json"))


def _record(order: Order, jobs: Sequence[Job]) -> dict[str, Any]:
    of_jobs = {key: value for job in jobs for key, value in job.record.items()}
    record = nut_record(order.spec, order.nut, volume=of_jobs.pop("volume", None)) | of_jobs
    record["findings"] += [plain(found) for job in jobs for found in job.warnings]
    return record


def _jobs(order: Order, wanted: set[Purpose], drawn: Iterator[dict[Purpose, Job]]) -> Generator[Job, None, None]:
    """The jobs of all purposes, each as soon as it is done; one that is left out has a warning and no files.

    The picture is made beside the rest.
    """
    spec, nut, stamp, asked = order.spec, order.nut, order.stamp, order.asked
    with ExitStack() as going:
        if wanted & {"print", "mill", "wall"}:
            part = _Part.of(nut, stamp, mesh_too="print" in wanted)
            pictures = going.enter_context(beside([partial(_picture, order, part.mesh)]))
            yield part.job
            if "print" in wanted:
                from nutgen.jobs.print import print_job

                yield _done_or_told(partial(print_job, spec, nut, stamp), "print", asked)
            if "mill" in wanted:
                from nutgen.jobs.mill import mill_job

                work = partial(mill_job, spec, nut, stamp, part.solid, volume=part.volume, front=part.front)
                yield _done_or_told(work, "mill", asked)
        if wanted & {"trace", "mill"}:
            yield _drawing_job(nut, stamp)
        on_paper = next(drawn)
        if "trace" in wanted:
            yield on_paper["trace"]
        if wanted & {"print", "mill", "wall"}:
            picture = next(pictures)
            yield Job((File("nut.png", picture),))
        if "wall" in wanted:
            yield _done_or_told(partial(_wall, order, part.mesh, picture, on_paper), "wall", asked)


def _done_or_told(work: Callable[[], Job], purpose: Purpose, asked: Collection[Purpose]) -> Job:
    """A job that may be left out with a warning where it was not asked for by name."""
    try:
        return work()
    except CannotBeMade as error:
        if purpose in asked:
            raise
        return Job((), warnings=tuple(warning("files.left-out", purpose=purpose, why=why) for why in error.findings))


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """The part with its allowances on: as a solid, as a mesh, as files.

    front : its foremost plane, y [mm]
    """

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
        solid = nut_solid(rough)
        mesh = mesh_of(solid)
        volume = kernel.volume(solid)
        front = float(mesh.vertices[:, 1].min())
        left, right = rough.reach
        low = (left, front, rough.lowest_z)
        size = (right - left, rough.thickness - front, float(mesh.vertices[:, 2].max()) - rough.lowest_z)
        proof = partial(step_file, low, (right, rough.thickness, None), volume)
        files = [File("nut.step", step_bytes(solid, stamp), proof)]
        if mesh_too:
            files.append(File("nut.stl", stl_bytes(mesh, stamp), partial(mesh_file, size, volume, lowest=low)))
        return cls(solid, mesh, volume, front, Job(tuple(files), {"volume": volume}))


def _wall(order: Order, mesh: Any, picture: bytes, on_paper: dict[Purpose, Job]) -> Job:
    from nutgen.documents.sheet.html import sheet_html

    page = sheet_html(_sheet(order), mesh=mesh, picture=picture)
    return Job((File("sheet.html", page), *on_paper["wall"].files))


def _picture(order: Order, mesh: Any) -> bytes:
    from nutgen.documents.paint.written import written
    from nutgen.documents.texts import extent
    from nutgen.formats.picture import png_bytes

    sizes = extent([float(high - low) for low, high in zip(mesh.vertices.min(0), mesh.vertices.max(0), strict=True)])
    ends = ("bass end", "treble end") if order.nut.strung == "right" else ("treble end", "bass end")
    told = written(sizes, order.spec.units).replace("\N{MULTIPLICATION SIGN}", "x")
    return png_bytes(mesh, order.stamp, sizes=told, ends=ends)


def _drawn(order: Order, wanted: set[Purpose], paper: str) -> dict[Purpose, Job]:
    """What is drawn from numbers alone: the template as pages, the sheet on paper, the pictures of the setup."""
    jobs: dict[Purpose, Job] = {}
    if "trace" in wanted:
        jobs["trace"] = _pages_job(order, paper)
    if "wall" in wanted:
        jobs["wall"] = _done_or_told(partial(_sheet_job, order, paper), "wall", order.asked)
    return jobs


def _sheet_job(order: Order, paper: str) -> Job:
    from nutgen.documents.charts.play import cents_svg, heights_svg
    from nutgen.documents.sheet.pdf import sheet_pdf

    on_paper = File("sheet.pdf", sheet_pdf(_sheet(order), paper=paper))
    charts = {"heights.svg": heights_svg, "cents.svg": cents_svg} if order.spec.lap is None else {}
    drawn = (File(name, chart(order.nut, order.stamp, order.spec.units)) for name, chart in charts.items())
    return Job((on_paper, *drawn))


def _sheet(order: Order) -> "Sheet":
    from nutgen.documents.sheet.sheet import sheet

    return sheet(order.nut, order.spec.tools, order.stamp, order.spec.units)


def _pages_job(order: Order, paper: str) -> Job:
    """The template of the final nut on paper."""
    from nutgen.documents.paint.pdf import pages_pdf
    from nutgen.documents.paint.svg import page_svg
    from nutgen.documents.template.template import neck_page, template_pages

    nut, stamp, units = order.nut, order.stamp, order.spec.units
    pages = template_pages(nut, stamp, paper=paper, units=units)
    contours = [f"{view}.{view}-outline" for view in ("front", "top", "end")]
    across = {"bar-50-mm": 50.0, "front.front-outline": nut.length}
    proof = pages_proof(pages, paper_size(paper), closed=contours, across=across)
    neck = neck_page(nut, stamp, paper=paper, units=units)
    neck_proof = pages_proof([neck], paper_size(paper), closed=["neck.neck-nut"], across={"bar-50-mm": 50.0})
    return Job(
        (
            File("template.pdf", pages_pdf(pages, stamp), proof),
            File("template.svg", page_svg(pages[0], stamp), proof),
            File("neck.svg", page_svg(neck, stamp, about="the nut in its neck"), neck_proof),
        )
    )


def _drawing_job(nut: Nut, stamp: Stamp) -> Job:
    """The same as a drawing file."""
    from nutgen.formats.dxf import template_dxf
    from nutgen.model.drawing import LAYERS

    layers = [layer.name for layer in LAYERS]
    proof = partial(drawing_file, layers, "front-outline", across=nut.length)
    return Job((File("template.dxf", template_dxf(nut, stamp), proof),))
