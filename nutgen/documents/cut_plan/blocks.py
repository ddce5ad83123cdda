"""The words of a cut plan: the answer, the steps, the cautions, the kinds of line."""

import numpy as np

from nutgen.documents.blocks import SAMPLE, Document, Legend, Paragraph, Points, Steps, Title, sample
from nutgen.documents.cut_plan.lines import hatched
from nutgen.documents.texts import Labelled, Phrase, Run, capital, extent, phrase
from nutgen.finding import Finding
from nutgen.stock.cut.cuts import CutPlan
from nutgen.stock.cut.steps import cautions, instructions
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece
from nutgen.stock.verdict import reasons, verdict

LEGEND = Legend(
    (
        (sample("keep-lines"), "skin; sawn block; line to keep at the saw"),
        (
            (*sample("keep-lines"), *hatched((np.zeros(2), np.array([SAMPLE, 0.0])), 0.9, np.array([0.0, 1.0]))),
            "kerf: the saw runs here, on the waste side",
        ),
        (sample("core"), "porous or hollow core"),
        (sample("turn-lines"), "back line, left side, belly, right side"),
        (sample("squared-block"), "block once it is squared"),
        (sample("finished-nut"), "finished nut; edge of the paper"),
        (sample("compact"), "must be compact: slots and front edge"),
        (sample("tab"), "tab, goes under"),
    )
)
"""What each kind of line means on any page."""


def answer_blocks(piece: Piece, answer: Answer, nut_title: str) -> Document:
    """Yes with the margin, then what is cut out of what."""
    return (
        Title(verdict(answer), 2),
        Paragraph(Run(("Piece: ", piece_words(piece), f". Nut: {nut_title}."))),
        Paragraph(block_words(answer)),
        *(Paragraph(alone(reason)) for reason in reasons(answer)),
        *(Paragraph(Run(("Note: ", alone(note)))) for note in answer.notes),
    )


def alone(finding: Finding) -> Run:
    """A finding as a sentence that stands alone."""
    return Run((capital(finding), "."))


def piece_words(piece: Piece) -> Phrase:
    """A piece in a few words."""
    return phrase("{title} ({material}, {length:stock,.0} long, by {found_by})", piece)


def block_words(answer: Answer) -> Run:
    """The sizes of the sawn block and of the finished nut."""
    block = answer.block
    return Run(("Sawn block ", extent(block.size, "blank"), ", finished nut ", extent(block.finished, "stock"), "."))


def step_blocks(piece: Piece, answer: Answer, plan: CutPlan) -> Document:
    """What to do, from the first pencil line to the squared block."""
    told = tuple(Labelled(Run((one.head, ".")), one.how) for one in instructions(piece, answer, plan))
    return Title("Mark and saw, in this order", 3), Steps(told)


def caution_blocks(piece: Piece) -> Document:
    """What to look out for, before the first cut."""
    return Title("Take care", 3), Points(cautions(piece), "")
