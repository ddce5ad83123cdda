"""Pictures of how a nut plays: the strings over the frets, and the cents at each fret."""

from typing import TYPE_CHECKING

import numpy as np

from nutgen.documents.charts.chart import GREY, PALE, SMALL, chart_svg, heads, panel_width, panels
from nutgen.documents.paint.written import written
from nutgen.documents.texts import Cell, Run, Text, phrase
from nutgen.documents.words.quantities import MM_PER_INCH, Units, figures, quantity
from nutgen.formats.stamp import Stamp
from nutgen.nut.heights import behind_zero_fret, line_of
from nutgen.nut.part import Nut
from nutgen.play.buzz import Buzz, buzz
from nutgen.play.heights import fret_numbers
from nutgen.play.pitch import JUST_NOTICEABLE_CENTS, LOWERED_BY, pitches
from nutgen.theory import Array
from nutgen.theory.heights import StringLine

if TYPE_CHECKING:
    from matplotlib.axes import Axes


TALLEST, CENTS_TALL = 105.0, 78.0  # pt
BEYOND = 1.04
"""The strings are drawn a little beyond the last fret."""

SCALES = (100, 80, 60, 50, 40, 30, 25, 20, 15, 12, 10, 8, 6, 5, 4, 3, 2, 1)
LABELLED = (1, 2, 3, 5, 7, 9, 12, 15, 17, 19, 21, 24, 27, 30, 33, 36)
CLOSEST = 14.0
"""Numbers of frets stand no closer [pt]."""


def heights_svg(nut: Nut, stamp: Stamp, units: Units = "mm") -> bytes:
    """Every open string over the frets: crowns with their relief, the string, the lowest it swings.

    returns : SVG; heights are drawn larger than lengths, by how much is written on it
    """
    line, touches = line_of(nut), buzz(nut)
    end = float(line.neck.fret(fret_numbers(nut)).max()) * BEYOND
    low, high = _range(line, touches, end)
    across = panel_width() / end
    times = next((t for t in SCALES if float((high - low).max()) * across * t <= TALLEST), 1)
    title, about = f"{nut.title}: strings over the frets", written(_about(nut, touches, times), units)
    tall = [float(one) * across * times for one in high - low]
    figure, axes = panels(tall, title=title, about=about, foot=stamp.line)
    for i, one in enumerate(axes):
        one.set_xlim(0.0, end)
        one.set_ylim(low[i], high[i])
        _string(one, nut, i, line, touches, end, units)
    return chart_svg(figure, title=title, about=about, stamp=stamp)


def _about(nut: Nut, touches: Buzz, times: int) -> Text:
    swing = touches.swing
    forces = ", ".join(sorted({figures(value, "pull", "mm") for value in swing.force_n}))
    places = sorted({float(value) for value in swing.from_bridge})
    parts: list[Text] = [
        phrase(f"Heights are drawn {times} times as large as lengths. Relief {{relief}}.", relief=nut.relief),
        phrase(f"Open strings, plucked with {forces} N square to the board,"),
        Run((Run(tuple(Cell(place, "radius") for place in places), ", "), " from the bridge.")),
        phrase("Thick line: the string; dotted: the lowest it swings, pressed to the board; dashed: pulled off it."),
        phrase("Heights in {units}."),
    ]
    if swing.assumed:
        parts.append(Run(("Assumed: ", Run(swing.assumed, ", "), ".")))
    return Run(tuple(parts), " ")


def _range(line: StringLine, touches: Buzz, end: float) -> tuple[Array, Array]:
    """Lowest and highest height to draw, one a string [mm]."""
    neck = line.neck
    places = neck.fret(np.arange(1, int(np.max(neck.last_fret)) + 1))
    lowest = line.height(places) - np.maximum(touches.toward, touches.away)
    low = np.minimum(neck.crown(places).min(axis=-1), lowest.min(axis=-1)) - 0.25
    ends = np.stack([line.height(np.asarray(neck.start, float))[:, 0], line.height(end)[:, 0]])
    return low, ends.max(axis=0) + 0.1


def _string(axes: "Axes", nut: Nut, i: int, line: StringLine, touches: Buzz, end: float, units: Units) -> None:
    """One string over its frets."""
    neck, slot, (low, high) = line.neck, nut.slots[i], axes.get_ylim()

    def own(values: Array) -> Array:
        return np.broadcast_to(values, (len(nut.slots), np.shape(values)[-1]))[i]

    frets = neck.fret(fret_numbers(nut))
    places, crowns, string = own(frets), own(neck.crown(frets)), own(line.height(frets))
    start, floor = slot.setback, float(line.height(np.asarray(neck.start, float))[i, 0])
    fret, spare = int(touches.worst.fret[i]), float(touches.worst.spare[i])
    room = quantity(abs(spare), "setting_out", units)
    verdict = f"{room} to spare at fret {fret}" if spare >= 0.0 else f"touches fret {fret} by {room}"
    heads(axes, f"{slot.number} {slot.note}", verdict)
    per = 1.0 if units == "mm" else MM_PER_INCH / 20.0  # a line each mm, or each 0.05 in
    levels = np.arange(np.ceil(low / per), np.floor(high / per) + 1.0) * per + 0.0
    axes.set_yticks(levels, [f"{tick:g}" for tick in np.round(levels / (1.0 if units == "mm" else MM_PER_INCH), 2)])
    axes.grid(axis="y", color=PALE)
    axes.vlines(places, low, crowns, color=GREY, linewidth=1.6)
    axes.plot(places, crowns, color=GREY, linewidth=0.8, gid=f"crowns-{i}")
    for side, dash in (("toward", ":"), ("away", "--")):
        below = np.r_[floor, string - np.asarray(getattr(touches, side)[i])]
        axes.plot(np.r_[start, places], below, dash, color="black", linewidth=1.0, gid=f"swing-{side}-{i}")
    last = float(own(line.height(np.full((1, 1), end)))[0])
    axes.plot([start, end], [floor, last], color="black", linewidth=1.8, gid=f"string-{i}")
    axes.plot([start, start], [low, floor], color="0.7", linewidth=8.0, solid_capstyle="butt", clip_on=False, zorder=1)
    fill, tip = "black" if spare < 0.0 else "white", (places[fret - 1], crowns[fret - 1])
    axes.plot(*tip, marker=7, color="black", markerfacecolor=fill, markersize=7, gid=f"touch-{i}")
    _number(axes, places)


def _number(axes: "Axes", places: Array) -> None:
    """Numbers under the frets that a board marks, and under the last, where they fit."""
    left, right = axes.get_xlim()
    closest, told = CLOSEST * (right - left) / panel_width(), [-np.inf]
    shown = []
    for fret, place in enumerate(places, start=1):
        if (fret in LABELLED or fret == len(places)) and place - told[-1] >= closest:
            shown.append(fret)
            told.append(float(place))
    axes.set_xticks(told[1:], list(map(str, shown)), fontsize=SMALL)


def cents_svg(nut: Nut, stamp: Stamp, units: Units = "mm") -> bytes:
    """Cents sharp at each fret, as the nut is and with its floors 0.1 mm lower.

    returns : SVG
    """
    p = pitches(nut)
    lower = p.cents - p.gain
    drawn = np.append(np.stack([p.cents, lower])[:, p.tunable].ravel(), 0.0)
    top = max(JUST_NOTICEABLE_CENTS + 1.0, float(np.ceil(drawn.max())))
    bottom = min(-JUST_NOTICEABLE_CENTS - 1.0, float(np.floor(drawn.min())))
    lowered = quantity(LOWERED_BY, "setting_out", units)
    title = f"{nut.title}: cents sharp at each fret"
    about = (
        f"Against equal temperament on the open string, the saddle set so that fret 12 is in tune. Grey: within"
        f" {JUST_NOTICEABLE_CENTS:g} cents, about what is just noticeable (common practice). Black: this nut; hollow:"
        f" its {'zero fret' if behind_zero_fret(nut) else 'floors'} {lowered} lower, the saddle untouched."
    )
    figure, axes = panels([CENTS_TALL] * len(nut.slots), title=title, about=about, foot=stamp.line)
    for i, one in enumerate(axes):
        one.set_xlim(0.0, len(p.cents[i]) + 0.5)
        one.set_ylim(bottom, top)
        _cents(one, nut, i, p.cents[i], lower[i], lowered)
    return chart_svg(figure, title=title, about=about, stamp=stamp)


def _cents(axes: "Axes", nut: Nut, i: int, now: Array, lower: Array, lowered: str) -> None:
    """One string, fret by fret."""
    frets = np.arange(1, len(now) + 1)
    words = "no saddle tunes it"
    if np.isfinite(now[0]):
        first, less = (figures(float(cents), "cents", "mm", sign=True) for cents in (now[0], lower[0]))
        words = f"fret 1: {first} cents, {less} when {lowered} lower"
        axes.vlines(frets, 0.0, now, color=GREY, linewidth=1.0)
        axes.plot(
            frets, lower, "o", color="black", markerfacecolor="white", markersize=5.0, gid=f"lower-{i}", clip_on=False
        )
        axes.plot(frets, now, "o", color="black", markersize=5.0, gid=f"now-{i}", clip_on=False)
    heads(axes, f"{nut.slots[i].number} {nut.slots[i].note}", words)
    axes.axhspan(-JUST_NOTICEABLE_CENTS, JUST_NOTICEABLE_CENTS, color=PALE, zorder=0, gid=f"noticeable-{i}")
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.grid(axis="y", color="0.75", linewidth=0.6)
    axes.locator_params(axis="y", nbins=5, integer=True)
    _number(axes, frets.astype(float))
