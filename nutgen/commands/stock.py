"""`stock`: does this bone or antler yield the nut, and how does the blank lie in it?"""

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import typer

from nutgen.ask.values import number
from nutgen.commands.common import CANNOT, answered, busy, print_json, shown, solve_one, units_for
from nutgen.commands.options import AsJson, File, Into, Paper, ShownIn
from nutgen.documents.blocks import Block, Document, Findings, Paragraph, Points, Space, Title
from nutgen.documents.cut_plan.ready import ready_blocks
from nutgen.documents.screens.files import file_blocks
from nutgen.documents.texts import Labelled, Run, phrase
from nutgen.errors import Unreadable
from nutgen.jobs.record import plain
from nutgen.jobs.run import Made
from nutgen.jobs.stock import Judged, judge, write
from nutgen.spec.piece import PieceSpec
from nutgen.spec.presets import find_file, find_piece
from nutgen.spec.read import overruled, read_drawer, read_piece
from nutgen.spec.values import read_length
from nutgen.stock import MOST_BLOCKS
from nutgen.stock.cut.cuts import CutPlan
from nutgen.stock.cut.steps import ends_and_lines, in_short
from nutgen.stock.ready import Sizes, ready
from nutgen.stock.verdict import reasons, verdict

PERMIT = "What the blank may do, where the piece file should be overruled"


Kerf = Annotated[str | None, typer.Option(metavar="MM", help="Width of the saw's cut.", rich_help_panel=PERMIT)]
Grain = Annotated[
    str | None,
    typer.Option(metavar="DEG", help="Most between the blank's length and the grain.", rich_help_panel=PERMIT),
]
Wane = Annotated[
    str | None,
    typer.Option(
        metavar="MM", help="How far the top back edge may be missing down its back face.", rich_help_panel=PERMIT
    ),
]
Core = Annotated[
    str | None,
    typer.Option(metavar="underside,back|none", help="Parts of the nut that may hold core.", rich_help_panel=PERMIT),
]


OfPiece = Annotated[
    str | None, typer.Option("--piece", metavar="PIECE", help="Piece file, or the name of a demo piece.")
]
Blanks = Annotated[
    list[str] | None,
    typer.Option(
        "--blank",
        metavar="LxTxH|FILE",
        help="Instead, squared blanks: sizes like 52x6x9, or a drawer of them in a TOML.",
    ),
]
Count = Annotated[
    int, typer.Option("--count", metavar="N", min=1, max=MOST_BLOCKS, help="Nuts wanted from the one piece.")
]


def stock(
    file: File,
    piece: OfPiece = None,
    blank: Blanks = None,
    count: Count = 1,
    out: Into = Path("output"),
    paper: Paper = "a4",
    kerf: Kerf = None,
    grain: Grain = None,
    wane: Wane = None,
    core: Core = None,
    units: ShownIn = None,
    as_json: AsJson = False,
) -> None:
    """Lay the blank in a piece of bone or antler: yes with the margin, marks and cuts, or no and what would fit."""
    if (piece is None) == (not blank):
        raise typer.BadParameter("say what it is to come from: --piece PIECE, or --blank 52x6x9 for each blank")
    if piece is None:
        _ready(file, blank or [], units, as_json=as_json)
        return
    spec, nut = solve_one(file)
    path = find_piece(piece)
    given = with_permit(read_piece(path), {"grain_deg": grain, "wane": wane, "core_in": core, "kerf": kerf})
    with busy(f"laying the blank in {path.stem}"):
        judged = judge(spec, nut, given, count=count)
    with busy("writing"):
        folder = out / f"{find_file(file).stem}-in-{path.stem}"
        written = write(judged, paper=paper, folder=folder, units=units_for(spec, units))
    if as_json:
        print_json({**written.record, "folder": str(written.folder)})
    else:
        shown(_blocks(judged, written), spec, units)
    if not judged.answer.fits:
        raise typer.Exit(CANNOT)


def _ready(file: str, blanks: list[str], units: str | None, *, as_json: bool) -> None:
    """Which of some squared blanks yields the nut; raises typer.Exit where none does."""
    spec, nut = solve_one(file)
    found = ready(nut, [blank for text in blanks for blank in _blanks(text, spec.units)])
    told = [{"fits": one.fits, "waste_share": one.waste_share, **plain(one)} for one in found]
    answered(ready_blocks(nut, found), spec, units, {"blanks": told}, as_json=as_json)
    if not found[0].fits:
        raise typer.Exit(CANNOT)


def _blanks(text: str, unit: str) -> list[tuple[str, Sizes]]:
    """Blanks with their names: those of a drawer's file, or the one whose sizes are written [mm].

    raises : SpecFaults with every fault of the file; typer.BadParameter
    """
    if text.lower().endswith(".toml"):
        return [(one.name, one.size) for one in read_drawer(Path(text)).blanks]
    try:
        length, thickness, height = (read_length(part, unit).mm for part in text.lower().split("x"))
    except (ValueError, Unreadable):
        length = thickness = height = 0.0
    if not all(1.0 <= one <= 500.0 for one in (length, thickness, height)):
        bare = {"mm": "mm, such as 52x6x9", "in": "inches, such as 2.05x0.24x0.35"}[unit]
        words = (
            f"write length x thickness x height, each from 1 mm to 500 mm, bare numbers in {bare}; or the name of a"
            " drawer's file, drawer.toml"
        )
        raise typer.BadParameter(f'--blank "{text[:40]}": {words}')
    return [(text, (length, thickness, height))]


def with_permit(piece: PieceSpec, options: dict[str, str | None]) -> PieceSpec:
    """A piece file's permits with what the command line says instead; bare numbers there are mm.

    raises : SpecFaults with every fault of the options
    """
    given: dict[str, Any] = {key: value for key, value in options.items() if value is not None}
    if "core_in" in given:
        given["core_in"] = [part.strip() for part in given["core_in"].split(",") if part.strip() not in ("none", "")]
    if "grain_deg" in given:
        given["grain_deg"] = number(given["grain_deg"])
    return overruled(piece, {"permit": given}) if given else piece


def _blocks(judged: Judged, written: Made) -> Document:
    """The answer; then what it takes to decide and to mark. How to saw, step by step, is for the paper."""
    from nutgen.documents.cut_plan.blocks import alone

    answer = judged.answer
    instead = [Labelled(f"Instead, {one.name}:", alone(one.how)) for one in answer.largest]
    return (
        Title(verdict(answer)),
        *(Paragraph(alone(reason)) for reason in reasons(answer)),
        *(Paragraph(one, hang=2) for one in instead),
        *(_plan_blocks(judged, judged.plan) if judged.plan is not None else ()),
        Space(),
        *_written_blocks(judged, written),
    )


def _plan_blocks(judged: Judged, plan: CutPlan) -> Iterator[Block]:
    from nutgen.documents.cut_plan.blocks import alone, block_words, piece_words
    from nutgen.documents.cut_plan.tables import cuts_in_all, lies_table, mark_tables

    yield Points(tuple(alone(note) for note in judged.answer.notes), "!")
    yield Space()
    source = Run((f"{judged.spec.title}, from: ", piece_words(judged.piece), "."))
    all_in = phrase("All in {units} unless marked.")
    yield Paragraph(Run((source, block_words(judged.answer), cuts_in_all(plan), all_in), " "), "note")
    yield from lies_table(judged.answer)
    yield from (Space(), Points(in_short(judged.piece), "!"))
    yield Title("Mark, then saw in the order of the numbers", 2)
    yield Paragraph(ends_and_lines(judged.piece))
    for table in mark_tables(plan):
        yield from (Space(), *table)


def _written_blocks(judged: Judged, written: Made) -> Iterator[Block]:
    yield from file_blocks(str(written.folder), written.files)
    yield Findings(written.findings, none="")
    if judged.plan is not None:
        yield Paragraph(
            "Print stock.pdf at 100 % and check its bars: it holds every step, what to sand, and strips and end views"
            " to glue on the piece. stock.html shows the same in 3D. Every file was read back."
        )
    else:
        yield Paragraph(
            "stock.html shows the best attempt. There is no cut plan for a piece that does not yield the nut."
        )
    if written.taken_away:
        yield Paragraph(f"Taken away, because it was of an earlier answer: {', '.join(written.taken_away)}.")
