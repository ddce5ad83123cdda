"""What the bench needs of an answer as tables of words, the same on the screen and on the page."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from nutgen.stock.block import Block
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan, RipCut, left_to_sand
from nutgen.stock.cut.rips import By
from nutgen.stock.cut.turns import LINES
from nutgen.stock.cut.words import FACES, SURE, along_skin_matters
from nutgen.stock.laid import Answer, Laid
from nutgen.stock.verdict import signed


@dataclass(frozen=True, slots=True)
class Listing:
    """A table: the first column names, the others hold numbers.

    remark : how to read it
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    remark: str


def cuts_in_all(plan: CutPlan) -> str:
    """How much there is to saw, in a sentence."""
    across = sum(cut.by == "saw" for cut in plan.order)
    along = sum(cut.rip.by == "saw" for stretch in plan.stretches for cut in stretch.cuts)
    counts = [f"{n} {name} cut{'s' if n > 1 else ''}" for n, name in ((across, "cross"), (along, "rip")) if n]
    if not counts:
        return "Nothing to saw."
    return f"{' and '.join(counts)}, {plan.saw_area / 100.0:.0f} cm\N{SUPERSCRIPT TWO} of sawing."


def marks(plan: CutPlan) -> tuple[Listing, ...]:
    """What to draw on the piece: cross cuts on its four lines, then rip lines on the fresh end faces."""
    return tuple(_marks(plan))


def _marks(plan: CutPlan) -> Iterator[Listing]:
    heads = ("cross cut", *LINES)
    rows = tuple((_cross_name(plan, cut), *(f"{mark:.1f}" for mark in cut.marks)) for cut in plan.order)
    remark = "From the plane of the first end, along the straightedge, to the line to keep; the kerf goes on the waste."
    yield Listing("Marks on the four lines along the piece", heads, rows, remark)
    if along_skin_matters(plan):
        rows = tuple(
            (_cross_name(plan, cut), *(f"{mark:.1f}" for mark in cut.along_skin))
            for cut in plan.order
            if cut.along_skin is not None
        )
        remark = f"As a bent rule or a tape measures it; it differs by more than {SURE:g} mm, so take one or the other."
        yield Listing("The same along the skin", heads, rows, remark)
    ripped = [cut for stretch in plan.stretches for cut in stretch.cuts if cut.entries is not None]
    rows = tuple(_rip_row(plan, cut) for cut in ripped)
    if rows:
        heads = ("rip line", "first end from", "to", "last end from", "to")
        remark = (
            "On each end face of the stretch, from the back mark along the outline, to the left positive: where the"
            " line enters and where it leaves. The end views show the same, 1:1."
        )
        if any(None in (cut.entries or ()) for cut in ripped):
            remark += " None: the line runs out on the skin before that end; see the strip."
        yield Listing("Rip lines on the fresh end faces", heads, rows, remark)


def _cross_name(plan: CutPlan, cut: CrossCut) -> str:
    several = len(plan.stretches) > 1
    ends = [
        f"{end} end" + (f" of {stretch.number}" if several else "")
        for stretch in plan.stretches
        for end, one in (("first", stretch.first), ("last", stretch.last))
        if one.number == cut.number
    ]
    return f"{cut.number} {', '.join(ends)}{_by(cut.by)}"


def _by(by: By) -> str:
    """What is not for the saw."""
    return ", sand" if by == "sanding" else ""


def _rip_row(plan: CutPlan, cut: RipCut) -> tuple[str, ...]:
    nut = f", nut {cut.rip.nut}" if len(plan.blocks) > 1 else ""
    places = [("none", "") if pair is None else (f"{pair[0]:+.1f}", f"{pair[1]:+.1f}") for pair in cut.entries or ()]
    return (f"{cut.rip.number} {cut.rip.side}{nut}{_by(cut.rip.by)}", *(place for pair in places for place in pair))


def sand(block: Block) -> Listing:
    """What is left to sand on each face of the sawn block."""
    left = left_to_sand(block)
    rows = tuple(
        (name, f"{left[face][0]:.2f}", f"{left[face][1]:.2f}", f"{sum(left[face]):.2f}") for face, name in FACES
    )
    remark = "Off each face of the sawn block: first until it is square, then to the finished nut."
    return Listing("Left to sand", ("face", "squaring", "later", "in all"), rows, remark)


def lies(answer: Answer) -> Listing:
    """Where each block lies in the piece, and how much room it has."""
    heads = ("block", "from", "to", "left", "up", "top turned", "off grain", "to skin", "to core")
    rows = tuple(_lies(number, laid, answer.block.length) for number, laid in enumerate(answer.laid, start=1))
    remark = (
        "From and to: from the plane of the first end. Left and up: the block's middle from the straightedge's line."
        " Top turned: from the back line to the left. To skin and core: spare room."
    )
    return Listing("Where it lies", heads, rows, remark)


def _lies(number: int, laid: Laid, length: float) -> tuple[str, ...]:
    centre, axes = laid.pose.at, laid.pose.axes
    reach = abs(float(axes[0, 0])) * length / 2.0
    turn = math.degrees(math.atan2(float(axes[2, 1]), float(axes[2, 2])))
    return (
        str(number),
        f"{centre[0] - reach:.1f}",
        f"{centre[0] + reach:.1f}",
        f"{centre[1]:+.1f}",
        f"{centre[2]:+.1f}",
        f"{turn:+.0f}\N{DEGREE SIGN}",
        f"{laid.grain_deg:.1f}\N{DEGREE SIGN}",
        signed(laid.skin_margin),
        "none" if laid.core_margin is None else signed(laid.core_margin),
    )
