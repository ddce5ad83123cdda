"""How the ends of a nut stand, in words."""

from nutgen.documents.blocks import Cell, Run, Text
from nutgen.nut.part import Nut


def ends_text(nut: Nut) -> Text:
    """Square, or by how much either end leans toward which side on the way to the back."""
    if nut.left.lean_deg == nut.right.lean_deg == 0.0:
        return "square to the front face"
    ends = {"bass": nut.left, "treble": nut.right} if nut.strung == "right" else {"bass": nut.right, "treble": nut.left}
    to_treble = 1.0 if nut.strung == "right" else -1.0
    told = []
    for name, end in ends.items():
        side = "treble" if end.lean_deg * to_treble > 0.0 else "bass"
        told.append(Run((f"{name} end ", Cell(abs(end.lean_deg), "angle"), f" to the {side} side at the back")))
    return Run(tuple(told), ", ")
