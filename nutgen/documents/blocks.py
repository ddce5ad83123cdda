"""What a screen, a text file, a sheet or a page of HTML says: blocks of typed cells, not yet formatted.

    document = (
        Title(nut.title),
        Paragraph(phrase("Nut {length:bare} long. All in {units}.", length=nut.length)),
        table_of(nut.slots, (Column("string"), "number"), (Column("floor", "setting_out", sign=True), "floor_height")),
        Findings(nut.warnings),
    )

A length is a float in mm until a painter writes it in the reader's units; see `documents/paint`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np

from nutgen.documents.texts import Cell, Text, phrase
from nutgen.documents.words import together
from nutgen.documents.words.quantities import Kind, Units
from nutgen.finding import Finding, Value
from nutgen.geometry.lines import Box, Chain, Line, joined
from nutgen.theory import Array

if TYPE_CHECKING:
    from nutgen.documents.lettering import Words


Style = Literal["", "note", "strong"]


@dataclass(frozen=True, slots=True)
class Title:
    """A heading; level 1 is the document's."""

    text: Text
    level: int = 1


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Words in a row.

    style  : "note" is what is read last, "strong" what is read first
    indent : letters, of all lines; `hang` of all but the first
    """

    text: Text
    style: Style = ""
    indent: int = 0
    hang: int = 0


def remark(template: str, *of: object, **values: Value) -> Paragraph:
    """Words with values that are read last, on how to read what stands above; see `texts.phrase`."""
    return Paragraph(phrase(template, *of, **values), "note")


@dataclass(frozen=True, slots=True)
class Points:
    """A list; every item behind the same mark: "-", "!", "Assumption:"."""

    items: tuple[Text, ...]
    mark: str = "-"


_MARKS = {"assumption": "Assumption:", "note": "-", "remedy": "-"}


@dataclass(frozen=True, slots=True)
class Findings:
    """What was found, each once: warnings and refusals behind "!", assumptions behind their name.

    none : said where there is no warning; empty says nothing
    """

    found: tuple[Finding, ...]
    none: str = "No warnings."

    @property
    def marked(self) -> tuple[tuple[str, Finding], ...]:
        """Each once, behind its mark."""
        return tuple((_MARKS.get(one.severity, "!"), one) for one in together(self.found))

    @property
    def calm(self) -> bool:
        """Whether there is no warning among them."""
        return all(mark != "!" for mark, _ in self.marked)


@dataclass(frozen=True, slots=True)
class Steps:
    """What to do, numbered."""

    items: tuple[Text, ...]
    first: int = 1
    indent: int = 0


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and what belongs to them."""

    rows: tuple[tuple[Text, Text], ...]


ColumnKind: TypeAlias = Kind | Literal["tick", "write"]
"""What a column holds: numbers of a kind, or boxes to tick, or room to write in."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: bare numbers in it are of its kind.

    title              : its head; a page with little room breaks it at "\n"
    sign, places, none : as in a cell
    breaks             : where the room is narrow, the table may go on below from this column
    right              : flush right; numbers are, where it is not said
    only               : left out for readers of other units
    strong             : what is read first
    """

    title: Text
    kind: ColumnKind = "text"
    sign: bool = False
    places: int | None = None
    none: str = "-"
    breaks: bool = False
    right: bool | None = None
    only: Units | None = None
    strong: bool = False

    @property
    def flush_right(self) -> bool:
        """Whether its cells end at one line."""
        return self.kind not in ("text", "tick") if self.right is None else self.right

    def cell(self, value: "Entry") -> "Text":
        """A cell of this column."""
        if value is None or isinstance(value, float | int):
            kind: Kind = "text" if self.kind == "tick" or self.kind == "write" else self.kind
            return Cell(value, kind, self.sign, self.places, self.none)
        return value


Entry: TypeAlias = Text | float | int | None
"""What a row holds in a column: a bare number is a cell of the column's kind."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under heads. Too wide for the room, it goes on below itself with its first column again, and a last
    column of words is wrapped.

    name   : unique in the document, where a page has to address it
    indent : letters, in text
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[Entry, ...], ...]
    name: str = "table"
    indent: int = 0


Shown: TypeAlias = tuple[Column, str | Callable[[Any], Entry] | Sequence[Entry] | Array]
"""A column, and what stands in it: an attribute of each thing, what a function makes of it, or one entry a thing."""


def table_of(things: Sequence[Any], *shown: Shown, name: str = "table", indent: int = 0) -> Table:
    """A row a thing, each column beside what stands in it."""
    entries: list[Sequence[Entry]] = []
    for _, value in shown:
        if isinstance(value, str) or callable(value):
            entries.append([*map(attrgetter(value) if isinstance(value, str) else value, things)])
        else:
            entries.append(value.tolist() if isinstance(value, np.ndarray) else value)
    return Table(tuple(column for column, _ in shown), tuple(zip(*entries, strict=True)), name, indent)


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing in mm on the paper, up is up; text has no drawings.

    name   : for addresses in a file
    labels : words in it, their y up too
    scale  : paper to part; 1 is true size
    """

    name: str
    chains: tuple[Chain, ...]
    labels: "tuple[Words, ...]" = ()
    caption: Text = ""
    scale: int = 1

    @property
    def box(self) -> Box:
        """Around all lines and words: least across, least up, greatest across, greatest up [mm]."""
        return joined([*(chain.box for chain in self.chains), *(label.box_up for label in self.labels)])


@dataclass(frozen=True, slots=True)
class Legend:
    """What the kinds of line in the figures mean: a sample of each, and its words."""

    rows: tuple[tuple[tuple[Chain, ...], str], ...]


SAMPLE = 12.0
"""Length of a line in a legend [mm]."""


def sample(layer: str) -> tuple[Chain, ...]:
    """A level line of a layer, for a legend."""
    return (Chain(layer, (Line((0.0, 0.0), (SAMPLE, 0.0)),)),)


@dataclass(frozen=True, slots=True)
class Beside:
    """Two columns; below each other where there is no room.

    share : of the room, for the left one
    """

    left: "Document"
    right: "Document"
    share: float = 0.5


@dataclass(frozen=True, slots=True)
class Space:
    """An empty line between what does not belong together."""


Block: TypeAlias = Title | Paragraph | Points | Findings | Steps | Facts | Table | Figure | Legend | Beside | Space
Document: TypeAlias = tuple[Block, ...]
