"""The papers that a page may be laid out for."""

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height [mm]: A4 of ISO 216, and US Letter, 8.5 by 11 in (from memory)."""


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height of a paper [mm]; ValueError where its name is not known."""
    if paper not in PAPERS:
        raise ValueError(f'paper "{paper}" is not known; allowed are {", ".join(PAPERS)}')
    return PAPERS[paper]
