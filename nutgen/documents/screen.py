"""Plain text for the terminal: paragraphs and tables that fit its width.

Kept free of heavy imports, because every command prints and `check` must feel instant.
"""

import shutil
import sys
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TextIO

Row = Sequence[str]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; numbers are set flush right."""

    title: str
    right: bool = False


@dataclass(frozen=True, slots=True)
class Screen:
    """Where text goes and how wide it may be; bold and dim only where a terminal listens."""

    out: TextIO = field(default_factory=lambda: sys.stdout)
    width: int = field(default_factory=lambda: max(24, shutil.get_terminal_size((80, 24)).columns))

    @property
    def styled(self) -> bool:
        """Whether the output is a terminal that shows styles."""
        return self.out.isatty()

    def say(self, text: str = "", *, style: str = "", indent: str = "", hang: str = "") -> None:
        """A paragraph, wrapped; style is "bold", "dim" or nothing."""
        lines = textwrap.wrap(text, self.width, initial_indent=indent, subsequent_indent=indent + hang) or [""]
        for line in lines:
            print(self._styled(line, style), file=self.out)

    def table(self, columns: Sequence[Column], rows: Sequence[Row], *, indent: str = "") -> None:
        """A table under a rule; a last column of text is wrapped where the terminal is too narrow."""
        cells = [[column.title for column in columns], *[list(row) for row in rows]]
        widths = [max(len(row[i]) for row in cells) for i in range(len(columns))]
        room = self.width - len(indent) - 2 * (len(columns) - 1)
        over = sum(widths) - room
        last = columns[-1]
        if over > 0 and not last.right:
            widths[-1] = max(8, widths[-1] - over)
        for number, row in enumerate(cells):
            for line in _lines(row, columns, widths):
                print(self._styled((indent + line).rstrip(), "dim" if number == 0 else ""), file=self.out)
            if number == 0:
                print(
                    self._styled(indent + "  ".join("\N{BOX DRAWINGS LIGHT HORIZONTAL}" * w for w in widths), "dim"),
                    file=self.out,
                )

    def fits(self, columns: Sequence[Column], rows: Sequence[Row]) -> bool:
        """Whether a table fits the width without wrapping."""
        widths = [max([len(column.title), *(len(row[i]) for row in rows)]) for i, column in enumerate(columns)]
        return sum(widths) + 2 * (len(columns) - 1) <= self.width

    def _styled(self, text: str, style: str) -> str:
        code = {"bold": "1", "dim": "2"}.get(style)
        return f"\x1b[{code}m{text}\x1b[0m" if code and self.styled else text


def _lines(row: Row, columns: Sequence[Column], widths: Sequence[int]) -> list[str]:
    folded = [textwrap.wrap(cell, width) or [""] for cell, width in zip(row, widths, strict=True)]
    height = max(map(len, folded))
    set_cell: Callable[[str, Column, int], str] = lambda text, column, width: (  # noqa: E731
        text.rjust(width) if column.right else text.ljust(width)
    )
    return [
        "  ".join(
            set_cell(cell[line] if line < len(cell) else "", column, width)
            for cell, column, width in zip(folded, columns, widths, strict=True)
        )
        for line in range(height)
    ]
