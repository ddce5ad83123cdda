"""Raised letters of straight strokes, two printed lines wide, that a nozzle of 0.4 prints."""

from functools import cache
from itertools import pairwise

from nutgen.geometry.kernel import Solid
from nutgen.geometry.lines import Point
from nutgen.geometry.slices import area
from nutgen.jigs.shapes.fits import MARK_HIGH
from nutgen.jigs.shapes.form import prism

PEN = 0.9
"""Width of a stroke: two lines of a 0.4 nozzle [mm]."""

HIGH, WIDE, STEP = 4.0, 2.2, 3.9
"""Height and width of a letter between the middles of its strokes, and from one letter to the next [mm]."""

CAP = HIGH + PEN
"""Height of a letter in all [mm]."""

ROW = 6.2
"""From one row to the next [mm]."""

_SUNK = 0.2  # mm that letters reach into what they stand on

_O = "00 04 24 20 00"
_STROKES = {
    "A": ["00 03 14 23 20", "02 22"],
    "B": ["00 04 14 23 12 02", "12 21 10 00"],
    "C": ["24 04 00 20"],
    "D": ["00 04 14 23 21 10 00"],
    "E": ["24 04 00 20", "02 22"],
    "F": ["24 04 00", "02 22"],
    "G": ["24 04 00 20 22 12"],
    "H": ["00 04", "20 24", "02 22"],
    "I": ["10 14"],
    "J": ["24 20 00 01"],
    "K": ["00 04", "24 02 20"],
    "L": ["04 00 20"],
    "M": ["00 04 12 24 20"],
    "N": ["00 04 20 24"],
    "O": [_O],
    "P": ["00 04 24 22 02"],
    "Q": [_O, "11 20"],
    "R": ["00 04 24 22 02", "12 20"],
    "S": ["24 04 02 22 20 00"],
    "T": ["04 24", "14 10"],
    "U": ["04 00 20 24"],
    "V": ["04 10 24"],
    "W": ["04 00 12 20 24"],
    "X": ["00 24", "04 20"],
    "Y": ["04 12 24", "12 10"],
    "Z": ["04 24 00 20"],
    "0": [_O],
    "1": ["03 14 10"],
    "2": ["04 24 22 02 00 20"],
    "3": ["04 24 20 00", "02 22"],
    "4": ["04 02 22", "24 20"],
    "5": ["24 04 02 22 20 00"],
    "6": ["24 04 00 20 22 02"],
    "7": ["04 24 10"],
    "8": [_O, "02 22"],
    "9": ["00 20 24 04 02 22"],
    "-": ["02 22"],
}


def long(words: str) -> float:
    """Length of a row of letters [mm]."""
    return max(0.0, STEP * len(words) - (STEP - WIDE - PEN))


def raised(words: str, at: Point, z: float) -> list[Solid]:
    """Letters in a row to the right, as solids.

    at : lower left corner of the first
    z  : of the face that they stand on [mm]
    """
    made = []
    for place, letter in enumerate(words.upper()):
        for outer, *holes in _islands(letter):
            x, y = at[0] + place * STEP + PEN / 2.0, at[1] + PEN / 2.0
            loops = [[(x + u, y + v) for u, v in loop] for loop in (outer, *holes)]
            made.append(prism(loops[0], z - _SUNK, z + MARK_HIGH, holes=loops[1:]))
    return made


@cache
def _islands(letter: str) -> tuple[tuple[tuple[Point, ...], ...], ...]:
    """The contours of a letter, the outer one first and then its holes; several where it is in pieces."""
    from manifold3d import CrossSection

    pen = CrossSection.square((PEN, PEN), center=True)
    strokes = CrossSection()
    for stroke in _STROKES.get(letter, ()):
        spots = [pen.translate((int(place[0]) * WIDE / 2.0, int(place[1]) * HIGH / 4.0)) for place in stroke.split()]
        for pair in pairwise(spots):
            strokes += CrossSection.batch_hull(pair)
    found = []
    for island in strokes.decompose() if not strokes.is_empty() else ():
        loops = sorted(island.to_polygons(), key=area, reverse=True)
        found.append(tuple(tuple((float(x), float(y)) for x, y in loop) for loop in loops))
    return tuple(found)
