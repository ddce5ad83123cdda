"""From a nut and a natural piece to the answer, and to its files: made, read back, written as one set."""

import hashlib
import json
from collections.abc import Generator
from contextlib import closing
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from nutgen import __version__
from nutgen.documents.paint.papers import paper_size
from nutgen.documents.words import sentence
from nutgen.documents.words.quantities import Units
from nutgen.errors import CannotBeMade
from nutgen.findings import Finding, Value, assumption, refusal
from nutgen.formats.stamp import Stamp
from nutgen.jobs.beside import beside
from nutgen.jobs.job import Job
from nutgen.jobs.proof import Check, Proof, settle
from nutgen.jobs.provers import page_file, pdf_file, proof_of, svg_file
from nutgen.jobs.record import digest, plain
from nutgen.jobs.whole import staged
from nutgen.nut import Nut
from nutgen.spec.piece import PieceSpec
from nutgen.spec.read import piece_hash, spec_hash
from nutgen.spec.tables import Spec
from nutgen.stock.block import Block
from nutgen.stock.cut.cuts import CutPlan, cut_plan
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece
from nutgen.stock.verdict import verdict

PLAN = ("stock.pdf", "stock.svg", "blank.stl", "piece.stl", "core.stl")
"""What only a yes writes: nobody may find the plan of an earlier yes beside a no."""

RECORD = "stock.json"

SHOWN = ("stock.html", *PLAN, RECORD)
"""The files in the order in which people want them."""


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
    from nutgen.stock.permit import permitted
    from nutgen.stock.sizing import block_of, if_more_were_permitted

    allowed = permitted(piece_spec)
    block = block_of(nut, piece_spec.material, allowed)
    piece, notes = _piece(piece_spec)
    answer = lay(piece, block, count=count, instead=if_more_were_permitted(nut, piece_spec.material, allowed))
    if piece.length < block.finished[0]:
        raise CannotBeMade([_too_short(piece, block, answer)])
    answer = replace(answer, notes=(*notes, *answer.notes))
    try:
        plan = cut_plan(piece, answer) if answer.fits else None
    except CannotBeMade as error:
        (why,) = error.findings
        raise CannotBeMade([refusal("cut.not-sawn", nuts=count, margin=answer.margin, why=why)]) from error
    return Judged(spec, piece_hash(piece_spec), piece, answer, plan, count)


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


@dataclass(frozen=True, slots=True)
class Written:
    """Files on the disk, what stock.json says, and the files of an earlier answer that were taken away."""

    folder: Path
    files: tuple[tuple[str, int], ...]
    record: dict[str, Any]
    taken_away: tuple[str, ...]


def write(judged: Judged, *, paper: str, folder: Path, units: Units = "mm") -> Written:
    """Make the files of an answer, read each one back and write them as one set.

    A no writes the page and the record alone, and takes away what an earlier yes left in the folder.

    units  : of the reader
    raises : CannotBeMade where a file does not read back as it was made; OSError where the folder
             cannot be written; nothing is then left half-done
    """
    files: dict[str, bytes] = {}
    proofs: list[Proof] = []
    with staged(folder) as stage, closing(_jobs(judged, paper, units)) as jobs:
        for job in jobs:
            files |= job.files
            proofs += [proof_of(job.provers[name], name, stage.add(name, data)) for name, data in job.files.items()]
        record = judged.record
        record["files"] = {name: digest(content) for name, content in sorted(files.items())}
        record["proof"] = plain(settle(proofs))
        content = (json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
        written = stage.add(RECORD, content)
        settle([Proof(RECORD, "json", (Check("reads back", json.loads(written.read_bytes()) == record, True),))])
        stale = tuple(name for name in PLAN if name not in files and (folder / name).is_file())
        for name in stale:
            (folder / name).unlink()
    files[RECORD] = content
    return Written(folder, tuple((name, len(files[name])) for name in SHOWN if name in files), record, stale)


def _jobs(judged: Judged, paper: str, units: Units) -> Generator[Job, None, None]:
    """The files, and what each must say when it is read back; the pages are drawn beside the rest."""
    if judged.plan is None:
        yield _page_job(judged, units)
        return
    with beside(partial(_drawn, judged, paper, units)) as drawn:
        yield _page_job(judged, units)
        yield _solids_job(judged)
        provers = {
            "stock.pdf": pdf_file(paper_size(paper)),
            "stock.svg": svg_file(paper_size(paper)[0], {"bar-50-mm": 50.0}),
        }
        yield Job(drawn(), provers)


def _page_job(judged: Judged, units: Units) -> Job:
    """The page to look at."""
    from nutgen.documents.piece_page.html import stock_html

    stamp, answer = judged.stamp, judged.answer
    content = stock_html(judged.piece, answer, stamp, judged.plan, nut_title=judged.spec.title, units=units)
    said = sentence(verdict(answer), units)
    return Job({"stock.html": content}, {"stock.html": page_file([stamp.spec_hash, said])})


def _solids_job(judged: Judged) -> Job:
    """The piece and the blocks in their places."""
    from nutgen.documents.piece_page.stl import stock_solids
    from nutgen.formats.stl_reader import solid_file

    solids = stock_solids(judged.piece, judged.answer, judged.stamp)
    provers = {
        name: solid_file(one.size, one.volume, lowest=one.lowest, bodies=one.bodies, step=one.step)
        for name, one in solids.items()
    }
    return Job({name: one.content for name, one in solids.items()}, provers)


def _drawn(judged: Judged, paper: str, units: Units) -> dict[str, bytes]:
    """The cut plan on paper."""
    from nutgen.documents.cut_plan.pages import cut_plan_pdf, cut_plan_svg

    given = judged.piece, judged.answer, judged.stamp
    title = judged.spec.title
    return {
        "stock.pdf": cut_plan_pdf(*given, nut_title=title, paper=paper, units=units),
        "stock.svg": cut_plan_svg(*given, nut_title=title, paper=paper, units=units),
    }
