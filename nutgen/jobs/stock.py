"""From a nut and a natural piece to the answer, and to its files: made, read back, written as one set."""

import hashlib
from collections.abc import Generator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from nutgen import __version__
from nutgen.documents.paint.look import paper_size
from nutgen.documents.words.quantities import Units
from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, Value, assumption, note, refusal
from nutgen.formats.stamp import Stamp
from nutgen.geometry.mesh import Mesh, bodies_of
from nutgen.geometry.pose import Pose
from nutgen.jobs.provers import mesh_file, pages_proof
from nutgen.jobs.record import plain
from nutgen.jobs.run import File, Job, Made, Plan, run
from nutgen.nut import Nut
from nutgen.spec.piece import PieceSpec
from nutgen.spec.read import piece_hash, spec_hash
from nutgen.spec.tables import Spec
from nutgen.stock.block import Block
from nutgen.stock.cut.cuts import CutPlan, cut_plan
from nutgen.stock.laid import ERROR, Answer
from nutgen.stock.piece import Piece

PLAN = ("stock.pdf", "stock.svg", "blank.stl", "piece.stl", "core.stl")
"""What only a yes writes: nobody may find the plan of an earlier yes beside a no."""

RECORD = "stock.json"

WALLS = (3.0, 4.0, 5.0)
"""Of bone and antler, that are tried where none was measured [mm]. Common practice, no source."""

COARSEST = 0.02
"""Between neighbouring numbers of single precision, at most: a scan farther out would lose its shape [mm]."""


@dataclass(frozen=True, slots=True)
class Judged:
    """The answer for a nut and a piece.

    piece_hash : of the piece file, and of its meshes as they were read
    plan       : the saw cuts; None where the answer is no
    """

    spec: Spec
    piece_hash: str
    piece: Piece
    answer: Answer
    plan: CutPlan | None
    count: int

    @property
    def stamp(self) -> Stamp:
        """The job and the values it came from: nut, piece and how many were asked for."""
        both = f"{spec_hash(self.spec)} {self.piece_hash} {self.count}"
        values = hashlib.sha256(both.encode()).hexdigest()[:12]
        return Stamp(f"{self.spec.title}, from: {self.piece.title}", values)

    @property
    def record(self) -> dict[str, Any]:
        """Every number of the answer, for JSON."""
        from nutgen.stock.cut.record import answer_record

        return plain(
            {
                "units": "mm",
                "title": self.stamp.title,
                "hash": self.stamp.spec_hash,
                "version": __version__,
                "instrument": {"title": self.spec.title, "hash": spec_hash(self.spec)},
                "piece_file": {"title": self.piece.title, "hash": self.piece_hash},
                **answer_record(self.piece, self.answer, self.plan, count=self.count),
            }
        )


def judge(spec: Spec, nut: Nut, piece_spec: PieceSpec, *, count: int) -> Judged:
    """Lay the blanks of a nut in a piece.

    count  : of nuts from the one piece
    raises : SpecFaults where a scan cannot be used; CannotBeMade where the wane asks for more than the
             nut has to give, where the piece is shorter than the nut, or where blocks that fit cannot be
             sawn apart
    """
    from nutgen.stock.lay.lay import lay
    from nutgen.stock.sizing import block_of, if_more_were_permitted

    permit = piece_spec.permit
    block = block_of(nut, piece_spec.material, permit)
    piece, notes = _piece(piece_spec)
    instead = if_more_were_permitted(nut, piece_spec.material, permit)
    if piece_spec.inside_known:
        answer = lay(piece, block, count=count, instead=instead)
    else:
        piece, answer = _with_some_walls(piece, block, count)
    if piece.length < block.finished[0]:
        raise CannotBeMade([_too_short(piece, block, answer)])
    answer = replace(answer, notes=(*notes, *answer.notes))
    try:
        plan = cut_plan(piece, answer) if answer.fits else None
    except CannotBeMade as error:
        (why,) = error.findings
        raise CannotBeMade([refusal("cut.not-sawn", nuts=count, margin=answer.margin, why=why)]) from error
    return Judged(spec, piece_hash(piece_spec), piece, answer, plan, count)


def _with_some_walls(piece: Piece, block: Block, count: int) -> tuple[Piece, Answer]:
    """Where nobody has looked inside: the piece with the middle one of some walls, and what each of them would give."""
    from nutgen.stock.lay.lay import lay
    from nutgen.stock.scan.wall import caps_of, core_behind_wall

    caps, _ = caps_of(piece.skin, length=piece.length, ends=piece.ends)
    walled = [replace(piece, core=core_behind_wall(piece.skin, wall, caps)[0]) for wall in WALLS]
    answers = [lay(one, block, count=count, smaller=False) for one in walled]
    told = [refusal("piece.wall-unmeasured", material=piece.material)]
    for wall, answer in zip(WALLS, answers, strict=True):
        told.append(note("piece.if-wall", wall=wall, margin=answer.margin, missing=answer.missing, least=ERROR))
    return walled[1], replace(answers[1], unseen=tuple(told), notes=())


def _too_short(piece: Piece, block: Block, answer: Answer) -> Finding:
    """What is wrong with a piece that is shorter than the nut, and what it would do for."""
    values: dict[str, Value] = {"length": piece.length, "nut": block.finished[0], "sawn": block.length}
    for one in answer.largest:
        if one.name == "shorter":
            values["longest"] = one.finished[0]
    return refusal("piece.shorter-than-nut", **values)


def _piece(spec: PieceSpec) -> tuple[Piece, tuple[Finding, ...]]:
    """The piece, and what was mended or assumed when it was read."""
    if spec.scan is not None:
        from nutgen.stock.scan.piece import piece_from_scan

        return piece_from_scan(spec, spec.folder)
    from nutgen.stock.calipers import piece_from_calipers

    return piece_from_calipers(spec), _walls_assumed(spec)


def _walls_assumed(spec: PieceSpec) -> tuple[Finding, ...]:
    """That walls were measured at some stations only, where that is so."""
    told = tuple(station.at for station in spec.stations if station.core_in_section() is not None)
    return (assumption("piece.walls-assumed", at=told),) if 0 < len(told) < len(spec.stations) else ()


def write(judged: Judged, *, paper: str, folder: Path, units: Units = "mm") -> Made:
    """Make the files of an answer, read each one back and write them as one set.

    A no writes the page and the record alone, and takes away what an earlier yes left in the folder.

    units  : of the reader
    raises : CannotBeMade where a file does not read back as it was made; OSError where the folder
             cannot be written; nothing is then left half-done
    """
    return run(Plan(folder, _jobs(judged, paper, units), lambda _: judged.record, RECORD, elsewise=PLAN))


def _jobs(judged: Judged, paper: str, units: Units) -> Generator[Job, None, None]:
    """The page to look at, the plan to saw by, the solids."""
    from nutgen.documents.piece_page.html import stock_html

    plan = judged.plan
    page = stock_html(judged.piece, judged.answer, judged.stamp, plan, nut_title=judged.spec.title, units=units)
    yield Job((File("stock.html", page),))
    if plan:
        yield _drawn(judged, plan, paper, units)
        yield Job(stock_solids(judged.piece, judged.answer, judged.stamp))


def stock_solids(piece: Piece, answer: Answer, stamp: Stamp) -> tuple[File, ...]:
    """The piece and the blocks in their places, as files that overlay: in the frame of the scan, or of the calipers.

    raises : CannotBeMade where a scan lies so far from its origin that single precision loses its shape
    """
    from nutgen.documents.piece_page.scene import blocks_surface

    surfaces = [("blank.stl", blocks_surface(answer)), ("piece.stl", piece.skin)]
    if piece.core is not None:
        surfaces.append(("core.stl", piece.core))
    return tuple(_solid(name, mesh, piece.to_source, stamp) for name, mesh in surfaces)


def _solid(name: str, surface: Mesh, to_source: Pose, stamp: Stamp) -> File:
    from nutgen.formats.stl import corners_stl

    placed = Mesh(to_source.apply(surface.vertices), surface.triangles)
    low, high = placed.vertices.min(axis=0), placed.vertices.max(axis=0)
    far = float(max(np.abs(low).max(), np.abs(high).max()))
    step = float(np.spacing(np.float32(far)))
    if step > COARSEST:
        raise CannotBeMade([refusal("piece.far-from-origin", away=far, step=step)])
    bodies, _ = bodies_of(placed.edges)  # a closed hollow is a body of its own
    proof = partial(mesh_file, high - low, placed.volume, lowest=low, bodies=bodies, step=step)
    return File(name, corners_stl(placed.corners, stamp), proof)


def _drawn(judged: Judged, plan: CutPlan, paper: str, units: Units) -> Job:
    """The cut plan on paper."""
    from nutgen.documents.cut_plan.pages import cut_plan_pages, cut_plan_svg
    from nutgen.documents.paint.pdf import pages_pdf

    stamp, title = judged.stamp, judged.spec.title
    pages = cut_plan_pages(judged.piece, judged.answer, plan, stamp, nut_title=title, paper=paper, units=units)
    proof = pages_proof(pages, paper_size(paper), across={"bar-50-mm": 50.0})
    pdf, svg = pages_pdf(pages, stamp), cut_plan_svg(pages, stamp)
    return Job((File("stock.pdf", pdf, proof), File("stock.svg", svg, proof)))
