"""The string tops under the hand as a picture: across the neck at the nut, over fret 12 and where the hand plucks."""

from typing import TYPE_CHECKING

import numpy as np

from nutgen.documents.charts.chart import GREY, SMALL, chart_svg, heads, panels
from nutgen.documents.words.quantities import MM_PER_INCH, Units, quantity
from nutgen.formats.stamp import Stamp
from nutgen.nut.part import Nut
from nutgen.play.tops import PLACES, PROUD, Tops
from nutgen.theory.bridge import arc_height, arc_through

if TYPE_CHECKING:
    from matplotlib.axes import Axes

TALL = 96.0  # pt


def tops_svg(nut: Nut, seen: Tops, stamp: Stamp, units: Units = "mm") -> bytes:
    """Every string as a disc across the neck, at each place, below it the arc of all tops.

    returns : SVG
    """
    proud = quantity(PROUD, "limit", units)
    unit = {"mm": "mm", "in": "inches"}[units]
    title = f"{nut.title}: string tops under the hand"
    about = (
        f"Seen from the bridge; heights over the board at the nut, drawn larger than widths, {unit}. Line: the arc of"
        f" all tops. Dots: the tops; hollow where one stands more than {proud} over the arc of the others."
    )
    figure, axes = panels([TALL] * len(PLACES), title=title, about=about, foot=stamp.line)
    for place, one in enumerate(axes):
        _panel(one, nut, seen, place, units)
    return chart_svg(figure, title=title, about=about, stamp=stamp)


def _panel(axes: "Axes", nut: Nut, seen: Tops, place: int, units: Units) -> None:
    per = 1.0 if units == "mm" else MM_PER_INCH
    x, z, off = seen.x[place], seen.z[place], seen.off[place]
    worst = int(np.argmax(off))
    name = {"pluck": "where the hand plucks"}.get(PLACES[place], PLACES[place])
    by = quantity(float(off[worst]), "setting_out", units, sign=True)
    heads(axes, name, f"most: string {nut.slots[worst].number}, {by}")
    across = np.linspace(x.min() - 3.0, x.max() + 3.0, 61)
    arc = arc_height(across, arc_through(x, z, curvature=1.0 / nut.board_radius, free_from=5))
    axes.plot(across / per, arc / per, color=GREY, linewidth=1.0, gid=f"arc-{place}")
    low = z - np.array([slot.gauge for slot in nut.slots])
    for i, slot in enumerate(nut.slots):
        at, top, fill = x[i] / per, z[i] / per, "white" if off[i] > PROUD else "black"
        axes.plot([at, at], [low[i] / per, top], color="0.6", linewidth=5.0, solid_capstyle="butt")
        axes.plot(at, top, "o", color="black", markerfacecolor=fill, markersize=5.0, gid=f"top-{place}-{i}")
        axes.annotate(f"{slot.number}", (at, top), (0, 6), textcoords="offset points", ha="center", fontsize=SMALL)
    axes.set_ylim((float(low.min()) - 0.3) / per, (float(z.max()) + 1.2) / per)
    axes.grid(axis="y", color="0.85", linewidth=0.6)
    axes.locator_params(axis="y", nbins=5)
