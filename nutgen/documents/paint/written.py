"""Texts and cells as strings in the reader's units: what every painter writes."""

import math

from nutgen.documents.blocks import Column, Entry, Table
from nutgen.documents.texts import Cell, Labelled, Phrase, Run, Text
from nutgen.documents.words.catalogue import sentence
from nutgen.documents.words.entry import Told
from nutgen.documents.words.quantities import DEGREE, Units, figures, quantity
from nutgen.finding import Finding


def written(text: Text, units: Units) -> str:
    """Words in the reader's units; a cell among them wears its unit."""
    match text:
        case str():
            return text
        case Cell():
            return _cell(text, units, bare=False)
        case Finding():
            return sentence(text, units)
        case Phrase():
            return Told(Finding("", "note", (), text.values), units, sentence).fill(text.template)
        case Labelled():
            return f"{written(text.label, units)} {written(text.text, units)}"
        case Run():
            words = text.between.join(written(part, units) for part in text.parts)
            return words[:1].upper() + words[1:] if text.capital else words


def written_table(table: Table, units: Units) -> tuple[list[Column], list[str], list[list[str]]]:
    """The columns that readers of some units see, their heads, and what stands in them.

    Of units a cell shows the degree and the percent alone, the others stand in the head of its column.
    """
    chosen = [index for index, column in enumerate(table.columns) if column.only in (None, units)]
    columns = [table.columns[index] for index in chosen]
    rows = [[_entry(table.columns[index], row[index], units) for index in chosen] for row in table.rows]
    return columns, [written(column.title, units) for column in columns], rows


def _entry(column: Column, value: Entry, units: Units) -> str:
    text = column.cell(value)
    return _cell(text, units, bare=True) if isinstance(text, Cell) else written(text, units)


def _cell(cell: Cell, units: Units, *, bare: bool) -> str:
    match cell.value:
        case None:
            return cell.none
        case str():
            return cell.value
        case float() if not math.isfinite(cell.value):
            return cell.none
    write = figures if bare else quantity
    number = write(cell.value, cell.kind, units, sign=cell.sign, places=cell.places)
    return f"{number}{DEGREE}" if bare and cell.kind == "angle" else number
