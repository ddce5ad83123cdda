"""Clearances of one nut over the months, string by string."""

from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from nutgen.bench.dryfit.fitlog import Reading
from nutgen.documents.charts.chart import SMALL, chart_svg, heads, panels
from nutgen.documents.paint.written import written
from nutgen.documents.texts import phrase
from nutgen.documents.words.quantities import MM_PER_INCH, Units, figures
from nutgen.formats.stamp import Stamp
from nutgen.nut.part import Nut

TALL = 86.0  # pt


def wear_svg(nut: Nut, read: Sequence[Reading], lowest: Sequence[float], stamp: Stamp, units: Units = "mm") -> bytes:
    """Each string's clearance over fret 1, one mark a reading; the line below which it buzzes.

    read    : of this nut at one relief, oldest first; one at least
    lowest  : clearance from which on each string is clear [mm]
    returns : SVG
    """
    first, last = (read[place].read[:10] for place in (0, -1))
    about = phrase(
        "Open string over fret 1, {units}, from {first} to {last}. Dashed: below it buzzes.", first=first, last=last
    )
    title, told = f"{stamp.title}: wear", written(about, units)
    per = 1.0 if units == "mm" else MM_PER_INCH
    start = datetime.fromisoformat(read[0].read)
    months = [(datetime.fromisoformat(one.read) - start) / timedelta(days=365.25 / 12.0) for one in read]
    figure, axes = panels([TALL] * len(nut.slots), title=title, about=told, foot=f"{stamp.line}; months since {first}")
    for index, (one, slot) in enumerate(zip(axes, nut.slots, strict=True)):
        over = np.array([reading.clearance[index] for reading in read]) / per
        heads(one, f"{slot.number} {slot.note}", f"last: {figures(float(over[-1] * per), 'leaf', units)}")
        one.plot(months, over, color="black", marker="o", markersize=4.0, linewidth=1.0, gid=f"wear-{index}")
        one.axhline(lowest[index] / per, color="black", linewidth=0.8, linestyle=(0, (4, 3)))
        one.grid(axis="y", color="0.75", linewidth=0.6)
        one.set_xlim(-0.5, max(months[-1], 6.0) + 0.5)
        one.tick_params(axis="x", labelsize=SMALL)
        one.locator_params(axis="y", nbins=5)
    return chart_svg(figure, title=title, about=told, stamp=stamp)
