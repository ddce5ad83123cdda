"""All codes with their words; each room's entries stand in a module of their own."""

import re
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import replace

from nutgen.documents.words.bench import BENCH
from nutgen.documents.words.doubts import DOUBTS
from nutgen.documents.words.dryfit import DRYFIT
from nutgen.documents.words.entry import ARRAYS, Entry, Told, numbered, table_named
from nutgen.documents.words.jigs import JIGS
from nutgen.documents.words.materials import MATERIALS, SAWING
from nutgen.documents.words.model import JOBS, MODEL
from nutgen.documents.words.nut import NUT
from nutgen.documents.words.play import PLAY, SETUP
from nutgen.documents.words.quantities import Units
from nutgen.documents.words.readings import FILES, READINGS
from nutgen.documents.words.scan import SCAN
from nutgen.documents.words.spec import SPEC
from nutgen.documents.words.stages import STAGES
from nutgen.documents.words.stock import STOCK
from nutgen.finding import Finding, Span, Value

CATALOGUE: dict[str, Entry] = {
    **READINGS, **FILES, **SPEC, **NUT, **DOUBTS, **PLAY, **SETUP, **MODEL, **BENCH, **STAGES, **MATERIALS,
    **DRYFIT, **SCAN, **STOCK, **SAWING, **JIGS, **JOBS,
}  # fmt: skip


def sentence(finding: Finding, units: Units = "mm") -> str:
    """A finding in words, in the reader's units; KeyError where the catalogue does not know its code."""
    told = Told(finding, units, sentence)
    says = CATALOGUE[finding.code].says
    return told.fill(says) if isinstance(says, str) else says(told)


def together(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Each once: findings that differ in their strings alone, or also in lengths and the like, as one about them all.

    returns : in the order in which they came; of lengths and the like the least and the greatest
    """
    alike: dict[Hashable, list[Finding]] = {}
    for number, one in enumerate(findings):
        alike.setdefault(_sort(one) or number, []).append(one)
    return tuple(same[0] if len(same) == 1 else _as_one(same) for same in alike.values())


_INDEX = re.compile(r"\[(\d+)\]")


def _sort(one: Finding) -> Hashable:
    """What findings that are told as one have in common; None where one stands alone."""
    if len(one.about) == 1 and _INDEX.search(key := one.about[0].name):
        return one.code, one.values, _INDEX.sub("", key, count=1)
    if not one.about or any(subject.kind != "string" for subject in one.about):
        return None
    if not isinstance(CATALOGUE[one.code].says, str):  # its branches ask what a value is
        return one.code, one.severity, sentence(replace(one, about=()))
    return one.code, one.severity, tuple((name, float if isinstance(v, float) else v) for name, v in one.values)


def _as_one(same: Sequence[Finding]) -> Finding:
    about = tuple(dict.fromkeys(subject for one in same for subject in one.about))
    if not isinstance(CATALOGUE[same[0].code].says, str):  # they read the same: its branches take one of them
        return replace(same[0], about=about)
    each = zip(*(one.values for one in same), strict=True)
    return replace(same[0], about=about, values=tuple((named[0][0], _span([v for _, v in named])) for named in each))


def _span(values: Sequence[Value]) -> Value:
    numbers = [value for value in values if isinstance(value, float)]
    return Span(min(numbers), max(numbers)) if numbers and min(numbers) < max(numbers) else values[0]


def placed(finding: Finding, units: Units = "mm") -> str:
    """The same behind the place in the file that it is about; an array of tables as the file writes it."""
    keys = [subject.name for subject in finding.about if subject.kind == "key"]
    if len(keys) > 1 and all(_INDEX.search(key) for key in keys):  # told as one, see `together`
        numbers = numbered([int(number) for key in keys for number in _INDEX.findall(key)[:1]])
        keys = [_INDEX.sub(f"[{numbers}]", keys[0], count=1)]
    return ": ".join([*(table_named(key) if key in ARRAYS else key for key in keys), sentence(finding, units)])
