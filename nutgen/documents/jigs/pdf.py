"""The jigs as PDF: a page never parts a jig from its picture."""

from itertools import accumulate, groupby

from nutgen.documents.blocks import Document, Title
from nutgen.documents.paint.compose import below, composed
from nutgen.documents.paint.heading import printed
from nutgen.documents.paint.page import Group
from nutgen.documents.paint.pdf import pages_pdf
from nutgen.documents.words.quantities import Units
from nutgen.formats.stamp import Stamp


def jigs_pdf(document: Document, stamp: Stamp, *, paper: str, units: Units) -> bytes:
    """A document as a PDF file, what stands under one title together.

    paper : "a4" or "letter"
    """

    def kept(room: float) -> list[Group]:
        parts = accumulate(isinstance(block, Title) for block in document)
        numbered = groupby(zip(parts, document, strict=True), key=lambda one: one[0])
        return [below(composed(tuple(block for _, block in part), room, units), 1.0) for _, part in numbered]

    return pages_pdf(printed(stamp, "", paper, lambda room: [(kept(room), 4.0)]), stamp)
