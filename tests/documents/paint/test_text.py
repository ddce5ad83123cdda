"""Blocks as text: widths, alphabets and units."""

import io

import pytest

from nutgen.documents.blocks import Column, Document, Facts, Findings, Paragraph, Points, Space, Steps, Table, Title
from nutgen.documents.paint.text import show, text
from nutgen.documents.texts import Cell, Run, phrase
from nutgen.finding import refusal

INCH = 25.4  # mm: international inch, 1959
WIDE = Table(
    (
        Column("string"),
        Column("gauge in", "gauge"),
        Column("floor", "setting_out", sign=True, none="none"),
        Column("leaf", "leaf"),
        Column("tilt", "angle"),
        Column("buried", "share"),
        Column("what to do about it"),
    ),
    (
        ("1 E4", 0.010 * INCH, 0.011 * INCH, 0.0125 * INCH, 5.5, 0.5, "file it by two strokes of the finest file"),
        ("2 B3", 0.013 * INCH, float("nan"), 0.3, 5.5, 0.5, Cell(0.5 * INCH, "setting_out")),
    ),
)
EVERYTHING: Document = (
    Title("Mandolina dell’Höhe"),
    Paragraph(phrase("{long} long, all in {units}", long=INCH), "note"),
    WIDE,
    Points(("one", "two")),
    Findings(()),
    Points(("it may crack ± 2°",), "!"),
    Findings((refusal("file.no-folder", folder="Höhe"),)),
    Steps(("saw", Run(("mark", Cell(3.0 * INCH, "stock")), " "))),
    Facts((("Girth", Cell(INCH, "setting_out")),)),
)


@pytest.mark.parametrize("width", [24, 40, 80, 200])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_nothing_is_wider_than_the_room_or_lost(width: int, units: str) -> None:
    lines = text(EVERYTHING, width=width, units=units).splitlines()  # type: ignore[arg-type]
    assert max(map(len, lines)) <= width
    words = " ".join(lines)
    for word in ("Mandolina", "0.0100", "5.5°", "50%", "none", "strokes", "No warnings.", "! it", "2."):
        assert word in words


def test_a_table_on_the_terminal_repeats_its_first_column() -> None:
    told = text((WIDE,), width=32)
    assert told.count("1 E4") == told.count("string") > 1


def test_titles_and_tables_stand_apart_by_one_empty_line() -> None:
    few = Table((Column("string"),), (("1 E4",),))
    one, two, words = Title("One"), Title("Two", 2), Paragraph("words")
    nothing = Findings((), none="")
    document = (one, few, words, few, few, two, few, words, Space(), two, words, nothing, two)
    table = ["string", "──────", "1 E4"]
    wanted = ["One", *table, "words", "", *table, "", *table, "", "Two", *table, "words", "", "Two", "words", "", "Two"]
    assert text(document, width=80, units="mm").splitlines() == wanted


def test_inches_by_kind() -> None:
    told = text(EVERYTHING, width=120, units="in")
    assert "1.000 in long, all in inches" in told
    assert "+0.011" in told  # setting-out to .001
    assert "0.0125" in told  # a leaf, in steps of .0005
    assert "0.0120" in told  # 0.3 mm is .01181 in
    assert "mark 3.00 (3) in" in told
    assert "mm" not in told


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "latin-1", "cp437"])
def test_every_stream_can_be_written_to(encoding: str) -> None:
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding, errors="strict")
    show(EVERYTHING, units="in", out=stream)
    stream.flush()
    told = raw.getvalue().decode(encoding)
    assert "string" in told
    if encoding == "ascii":
        assert "it may crack +/- 2 deg" in told
        assert "-----" in told
        assert "Hohe" in told


def test_no_style_in_a_file() -> None:
    out = io.StringIO()
    show(EVERYTHING, out=out)
    assert "\x1b" not in out.getvalue()


def test_columns_stay_flush_in_ascii() -> None:
    head, rule, *rows = text((WIDE,), width=120, encoding="ascii").splitlines()
    end = head.index("tilt") + len("tilt")
    assert rule[end - 1 : end + 1] == "- "
    assert all(row[:end].endswith("5.5 deg") for row in rows)
