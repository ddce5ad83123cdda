"""The log of a nut's dry fits as a picture: every floor, round by round, between what leaves could tell."""

import math
import textwrap
from collections.abc import Sequence

from nutgen.bench.dryfit.fitlog import Round
from nutgen.bench.remedies import LOWEST, TOLERANCE
from nutgen.documents.charts.sketch import GREY, INK, PALE, Sketch
from nutgen.formats.stamp import Stamp
from nutgen.nut.part import Nut

WIDTH, LEFT, RIGHT = 480.0, 44.0, 466.0
TALL = 86.0
STEPS = (0.05, 0.1, 0.2, 0.5, 1.0)
MOST_LABELS = 12


def fit_svg(nut: Nut, rounds: Sequence[Round], stamp: Stamp) -> bytes:
    """Every string's floor over the height wanted, one bar a round; grey: in tolerance.

    nut     : as the file wants it now
    rounds  : of these strings, oldest first; one at least
    returns : SVG
    """
    about = (
        f"Floor over the height wanted, mm. Grey: in tolerance, {-LOWEST:+.2f} to {TOLERANCE:+.2f}. A bar: the floor"
        " lies between its ends. Hollow: a reading in doubt."
    )
    sketch = Sketch(WIDTH)
    y = _lines(sketch, 6.0, stamp.title + ": dry fits", 56, size=15.0, step=17.0, bold=True)
    y = _lines(sketch, y + 3.0, about, 74, size=11.0, step=14.0) + 6.0
    for index in range(len(nut.slots)):
        y = _panel(sketch, nut, rounds, index, y)
    dates = f"Round 1: {rounds[0].time[:10]}. Round {len(rounds)}: {rounds[-1].time[:10]}."
    y = _lines(sketch, y, dates, 74, size=11.0, step=14.0)
    y = _lines(sketch, y + 4.0, stamp.line, 84, size=9.5, step=12.0) + 8.0
    return sketch.to_bytes(y, title=f"{stamp.title}: dry fits", about=about, stamp=stamp)


def _lines(sketch: Sketch, y: float, text: str, letters: int, *, size: float, step: float, bold: bool = False) -> float:
    for line in textwrap.wrap(text, letters):
        y += step
        sketch.words(10.0, y, line, size=size, bold=bold, ink=INK if bold else GREY)
    return y


def _panel(sketch: Sketch, nut: Nut, rounds: Sequence[Round], index: int, y: float) -> float:
    """One string; returns where the next panel starts."""
    slot = nut.slots[index]
    read = [entry.strings[index] for entry in rounds]
    spans = [(one.floor_low - slot.floor_height, one.floor_high - slot.floor_height) for one in read]
    step = next((s for s in STEPS if _spread(spans) / s <= 5.0), STEPS[-1])
    bottom = math.floor(min(-LOWEST, *(low for low, _ in spans)) / step) * step
    top = math.ceil(max(TOLERANCE, *(high for _, high in spans)) / step) * step
    base, wide = y + 22.0 + TALL, (RIGHT - LEFT) / (len(rounds) + 0.5)

    def height(value: float) -> float:
        return base - (value - bottom) / (top - bottom) * TALL

    sketch.words(LEFT, y + 16.0, f"{slot.number} {slot.note}", size=13.0, bold=True)
    sketch.words(RIGHT, y + 16.0, f"last: {spans[-1][0]:+.2f} to {spans[-1][1]:+.2f}", size=11.0, at="end")
    under, upper = height(-LOWEST), height(TOLERANCE)
    sketch.area([(LEFT, upper), (RIGHT, upper), (RIGHT, under), (LEFT, under)], fill=PALE, name="tolerance")
    for tick in range(round(bottom / step), round(top / step) + 1):
        at = height(tick * step)
        sketch.line([(LEFT, at), (RIGHT, at)], ink=INK if tick == 0 else "#bbb", wide=0.8)
        sketch.words(LEFT - 5.0, at + 3.5, f"{tick * step:+.2f}" if tick else "0", size=10.0, at="end", ink=GREY)
    every = math.ceil(len(rounds) / MOST_LABELS)
    for number, (one, (low, high)) in enumerate(zip(read, spans, strict=True), start=1):
        x, half = LEFT + (number - 0.25) * wide, min(5.0, wide / 3.0)
        corners = [(x - half, height(low)), (x + half, height(low)), (x + half, height(high)), (x - half, height(high))]
        sketch.area(corners, fill="#fff" if one.doubt else "#555", ink=INK, name="doubt" if one.doubt else "floor")
        if (number - 1) % every == 0 or number == len(rounds):
            sketch.words(x, base + 12.0, str(number), size=10.0, at="middle", ink=GREY)
    return base + 18.0


def _spread(spans: Sequence[tuple[float, float]]) -> float:
    return max(TOLERANCE, *(high for _, high in spans)) - min(-LOWEST, *(low for low, _ in spans))
