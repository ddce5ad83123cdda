"""How far a hand is off when it reads an instrument: the one table that simulated makers read by."""

import numpy as np

HAND = {
    "gap": 0.05,
    "stack": 0.03,
    "sheet": 0.01,
    "leaf": 0.02,
    "ruler": 0.5,
    "line": 0.07,
    "lead": 0.05,
    "depth": 0.05,
    "roll_deg": 1.0,
    "relief": 0.03,
    "action": 0.10,
    "caliper": 0.02,
    "jaws": 0.02,
    "wire": 0.01,
}
"""Half-widths that hold 95 %, mm but for the roll of a pencil. Common practice, no source.

gap     : what just fills a gap
stack   : the same of loose sheets, and `sheet` more for each of them
leaf    : where a steel leaf or a wire is felt to drag
relief  : by leaf under a straightedge
action  : by ruler at fret 12
caliper : what it shows; `jaws` how they are held, `wire` how far that is from its packet
"""


def error(rng: np.random.Generator, what: str) -> float:
    """One error, drawn."""
    return float(rng.normal(0.0, HAND[what] / 1.959964))
