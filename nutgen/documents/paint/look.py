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

_WIDE = (
    *("keep-lines", "skin", "sawn-block", "best-margin"),  # of a cut plan
    *("neck-nut", "neck-fret", "neck-posts"),
    *("blank", "steel", "gauge-top", "gauge-strings", "gauge-bevel", "gauge-radius"),  # of jigs and their gauges
    *("check-bar", "boxes"),
)
_NARROW = (
    *("kerf", "finished-nut", "paper-edge", "sizes"),
    *("neck-edges", "neck-strings"),
    *("jig", "tool"),
    *("ruler", "leaders", "rules"),
)
PAGE_STROKES = {
    **STROKES,
    **dict.fromkeys(_WIDE, CONTINUOUS_WIDE),
    **dict.fromkeys(_NARROW, CONTINUOUS_NARROW),
    **dict.fromkeys(("core", "neck-straight-on"), DASHED),
    **dict.fromkeys(("turn-lines", "neck-centre"), LONG_DASHED_DOTTED),
    "squared-block": LONG_DASHED_DOUBLE_DOTTED,
    "compact": DOTTED,
    "tab": LONG_DASHED_SHORT_DASHED,
}
"""The stroke of every layer: of the drawing, and of what only pages have."""

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
