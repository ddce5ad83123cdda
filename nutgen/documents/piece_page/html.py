"""The answer for a natural piece as one page of HTML: piece, core and blocks in 3D, then marks, cuts and numbers.

Everything is inside the page and nothing is fetched; without WebGL its flat pictures show the same.
"""

import json
from collections.abc import Iterator

from markupsafe import Markup

from nutgen.bench.materials import MATERIALS
from nutgen.documents.blocks import Beside, Document, Facts, Paragraph, Points, Title
from nutgen.documents.charts.margin import margin_svg
from nutgen.documents.cut_plan.blocks import alone, piece_words, step_blocks
from nutgen.documents.cut_plan.tables import lies_table, mark_tables, sand_table
from nutgen.documents.paint.html import page_html
from nutgen.documents.piece_page.figures import cut_views, long_views
from nutgen.documents.piece_page.scene import scene
from nutgen.documents.sheet.words import LOCAL
from nutgen.documents.sheet.work import sourced
from nutgen.documents.texts import Cell, Labelled, Text, extent, phrase
from nutgen.documents.words.quantities import Units
from nutgen.formats.stamp import Stamp
from nutgen.stock.cut.cuts import CutPlan
from nutgen.stock.cut.steps import cautions
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece
from nutgen.stock.verdict import reasons, verdict


def stock_html(
    piece: Piece, answer: Answer, stamp: Stamp, plan: CutPlan | None, *, nut_title: str, units: Units = "mm"
) -> bytes:
    """The page.

    plan      : the cuts; None where the answer is no: then nothing can be followed with a saw
    nut_title : of the instrument
    units     : of the reader
    returns   : the file; the same values give the same bytes
    """
    view = json.dumps(scene(piece, answer), separators=(",", ":"))
    return page_html(
        "stock.html.j2",
        units,
        stamp=stamp,
        piece=piece,
        answer=answer,
        nut_title=nut_title,
        headline=verdict(answer),
        reasons=[alone(reason) for reason in reasons(answer)],
        largest=Points(tuple(Labelled(f"{one.name.capitalize()}.", alone(one.how)) for one in answer.largest)),
        remarks=[alone(note) for note in answer.notes],
        numbers=(Facts(tuple(_facts(piece, answer))), *lies_table(answer)),
        plan=plan,
        marks=[block for document in mark_tables(plan) for block in document] if plan else (),
        steps=step_blocks(piece, answer, plan)[1:] if plan else (),
        sand=sand_table(answer.block),
        care=_care(piece),
        long_views=long_views(piece, answer, units),
        cut_views=cut_views(piece, answer, units),
        chart=margin_svg(piece, answer, units),
        view=Markup(view),
        units_words=phrase("{units}"),
    )


def _care(piece: Piece) -> Document:
    material = MATERIALS[piece.material]
    notes = Points(tuple(sourced(note) for note in material.cautions), "!")
    return (
        Beside((Title(material.name.capitalize(), 3), notes), (Title("At the saw", 3), Points(cautions(piece), "!"))),
        Paragraph(LOCAL, "strong"),
    )


def _facts(piece: Piece, answer: Answer) -> Iterator[tuple[str, Text]]:
    block, permitted = answer.block, piece.permitted
    yield "Piece", piece_words(piece)
    yield "First end", piece.first_end
    yield "Back line", piece.back_line
    yield "Sawn block", extent(block.size, "blank")
    yield "Finished nut", extent(block.finished, "stock")
    yield "Along the grain", phrase("within {grain_deg}", grain_deg=permitted.grain_deg)
    yield "Kerf", Cell(permitted.kerf, "setting_out")
    yield "Core may be in", " and ".join(permitted.core_in) if permitted.core_in else "no part of the nut"
