"""A line of words at a place, which knows its room: in figures and on pages true to size."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from nutgen.documents.font import Typeface, width
from nutgen.geometry.lines import Box

Align = Literal["left", "centre", "right"]

_ASCENT, _DESCENT = 0.76, 0.24


@dataclass(frozen=True, slots=True)
class Words:
    """A line of words; x, y is where its baseline starts, has its middle or ends [mm].

    size   : of the type [mm]
    shade  : 0 black to 1 white
    turned : read from the right, bottom to top
    """

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    align: Align = "left"
    shade: float = 0.0
    typeface: Typeface = "Vera"
    turned: bool = False

    @property
    def length(self) -> float:
        """Of the line [mm]."""
        return width(self.text, self.size, bold=self.bold, typeface=self.typeface)

    @property
    def box(self) -> Box:
        """Least x, least y, greatest x, greatest y, y down [mm]."""
        left, low, right, high = self.box_up
        return left, 2.0 * self.y - high, right, 2.0 * self.y - low

    @property
    def box_up(self) -> Box:
        """The same in a frame that runs up: least across, least up, greatest across, greatest up [mm]."""
        start = -self.length * {"left": 0.0, "centre": 0.5, "right": 1.0}[self.align]
        (along, end), (under, over) = (start, start + self.length), (-_DESCENT * self.size, _ASCENT * self.size)
        if self.turned:
            return self.x - over, self.y + along, self.x - under, self.y + end
        return self.x + along, self.y + under, self.x + end, self.y + over

    def on_page(self, x: float, y: float) -> "Words":
        """Words of a frame that runs up, on the page where its zero stands at x, y."""
        return self.moved(x, y - 2.0 * self.y)

    def moved(self, x: float, y: float) -> "Words":
        """The same words elsewhere."""
        return replace(self, x=self.x + x, y=self.y + y)


def spread(places: Sequence[float], apart: float) -> list[float]:
    """Places in rising order, moved as little as may be (least squares) until all are `apart`.

    Pools of neighbours that touch are centred on the mean of their own places.
    """
    pools: list[tuple[float, int]] = []
    for index, place in enumerate(places):
        pools.append((place - index * apart, 1))
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (a, n), (b, m) = pools[-2:]
            pools[-2:] = [((a * n + b * m) / (n + m), n + m)]
    levels = [level for level, count in pools for _ in range(count)]
    return [level + index * apart for index, level in enumerate(levels)]
