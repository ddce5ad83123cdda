"""The answer as plain values for JSON: stable keys, mm, in the frame of the calipers or of the scan."""

from typing import Any

from nutgen.stock.block import Block
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan, RipCut, Stretch
from nutgen.stock.cut.steps import STICK, cautions, holds, instructions
from nutgen.stock.cut.turns import LINES
from nutgen.stock.laid import Answer, Laid
from nutgen.stock.piece import Piece
from nutgen.stock.verdict import reasons, verdict


def answer_record(piece: Piece, answer: Answer, plan: CutPlan | None, *, count: int) -> dict[str, Any]:
    """Everything the answer says.

    plan    : None where the answer is no
    count   : of nuts asked for
    returns : values for `jobs.record.plain`; lengths in mm; `axes` and `to_source` say in which frame
    """
    sawn = _of(answer.block, "squared", "finished", "to_square", "to_sand")
    return {
        "fits": answer.fits,
        "answer": verdict(answer),
        "reasons": reasons(answer),
        "count": count,
        "margin": answer.margin,
        "skin_margin": min((laid.skin_margin for laid in answer.laid), default=None),
        "core_margin": min((laid.core_margin for laid in answer.laid if laid.core_margin is not None), default=None),
        **_of(answer, "short", "unseen", "largest"),
        "piece": {
            **_of(piece, "material", "found_by", "length", "ends", "first_end", "back_line"),
            "to_source": piece.to_source.matrix,
        },
        "permitted": dict(piece.permitted),
        "block": {"size": answer.block.size, **sawn},
        "laid": [_laid_record(piece, answer, plan, number) for number in range(1, len(answer.laid) + 1)],
        "cuts": None if plan is None else plan_record(piece, answer, plan),
        "notes": answer.notes,
        "profile": [{"along": along, "margin": margin} for along, margin in answer.profile.tolist()],
    }


def _laid_record(piece: Piece, answer: Answer, plan: CutPlan | None, number: int) -> dict[str, Any]:
    """Where one block lies, in the frame of the source: its matrix takes the block's own frame there.

    What is sawn for it is the plan's own number, where there is a plan.
    """
    laid = answer.laid[number - 1]
    pose = piece.to_source.compose(laid.pose)
    return {
        "number": number,
        "size": answer.block.size,
        "centre": pose.origin,
        "length_axis": pose.rotation[0],
        "thickness_axis": pose.rotation[1],
        "height_axis": pose.rotation[2],
        "to_source": pose.matrix,
        "along": laid.pose.origin[0],
        **_of(laid, "margin", "skin_margin", "core_margin", "tightest"),
        "tightest_at": piece.to_source.apply(laid.tightest_at),
        **_of(laid, "grain_deg", "waste"),
        "saw_area": laid.saw_area if plan is None else plan.saw_area_of(number),
    }


def plan_record(piece: Piece, answer: Answer, plan: CutPlan) -> dict[str, Any]:
    """The plan for a program: all lengths in mm, distances from the plane of the first end."""
    return {
        "kerf": plan.kerf,
        "begins_at": f"{plan.begins} end",
        "held_by": holds(plan),
        "saw_area": plan.saw_area,
        "cross_cuts": [_cross_record(cut) for cut in plan.order],
        "stretches": [_stretch_record(stretch) for stretch in plan.stretches],
        "to_square": answer.block.to_square,
        "to_sand": answer.block.to_sand,
        "steps": instructions(piece, answer, plan),
        "cautions": cautions(piece),
    }


def _cross_record(cut: CrossCut) -> dict[str, Any]:
    return {
        "cut": cut.number,
        "by": cut.by,
        "marks": dict(zip(LINES, cut.marks, strict=True)),
        "along_skin": None if cut.along_skin is None else dict(zip(LINES, cut.along_skin, strict=True)),
        "waste_toward": f"{cut.toward} end",
        **_of(cut, "depth", "area", "girth"),
    }


def _stretch_record(stretch: Stretch) -> dict[str, Any]:
    return {
        "stretch": stretch.number,
        "nuts": stretch.nuts,
        "first_cut": stretch.first.number,
        "last_cut": stretch.last.number,
        "rips_start_at": f"{stretch.start} end",
        "held_by": stretch.held,
        "held_length": stretch.handle if stretch.held == "piece" else STICK,
        "rip_cuts": [_rip_record(cut) for cut in stretch.cuts],
    }


def _rip_record(cut: RipCut) -> dict[str, Any]:
    ends = None if cut.entries is None else dict(zip(("first", "last"), cut.entries, strict=True))
    return {
        "cut": cut.rip.number,
        "nut": cut.rip.nut,
        "face": cut.rip.side,
        "by": cut.rip.by,
        "from_back_mark_to_the_left": ends,
        "reach": cut.reach,
        "held_by": cut.rip.held,
        "stands_over": cut.rip.over,
        "from_other_end": cut.rip.length,
        **_of(cut, "depths", "length", "area"),
    }


def _of(one: Answer | Block | Piece | Laid | CrossCut | RipCut, *names: str) -> dict[str, Any]:
    """What it calls so itself."""
    return {name: getattr(one, name) for name in names}
