"""All codes with their words; each room's entries stand in a module of their own."""

from nutgen.documents.words.bench import BENCH
from nutgen.documents.words.doubts import DOUBTS
from nutgen.documents.words.dryfit import DRYFIT
from nutgen.documents.words.entry import Entry, Told
from nutgen.documents.words.jobs import JOBS
from nutgen.documents.words.materials import MATERIALS
from nutgen.documents.words.model import MODEL
from nutgen.documents.words.nut import NUT
from nutgen.documents.words.play import PLAY
from nutgen.documents.words.quantities import Units
from nutgen.documents.words.readings import FILES, READINGS
from nutgen.documents.words.scan import SCAN
from nutgen.documents.words.spec import SPEC
from nutgen.documents.words.stock import STOCK
from nutgen.finding import Finding

CATALOGUE: dict[str, Entry] = {
    **READINGS,
    **FILES,
    **SPEC,
    **NUT,
    **DOUBTS,
    **PLAY,
    **MODEL,
    **BENCH,
    **MATERIALS,
    **DRYFIT,
    **SCAN,
    **STOCK,
    **JOBS,
}


def sentence(finding: Finding, units: Units = "mm") -> str:
    """A finding in words, in the reader's units; KeyError where the catalogue does not know its code."""
    told = Told(finding, units, sentence)
    says = CATALOGUE[finding.code].says
    return told.fill(says) if isinstance(says, str) else says(told)


ARRAYS = ("strings", "before.strings", "stations")
"""Keys that a file writes as one table each, under [[...]]."""


def placed(finding: Finding, units: Units = "mm") -> str:
    """The same behind the place in the file that it is about; an array of tables as the file writes it."""
    keys = [subject.name for subject in finding.about if subject.kind == "key"]
    return ": ".join([*(f"[[{key}]]" if key in ARRAYS else key for key in keys), sentence(finding, units)])
