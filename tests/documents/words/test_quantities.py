"""Numbers as a person reads them, in millimetres and in inches."""

import inspect
import re
import subprocess
import sys

import pytest

from nutgen.documents.words import CATALOGUE
from nutgen.documents.words.entry import Entry, Told, who
from nutgen.documents.words.quantities import figures, quantity, sixty_fourths
from nutgen.finding import Finding, of_string, warning

SAID = [
    (
        41.275,
        "setting_out",
        "mm",
        "41.28 mm",
    ),  # 1 5/8 in is 41.275 mm exactly: 1 in = 25.4 mm (international inch, 1959)
    (41.275, "setting_out", "in", "1.625 in"),
    (0.3175, "leaf", "in", "0.0125 in"),  # 12.5 thousandths
    (0.31, "leaf", "in", "0.0120 in"),  # steps of .0005
    (41.275, "stock", "in", "1.63 (1 5/8) in"),
    (41.275, "blank", "in", "1.63 (1 5/8) in"),
    (41.3, "blank", "in", "1.63 (1 41/64) in"),  # 1.62598 in: the next 64th is 1.640625
    (41.31, "blank", "mm", "41.4 mm"),  # never less than it takes
    (46.0375, "setting_out", "in", "1.813 in"),  # 1.8125 in: a half goes up
    (-46.0375, "setting_out", "in", "-1.813 in"),
    (46.0375 - 1e-9, "setting_out", "in", "1.813 in"),  # whatever the last digits have lost
    (0.1299, "spare", "mm", "0.12 mm"),  # never more than there is
    (-0.121, "spare", "mm", "-0.13 mm"),
    (0.121, "short", "mm", "0.13 mm"),  # never less than is missing
    (0.0001, "short", "mm", "0.01 mm"),
    (355.6, "radius", "in", "14.00 in"),
    (1.1684, "gauge", "mm", "0.0460 in"),  # .046: the trade gives gauges in inches always
    (5.0, "limit", "mm", "5 mm"),
    (0.3, "limit", "mm", "0.3 mm"),
    (0.3, "limit", "in", "0.012 in"),  # 0.3 / 25.4
    (11.0, "angle", "in", "11.0°"),
    (0.5, "share", "mm", "50%"),
]


@pytest.mark.parametrize(("value", "kind", "units", "words"), SAID)
def test_quantity(value: float, kind: str, units: str, words: str) -> None:
    assert quantity(value, kind, units) == words


@pytest.mark.parametrize(("sixteenths", "words"), [(1, "1/16"), (26, "1 5/8"), (16, "1"), (24, "1 1/2"), (0, "0")])
def test_fractions_are_reduced(sixteenths: int, words: str) -> None:
    assert sixty_fourths(sixteenths / 16 * 25.4) == words


def test_no_minus_before_nothing() -> None:
    assert figures(-0.001, "setting_out", "mm") == "0.00"


def test_a_template_knows_units_and_kinds() -> None:
    found = warning("a.b", of_string(4, "C1"), wall=0.254, slant_deg=3.25, count=3)
    told = Told(found, "in", lambda finding, units: "")
    assert told.fill("{who}: {wall}, {wall:leaf}, {wall:bare}, {slant_deg}, {count}") == (
        "string 4 (C1): 0.010 in, 0.0100 in, 0.010, 3.3°, 3"
    )


def test_pairs_are_named_together() -> None:
    assert who((of_string(4, "E1"), of_string(3, "A1"))) == "strings 4 and 3 (E1, A1)"


def test_a_finding_can_be_a_key() -> None:
    assert {Finding("a.b", "note", (), (("x", (1.0, 2.0)),)): 1}


def test_words_load_no_other_room() -> None:
    code = (
        "import sys, nutgen.documents.words\n"
        "rooms = {m for m in sys.modules if m.startswith('nutgen.')}\n"
        "allowed = ('nutgen.documents', 'nutgen.finding', 'nutgen.theory')\n"
        "print(sorted(m for m in rooms if not m.startswith(allowed)))\n"
        "print(sorted(m for m in ('cadquery', 'trimesh', 'pydantic', 'typer') if m in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split("\n")[:2] == ["[]", "[]"]


@pytest.mark.parametrize("code", sorted(CATALOGUE))
def test_no_tenth_is_without_its_unit_nor_a_millimetre_without_its_inch(code: str) -> None:
    """A few tenths are of a millimetre to one reader and of an inch to the other."""
    entry: Entry = CATALOGUE[code]
    for text in (entry.cause, entry.cure, entry.says if isinstance(entry.says, str) else inspect.getsource(entry.says)):
        assert not re.search(r"\b(few|last) (tenths|hundredths|thousandths)\b(?! of a)", text)
        assert "of a millimetre" not in text or re.search(r"\binch\b|\d in\)", text)


@pytest.mark.parametrize("code", sorted(CATALOGUE))
def test_each_code_has_cause_and_says(code: str) -> None:
    entry: Entry = CATALOGUE[code]
    assert entry.cause
    assert entry.says
