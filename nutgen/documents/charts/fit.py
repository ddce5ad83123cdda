"""The log of a nut's dry fits as a picture: every floor, round by round, between what leaves could tell."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from nutgen.bench.dryfit.fitlog import Round
from nutgen.bench.remedies import LOWEST, TOLERANCE
from nutgen.documents.charts.chart import GREY, PALE, SMALL, chart_svg, heads, panels
from nutgen.documents.paint.written import written
from nutgen.documents.texts import phrase
from nutgen.documents.words.quantities import MM_PER_INCH, Units, figures
from nutgen.formats.stamp import Stamp
from nutgen.nut.part import Nut

if TYPE_CHECKING:
    from matplotlib.axes import Axes

TALL = 86.0  # pt
MOST_LABELS = 12


def fit_svg(nut: Nut, rounds: Sequence[Round], stamp: Stamp, units: Units = "mm") -> bytes:
    """Every string's floor over the height wanted, one bar a round; grey: in tolerance.

    nut     : as the file wants it now
    rounds  : of these strings, oldest first; one at least
    returns : SVG
    """
    about = phrase(
        "Floor over the height wanted, {units}. Grey: in tolerance, {lowest:+,bare} to {highest:+,bare}. A bar: the"
        " floor lies between its ends. Hollow: a reading in doubt. Round 1: {first}. Round {count}: {last}.",
        lowest=-LOWEST,
        highest=TOLERANCE,
        first=rounds[0].time[:10],
        count=len(rounds),
        last=rounds[-1].time[:10],
    )
    title, told = f"{stamp.title}: dry fits", written(about, units)
    figure, axes = panels([TALL] * len(nut.slots), title=title, about=told, foot=stamp.line)
    for index, one in enumerate(axes):
        _panel(one, nut, rounds, index, units)
    return chart_svg(figure, title=title, about=told, stamp=stamp)


def _panel(axes: "Axes", nut: Nut, rounds: Sequence[Round], index: int, units: Units) -> None:
    """One string."""
    slot, per = nut.slots[index], 1.0 if units == "mm" else MM_PER_INCH
    read = [entry.strings[index] for entry in rounds]
    low, high = np.array([(one.floor_low, one.floor_high) for one in read]).T - slot.floor_height
    last = [figures(float(end[-1]), "leaf", units, sign=True) for end in (low, high)]
    heads(axes, f"{slot.number} {slot.note}", f"last: {last[0]} to {last[1]}")
    axes.axhspan(-LOWEST / per, TOLERANCE / per, color=PALE, zorder=0, gid=f"tolerance-{index}")
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.grid(axis="y", color="0.75", linewidth=0.6)
    numbers = np.arange(1, len(rounds) + 1)
    fills = ["white" if one.doubt else GREY for one in read]
    bars = axes.bar(numbers, (high - low) / per, bottom=low / per, width=0.3, color=fills, edgecolor="black", zorder=2)
    for number, (bar, one) in enumerate(zip(bars, read, strict=True), start=1):
        bar.set_gid(f"{'doubt' if one.doubt else 'floor'}-{index}-{number}")
    axes.set_xlim(0.5, max(len(rounds), 6) + 0.5)
    axes.set_xticks(numbers[:: -(-len(rounds) // MOST_LABELS)])
    axes.tick_params(axis="x", labelsize=SMALL)
    axes.locator_params(axis="y", nbins=5)
