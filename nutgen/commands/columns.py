"""Tables with a column a string, or more columns than a narrow terminal holds: split, the first repeated."""

from collections.abc import Sequence

from nutgen.documents.screen import Column, Screen
from nutgen.documents.words import said
from nutgen.findings import Finding


def show_split(screen: Screen, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> None:
    """A table, as several below each other where it is too wide; the first column leads each."""
    rest = range(1, len(columns))
    for count in range(1, len(rest) + 1):
        groups = [rest[len(rest) * k // count : len(rest) * (k + 1) // count] for k in range(count)]
        if all(screen.fits(*_part(columns, rows, group)) for group in groups):
            break
    for index, group in enumerate(groups):
        if index:
            screen.say()
        screen.table(*_part(columns, rows, group))


def _part(
    columns: Sequence[Column], rows: Sequence[Sequence[str]], chosen: Sequence[int]
) -> tuple[list[Column], list[list[str]]]:
    keep = [0, *chosen]
    return [columns[i] for i in keep], [[row[i] for i in keep] for row in rows]


def show_points(screen: Screen, title: str, points: Sequence[Finding | str]) -> None:
    """Findings under a word, one by one; nothing where there are none."""
    for point in points:
        screen.say(f"{title}: {said(point)}", hang="  ")
