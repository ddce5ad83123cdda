"""Leaves of one's own: a gap read with sheets of paper or card, whose ten were measured, or with a wire off its packet.

[tools]
own_leaves = { paper = { ten = 1.02 }, card = { ten = 2.95 } }
wires = [0.009, 0.012]

[setup]
relief = "2 card + 1 paper"
"""

import re
from typing import NamedTuple

from nutgen.errors import Unreadable
from nutgen.spec.values import MM_PER, BareUnits, WrittenLength, nearest, plain_number, read_length, shown_value

MOST_OF_ONE = 9
"""Sheets of one sort in a stack; more of them spring."""

STACK_ERROR = 0.03
SHEET_ERROR = 0.01
"""Of a gap read with loose sheets, and more for each of them: half-widths that hold 95 % [mm]. Common practice, no
source."""

WIRE_OFF = 0.002  # mm; a wire is listed where it is written this near

_SHEETS = re.compile(r"(\d{1,2})\s+([a-z]+)", re.ASCII)
_WIRE = re.compile(r"(\S+)\s+wire", re.ASCII)


class Stack(NamedTuple):
    """What fills a gap: its height, its half-width that holds 95 %, and how many loose sheets are in it [mm]."""

    mm: float
    error: float
    sheets: int


def stack_error(sheets: int) -> float:
    """How far a gap may be off that was read with so many loose sheets; 0 with none [mm]."""
    return STACK_ERROR + SHEET_ERROR * sheets if sheets else 0.0


def read_stack(text: str, bare: BareUnits) -> Stack | None:
    """A text such as "2 card + 1 paper", "0.3 mm + 1 paper" or "0.012 wire"; None where it is a plain length.

    raises : Unreadable where a sheet or a wire in it is not listed
    """
    parts = [part.strip().lower() for part in text.split("+")]
    if len(text) > 80 or (len(parts) == 1 and not _is_pile(parts[0])):
        return None
    read = [_part(part, bare) for part in parts]
    sheets = sum(count for _, count in read)
    return Stack(sum(mm for mm, _ in read), stack_error(sheets), sheets)


def read_gap(value: object, bare: BareUnits, unit: str) -> WrittenLength:
    """A length that is read over a gap: as any length, or by what fills it; raises Unreadable."""
    stack = read_stack(value, bare) if isinstance(value, str) else None
    return read_length(value, unit) if stack is None else WrittenLength(stack.mm, "mm", stack.mm)


def _is_pile(part: str) -> bool:
    """Whether a part names sheets or a wire, and no unit."""
    found = _SHEETS.fullmatch(part)
    return bool(_WIRE.fullmatch(part)) or (found is not None and found[2] not in (*MM_PER, "inch", "inches"))


def _part(part: str, bare: BareUnits) -> tuple[float, int]:
    """One part of a stack: its height, and its count where it is of loose sheets [mm]."""
    if wire := _WIRE.fullmatch(part):
        return _wire(wire[1], bare), 0
    if not _is_pile(part):
        return read_length(part, bare.lengths).mm, 0
    found = _SHEETS.fullmatch(part)
    assert found  # it is no wire
    count, name = int(found[1]), found[2]
    sheets = {sheet.name: sheet.thickness for sheet in bare.sheets}
    if name not in sheets and name.endswith("s") and name[:-1] in sheets:
        name = name[:-1]
    if name not in sheets:
        known = tuple(sheets)
        raise Unreadable("stack.unknown-sheet", written=name, allowed=known, likely=nearest(name, known))
    if not 1 <= count <= MOST_OF_ONE:
        raise Unreadable("stack.wrong-count", written=part, most=MOST_OF_ONE)
    return count * sheets[name], count


def _wire(figures: str, bare: BareUnits) -> float:
    try:
        gauge = plain_number(figures) * MM_PER[bare.gauges]
    except ValueError:
        raise Unreadable("reading.not-a-length", written=shown_value(f"{figures} wire")) from None
    listed = min(bare.wires, key=lambda one: abs(one - gauge), default=0.0)
    if abs(listed - gauge) > WIRE_OFF:
        allowed = tuple(f"{one / MM_PER[bare.gauges]:.4g}" for one in bare.wires)
        raise Unreadable("stack.unknown-wire", written=figures, allowed=allowed)
    return listed
