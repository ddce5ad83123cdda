"""What every chart is drawn with: panels below each other under a title, as SVG whose bytes stay the same."""

import atexit
import os
import re
import tempfile
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from markupsafe import escape

from nutgen.formats.stamp import Stamp

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDE = 480.0
"""Of a chart; it has no size of its own, and fills what shows it [pt]."""

LEFT, RIGHT = 44.0, 14.0  # pt, beside the panels
LETTERS = 84
GREY, PALE = "0.35", "0.9"
_TITLE, _BODY, _FOOT, _LINE = 13.0, 9.0, 8.0, 1.25  # pt; the last in sizes of type


def panels(
    heights: Sequence[float], *, title: str = "", about: str = "", foot: str = ""
) -> "tuple[Figure, list[Axes]]":
    """A figure with panels below each other, under a title and words about it.

    heights : of the panels [pt]; between them there is room for ticks and a head
    """
    figure_class = _figure_class()
    lines = [
        *((text, _TITLE, "bold", "black") for text in textwrap.wrap(title, 54)),
        *((text, _BODY, "normal", GREY) for text in textwrap.wrap(about, LETTERS)),
    ]
    head = sum(size * _LINE for _, size, _, _ in lines) + 6.0
    below = [(text, _FOOT, "normal", GREY) for text in textwrap.wrap(foot, LETTERS + 8)]
    tall = head + sum(height + 42.0 for height in heights) + len(below) * _FOOT * _LINE + 6.0
    figure = figure_class(figsize=(WIDE / 72.0, tall / 72.0))
    y = 4.0
    for text, size, weight, colour in lines:
        y += size * _LINE
        figure.text(10.0 / WIDE, 1.0 - y / tall, text, fontsize=size, fontweight=weight, color=colour, parse_math=False)
    y = head
    axes = []
    for height in heights:
        y += 24.0 + height
        box = (LEFT / WIDE, 1.0 - y / tall, 1.0 - (LEFT + RIGHT) / WIDE, height / tall)
        one = figure.add_axes(box)
        one.tick_params(labelsize=_FOOT, colors=GREY)
        one.spines[["top", "right"]].set_visible(False)
        axes.append(one)
        y += 18.0
    for text, size, _, colour in below:
        y += size * _LINE
        figure.text(10.0 / WIDE, 1.0 - y / tall, text, fontsize=size, color=colour, parse_math=False)
    return figure, axes


def heads(axes: "Axes", left: str, right: str = "") -> None:
    """What a panel shows, over its left end, and what is to be read from it, over its right end."""
    axes.set_title(left, loc="left", fontsize=11.0, fontweight="bold", parse_math=False)
    axes.set_title(right, loc="right", fontsize=_BODY, parse_math=False)


def chart_svg(figure: "Figure", *, title: str, about: str, stamp: Stamp | None = None, name: str = "") -> bytes:
    """The figure as an SVG file; the same figure gives the same bytes.

    title, about : for readers that do not see it
    name         : keeps its addresses apart from those of a page that it stands in
    """
    import io

    import matplotlib

    file = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": title, "svg.fonttype": "none"}):
        figure.savefig(file, format="svg", metadata={"Date": None, "Creator": None, "Type": None, "Format": None})
    drawn = file.getvalue().decode()
    drawn = drawn[drawn.index("<svg") :]
    if name:
        drawn = re.sub(r'(\bid="|href="#|url\(#)', rf"\1{name}-", drawn)
    size = re.search(r'viewBox="[^"]*"', drawn)
    told = f"{escape(about)} {escape(stamp.line)}" if stamp else f"{escape(about)}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {size and size[0]}'
        f' width="100%" role="img"><title>{escape(title)}</title><desc>{told}</desc>'
    )
    return (head + drawn[drawn.index(">") + 1 :]).encode()


def _figure_class() -> "type[Figure]":
    """Matplotlib's figure, without a setting or a file of the reader's."""
    if "MPLCONFIGDIR" not in os.environ:
        folder = tempfile.TemporaryDirectory()
        atexit.register(folder.cleanup)
        os.environ["MPLCONFIGDIR"] = folder.name
    import matplotlib
    from matplotlib.figure import Figure

    matplotlib.rcdefaults()
    return Figure
