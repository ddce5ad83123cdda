"""`explain`: what a code means, and what to do about it."""

from itertools import groupby
from typing import Annotated

import typer

from nutgen.documents.blocks import Block, Document, Labelled, Paragraph, Title
from nutgen.documents.paint.text import show
from nutgen.documents.words import CATALOGUE
from nutgen.spec.values import nearest


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
