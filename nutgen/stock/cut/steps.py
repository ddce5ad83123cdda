"""The cut plan as instructions for a person at the bench, in order."""

from dataclasses import dataclass

import numpy as np

from nutgen.bench.materials import MATERIALS
from nutgen.finding import Finding, Value, caution, note, step
from nutgen.stock.block import Face
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan, RipCut, Stretch
from nutgen.stock.cut.rips import Rip
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece


def cautions(piece: Piece) -> tuple[Finding, ...]:
    """Of its material and of the saw; common practice, no source; put before every cut plan."""
    raw = ("raw-material",) if piece.material in ("bone", "antler", "horn") else ()
    at_the_saw = (caution(f"caution.{what}") for what in (*raw, "round-pieces", "short-pieces"))
    return MATERIALS[piece.material].in_short, *at_the_saw


def in_short(piece: Piece) -> tuple[Finding, ...]:
    """The same where there is little room."""
    return MATERIALS[piece.material].in_short, caution("caution.sawing-in-short")


SURE = 0.3
"""Between a straight measure and one along the skin, less than this needs no word [mm]."""

FACES: tuple[tuple[Face, str], ...] = (
    ("end", "each end"),
    ("front", "front face"),
    ("back", "back face"),
    ("underside", "underside"),
    ("top", "top"),
)
"""Faces of a block by their names."""


@dataclass(frozen=True, slots=True)
class Instruction:
    """One thing to do: head says what, how the rest."""

    head: Finding
    how: Finding


def _instruction(code: str, **values: Value) -> Instruction:
    return Instruction(step(code, **values), note(f"{code}-how", **values))


def instructions(piece: Piece, answer: Answer, plan: CutPlan) -> tuple[Instruction, ...]:
    """What to do, from the first pencil line to the squared block."""
    along_skin = "cut.marks-along-skin" if along_skin_matters(plan) else "cut.marks-straight"
    found = [
        _instruction("cut.first-end", which=piece.first_end),
        _instruction("cut.lines", which=piece.back_line),
        Instruction(step("cut.marks"), note(along_skin)),
        _instruction("cut.strips"),
        *(_cross(plan, cut) for cut in plan.order),
    ]
    for stretch in plan.stretches:
        found.append(_glue(plan, stretch))
        found += [_rip(cut, plan) for cut in stretch.cuts]
    length, thickness, height = answer.block.size
    sizes = {"length": length, "thickness": thickness, "height": height}
    return (*found, _instruction("cut.measure", blocks=len(answer.laid), **sizes))


def ends_and_lines(piece: Piece) -> Finding:
    """Which end is the first and which line the back."""
    return note("cut.ends-and-lines", first_end=piece.first_end, back_line=piece.back_line)


def ends_of(plan: CutPlan, cut: CrossCut) -> tuple[tuple[int, str], ...]:
    """The ends that a cross cut makes: number of the stretch, and "first" or "last"."""
    return tuple(
        (stretch.number, end)
        for stretch in plan.stretches
        for end, one in (("first", stretch.first), ("last", stretch.last))
        if one.number == cut.number
    )


def _cross(plan: CutPlan, cut: CrossCut) -> Instruction:
    ends = ends_of(plan, cut)
    if cut.by != "saw":
        code = "cut.cross-sanded" if cut.by == "sanding" else "cut.sawn-end"
        return _instruction(code, cut=cut.number, ends=ends)
    toward = "first" if cut.plane.normal[0] < 0.0 else "last"
    sizes = {"kerf": plan.kerf, "depth": cut.depth, "area_mm2": cut.area}
    return _instruction("cut.cross", cut=cut.number, ends=ends, toward=toward, **sizes)


def _glue(plan: CutPlan, stretch: Stretch) -> Instruction:
    return _instruction("cut.end-views", stretch=stretch.number, nuts=stretch.nuts, several=len(plan.blocks) > 1)


def _rip(cut: RipCut, plan: CutPlan) -> Instruction:
    rip = cut.rip
    which: dict[str, Value] = {
        "cut": rip.number,
        "side": rip.side,
        "nut": rip.nut,
        "several": len(plan.blocks) > 1,
        "over": rip.over,
        "to_mark": rip.length or 0.0,
    }
    if rip.by == "sanding":
        return _instruction("cut.rip-sanded", **which)
    return _instruction(
        "cut.rip",
        **which,
        why=_why(rip),
        depth=max(cut.depths),
        length=cut.length,
        area_mm2=cut.area,
        runs_out=_runs_out(cut, plan),
    )


def _runs_out(cut: RipCut, plan: CutPlan) -> tuple[Finding, ...]:
    """Where the line starts or ends on the skin instead of on an end face."""
    piece_ends = plan.along.along[[0, -1]]
    return tuple(
        note("cut.runs-out", end=end, at=at, at_end=bool(np.abs(piece_ends - at).min() < 0.1))
        for entry, at, end in zip(cut.entries or (), cut.reach, ("first", "last"), strict=False)
        if entry is None
    )


def _why(rip: Rip) -> Finding:
    """Why a cut comes where it does, and what the stretch lies on."""
    if rip.parts:
        return note("cut.parts-nuts", nuts=rip.parts)
    if not rip.rests:
        return note("cut.opens-core" if rip.opens else "cut.first-flat")
    return note("cut.rests", rests=rip.rests)


def along_skin_matters(plan: CutPlan) -> bool:
    """Whether a rule that follows the skin would mark a cut in another place than a straight one."""
    return any(
        cut.along_skin is not None and bool(np.abs(np.subtract(cut.along_skin, cut.marks)).max() >= SURE)
        for cut in plan.order
    )
