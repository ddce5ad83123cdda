"""The jigs as PDF: a page never parts a jig from its picture."""

from itertools import accumulate, groupby

from reportlab.platypus import KeepTogether

from nutgen.documents.blocks import Document, Title
from nutgen.documents.paint.flow import flow, flow_pdf, room_of
from nutgen.documents.words.quantities import Units
from nutgen.formats.stamp import Stamp


def jigs_pdf(document: Document, stamp: Stamp, *, paper: str, units: Units) -> bytes:
    """A document as a PDF file, what stands under one title together.

    paper : "a4" or "letter"
    """
    parts = accumulate(isinstance(block, Title) for block in document)
    numbered = groupby(zip(parts, document, strict=True), key=lambda one: one[0])
    kept = [KeepTogether(flow(tuple(block for _, block in part), room_of(paper), units)) for _, part in numbered]
    return flow_pdf(kept, stamp, paper=paper)
