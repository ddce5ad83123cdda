"""Every code that a room writes out stands in the catalogue."""

import inspect
import re
from pathlib import Path

import pytest

import nutgen
from nutgen.documents.words import CATALOGUE
from nutgen.spec.tables import Spec

SOURCE = Path(nutgen.__file__).parent
MAKES = re.compile(r'\b(?:refusal|warning|remedy|caution|step|note|assumption)\(\s*"([a-z0-9.-]+)"')
CODES = sorted({code for path in SOURCE.rglob("*.py") for code in MAKES.findall(path.read_text("utf-8"))})


@pytest.mark.parametrize("code", CODES)
def test_a_code_has_words_and_a_cause(code: str) -> None:
    assert CATALOGUE[code].cause.endswith(".")


def test_no_code_has_words_twice() -> None:
    written = re.compile(r'^(?: +"([a-z0-9]+[.-][a-z0-9.-]+)": |([a-z0-9-]+\.[a-z0-9-]+)$)', re.MULTILINE)
    sources = [path.read_text("utf-8") for path in (SOURCE / "documents" / "words").glob("*.py")]
    codes = [one or other for source in sources for one, other in written.findall(source)]
    assert len(codes) > 600
    assert [code for code in set(codes) & set(CATALOGUE) if codes.count(code) > 1] == []


REFUSES = re.compile(r'refusal\(\s*"([a-z0-9.-]+)"')
CANNOT = {
    code
    for room in ("nut", "model")
    for path in (SOURCE / room).rglob("*.py")
    for code in REFUSES.findall(path.read_text("utf-8"))
} - {"coupon.no-such-string"}
"""Why a nut cannot be made; a string that the command line names is no key of the file."""


def keys() -> set[str]:
    """Every key of every table that an instrument file may hold, as `table.key`."""
    schema = Spec.json_schema()
    found = set()
    for table, about in schema["properties"].items():
        for one in (about, about.get("items", {}), *about.get("anyOf", ())):
            name = one.get("$ref", "").rpartition("/")[2]
            found |= {f"{table}.{key}" for key in schema["$defs"].get(name, {}).get("properties", {})}
    return found


@pytest.mark.parametrize("code", sorted(CANNOT))
def test_what_cannot_be_made_names_the_key_to_change(code: str) -> None:
    """A whole key, `table.key`, in the sentence itself: "the heights in setup" is none."""
    says = CATALOGUE[code].says
    text = says if isinstance(says, str) else inspect.getsource(says)
    assert set(re.findall(r"\b[a-z_]+\.[a-z_0-9]+\b", text)) & keys()
