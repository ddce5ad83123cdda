"""How wide the columns of a table are, whatever paints it."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType

from nutgen.documents.blocks import Column, ColumnKind

Measure = Callable[[str], float]
"""Width of a line of words."""


def column_widths(
    columns: Sequence[Column],
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    room: float,
    measure: Measure,
    least: Mapping[ColumnKind, float] = MappingProxyType({}),
) -> list[float]:
    """As wide as what stands in each column; where that is more than the room, the widest columns give way.

    Words and heads are broken before numbers are; no word is. A "\\n" breaks a line everywhere.

    least : width of columns of a kind, whatever stands in them
    """
    lows = [least.get(column.kind, 0.0) for column in columns]
    cells = [[head, *each] for head, *each in zip(heads, *rows, strict=True)]
    wide, words = (
        [max(low, _widest(each, at, measure)) for low, each in zip(lows, cells, strict=True)] for at in ("\n", None)
    )
    if sum(wide) <= room:
        return wide
    whole = [
        few if column.kind == "text" else max(few, _widest(each[1:], "\n", measure))
        for column, each, few in zip(columns, cells, words, strict=True)
    ]
    return _levelled(wide, whole if sum(whole) <= room else words, room)


def _widest(texts: Iterable[str], at: str | None, measure: Measure) -> float:
    return max((measure(part) for text in texts for part in text.split(at)), default=0.0)


def _levelled(wide: Sequence[float], least: Sequence[float], room: float) -> list[float]:
    """The widest columns brought down to one width until all go into the room, none below its least."""
    low, high = 0.0, max(wide)
    for _ in range(50):
        level = (low + high) / 2.0
        taken = sum(max(few, min(one, level)) for one, few in zip(wide, least, strict=True))
        low, high = (low, level) if taken > room else (level, high)
    return [max(few, min(one, low)) for one, few in zip(wide, least, strict=True)]
