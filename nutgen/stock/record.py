"""The answer as plain values for JSON: stable keys, mm, in the frame of the calipers or of the scan."""

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nutgen.stock.block import Block
from nutgen.stock.cut.cuts import CutPlan
from nutgen.stock.cut.words import plan_record
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece
from nutgen.stock.verdict import headline, reasons

Array = NDArray[np.float64]


def answer_record(piece: Piece, answer: Answer, plan: CutPlan | None, *, count: int) -> dict[str, Any]:
    """Everything the answer says.

    plan    : None where the answer is no
    count   : of nuts asked for
    returns : values for json.dumps; lengths in mm; `axes` and `to_source` say in which frame
    """
    return {
        "fits": answer.fits,
        "answer": headline(answer),
        "reasons": reasons(answer),
        "count": count,
        "margin": _finite(answer.margin),
        "skin_margin": _least([laid.skin_margin for laid in answer.laid]),
        "core_margin": _least([laid.core_margin for laid in answer.laid if laid.core_margin is not None]),
        "short": list(answer.short),
        "largest": [
            {"name": one.name, "size": list(one.size), "finished": list(one.finished), "words": one.words}
            for one in answer.largest
        ],
        "piece": _piece_record(piece),
        "permitted": {
            "grain_deg": piece.permitted.grain_deg,
            "wane": piece.permitted.wane,
            "core_in": list(piece.permitted.core_in),
            "compact": piece.permitted.compact,
            "kerf": piece.permitted.kerf,
        },
        "block": _block_record(answer.block),
        "laid": [_laid_record(piece, answer, plan, number) for number in range(1, len(answer.laid) + 1)],
        "cuts": None if plan is None else plan_record(piece, answer, plan),
        "notes": list(answer.notes),
        "profile": [{"along": float(along), "margin": _finite(float(margin))} for along, margin in answer.profile],
    }


def _piece_record(piece: Piece) -> dict[str, Any]:
    return {
        "material": piece.material,
        "found_by": piece.found_by,
        "length": piece.length,
        "ends": list(piece.ends),
        "first_end": piece.first_end,
        "back_line": piece.back_line,
        "to_source": piece.to_source.matrix.tolist(),
    }


def _block_record(block: Block) -> dict[str, Any]:
    return {
        "size": list(block.size),
        "squared": list(block.squared),
        "finished": list(block.finished),
        "to_square": dict(block.to_square),
        "to_sand": dict(block.to_sand),
    }


def _laid_record(piece: Piece, answer: Answer, plan: CutPlan | None, number: int) -> dict[str, Any]:
    """Where one block lies, in the frame of the source: its matrix takes the block's own frame there.

    What is sawn for it is the plan's own number, where there is a plan.
    """
    laid = answer.laid[number - 1]
    pose = piece.to_source.compose(laid.pose)
    return {
        "number": number,
        "size": list(answer.block.size),
        "centre": list(pose.origin),
        "length_axis": list(pose.rotation[0]),
        "thickness_axis": list(pose.rotation[1]),
        "height_axis": list(pose.rotation[2]),
        "to_source": pose.matrix.tolist(),
        "along": laid.pose.origin[0],
        "margin": _finite(laid.margin),
        "skin_margin": _finite(laid.skin_margin),
        "core_margin": None if laid.core_margin is None else _finite(laid.core_margin),
        "tightest": laid.tightest,
        "tightest_at": piece.to_source.apply(laid.tightest_at).tolist(),
        "grain_deg": laid.grain_deg,
        "waste": laid.waste,
        "saw_area": laid.saw_area if plan is None else plan.saw_area_of(number),
    }


def _finite(value: float) -> float | None:
    """A margin; none where there is no room to speak of at all."""
    return value if math.isfinite(value) else None


def _least(values: list[float]) -> float | None:
    return _finite(min(values)) if values else None
