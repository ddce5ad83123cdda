"""How the ends of a nut stand, in words."""

from nutgen.documents.blocks import Cell, Run, Text
from nutgen.nut.part import Nut


def ends_text(nut: Nut) -> Text:
    """How far and which way the bass end and the treble end run off square toward the back, seen from above."""
    if not any(nut.outward_deg):
        return "square"
    return Run(
        tuple(
            Run((f"{name} ", Cell(abs(turn), "angle"), " outward" if turn > 0.0 else " inward"))
            for name, turn in zip(("bass", "treble"), nut.outward_deg, strict=True)
        ),
        ", ",
    )
