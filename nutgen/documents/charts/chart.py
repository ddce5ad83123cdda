"""What every chart is drawn with: panels below each other under a title, as SVG whose bytes stay the same."""

import atexit
import io
import os
import re
import tempfile
import textwrap
import warnings
from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING

from nutgen.documents.paint.svg import xml_words
from nutgen.formats.stamp import Stamp

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDE = 480.0
"""Of a chart: a measure to lay it out by, it fills what shows it [pt]."""

GREY, PALE = "0.35", "0.9"
SMALL = 8.0
"""Size of the type in panels [pt]."""

_LEFT, _RIGHT, _OVER, _UNDER = 44.0, 14.0, 24.0, 22.0  # pt, around a panel
_TITLE, _BODY, _LINE = 13.0, 9.0, 1.3  # pt, and in sizes of type

_Line = tuple[str, float, str, str]


def panel_width() -> float:
    """Between the ends of a panel [pt]."""
    return WIDE - _LEFT - _RIGHT


def panels(
    heights: Sequence[float], *, title: str = "", about: str = "", foot: str = ""
) -> "tuple[Figure, list[Axes]]":
    """A figure with panels below each other, under a title and words about it.

    heights : of the panels [pt]
    """
    above: list[_Line] = [(text, _TITLE, "bold", "black") for text in textwrap.wrap(xml_words(title), 54)]
    above += [(text, _BODY, "normal", GREY) for text in textwrap.wrap(xml_words(about), 84)]
    below: list[_Line] = [(text, SMALL, "normal", GREY) for text in textwrap.wrap(xml_words(foot), 92)]
    head, feet = (sum(size * _LINE for _, size, _, _ in lines) + 8.0 for lines in (above, below))
    tall = head + sum(heights) + (_OVER + _UNDER) * len(heights) + feet
    _settings()
    from matplotlib.figure import Figure

    figure = Figure()
    figure.set_size_inches(WIDE / 72.0, tall / 72.0)
    _say(figure, above, 4.0, tall)
    _say(figure, below, tall - feet, tall)
    axes, y = [], head
    for height in heights:
        y += _OVER + height
        box = (_LEFT / WIDE, 1.0 - y / tall, panel_width() / WIDE, height / tall)
        axes.append(figure.add_axes(box))
        axes[-1].tick_params(labelsize=SMALL, colors=GREY)
        axes[-1].spines[["top", "right", "left"]].set_visible(False)
        y += _UNDER
    return figure, axes


def _say(figure: "Figure", lines: Sequence[_Line], y: float, tall: float) -> None:
    for text, size, weight, colour in lines:
        y += size * _LINE
        place = 10.0 / WIDE, 1.0 - y / tall
        figure.text(*place, text, fontsize=size, fontweight=weight, color=colour, parse_math=False)


def heads(axes: "Axes", left: str, right: str = "") -> None:
    """What a panel shows, over its left end, and what is to be read from it, over its right end."""
    axes.set_title(left, loc="left", y=1.0, fontsize=11.0, fontweight="bold", parse_math=False)
    axes.set_title(right, loc="right", y=1.0, fontsize=_BODY, parse_math=False)


def chart_svg(figure: "Figure", *, title: str, about: str, stamp: Stamp | None = None, name: str = "") -> bytes:
    """The figure as an SVG file without a size of its own; the same figure gives the same bytes.

    title, about : for readers that do not see it
    name         : keeps its addresses apart from those of a page that it stands in
    """
    import matplotlib

    file = io.BytesIO()
    nothing = dict.fromkeys(("Date", "Creator", "Type", "Format"))
    with matplotlib.rc_context({"svg.hashsalt": "nutgen", "svg.fonttype": "none"}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph")  # a reader's own typeface may have the letter
        figure.savefig(file, format="svg", metadata=nothing)
    drawn = file.getvalue().decode()
    box, rest = re.search(r'viewBox="[^"]*"', drawn), drawn.partition("<svg")[2].partition(">")[2]
    if name:
        rest = re.sub(r'(\bid="|href="#|url\(#)', rf"\1{name}-", rest)
    told = xml_words(f"{about} {stamp.line}" if stamp else about, escaped=True)
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n' if stamp else ""
    ) + f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {box and box[0]}'
    words = f"<title>{xml_words(title, escaped=True)}</title>\n<desc>{told}</desc>"
    return f'{head} width="100%" role="img">\n{words}{rest}'.encode()


@cache
def _settings() -> None:
    """Matplotlib without a setting or a file of the reader's."""
    folder = tempfile.TemporaryDirectory()
    atexit.register(folder.cleanup)
    os.environ["MPLCONFIGDIR"] = folder.name
    import matplotlib

    matplotlib.rcdefaults()
