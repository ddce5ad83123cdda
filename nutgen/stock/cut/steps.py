"""The cut plan as instructions for a person at the bench, in order."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from nutgen.bench.materials import MATERIALS
from nutgen.finding import Finding, Value, caution, note, step
from nutgen.stock.block import Face
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan, RipCut, Stretch
from nutgen.stock.cut.rips import OTHER, Rip
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece


def cautions(piece: Piece) -> tuple[Finding, ...]:
    """Of its material and of the saw; common practice, no source; put before every cut plan."""
    raw = ("raw-material",) if piece.material in ("bone", "antler", "horn") else ()
    at_the_saw = (caution(f"caution.{what}") for what in (*raw, "round-pieces", "short-pieces"))
    return MATERIALS[piece.material].in_short, *at_the_saw, caution("caution.machines", stick=STICK, over=ROUGHED)


def in_short(piece: Piece) -> tuple[Finding, ...]:
    """The same where there is little room."""
    return MATERIALS[piece.material].in_short, caution("caution.sawing-in-short")


ROUGHED = 0.5
"""A machine leaves this much on a blank that is glued to a stick [mm]. Common practice, no source."""

STICK = 100.0
"""Length of the stick that a stub is glued to, at least [mm]. Common practice, no source."""

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
    ]
    begun: set[int] = set()
    for stretch in plan.stretches if plan.begins == "first" else plan.stretches[::-1]:
        found += _stretch(plan, stretch, begun)
    length, thickness, height = answer.block.size
    sizes = {"length": length, "thickness": thickness, "height": height}
    return (*found, _instruction("cut.measure", blocks=len(answer.laid), **sizes))


def ends_and_lines(piece: Piece) -> Finding:
    """Which end is the first and which line the back."""
    return note("cut.ends-and-lines", first_end=piece.first_end, back_line=piece.back_line)


def holds(plan: CutPlan) -> tuple[Finding, ...]:
    """What sits in the vise while each stretch is ripped."""
    return tuple(
        note(
            f"cut.held-by-{stretch.held}",
            length=stretch.handle,
            end=OTHER[plan.begins],
            stick=STICK,
            **_which(plan, stretch),
        )
        for stretch in plan.stretches
    )


def _which(plan: CutPlan, stretch: Stretch) -> dict[str, Value]:
    return {"stretch": stretch.number, "nuts": stretch.nuts, "several": len(plan.stretches) > 1}


def _stretch(plan: CutPlan, stretch: Stretch, begun: set[int]) -> Iterator[Instruction]:
    """How one stretch becomes blanks.

    begun : numbers of the cross cuts that are made; those made here are added
    """
    which = _which(plan, stretch)
    near, far = (stretch.face, stretch.foot) if stretch.held == "piece" else (stretch.foot, stretch.face)
    if near.number not in begun:
        yield _cross(plan, near)
    if stretch.held == "stick":
        yield _instruction("cut.stick", end=OTHER[stretch.start], stick=STICK, **which)
        yield _cross(plan, far)
    begun |= {near.number, far.number}
    hold = {"held": stretch.held, "length": stretch.handle, "stick": STICK, "foot": far.number, "end": stretch.start}
    yield _instruction("cut.hold", **hold, **which)
    yield from (_rip(cut, plan, stretch) for cut in stretch.cuts if cut.rip.held == "piece")
    if stretch.held == "piece":
        yield _instruction("cut.free", cut=far.number, ends=ends_of(plan, far), **_sizes(plan, far))
    yield from (_rip(cut, plan, stretch) for cut in stretch.cuts if cut.rip.held == "stick")
    if any(cut.rip.held == "stick" for cut in stretch.cuts):
        yield _instruction("cut.off-the-stick")
    yield from (_rip(cut, plan, stretch) for cut in stretch.cuts if cut.rip.held is None)


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
    return _instruction("cut.cross", cut=cut.number, ends=ends, toward=cut.toward, **_sizes(plan, cut))


def _sizes(plan: CutPlan, cut: CrossCut) -> dict[str, float]:
    return {"kerf": plan.kerf, "depth": cut.depth, "area_mm2": cut.area}


def _rip(cut: RipCut, plan: CutPlan, stretch: Stretch) -> Instruction:
    rip = cut.rip
    which: dict[str, Value] = {
        "cut": rip.number,
        "side": rip.side,
        "nut": rip.nut,
        "several": len(plan.blocks) > 1,
        "over": rip.over,
        "parts": rip.parts,
        "to_mark": rip.length or 0.0,
        "foot": stretch.foot.number if rip.held == "piece" else 0,
        "runs_out": _runs_out(cut, plan),
    }
    if rip.by == "sanding":
        return _instruction("cut.rip-sanded", **which)
    return _instruction(
        "cut.rip", **which, about=_about(rip), depth=max(cut.depths), length=cut.length, area_mm2=cut.area
    )


def _runs_out(cut: RipCut, plan: CutPlan) -> tuple[Finding, ...]:
    """Where the line starts or ends on the skin instead of on an end face."""
    piece_ends = plan.along.along[[0, -1]]
    return tuple(
        note("cut.runs-out", end=end, at=at, at_end=bool(np.abs(piece_ends - at).min() < 0.1))
        for entry, at, end in zip(cut.entries or (), cut.reach, ("first", "last"), strict=False)
        if entry is None
    )


def _about(rip: Rip) -> tuple[Finding, ...]:
    """What a cut does beside making its face."""
    parts = (note("cut.parts-nuts", nuts=rip.parts),) if rip.parts else ()
    return parts or ((note("cut.opens-core"),) if rip.opens else ())


def along_skin_matters(plan: CutPlan) -> bool:
    """Whether a rule that follows the skin would mark a cut in another place than a straight one."""
    return any(
        cut.along_skin is not None and bool(np.abs(np.subtract(cut.along_skin, cut.marks)).max() >= SURE)
        for cut in plan.order
    )
