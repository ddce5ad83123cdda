"""Tables with a column a string, or more columns than a narrow terminal holds: split, the first repeated."""

from collections.abc import Sequence

from nutgen.screen import Column, Screen


def show_split(screen: Screen, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> None:
    """A table, as several below each other where it is too wide; the first column leads each."""
    rest = list(range(1, len(columns)))
    while rest:
        count = len(rest)
        while count > 1 and not screen.fits(*_part(columns, rows, rest[:count])):
            count -= 1
        screen.table(*_part(columns, rows, rest[:count]))
        rest = rest[count:]
        if rest:
            screen.say()


def _part(
    columns: Sequence[Column], rows: Sequence[Sequence[str]], chosen: Sequence[int]
) -> tuple[list[Column], list[list[str]]]:
    keep = [0, *chosen]
    return [columns[i] for i in keep], [[row[i] for i in keep] for row in rows]


def show_points(screen: Screen, title: str, points: Sequence[str]) -> None:
    """Sentences under a word, one by one; nothing where there are none."""
    for point in points:
        screen.say(f"{title}: {point}", hang="  ")
