"""How a page looks: its paper, the stroke of each layer, its grid, its sizes of type."""

from nutgen.model.drawing import (
    CONTINUOUS_NARROW,
    CONTINUOUS_WIDE,
    DASHED,
    DOTTED,
    LONG_DASHED_DOTTED,
    LONG_DASHED_DOUBLE_DOTTED,
    LONG_DASHED_SHORT_DASHED,
    STROKES,
)

CUT_STROKES = {
    "keep-lines": CONTINUOUS_WIDE,
    "kerf": CONTINUOUS_NARROW,
    "skin": CONTINUOUS_WIDE,
    "core": DASHED,
    "sawn-block": CONTINUOUS_WIDE,
    "squared-block": LONG_DASHED_DOUBLE_DOTTED,
    "finished-nut": CONTINUOUS_NARROW,
    "compact": DOTTED,
    "turn-lines": LONG_DASHED_DOTTED,
    "paper-edge": CONTINUOUS_NARROW,
    "tab": LONG_DASHED_SHORT_DASHED,
    "sizes": CONTINUOUS_NARROW,
    "best-margin": CONTINUOUS_WIDE,
}
"""Layers of a cut plan."""

NECK_STROKES = {
    "neck-nut": CONTINUOUS_WIDE,
    "neck-edges": CONTINUOUS_NARROW,
    "neck-fret": CONTINUOUS_WIDE,
    "neck-centre": LONG_DASHED_DOTTED,
    "neck-strings": CONTINUOUS_NARROW,
    "neck-posts": CONTINUOUS_WIDE,
    "neck-straight-on": DASHED,
}
"""Layers of the nut in its neck."""

JIG_STROKES = {
    **dict.fromkeys(("jig", "tool"), CONTINUOUS_NARROW),
    **dict.fromkeys(("blank", "steel"), CONTINUOUS_WIDE),
    **{f"gauge-{name}": CONTINUOUS_WIDE for name in ("top", "strings", "bevel", "radius")},
}
"""Bodies in the picture of a jig, and gauges true to size."""

PAGE_STROKES = (
    STROKES
    | CUT_STROKES
    | NECK_STROKES
    | JIG_STROKES
    | {
        "check-bar": CONTINUOUS_WIDE,
        "ruler": CONTINUOUS_NARROW,
        "leaders": CONTINUOUS_NARROW,
        "rules": CONTINUOUS_NARROW,
        "boxes": CONTINUOUS_WIDE,
    }
)
"""Layers of the drawing, and those that only the page has."""

MARGIN, GAP = 12.0, 6.0
THIRD = 120.0
TITLE, HEAD, BODY, SMALL = 5.0, 3.0, 2.6, 2.3
LEADING = 1.4
GREY = 0.35
"""The grid of the page, where its third column starts, sizes of type [mm]; the distance from line to line in
sizes of type; and the shade of what is read last."""

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height [mm]: A4 of ISO 216, and US Letter, 8.5 by 11 in (from memory)."""


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height of a paper [mm]; ValueError where its name is not known."""
    if paper not in PAPERS:
        raise ValueError(f'paper "{paper}" is not known; allowed are {", ".join(PAPERS)}')
    return PAPERS[paper]
