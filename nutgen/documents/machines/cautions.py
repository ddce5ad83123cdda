"""What hurts, and what a report has on top and below when it is a file of its own."""

from nutgen.bench.materials import CUTTERS_GRAB, MATERIALS
from nutgen.documents.blocks import Document, Findings, Paragraph, Space
from nutgen.documents.texts import Run
from nutgen.finding import Finding
from nutgen.formats.stamp import Stamp
from nutgen.spec.forming import Print

PLASTIC_CAUTIONS = {
    "PLA": "PLA softens at 55 to 65 degrees C: a trial nut, not one for a hot car.",
    "PETG": "PETG is soft under a wound string: a trial nut.",
    "ABS": "ABS gives off fumes: print it in a closed, vented printer.",
    "nylon": "Nylon swells with damp: print it dry and measure it again after a day.",
    "resin": "Uncured resin sensitises the skin: gloves, air, and a full cure before filing.",
}
"""Common practice, no source."""


def on_paper(stamp: Stamp, document: Document, warnings: tuple[Finding, ...] = ()) -> Document:
    """A report as a file of its own: what it was made from first, its warnings last."""
    return Paragraph(stamp.line), Space(), *document, Findings(warnings, none="")


def plastic_cautions(table: Print) -> Paragraph:
    """Of what is printed, and of its dust."""
    return Paragraph(Run((PLASTIC_CAUTIONS[table.material], MATERIALS["printed plastic"].in_short), " "), "note")


def router_cautions(material: str) -> Paragraph:
    """Of the router, and of the dust of what it cuts."""
    return Paragraph(Run((CUTTERS_GRAB, MATERIALS[material].in_short), " "), "note")
