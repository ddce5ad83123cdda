"""One fault of many strings is told once, about them all."""

from dataclasses import replace
from pathlib import Path

import pytest

from nutgen.documents.blocks import Findings
from nutgen.documents.words import sentence, together
from nutgen.documents.words.quantities import Units
from nutgen.finding import Finding, of_key, of_string, step, warning
from nutgen.nut import solve
from tests.calling import run
from tests.kinds import text_of
from tests.specs import spec_of


def low(number: int, below: float) -> Finding:
    return warning("slot.floor-below-fret-plane", of_string(number, f"N{number}"), by=below)


def test_values_that_differ_are_told_as_a_range() -> None:
    (one,) = together([low(3, 0.254), low(2, 0.508), low(1, 0.3)])
    assert one.strings == (3, 2, 1)
    assert sentence(one, "mm").startswith("strings 3 to 1 (N3 to N1): the slot floor is 0.25 to 0.51 mm below")
    assert " 0.010 to 0.020 in below" in sentence(one, "in")  # 1 in = 25.4 mm (international inch, 1959)


def test_what_reads_alike_is_one_number() -> None:
    assert "is 0.25 mm below" in sentence(together([low(3, 0.2501), low(2, 0.2502)])[0])


@pytest.mark.parametrize(
    ("code", "buried", "asked"),
    [
        ("string.buried-otherwise", 0.32, 0.8),
        ("string.buried-too-much", 0.9, 0.8),
        ("string.buried-too-much", 1.3, 1.3),
    ],
)
def test_what_reads_alike_and_branches_is_one_sentence(code: str, buried: float, asked: float) -> None:
    limits = {"asked_share": asked, "well_share": 0.4, "most_share": 0.85}
    each = [warning(code, of_string(n, f"N{n}"), buried_share=buried + n * 1e-5, **limits) for n in (2, 1)]
    (one,) = together(each)
    assert one.strings == (2, 1)
    assert sentence(one).removeprefix("strings 2 and 1 (N2, N1)") == sentence(each[0]).removeprefix("string 2 (N2)")


def test_others_stand_alone_in_their_order() -> None:
    key = warning("slot.floor-below-fret-plane", of_key("slots"), by=0.1)
    found = [key, low(2, 0.2), key, replace(low(1, 0.2), severity="refusal")]
    assert together(found) == tuple(found)


@pytest.mark.parametrize("angle", [2.0, 25.0])
def test_every_string_is_still_named(angle: float) -> None:
    nut = solve(spec_of(text_of("acoustic-12", {"headstock.break_angle_deg": angle})))
    told = [one for _, one in Findings(nut.findings).marked]
    assert len({(one.code, one.about) for one in told}) == len(told) < len(nut.findings)
    assert {(f.code, n) for f in told for n in f.strings} == {(f.code, n) for f in nut.findings for n in f.strings}


def test_the_screen_says_it_once(tmp_path: Path) -> None:
    (tmp_path / "steep.toml").write_text(text_of("electric-6", {"headstock.break_angle_deg": 25.0}), "utf-8")
    shown = run("check", "steep.toml", cwd=tmp_path).stdout
    assert shown.count("it binds") == 1
    assert "strings 6 to 1 (E2 to E4)" in shown


def test_a_slip_in_every_string_is_refused_once(tmp_path: Path) -> None:
    text = text_of("bass-5").replace("post = {", "pots = {").replace('"D2"', '"H2"').replace('"G2"', '"H2"')
    (tmp_path / "slips.toml").write_text(text, "utf-8")
    told = run("check", "slips.toml", cwd=tmp_path).stderr.splitlines()
    assert [line.split(": ")[1] for line in told] == ["strings[1 to 5].pots", "strings[4 and 5].note"]


@pytest.mark.parametrize(
    ("key", "home"),
    [
        ("fretboard.post", "in [[strings]]"),
        ("body.units", "at the top of the file"),
        ("slots.radius", "in [fretboard]"),
    ],
)
def test_a_key_of_another_table_is_sent_home(tmp_path: Path, key: str, home: str) -> None:
    (tmp_path / "astray.toml").write_text(text_of("bass-5", {key: 1.0}), "utf-8")
    told = run("check", "astray.toml", cwd=tmp_path).stderr
    assert f"{key}: no key of this table; there is one {home}" in told


def test_what_a_leaf_decides_is_told_in_half_thousandths() -> None:
    for code in ("file.in-strokes", "file.last-in-strokes", "file.to-stack"):
        said = sentence(step(code, amount=0.0127, strokes=2, look_every=1), "in")
        assert "0.0005 in" in said  # 1 in = 25.4 mm (international inch, 1959)


@pytest.mark.parametrize(("units", "told"), [("mm", True), ("in", False)])
def test_a_move_that_would_read_as_nothing_is_not_told(units: Units, told: bool) -> None:
    cost = {"floors": 0.008, "blank": 1.0, "places": 0.0, "tried": (3.0, 5.0), "is_share": False}
    said = sentence(warning("reading.not-measured", of_key("seat.depth"), **cost), units)
    assert ("slot floors" in said) is told
    assert "the blank by up to" in said
