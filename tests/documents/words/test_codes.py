"""Every code that a room writes out stands in the catalogue."""

import re
from pathlib import Path

import pytest

import nutgen
from nutgen.documents.words import CATALOGUE

SOURCE = Path(nutgen.__file__).parent
MAKES = re.compile(r'\b(?:refusal|warning|remedy|caution|step|note|assumption)\(\s*"([a-z0-9.-]+)"')
CODES = sorted({code for path in SOURCE.rglob("*.py") for code in MAKES.findall(path.read_text("utf-8"))})


@pytest.mark.parametrize("code", CODES)
def test_a_code_has_words_and_a_cause(code: str) -> None:
    assert CATALOGUE[code].cause.endswith(".")
