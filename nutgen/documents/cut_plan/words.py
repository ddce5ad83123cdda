"""The words of a cut plan: the answer, the tables of marks, the steps, the cautions."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate

import numpy as np

from nutgen.documents.cut_plan.lines import LEGEND, hatched, segment
from nutgen.documents.paint.font import printable, width
from nutgen.documents.paint.page import (
    BODY,
    GAP,
    GREY,
    HEAD,
    LEADING,
    SMALL,
    Group,
    Item,
    Linework,
    Words,
    rule,
    wrapped,
)
from nutgen.stock.cut.words import CAUTIONS, Step
from nutgen.stock.cut.work import Listing
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece
from nutgen.stock.verdict import headline, reasons, sentence, size_words

ROWS = 24
"""Of a table, before it is broken."""

_SAMPLE = 12.0


def answer_block(piece: Piece, answer: Answer, nut_title: str, room: float) -> Group:
    """Yes with the margin, then what is cut out of what."""
    length = f"{piece.length:.0f} mm long, by {'scan' if piece.found_by == 'scan' else 'calipers'}"
    lines = [
        f"Piece: {piece.title} ({piece.material}, {length}). Nut: {nut_title}.",
        f"Sawn block {size_words(answer.block.size)}, finished nut {size_words(answer.block.finished)}.",
        *reasons(answer),
        *(f"Note: {sentence(note)}" for note in answer.notes),
    ]
    items: list[Item] = [Words(0.0, HEAD * 1.3, headline(answer), HEAD * 1.3, bold=True)]
    y = HEAD * 1.3 + 0.8
    for line in lines:
        shown, typeface, _ = printable(line)
        for row in wrapped(shown, BODY, room, typeface=typeface):
            y += BODY * LEADING
            items.append(Words(0.0, y, row, BODY, typeface=typeface))
    return Group(y + 1.0, tuple(items))


def listing_block(listing: Listing, name: str, room: float) -> Group:
    """A table: names left, numbers right, how to read it below."""
    step, head = BODY * 1.65, HEAD + 1.2
    rows = [(head + BODY, listing.heads, GREY)]
    under = head + BODY * 1.7
    rows += [(under + (n + 0.75) * step, row, 0.0) for n, row in enumerate(listing.rows)]
    widths = [max(width(cell, BODY) for cell in cells) for cells in zip(*(row[1] for row in rows), strict=True)]
    between = min(9.0, max(2.0, (room - sum(widths)) / max(1, len(widths) - 1)))
    lefts = list(accumulate(widths, lambda left, wide: left + wide + between, initial=0.0))[:-1]
    items: list[Item] = [Words(0.0, HEAD, listing.title, HEAD, bold=True)]
    full = lefts[-1] + widths[-1]
    items.append(rule(f"{name}-head", full, under))
    for y, cells, shade in rows:
        for column, (left, wide, text) in enumerate(zip(lefts, widths, cells, strict=True)):
            if text.strip():
                at, align = (left, "left") if column == 0 else (left + wide, "right")
                items.append(
                    Words(at, y, text.strip(), BODY, align="left" if align == "left" else "right", shade=shade)
                )
    for n in range(1, len(listing.rows)):
        items.append(rule(f"{name}-row-{n}", full, under + n * step, layer="row-rules"))
    y = under + len(listing.rows) * step + 0.6
    for line in wrapped(listing.remark, SMALL, room):
        y += SMALL * LEADING
        items.append(Words(0.0, y, line, SMALL, shade=GREY))
    return Group(y + 1.0, tuple(items))


def listing_blocks(listing: Listing, name: str, room: float) -> list[Group]:
    """A table in as many blocks as it takes to break it over pages."""
    whole = listing.rows
    if len(whole) <= ROWS:
        return [listing_block(listing, name, room)]
    blocks = []
    for first in range(0, len(whole), ROWS):
        title = listing.title if first == 0 else f"{listing.title}, continued"
        part = replace(listing, title=title, rows=whole[first : first + ROWS])
        blocks.append(listing_block(part, f"{name}-{first}", room))
    return blocks


def below(blocks: Sequence[Group], gap: float) -> Group:
    """Blocks below each other as one."""
    items: list[Item] = []
    y = 0.0
    for block in blocks:
        items += [item.moved(0.0, y) for item in block.items]
        y += block.height + gap
    return Group(y - gap, tuple(items))


def beside(left: Group, right: Group, column: float) -> Group:
    """Two blocks side by side, the second a column and a gap to the right."""
    moved = (item.moved(column + GAP, 0.0) for item in right.items)
    return Group(max(left.height, right.height), (*left.items, *moved))


def step_blocks(steps: tuple[Step, ...], room: float) -> list[Group]:
    """Each step with its number; the title stays with the first."""
    blocks = []
    for number, step in enumerate(steps, start=1):
        items: list[Item] = []
        y = 0.0
        if number == 1:
            y = HEAD + 0.8
            items.append(Words(0.0, HEAD, "Mark and saw, in this order", HEAD, bold=True))
        y += BODY
        items.append(Words(5.0, y, str(number), BODY, bold=True, align="right"))
        head, typeface, _ = printable(step.head)
        for row, line in enumerate(wrapped(head, BODY, room - 7.0, bold=True, typeface=typeface)):
            y += row and BODY * LEADING
            items.append(Words(7.0, y, line, BODY, bold=True, typeface=typeface))
        text, typeface, _ = printable(step.text)
        for line in wrapped(text, BODY, room - 7.0, typeface=typeface):
            y += BODY * LEADING
            items.append(Words(7.0, y, line, BODY, typeface=typeface))
        blocks.append(Group(y + 0.4, tuple(items)))
    return blocks


def cautions_block(room: float) -> Group:
    """What to look out for, before the first cut."""
    items: list[Item] = [Words(0.0, HEAD, "Take care", HEAD, bold=True)]
    y = HEAD + 0.4
    for text in CAUTIONS:
        y += 0.6
        for line in wrapped(text, SMALL, room):
            y += SMALL * LEADING
            items.append(Words(0.0, y, line, SMALL))
    return Group(y + 1.0, tuple(items))


def legend_block(room: float, *, columns: int = 2) -> Group:
    """A sample of every kind of line, with its meaning."""
    rows, step = -(-len(LEGEND) // columns), BODY * 1.6
    items: list[Item] = []
    for index, (layer, words) in enumerate(LEGEND):
        x, y = room / columns * (index // rows), (index % rows) * step + SMALL
        start, end = np.array([0.0, 0.0]), np.array([_SAMPLE, 0.0])
        sample = [segment(layer, start, end)]
        if layer == "kerf":
            sample = [segment("keep-lines", start, end), *hatched((start, end), 0.9, np.array([0.0, 1.0]))]
        items.append(Linework(f"sample-{layer}", x, y - SMALL * 0.35, tuple(sample)))
        items.append(Words(x + _SAMPLE + 2.0, y, words, SMALL))
    return Group(rows * step, tuple(items))
