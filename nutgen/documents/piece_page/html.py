"""The answer for a natural piece as one page of HTML: piece, core and blocks in 3D, then marks, cuts and numbers.

Everything is inside the page and nothing is fetched; without WebGL its flat pictures show the same.
"""

import json
from collections.abc import Iterator

from markupsafe import Markup

from nutgen.bench.materials import MATERIALS
from nutgen.documents.paint.html import inside, template
from nutgen.documents.piece_page.figures import cut_views, long_views, margin_chart
from nutgen.documents.piece_page.scene import scene
from nutgen.documents.sheet.words import LOCAL, noted
from nutgen.formats.stamp import Stamp
from nutgen.stock.cut.cuts import CutPlan
from nutgen.stock.cut.words import CAUTIONS, steps
from nutgen.stock.cut.work import lies, marks, sand
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece
from nutgen.stock.verdict import headline, reasons, sentence, size_words


def stock_html(piece: Piece, answer: Answer, stamp: Stamp, plan: CutPlan | None, *, nut_title: str) -> bytes:
    """The page.

    plan      : the cuts; None where the answer is no: then nothing can be followed with a saw
    nut_title : of the instrument
    returns   : the file; the same values give the same bytes
    """
    material = MATERIALS[piece.material]
    view = json.dumps(scene(piece, answer), separators=(",", ":"))
    text = template("stock.html.j2").render(
        stamp=stamp,
        piece=piece,
        answer=answer,
        nut_title=nut_title,
        headline=headline(answer),
        reasons=reasons(answer),
        largest=[(one.name, sentence(one.words)) for one in answer.largest],
        remarks=[sentence(note) for note in answer.notes],
        facts=list(_facts(piece, answer)),
        lies=lies(answer),
        plan=plan,
        marks=marks(plan) if plan else (),
        steps=steps(piece, answer, plan) if plan else (),
        sand=sand(answer.block),
        cautions=noted(material.cautions),
        saw_cautions=CAUTIONS,
        material_name=material.name,
        local=LOCAL,
        long_views=long_views(piece, answer),
        cut_views=cut_views(piece, answer),
        chart=margin_chart(piece, answer),
        view=Markup(view),
        style=inside("sheet.css") + inside("stock.css"),
        script=inside("viewer.js"),
    )
    return text.encode(errors="replace")


def _facts(piece: Piece, answer: Answer) -> Iterator[tuple[str, str]]:
    block, permitted = answer.block, piece.permitted
    yield "Piece", f"{piece.material}, {piece.length:.0f} mm long, by {'calipers' if _by_hand(piece) else 'scan'}"
    yield "First end", piece.first_end
    yield "Back line", piece.back_line
    yield "Sawn block", f"{size_words(block.size)} mm"
    yield "Finished nut", f"{size_words(block.finished)} mm"
    yield "Along the grain", f"within {permitted.grain_deg:g}\N{DEGREE SIGN}"
    yield "Kerf", f"{permitted.kerf:g} mm"
    yield "Core may be in", " and ".join(permitted.core_in) if permitted.core_in else "no part of the nut"


def _by_hand(piece: Piece) -> bool:
    return piece.found_by == "calipers"
