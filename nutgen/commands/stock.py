"""`stock`: does this bone or antler yield the nut, and how does the blank lie in it?"""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nutgen.commands.common import CANNOT, AsJson, File, busy, known_paper, print_json, solve_one
from nutgen.stock.block import MOST_BLOCKS

if TYPE_CHECKING:
    from nutgen.documents.screen import Screen
    from nutgen.jobs.stock import Judged, Written
    from nutgen.spec.piece import PieceSpec
    from nutgen.stock.cut.cuts import CutPlan
    from nutgen.stock.cut.work import Listing

PERMIT = "What the blank may do, where the piece file should be overruled"


def stock(
    file: File,
    piece: Annotated[str, typer.Option("--piece", metavar="PIECE", help="Piece file, or the name of a demo piece.")],
    count: Annotated[
        int, typer.Option("--count", metavar="N", min=1, max=MOST_BLOCKS, help="Nuts wanted from the one piece.")
    ] = 1,
    out: Annotated[Path, typer.Option("-o", "--out", metavar="DIR", help="Where the folder goes.")] = Path("output"),
    paper: Annotated[str, typer.Option(metavar="a4|letter", help="Paper of the cut plan.")] = "a4",
    kerf: Annotated[
        str | None, typer.Option(metavar="MM", help="Width of the saw's cut.", rich_help_panel=PERMIT)
    ] = None,
    grain: Annotated[
        str | None,
        typer.Option(metavar="DEG", help="Most between the blank's length and the grain.", rich_help_panel=PERMIT),
    ] = None,
    wane: Annotated[
        str | None,
        typer.Option(
            metavar="MM", help="How far the top back edge may be missing down its back face.", rich_help_panel=PERMIT
        ),
    ] = None,
    core: Annotated[
        str | None,
        typer.Option(
            metavar="underside,back|none", help="Parts of the nut that may hold core.", rich_help_panel=PERMIT
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Lay the blank in a piece of bone or antler: yes with the margin, marks and cuts, or no and what would fit."""
    from nutgen.spec.kinds import find_file
    from nutgen.spec.piece import read_piece
    from nutgen.spec.pieces import find_piece

    paper = known_paper(paper)
    spec, nut = solve_one(file)
    path = find_piece(piece)
    given = with_permit(read_piece(path), {"grain_deg": grain, "wane": wane, "core_in": core, "kerf": kerf})
    with busy(f"laying the blank in {path.stem}"):
        from nutgen.jobs.stock import judge, write

        judged = judge(spec, nut, given, count=count)
    with busy("writing"):
        folder = out / f"{find_file(file).stem}-in-{path.stem}"
        written = write(judged, paper=paper, folder=folder)
    if as_json:
        print_json({**written.record, "folder": str(written.folder)})
    else:
        from nutgen.documents.screen import Screen

        _show(Screen(), judged, written)
    if not judged.answer.fits:
        raise typer.Exit(CANNOT)


def with_permit(piece: "PieceSpec", options: dict[str, str | None]) -> "PieceSpec":
    """A piece file's permits with what the command line says instead; bare numbers there are mm.

    raises : SpecFaults with every fault of the options
    """
    from nutgen.errors import SpecFaults
    from nutgen.spec.fields import Reading

    given: dict[str, Any] = {key: value for key, value in options.items() if value is not None}
    if not given:
        return piece
    if "core_in" in given:
        given["core_in"] = [part.strip() for part in given["core_in"].split(",") if part.strip() not in ("none", "")]
    if "grain_deg" in given:
        given["grain_deg"] = _as_number(given["grain_deg"])
    values, faults = piece.permit.values(), []
    for key, value in given.items():
        values[key], found = type(piece.permit).keys()[key].read(value, Reading(), ("permit", key))
        faults += found
    if faults:
        raise SpecFaults("command line", faults)
    return piece.changed(permit=type(piece.permit).from_keys(values, given=piece.permit.given | set(given)))


def _as_number(text: str) -> float | str:
    """A number where the words are one; anything else is for the door to refuse."""
    try:
        return float(text)
    except ValueError:
        return text


def _show(screen: "Screen", judged: "Judged", written: "Written") -> None:
    """The answer; then what it takes to decide and to mark. How to saw, step by step, is for the paper."""
    from nutgen.stock.verdict import headline, reasons, sentence

    answer = judged.answer
    screen.say(headline(answer), style="bold")
    for reason in reasons(answer):
        screen.say(reason)
    for one in answer.largest:
        screen.say(f"Instead, {one.name}: {sentence(one.words)}", hang="  ")
    if judged.plan is not None:
        for note in answer.notes:
            screen.say(f"! {sentence(note)}", hang="  ")
        _show_plan(screen, judged, judged.plan)
    screen.say()
    _show_written(screen, judged, written)


def _show_plan(screen: "Screen", judged: "Judged", plan: "CutPlan") -> None:
    from nutgen.stock.cut.words import IN_SHORT, ends_and_lines
    from nutgen.stock.cut.work import cuts_in_all, lies, marks
    from nutgen.stock.verdict import size_words

    piece, block = judged.piece, judged.answer.block
    screen.say()
    screen.say(
        f"{judged.spec.title}, from: {piece.title} ({piece.material}, {piece.length:.0f} mm, by"
        f" {'scan' if piece.found_by == 'scan' else 'calipers'}). Sawn block {size_words(block.size)}, finished nut"
        f" {size_words(block.finished)}. {cuts_in_all(plan)} All in mm unless marked.",
        style="dim",
    )
    _show_listing(screen, lies(judged.answer))
    screen.say()
    screen.say(f"! {IN_SHORT}", hang="  ")
    _head(screen, "Mark, then saw in the order of the numbers")
    screen.say(ends_and_lines(piece))
    for table in marks(plan):
        _show_listing(screen, table)


def _show_listing(screen: "Screen", table: "Listing") -> None:
    from nutgen.commands.columns import show_split
    from nutgen.documents.screen import Column

    _head(screen, table.title)
    show_split(screen, [Column(head, right=index > 0) for index, head in enumerate(table.heads)], table.rows)
    screen.say(table.remark, style="dim")


def _show_written(screen: "Screen", judged: "Judged", written: "Written") -> None:
    from nutgen.commands.tables import show_files

    show_files(screen, str(written.folder), written.files)
    if judged.plan is not None:
        screen.say(
            "Print stock.pdf at 100 % and check its bars: it holds every step, what to sand, and strips and end views"
            " to glue on the piece. stock.html shows the same in 3D. Every file was read back.",
        )
    else:
        screen.say("stock.html shows the best attempt. There is no cut plan for a piece that does not yield the nut.")
    if written.taken_away:
        screen.say(f"Taken away, because it was of an earlier answer: {', '.join(written.taken_away)}.")


def _head(screen: "Screen", words: str) -> None:
    screen.say()
    screen.say(words, style="bold")
