"""Words for what the solver finds in a nut."""

from nutgen.documents.words.entry import Entry

NUT: dict[str, Entry] = {}
