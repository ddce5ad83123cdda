"""The words for every finding: the one place where findings become sentences in the reader's units.

Imports findings, theory and the standard library only; nothing parses what it says.
"""

from nutgen.documents.words.catalogue import CATALOGUE, placed, sentence, together
from nutgen.documents.words.entry import Entry, Told

__all__ = ["CATALOGUE", "Entry", "Told", "placed", "sentence", "together"]
