"""The sheet for the wall as PDF: measured on its pixels, read back, counted."""

import math
from collections.abc import Iterator
from contextlib import contextmanager
from ctypes import c_int, c_uint
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest

from nutgen.bench.materials import MATERIALS
from nutgen.bench.stages import stages
from nutgen.documents.sheet.pdf import sheet_pdf
from nutgen.documents.sheet.sheet import Sheet, sheet
from nutgen.documents.sheet.words import LOCAL
from nutgen.documents.words import sentence
from nutgen.formats.stamp import Stamp
from nutgen.nut import Nut, solve
from nutgen.spec.presets import kind_path
from nutgen.spec.read import parse_spec, spec_hash
from nutgen.spec.tables import Spec
from tests.cases import EACH_KIND, cases
from tests.rounding import half_up

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Source: ISO 216 for A4; US Letter is 8.5 by 11 in [mm]."""

DOTS = 32.0  # a mm
WIDE_LINE = 0.25  # mm; so much longer is a level line where uprights of that width meet its ends


def job(kind: str, *, material: str = "bone") -> tuple[Spec, Nut]:
    spec = parse_spec(f'material = "{material}"\n' + kind_path(kind).read_text("utf-8"), source=kind)
    return spec, solve(spec)


def words_of(kind: str, *, material: str = "bone", title: str = "") -> Sheet:
    spec, nut = job(kind, material=material)
    return sheet(nut, spec.tools, Stamp(title or spec.title, spec_hash(spec)))


@contextmanager
def opened(content: bytes) -> Iterator[Any]:
    document = pdfium.PdfDocument(content)
    yield document
    document.close()


def text_of(content: bytes) -> str:
    """All words, lines joined with single spaces."""
    with opened(content) as document:
        pages = [page.get_textpage().get_text_range() for page in document]
    return " ".join(" ".join(pages).split())


@dataclass(frozen=True)
class Edge:
    """A level line, from its left end, `y` from the top of the page to its middle [mm]."""

    y: float
    left: float
    length: float


def wide_lines(grey: np.ndarray, length: float) -> list[Edge]:
    """Level lines of the outline's width that are as long, within 0.1 mm, from the top of the page down."""
    dark = np.zeros((grey.shape[0], grey.shape[1] + 2), np.int8)
    dark[:, 1:-1] = grey < 128
    steps = np.diff(dark, axis=1)
    (rows, starts), (_, stops) = np.nonzero(steps == 1), np.nonzero(steps == -1)
    fits = np.abs((stops - starts) / DOTS - WIDE_LINE - length) < 0.1
    rows, starts, stops = rows[fits], starts[fits], stops[fits]
    found = []
    for run in np.split(np.arange(len(rows)), np.flatnonzero(np.diff(rows) > 1) + 1):
        if len(run) >= 0.7 * WIDE_LINE * DOTS:
            left, right = starts[run].mean() / DOTS, stops[run].mean() / DOTS
            found.append(Edge((rows[run].mean() + 0.5) / DOTS, left + WIDE_LINE / 2.0, right - left - WIDE_LINE))
    return found


@pytest.mark.parametrize("paper", cases("letter", slow=["a4"]))
@pytest.mark.parametrize("kind", cases("bass-4-fifths", "electric-6-left", slow=["acoustic-12", "mandolin"]))
def test_the_drawing_is_true_to_size(kind: str, paper: str) -> None:
    """On the pixels: the check bar, the nut's length, its thickness from above, its centre lines."""
    _, nut = job(kind)
    with opened(sheet_pdf(words_of(kind), paper=paper)) as document:
        page = document[0]
        sides = page.get_width() * 25.4 / 72.0, page.get_height() * 25.4 / 72.0
        grey = np.asarray(page.render(scale=DOTS * 25.4 / 72.0, grayscale=True).to_pil())
    assert sides == pytest.approx(PAPERS[paper], abs=0.1)
    (bar,) = wide_lines(grey, 50.0)
    back, front, underside = wide_lines(grey, nut.length)
    assert bar.length == pytest.approx(50.0, abs=0.05)
    assert underside.length == pytest.approx(nut.length, abs=0.05)
    assert front.y - back.y == pytest.approx(nut.thickness, abs=0.05)
    assert front.y < underside.y < bar.y
    assert centres_below(grey, underside) == pytest.approx(
        [float(slot.x_at(0.0)) - nut.left.x for slot in sorted(nut.slots, key=lambda slot: slot.x)], abs=0.05
    )


def centres_below(grey: np.ndarray, underside: Edge) -> list[float]:
    """Where the strings' centre lines overhang the underside, from its left end [mm]."""
    rows = slice(int((underside.y + 0.3) * DOTS), int((underside.y + 0.6) * DOTS))
    inside = underside.left + 0.5, underside.left + underside.length - 0.5  # without the lines of sizes at the ends
    columns = slice(int(inside[0] * DOTS), int(inside[1] * DOTS))
    dark = np.flatnonzero((grey[rows, columns] < 160).mean(axis=0) > 0.3)
    groups = np.split(dark, np.flatnonzero(np.diff(dark) > 2) + 1)
    return [columns.start / DOTS + (group.mean() + 0.5) / DOTS - underside.left for group in groups]


@pytest.mark.parametrize("material", sorted(MATERIALS))
def test_every_caution_of_a_material_stands_before_the_stages(material: str) -> None:
    text = text_of(sheet_pdf(words_of("bass-4-fifths", material=material), paper="a4"))
    stages_at = text.index("Tick a stage")
    for caution in MATERIALS[material].cautions:
        assert 0 < text.index(" ".join(sentence(caution).split())) < stages_at
    assert 0 < text.index(sentence(LOCAL)) < stages_at


@pytest.mark.parametrize("kind", EACH_KIND)
def test_every_size_of_every_stage_can_be_read(kind: str) -> None:
    """Sizes as the bench has them, each beside an empty box; every stage has one of its own."""
    spec, nut = job(kind)
    content = sheet_pdf(words_of(kind), paper="letter")
    text = text_of(content)
    work = stages(nut, spec.tools, MATERIALS["bone"])
    for stage in work:
        assert f"{stage.number} {stage.name.capitalize()}" in text
        assert " ".join(sentence(stage.do).split()) in text
        for size in stage.reach:
            assert half_up(size.stop, 2) in text
            assert half_up(size.target, 2) in text
    for slot in nut.slots:
        assert f"string {slot.number} ({slot.note})" in text
        assert half_up(nut.from_bass_end(slot), 2) in text
    boxes = box_sizes(content)
    assert boxes.count(9.0) == len(work)
    assert boxes.count(6.5) == sum(len(stage.reach) for stage in work)


def box_sizes(content: bytes) -> list[float]:
    """Sides of all squares that are only a line around nothing [pt]."""
    found = []
    with opened(content) as document:
        for page in document:
            for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
                left, low, right, high = item.get_bounds()
                wide, tall = right - left, high - low
                segments = range(raw.FPDFPath_CountSegments(item))
                kinds = {raw.FPDFPathSegment_GetType(raw.FPDFPath_GetPathSegment(item, i)) for i in segments}
                straight = raw.FPDF_SEGMENT_BEZIERTO not in kinds
                if straight and len(segments) >= 4 and abs(wide - tall) < 0.05 and 5.0 < wide < 12.0:
                    found.append(min((9.0, 6.5), key=lambda side: abs(side + 0.7 - wide)))
    return found


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_is_black_on_white_and_keeps_inside_its_margins(paper: str) -> None:
    """No colour, nothing paler than a 60 % grey, nothing outside 11 mm from the edge."""
    content = sheet_pdf(words_of("acoustic-12", material="hardwood"), paper=paper)
    with opened(content) as document:
        for page in document:
            for item in page.get_objects():
                for colour in colours(item):
                    assert len(set(colour)) == 1, colour
                    assert colour[0] <= 0.4 * 255
            grey = np.asarray(page.render(scale=4.0, grayscale=True).to_pil())
            edge = int(11.0 / 25.4 * 72.0 * 4.0)
            inside = np.zeros_like(grey, dtype=bool)
            inside[edge:-edge, edge:-edge] = True
            assert np.all(grey[~inside] == 255)


def colours(item: Any) -> list[tuple[int, int, int]]:
    """What an object is filled and drawn with, where it is."""
    found = []
    is_text = item.type == raw.FPDF_PAGEOBJ_TEXT
    filled, drawn = c_int(), c_int()
    if not is_text:
        raw.FPDFPath_GetDrawMode(item, filled, drawn)
    for wanted, read in (
        (is_text or filled.value, raw.FPDFPageObj_GetFillColor),
        (not is_text and drawn.value, raw.FPDFPageObj_GetStrokeColor),
    ):
        if wanted:
            red, green, blue, alpha = (c_uint() for _ in range(4))
            assert read(item, red, green, blue, alpha)
            found.append((red.value, green.value, blue.value))
    return found


def test_same_values_same_bytes_and_its_own_name() -> None:
    words = words_of("ukulele-tenor")
    content = sheet_pdf(words, paper="a4")
    assert content == sheet_pdf(words, paper="a4")
    with opened(content) as document:
        facts = document.get_metadata_dict()
        assert facts["Title"] == words.stamp.title
        assert words.stamp.spec_hash in facts["Subject"]
        feet = [page.get_textpage().get_text_range() for page in document]
    for number, foot in enumerate(feet, start=1):
        assert f"page {number} of {len(feet)}" in foot
        assert words.stamp.spec_hash in foot


@pytest.mark.parametrize("title", ["Ω и 字 <b>&amp;</b>", "x" * 80, "\N{MUSICAL SYMBOL G CLEF}" * 80, " "])
def test_any_title_can_be_set(title: str) -> None:
    content = sheet_pdf(words_of("mandolin", title=title), paper="letter")
    with opened(content) as document:
        assert document.get_metadata_dict()["Title"] == title
    if title.startswith("Ω"):
        assert "<b>&amp;</b>" in text_of(content)


def test_another_paper_is_refused() -> None:
    with pytest.raises(ValueError, match="allowed are a4, letter"):
        sheet_pdf(words_of("mandolin"), paper="a0")


def test_a_reader_of_inches_gets_inches() -> None:
    """1 in is 25.4 mm (international inch, 1959): thousandths for what is set out, 64ths beside the blank."""
    spec, nut = job("acoustic-6-inches")
    text = text_of(sheet_pdf(sheet(nut, spec.tools, Stamp(spec.title, spec_hash(spec)), "in"), paper="letter"))
    assert " mm " not in text
    for size in (nut.length, nut.thickness, nut.height, nut.land, *(slot.width for slot in nut.slots)):
        assert half_up(size / 25.4, 3) in text
    whole, part = divmod(math.ceil(round(nut.blank.length / 25.4 * 64.0, 3)), 64)
    assert f"({whole} {Fraction(part, 64)})" in text
