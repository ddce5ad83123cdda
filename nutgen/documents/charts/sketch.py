"""A small SVG of our own for charts: lines, dots and words in black and grey, no library to load.

Coordinates are units of the picture, y downward. The picture has no size of its own: it fills what
shows it, a phone upright as well as a page.
"""

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from nutgen.formats.stamp import Stamp

FONTS = "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"
INK, GREY, PALE = "#000", "#555", "#e6e6e6"
DASHES = {"solid": "", "dashed": ' stroke-dasharray="6 3"', "dotted": ' stroke-dasharray="1.5 2.5"'}

Point = tuple[float, float]


class Sketch:
    """Collects marks, then becomes bytes."""

    def __init__(self, width: float) -> None:
        self.width = width
        self._marks: list[str] = []

    def line(
        self, points: Iterable[Point], *, ink: str = INK, wide: float = 1.0, dash: str = "solid", name: str = ""
    ) -> None:
        """An open line through points; a name becomes its class."""
        where = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        label = f" class={quoteattr(name)}" if name else ""
        self._marks.append(
            f'<polyline{label} points="{where}" fill="none" stroke="{ink}" stroke-width="{_n(wide)}"{DASHES[dash]}/>'
        )

    def area(self, points: Sequence[Point], *, fill: str, ink: str = "none", name: str = "") -> None:
        """A closed, filled shape."""
        where = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        label = f" class={quoteattr(name)}" if name else ""
        self._marks.append(f'<polygon{label} points="{where}" fill="{fill}" stroke="{ink}" stroke-width="0.8"/>')

    def dot(self, x: float, y: float, *, radius: float, filled: bool, name: str = "") -> None:
        """A round mark, black or hollow."""
        label = f" class={quoteattr(name)}" if name else ""
        fill = INK if filled else "#fff"
        self._marks.append(
            f'<circle{label} cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" fill="{fill}" stroke="{INK}" stroke-width="1"/>'
        )

    def words(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size: float = 12.0,
        bold: bool = False,
        at: str = "start",
        ink: str = INK,
    ) -> None:
        """A line of words; `at` is "start", "middle" or "end"."""
        weight = ' font-weight="bold"' if bold else ""
        self._marks.append(
            f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" text-anchor="{at}"{weight} fill="{ink}">'
            f"{escape(text)}</text>"
        )

    def to_bytes(self, height: float, *, title: str, about: str, stamp: Stamp) -> bytes:
        """The whole picture; same marks, same bytes.

        title, about : for readers that do not see it
        """
        box = f"0 0 {_n(self.width)} {_n(height)}"
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" width="100%" role="img"'
            f" font-family={quoteattr(FONTS)}>"
        )
        lines = [
            '<?xml version="1.0" encoding="UTF-8"?>',
            head,
            f"<title>{escape(title)}</title>",
            f"<desc>{escape(about)} {escape(stamp.line)}</desc>",
            f'<rect width="{_n(self.width)}" height="{_n(height)}" fill="#fff"/>',
            *self._marks,
            "</svg>",
        ]
        return ("\n".join(lines) + "\n").encode()


def _n(value: float) -> str:
    """A coordinate, to a hundredth."""
    return f"{round(float(value), 2) + 0.0:g}"
