"""A page as painters see it: lines and words at places in mm, counted from its upper left corner.

PDF and SVG are painted from the same pages, so they cannot disagree.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from nutgen.documents.font import Typeface, width
from nutgen.documents.lettering import Words
from nutgen.geometry.lines import Box, Chain, Line, Point, joined, rectangle


@dataclass(frozen=True, slots=True)
class Linework:
    """Chains of lines; x, y is where the zero of their frame stands, which runs up, not down [mm].

    name : unique on the page
    """

    name: str
    x: float
    y: float
    chains: tuple[Chain, ...]

    @property
    def box(self) -> Box:
        """Least x, least y, greatest x, greatest y [mm]."""
        left, low, right, high = joined([chain.box for chain in self.chains])
        return self.x + left, self.y - high, self.x + right, self.y - low

    def at(self, point: Point) -> Point:
        """A point of the frame on the page [mm]."""
        return self.x + point[0], self.y - point[1]

    def moved(self, x: float, y: float) -> "Linework":
        """The same figure elsewhere."""
        return replace(self, x=self.x + x, y=self.y + y)


Item = Words | Linework


@dataclass(frozen=True, slots=True)
class Group:
    """Items that stay together, their top at y = 0.

    parts : what it falls into where no page is as high; none where it cannot
    """

    height: float
    items: tuple[Item, ...]
    parts: "tuple[Group, ...]" = ()

    def broken(self, most: float) -> "Iterator[Group]":
        """The group, or its parts where it is higher than that."""
        if self.height <= most or len(self.parts) < 2:
            yield self
        else:
            for part in self.parts:
                yield from part.broken(most)


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet."""

    width: float
    height: float
    items: tuple[Item, ...]


def stacked(blocks: Sequence[Group], *, top: float, bottom: float, gap: float) -> list[tuple[Item, ...]]:
    """Blocks below each other, a new page where the next one would pass the bottom.

    top, bottom : of the room on every page [mm]
    gap         : between blocks [mm]
    returns     : the items of each page
    raises      : ValueError where a block is taller than the room
    """
    pages: list[list[Item]] = [[]]
    y = top
    for block in (part for one in blocks for part in one.broken(bottom - top)):
        if block.height > bottom - top:
            raise ValueError(f"a block of {block.height:.0f} mm does not fit on a page of {bottom - top:.0f} mm")
        if y + block.height > bottom:
            pages.append([])
            y = top
        pages[-1] += [item.moved(0.0, y) for item in block.items]
        y += block.height + gap
    return [tuple(page) for page in pages]


def wrapped(
    text: str, size: float, room: float, *, bold: bool = False, typeface: Typeface = "Vera", taken: float = 0.0
) -> list[str]:
    """Break a text at its spaces into lines no longer than the room [mm]; a longer word is broken too.

    A text without a word has no line.

    taken : of the first line, by what stands before; it is empty then where no word fits in behind [mm]
    """

    def fits(line: str) -> bool:
        return width(line, size, bold=bold, typeface=typeface) + (taken if len(lines) == 1 else 0.0) <= room

    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if fits(longer):
            lines[-1] = longer
            continue
        if lines[-1] or (taken and len(lines) == 1):
            lines.append("")
        for letter in word:
            if lines[-1] and not fits(lines[-1] + letter):
                lines.append("")
            lines[-1] += letter
    return lines if taken else [line for line in lines if line]


def rule(name: str, length: float, y: float) -> Linework:
    """A level line across the page from x = 0."""
    return Linework(f"rule-{name}", 0.0, y, (Chain("rules", (Line((0.0, 0.0), (length, 0.0)),)),))


def box(name: str, left: float, top: float, wide: float, high: float) -> Linework:
    """Four sides around nothing, from the upper left corner on."""
    return Linework(name, left, top, (Chain("boxes", rectangle(0.0, -high, wide, 0.0)),))
