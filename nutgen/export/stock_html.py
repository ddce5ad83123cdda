"""The answer for a natural piece as one page of HTML: piece, core and blocks in 3D, then marks, cuts and numbers.

Everything is inside the page and nothing is fetched; without WebGL its flat pictures show the same.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from nutgen.bench.materials import MATERIALS, Note
from nutgen.export.html import inside, template
from nutgen.export.sheet_words import LOCAL, Table, source_of
from nutgen.export.stamp import Stamp
from nutgen.export.stock_figures import cut_views, long_views, margin_chart
from nutgen.export.stock_scene import scene
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece
from nutgen.stock.verdict import LIES, headline, lies_rows, reasons, sand_rows, sentence, size_words


@dataclass(frozen=True, slots=True)
class Work:
    """The cut plan as the page shows it, in words.

    marks    : tables of what to draw on the piece
    steps    : what to do, in order
    cautions : of sawing it
    """

    marks: tuple[Table, ...]
    steps: tuple[str, ...]
    cautions: tuple[str, ...]


def stock_html(piece: Piece, answer: Answer, stamp: Stamp, work: Work | None, *, nut_title: str) -> bytes:
    """The page.

    work      : the cut plan in words; None where the answer is no: then nothing can be followed with a saw
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
        largest=[(sentence(one.words), size_words(one.size)) for one in answer.largest],
        remarks=[sentence(note) for note in answer.notes],
        facts=list(_facts(piece, answer)),
        lies=_lies(answer),
        work=work,
        sand=_sand(answer),
        cautions=(*material.cautions, *(Note(text, "") for text in (work.cautions if work else ()))),
        material_name=material.name,
        local=LOCAL,
        source_of=source_of,
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


def _lies(answer: Answer) -> Table:
    remark = (
        "From and to: along the straightedge, from the plane of the first end. To the left and up: the block's middle"
        " from the straightedge line. Top turned: from the back line, to the left positive. Skin and core: spare room."
    )
    return Table(
        heads=tuple((head, "") for head in LIES),
        right=(False, *(True for _ in LIES[1:])),
        rows=tuple(lies_rows(answer)),
        remark=remark,
    )


def _sand(answer: Answer) -> Table:
    return Table(
        heads=(("face", ""), ("squaring", ""), ("later", ""), ("in all", "")),
        right=(False, True, True, True),
        rows=tuple(sand_rows(answer)),
        remark="Off each face of the sawn block, in mm: first until it is square, then to the finished nut.",
    )
