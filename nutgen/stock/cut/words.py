"""The cut plan in sentences for a person at the bench, in order, and as a record for a program."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from nutgen.stock.block import Block, Face
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan, RipCut, Stretch
from nutgen.stock.cut.rips import Rip
from nutgen.stock.cut.turns import LINES
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece

CAUTIONS = (
    "Dust of bone, antler and horn harms the lungs: saw and sand wet, draw the dust off, wear a fitted mask"
    " (FFP3, N95 or better), wipe up wet, never sweep dry.",
    "Use clean, dry, sound material from a known seller; degrease raw bone first. Wash your hands, cover cuts.",
    "A round piece rolls and grabs: clamp it in a V-block or a grooved board, on both sides of the cut."
    " Keep fingers away from the blade, use push sticks, wear eye protection, no gloves at turning tools.",
    "Short pieces go in a hand vise or in a holder, never in the fingers. Where a power saw is not meant for"
    " such a piece, take a fine hand saw.",
    "Your local rules for workshops, dust and the trade in animal parts come first.",
)
"""Common practice, no source; put before every cut plan."""

IN_SHORT = (
    "The dust harms the lungs: work wet, wear a fitted mask (FFP3, N95). Round pieces roll and grab: clamp them on"
    " both sides of the cut, fingers away, eyes covered. Local rules come first; read the whole list on stock.pdf."
)
"""The same where there is little room."""

SURE = 0.3
"""Between a straight measure and one along the skin, less than this needs no word [mm]."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do. head says what in a few words, text how."""

    head: str
    text: str


def steps(piece: Piece, answer: Answer, plan: CutPlan) -> tuple[Step, ...]:
    """What to do, from the first pencil line to the squared block."""
    found = [*_marking(piece, plan)]
    found += [_cross(plan, cut) for cut in plan.order]
    for stretch in plan.stretches:
        found.append(_glue(plan, stretch))
        found += [_rip(cut, plan) for cut in stretch.cuts]
    found.append(_measure(answer.block, len(answer.laid)))
    return tuple(found)


def ends_and_lines(piece: Piece) -> str:
    """Which end is the first and which line the back, in a sentence each."""
    return (
        f"The first end: {_plain(piece.first_end)}. The back line: {_plain(piece.back_line)}; left, belly and right"
        " follow a quarter turn on each. Left is left when you look from the first end, the back line up."
    )


def _marking(piece: Piece, plan: CutPlan) -> tuple[Step, ...]:
    tape = along_skin_matters(plan)
    measure = (
        "Measure straight, from a square held against the first end; with a tape along the skin, take the second table."
        if tape
        else "Measure from the first end with a rule laid along the piece."
    )
    return (
        Step("Find the first end", f"It is {_plain(piece.first_end)}. All distances count from it, in mm."),
        Step(
            "Draw four lines along the piece",
            f"The back line: {_plain(piece.back_line)}. Then the left side, the belly and the right side, each a"
            " quarter turn on; left is left when you look from the first end along the piece, the back line up.",
        ),
        Step("Mark the cross cuts on all four lines", f"Take the distances from the table of marks. {measure}"),
        Step(
            "Glue the strips around the piece",
            "Cut each strip out. Arrow to the first end, upper edge at the distance printed there, back line on yours;"
            " close it at the tab, the ticks of the joint must meet. Where they do not, trust the pencil marks.",
        ),
    )


def _cross(plan: CutPlan, cut: CrossCut) -> Step:
    ends = [
        (stretch.number, end)
        for stretch in plan.stretches
        for end, one in (("first", stretch.first), ("last", stretch.last))
        if one.number == cut.number
    ]
    where = " and ".join(f"the {end} end of stretch {number}" for number, end in ends)
    if cut.by == "sanding":
        return Step(f"Cut {cut.number}: no saw", f"Sand {where} down to the line: less than a slice stands over.")
    side = "first" if cut.plane.normal[0] < 0.0 else "last"
    both = " It ends one stretch and begins the next." if len(ends) > 1 else ""
    return Step(
        f"Cut {cut.number}: across, {where}",
        f"Clamp the piece in a V-block, close to the line. Keep the wide line, saw beyond it, toward"
        f" the {side} end ({plan.kerf:.2f} mm kerf, hatched). {cut.depth:.0f} mm deep,"
        f" {cut.area / 100.0:.1f} cm\N{SUPERSCRIPT TWO}.{both}",
    )


def _glue(plan: CutPlan, stretch: Stretch) -> Step:
    nuts = f"nut {stretch.nuts[0]}" if len(stretch.nuts) == 1 else f"nuts {_list(stretch.nuts)}"
    which = f" ({nuts})" if len(plan.blocks) > 1 else ""
    return Step(
        f"Glue the end views on stretch {stretch.number}{which}",
        "Each on the face it is named for, printed side out, its back mark on the back line. Then its lines"
        " and those of the strip meet at the edge; where they do not, check which end you hold.",
    )


def _rip(cut: RipCut, plan: CutPlan) -> Step:
    rip = cut.rip
    nut = f" of nut {rip.nut}" if len(plan.blocks) > 1 else ""
    face = f"the {rip.side}" if "end" in rip.side else f"the {rip.side} face"
    if rip.by == "sanding":
        text = f"At most {rip.over:.1f} mm stands over, too little for the saw: sand down to the line."
        return Step(f"Cut {rip.number}: no saw, {face}{nut}", text)
    size = f"{max(cut.depths):.0f} mm deep, {cut.length:.0f} mm long, " if cut.length else ""
    return Step(
        f"Cut {rip.number}: {face}{nut}",
        f"{why(rip)} Keep the line, kerf on the waste side. {size}{cut.area / 100.0:.1f} cm\N{SUPERSCRIPT TWO}."
        f"{_runs_out(cut, plan)}",
    )


def _runs_out(cut: RipCut, plan: CutPlan) -> str:
    """Where the line starts or ends on the skin instead of on an end face."""
    words = ""
    for entry, at, verb, beyond in zip(
        cut.entries or (), cut.reach, ("starts", "ends"), ("before", "behind"), strict=False
    ):
        if entry is None:
            at_end = min(abs(at - plan.along.along[0]), abs(at - plan.along.along[-1])) < 0.1
            where = "at the end of the piece itself" if at_end else f"on the skin, {at:.1f} mm from the first end"
            words += f" The line {verb} {where}: {beyond} that nothing stands over."
    return words


def why(rip: Rip) -> str:
    """Why a cut comes where it does, and what the stretch lies on."""
    if rip.parts:
        return f"Parts it from nut {_list(rip.parts)}. Hold the stretch in the V-block."
    if not rip.rests:
        first = (
            "Takes the core off: look for pores in the fresh face."
            if rip.opens
            else "A wide face, on its thinner side."
        )
        return f"{first} Hold the stretch in the V-block; what follows lies on this flat."
    table, *fence = rip.rests
    against = f", its {fence[0]} face against the fence" if fence else ""
    return f"The {table} face lies flat on the table{against}."


def _measure(block: Block, count: int) -> Step:
    length, thickness, height = block.size
    each = "Each block" if count > 1 else "The block"
    return Step(
        "Measure, square, and go on",
        f"{each} is now {length:.1f} long, {thickness:.1f} thick and {height:.1f} high, or a little more. Write front"
        " and top on it, then soak the paper off. Look for pores under a lamp before you square it; then take off"
        " what the table says.",
    )


FACES: tuple[tuple[Face, str], ...] = (
    ("end", "each end"),
    ("front", "front face"),
    ("back", "back face"),
    ("underside", "underside"),
    ("top", "top"),
)
"""Faces of a block in words."""


def plan_record(piece: Piece, answer: Answer, plan: CutPlan) -> dict[str, Any]:
    """The plan for a program: all lengths in mm, distances from the plane of the first end."""
    return {
        "units": "mm",
        "kerf": plan.kerf,
        "saw_area": _r(plan.saw_area),
        "cross_cuts": [_cross_record(cut) for cut in plan.order],
        "stretches": [_stretch_record(stretch) for stretch in plan.stretches],
        "to_square": {face: _r(value) for face, value in answer.block.to_square.items()},
        "to_sand": {face: _r(value) for face, value in answer.block.to_sand.items()},
        "steps": [f"{step.head}. {step.text}" for step in steps(piece, answer, plan)],
        "cautions": list(CAUTIONS),
    }


def _cross_record(cut: CrossCut) -> dict[str, Any]:
    return {
        "cut": cut.number,
        "by": cut.by,
        "marks": dict(zip(LINES, map(_r, cut.marks), strict=True)),
        "along_skin": None if cut.along_skin is None else dict(zip(LINES, map(_r, cut.along_skin), strict=True)),
        "waste_toward": "first end" if cut.plane.normal[0] < 0.0 else "last end",
        "depth": _r(cut.depth),
        "area": _r(cut.area),
        "girth": _r(cut.girth),
    }


def _stretch_record(stretch: Stretch) -> dict[str, Any]:
    return {
        "stretch": stretch.number,
        "nuts": list(stretch.nuts),
        "first_cut": stretch.first.number,
        "last_cut": stretch.last.number,
        "rip_cuts": [_rip_record(cut) for cut in stretch.cuts],
    }


def _rip_record(cut: RipCut) -> dict[str, Any]:
    ends = None
    if cut.entries is not None:
        ends = {
            end: None if pair is None else list(map(_r, pair))
            for end, pair in zip(("first", "last"), cut.entries, strict=True)
        }
    return {
        "cut": cut.rip.number,
        "nut": cut.rip.nut,
        "face": cut.rip.side,
        "by": cut.rip.by,
        "from_back_mark_to_the_left": ends,
        "reach": list(map(_r, cut.reach)),
        "rests_on": list(cut.rip.rests),
        "stands_over": _r(cut.rip.over),
        "depths": list(map(_r, cut.depths)),
        "length": _r(cut.length),
        "area": _r(cut.area),
    }


def _differs(cut: CrossCut) -> bool:
    return cut.along_skin is not None and bool(np.abs(np.subtract(cut.along_skin, cut.marks)).max() >= SURE)


def along_skin_matters(plan: CutPlan) -> bool:
    """Whether a rule that follows the skin would mark a cut in another place than a straight one."""
    return any(_differs(cut) for cut in plan.order)


def _plain(words: str) -> str:
    return words.strip().rstrip(".")


def _list(numbers: tuple[int, ...]) -> str:
    return ", ".join(map(str, numbers))


def _r(value: float) -> float:
    return round(float(value), 3) + 0.0
