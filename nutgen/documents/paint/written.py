"""Texts and cells as strings in the reader's units: what every painter writes."""

import math

from nutgen.documents.blocks import Cell, Column, Entry, Phrase, Run, Text
from nutgen.documents.words.catalogue import sentence
from nutgen.documents.words.entry import Told
from nutgen.documents.words.quantities import DEGREE, Units, figures, quantity
from nutgen.findings import Finding


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
        case Run():
            words = text.between.join(written(part, units) for part in text.parts)
            return words[:1].upper() + words[1:] if text.capital else words


def written_entry(column: Column, value: Entry, units: Units) -> str:
    """What a column of a table shows; of units it shows the degree alone, the others stand in its head."""
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
