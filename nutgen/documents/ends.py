"""How the ends of a nut stand, in words."""

from nutgen.documents.blocks import Cell, Run, Text
from nutgen.nut.part import Nut


def ends_text(nut: Nut) -> Text:
    """How far and which way the bass end and the treble end run off square toward the back, seen from above."""
    ends = (nut.left, nut.right) if nut.strung == "right" else (nut.right, nut.left)
    if not any(end.lean_deg for end in ends):
        return "square"
    out = [(ends[0].lean_deg < 0.0) == (nut.strung == "right"), (ends[1].lean_deg > 0.0) == (nut.strung == "right")]
    return Run(
        tuple(
            Run((f"{name} ", Cell(abs(end.lean_deg), "angle"), " out" if outward else " in"))
            for name, end, outward in zip(("bass", "treble"), ends, out, strict=True)
        ),
        ", ",
    )
