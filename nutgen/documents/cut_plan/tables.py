"""What the bench needs of an answer as tables, the same on the screen, on the page and on paper."""

import math
from collections.abc import Iterator

from nutgen.documents.blocks import Column, Document, Entry, Paragraph, Table, Title, remark, table_of
from nutgen.documents.texts import Run, Text, capital, phrase
from nutgen.stock.block import Block
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan, RipCut, left_to_sand
from nutgen.stock.cut.rips import By
from nutgen.stock.cut.steps import FACES, SURE, along_skin_matters, ends_of, holds
from nutgen.stock.cut.turns import LINES
from nutgen.stock.laid import Answer, Laid

_RIPS = (
    Column("rip line"),
    *(Column(title, "stock", sign=True, none="none") for title in ("first end from", "to", "last end from", "to")),
)
_MARKS = (Column("cross cut"), *(Column(line, "stock") for line in LINES))
_SAND = (Column("face"), *(Column(title, "setting_out") for title in ("squaring", "later", "in all")))


def cuts_in_all(plan: CutPlan) -> Text:
    """How much there is to saw, and what holds it, in sentences."""
    across = sum(cut.by == "saw" for cut in plan.order)
    along = sum(cut.rip.by == "saw" for stretch in plan.stretches for cut in stretch.cuts)
    counts = [f"{n} {name} cut{'s' if n > 1 else ''}" for n, name in ((across, "cross"), (along, "rip")) if n]
    if not counts:
        return "Nothing to saw."
    sawing = phrase(f"{' and '.join(counts)}, {{saw_mm2:.0}} of sawing.", saw_mm2=plan.saw_area)
    return Run((sawing, *(part for held in holds(plan) for part in (" ", capital(held), "."))))


def mark_tables(plan: CutPlan) -> tuple[Document, ...]:
    """What to draw on the piece: cross cuts on its four lines, then rip lines around both ends of a stretch."""
    return tuple((Title(title, 3), table, Paragraph(remark, "note")) for title, table, remark in _mark_tables(plan))


def _mark_tables(plan: CutPlan) -> Iterator[tuple[str, Table, Text]]:
    rows: list[tuple[Entry, ...]] = [(_cross_name(plan, cut), *cut.marks) for cut in plan.order]
    remark = "From the plane of the first end, along the straightedge, to the line to keep; the kerf goes on the waste."
    yield "Marks on the four lines along the piece", Table(_MARKS, tuple(rows), "marks"), remark
    if along_skin_matters(plan):
        rows = [(_cross_name(plan, cut), *cut.along_skin) for cut in plan.order if cut.along_skin is not None]
        differs = phrase(
            "As a bent rule or a tape measures it; it differs by more than {sure:stock}, so take one or the other.",
            sure=SURE,
        )
        yield "The same along the skin", Table(_MARKS, tuple(rows), "skin"), differs
    ripped = [cut for stretch in plan.stretches for cut in stretch.cuts if cut.entries is not None]
    if ripped:
        remark = (
            "Around both ends of the stretch, from the back mark along the outline, to the left positive: where the"
            " line enters and where it leaves. On the fresh face the end view shows it, on the skin the strip, 1:1."
        )
        if any(None in (cut.entries or ()) for cut in ripped):
            remark += " None: the line runs out on the skin before that end; see the strip."
        rows = [_rip_row(plan, cut) for cut in ripped]
        yield "Rip lines around both ends", Table(_RIPS, tuple(rows), "rips"), remark


def _cross_name(plan: CutPlan, cut: CrossCut) -> str:
    several = len(plan.stretches) > 1
    ends = [f"{end} end" + (f" of {stretch}" if several else "") for stretch, end in ends_of(plan, cut)]
    return f"{cut.number} {', '.join(ends)}{_by(cut.by)}"


def _by(by: By) -> str:
    """What is not for the saw."""
    return {"saw": "", "sanding": ", sand", "sawn end": ", as it is"}[by]


def _rip_row(plan: CutPlan, cut: RipCut) -> tuple[Entry, ...]:
    nut = f", nut {cut.rip.nut}" if len(plan.blocks) > 1 else ""
    places: list[Entry] = []
    for pair in cut.entries or ():
        places += (None, "") if pair is None else pair
    return (f"{cut.rip.number} {cut.rip.side}{nut}{_by(cut.rip.by)}", *places)


def sand_table(block: Block) -> Document:
    """What is left to sand on each face of the sawn block."""
    left = left_to_sand(block)
    rows = tuple((name, *left[face], sum(left[face])) for face, name in FACES)
    read = remark("Off each face of the sawn block: first until it is square, then to the finished nut.")
    return Title("Left to sand", 3), Table(_SAND, rows, "sand"), read


def lies_table(answer: Answer) -> Document:
    """Where each block lies in the piece, and how much room it has."""
    length = answer.block.length
    table = table_of(
        answer.laid,
        (Column("block"), [str(number + 1) for number in range(len(answer.laid))]),
        (Column("from", "setting_out", places=1), lambda laid: float(laid.pose.at[0]) - _reach(laid, length)),
        (Column("to", "setting_out", places=1), lambda laid: float(laid.pose.at[0]) + _reach(laid, length)),
        (Column("left", "setting_out", sign=True, places=1), lambda laid: float(laid.pose.at[1])),
        (Column("up", "setting_out", sign=True, places=1), lambda laid: float(laid.pose.at[2])),
        (Column("top turned", "angle", sign=True, places=0), _turned_deg),
        (Column("off grain", "angle"), "grain_deg"),
        (Column("to skin", "spare"), "skin_margin"),
        (Column("to core", "spare", none="none"), "core_margin"),
        name="lies",
    )
    read = remark(
        "From and to: from the plane of the first end. Left and up: the block's middle from the straightedge's line."
        " Top turned: from the back line to the left. To skin and core: spare room."
    )
    return Title("Where it lies", 3), table, read


def _reach(laid: Laid, length: float) -> float:
    return abs(float(laid.pose.axes[0, 0])) * length / 2.0


def _turned_deg(laid: Laid) -> float:
    _, left, up = laid.pose.axes[2]
    return math.degrees(math.atan2(float(left), float(up)))
