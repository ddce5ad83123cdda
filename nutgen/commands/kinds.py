"""`presets`, `new`, `schema` and `explain`: where a file comes from, what it may hold, what a code means."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from itertools import groupby
from pathlib import Path
from typing import Annotated

import typer

from nutgen.commands.common import print_json, say
from nutgen.commands.options import AsJson, can_be_shown
from nutgen.documents.blocks import Block, Column, Document, Paragraph, Space, Table, Title, table_of
from nutgen.documents.paint.text import show
from nutgen.documents.texts import Labelled
from nutgen.documents.words import CATALOGUE, sentence
from nutgen.errors import SpecFaults
from nutgen.finding import note, refusal
from nutgen.jobs.atomic import mend, write_all
from nutgen.spec.piece import PieceSpec
from nutgen.spec.presets import kinds, meshes_of, piece_names, pieces, start_path
from nutgen.spec.tables import Spec
from nutgen.spec.values import nearest


def presets(as_json: AsJson = False) -> None:
    """List the instrument kinds and the natural pieces to start from."""
    if as_json:
        print_json({"kinds": [asdict(kind) for kind in kinds()], "pieces": [asdict(piece) for piece in pieces()]})
        return
    of_kinds = {"kind": "name", "what it is": "title", "scale": "scale", "strings, bass to treble": "strings"}
    of_pieces = {"piece": "name", "what it is": "title", "length": "length", "found by": "found_by"}
    told = Paragraph("`nutgen stock FILE --piece PIECE` lays the blank in one of these, or in yours:")
    show((_listed(kinds(), of_kinds), Space(), told, _listed(pieces(), of_pieces)))


def _listed(things: Sequence[object], shown: Mapping[str, str]) -> Table:
    return table_of(things, *((Column(title), key) for title, key in shown.items()))


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", callback=can_be_shown, help="The file to write.")],
    kind: Annotated[
        str | None,
        typer.Option("--from", metavar="KIND", help="An instrument kind or a natural piece; see `nutgen presets`."),
    ] = None,
    ask: Annotated[
        bool, typer.Option("--ask", help="Ask for the measurements one by one, the kind's as default.")
    ] = False,
) -> None:
    """Write a commented instrument file or piece file to edit, or ask for it measurement by measurement."""
    if kind is None and not ask:
        raise typer.BadParameter("say which with --from KIND (`nutgen presets` lists the kinds), or --ask")
    start = start_path(kind) if kind else None
    if ask and kind in piece_names():
        raise typer.BadParameter(
            f"--ask asks about an instrument; {kind} is a piece, leave --ask out and edit the file"
        )
    _must_be_new(file)
    if ask or start is None:
        from nutgen.commands.ask import ask as converse
        from nutgen.commands.check import check

        converse(file, kind)
        check(str(file))
        return
    meshes = _meshes(start, file)
    write_all(file.parent, {file.name: start.read_bytes(), **meshes})
    beside = f" and, beside it, {' and '.join(meshes)}" if meshes else ""
    then = f"stock FILE --piece {file}" if kind in piece_names() else f"check {file}"
    say(f"wrote {file}{beside}; measure, edit, then: nutgen {then}")


def _must_be_new(file: Path) -> None:
    """Refuse a file that is there, once what a killed run was placing beside it is in its place too."""
    if not file.parent.is_dir():
        raise SpecFaults(str(file), [refusal("file.no-folder", folder=str(file.parent))])
    if os.path.lexists(file):
        if late := mend(file.parent):
            say(sentence(note("files.placed-late", names=late)))
        raise SpecFaults(str(file), [refusal("file.is-there")])


def _meshes(start: Path, file: Path) -> dict[str, bytes]:
    """The meshes that go with a piece file; one that is there already stays unless it is the same."""
    meshes = {name: (start.parent / name).read_bytes() for name in meshes_of(start)}
    if file.name in meshes:
        raise SpecFaults(str(file), [refusal("file.named-as-mesh")])
    taken = [name for name, content in meshes.items() if _other(file.parent / name, content)]
    if taken:
        raise SpecFaults(str(file.parent / taken[0]), [refusal("file.other-mesh")])
    return meshes


def _other(path: Path, content: bytes) -> bool:
    return path.exists() and not (path.is_file() and path.read_bytes() == content)


def schema(piece: Annotated[bool, typer.Option("--piece", help="Of the piece file instead.")] = False) -> None:
    """Print the JSON Schema of the instrument file or the piece file, for editors."""
    title = {"title": "nutgen piece file" if piece else "nutgen instrument file"}
    dialect = {"$schema": "https://json-schema.org/draft/2020-12/schema"}
    print_json(dialect | (PieceSpec if piece else Spec).json_schema() | title)


def explain(
    code: Annotated[
        str | None, typer.Argument(metavar="CODE", help="Like slots.break-into-each-other; all codes where not said.")
    ] = None,
) -> None:
    """Why a warning or a refusal comes up, and its cure; `--json` of the other commands names the codes."""
    if code is None:
        show(_all_blocks())
        return
    if code not in CATALOGUE:
        near = nearest(code, CATALOGUE)
        raise typer.BadParameter(f'"{code}" is no code; {f"did you mean {near}?" if near else "see `nutgen explain`"}')
    show(_code_blocks(code))


def _code_blocks(code: str) -> Document:
    told = CATALOGUE[code]
    return Title(code), Paragraph(told.cause), *([Paragraph(f"Cure: {told.cure}", hang=2)] if told.cure else [])


def _all_blocks() -> Document:
    """Every code by what it is about, and its cause."""
    blocks: list[Block] = []
    for subject, codes in groupby(sorted(CATALOGUE), key=lambda code: code.partition(".")[0]):
        blocks.append(Title(subject))
        blocks += [Paragraph(Labelled(f"{code}:", CATALOGUE[code].cause), hang=2) for code in codes]
    return tuple(blocks)
