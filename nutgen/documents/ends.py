"""How the ends of a nut stand, in words."""

from nutgen.documents.blocks import Cell, Run, Text
from nutgen.nut.part import Nut


def ends_text(nut: Nut) -> Text:
    """How far the bass end and the treble end lean in plan, off square to the front face."""
    ends = (nut.left, nut.right) if nut.strung == "right" else (nut.right, nut.left)
    if not any(end.lean_deg for end in ends):
        return "square"
    return Run(tuple(Cell(abs(end.lean_deg), "angle") for end in ends), ", ")
