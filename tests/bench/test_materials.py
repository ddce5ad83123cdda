"""Every material has its allowances, its cautions and its sources."""

from typing import get_args

import pytest

from nutgen.bench.materials import GRAIN, MATERIALS
from nutgen.documents.words import sentence
from nutgen.spec.workshop import MaterialName

NAMES = get_args(MaterialName)


def test_every_material_of_the_file_is_known() -> None:
    assert tuple(MATERIALS) == NAMES
    assert all(name == material.name for name, material in MATERIALS.items())


@pytest.mark.parametrize("name", NAMES)
def test_cautions_and_working_are_said(name: MaterialName) -> None:
    material = MATERIALS[name]
    assert {one.severity for one in material.cautions} == {"caution"}
    assert {one.severity for one in material.working} == {"note"}
    for one in (*material.cautions, *material.working):
        assert sentence(one).endswith(".")
    dust = {"material.fine-dust", "material.wood-dust", "material.brass-filings"}
    assert dust & {one.code for one in material.cautions}
    assert any("source" in dict(one.values) for one in material.cautions)


@pytest.mark.parametrize(
    ("name", "code", "words", "source"),
    [
        # OSHA 29 CFR 1910.1000 Table Z-1: 15 mg/m3 total, 5 respirable. UK COSHH: 10 inhalable, 4 respirable.
        ("bone", "fine-dust", ("15 mg/m3 total and 5 respirable", "10 inhalable and 4 respirable"), "1910.1000"),
        ("antler", "wasting", ("no skull plate", "found dead or sick"), "CDC"),
        ("horn", "raw-animal", ("anthrax",), "CDC"),
        ("brass", "lead", ("lead",), "1910.1025"),
        ("hardwood", "wood-dust", ("cancer of the nose",), "IARC"),
        # A. Rajaram, C. V. Ramanathan, Calcif. Tissue Int. 34, 301 (1982): wet, E 7.5 GPa, strength 108 MPa
        ("antler", "antler-shell", ("7.5 GPa, 108 MPa",), "Rajaram"),
    ],
)
def test_what_is_published_stands_beside_its_source(
    name: MaterialName, code: str, words: tuple[str, ...], source: str
) -> None:
    told = (*MATERIALS[name].cautions, *MATERIALS[name].working)
    (found,) = [one for one in told if one.code == f"material.{code}"]
    assert source in str(found.value("source"))
    assert all(word in sentence(found) for word in words)


@pytest.mark.parametrize("name", NAMES)
def test_allowances_leave_enough_for_every_later_stage(name: MaterialName) -> None:
    material, left = MATERIALS[name], MATERIALS[name].left_on
    assert left.squared_thickness >= left.fit + material.polish_face
    assert left.squared_top >= left.dress + material.polish_face
    assert left.squared_end >= material.polish_face
    assert 0.0 < left.floors < left.squared_top
    # common practice, no source: 0.5 mm of kerf and 1 mm a face to square raw bone; thickness 0.3 to 0.5 mm over
    assert 0.0 <= left.sawn_face <= 1.0
    assert 0.3 <= left.squared_thickness <= 0.5


@pytest.mark.parametrize("name", NAMES)
def test_the_papers_get_finer_and_each_takes_half_the_grain_before_it(name: MaterialName) -> None:
    """Grains by ISO 6344, from memory; halving them is common practice, no source."""
    material = MATERIALS[name]
    before = [GRAIN[material.last_coarse], *(GRAIN[paper] for paper in material.papers)]
    assert before == sorted(before, reverse=True)
    assert [grit.takes_off for grit in material.grits] == pytest.approx([grain / 2 for grain in before[:-1]])
    assert 0.03 < material.polish_face < 0.15
