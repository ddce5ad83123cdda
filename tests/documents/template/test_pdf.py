"""The PDF as a printer gets it: rasterised by another program and measured in pixels."""

import ctypes
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import box

from nutgen.documents.lettering import Words, spread
from nutgen.documents.paint.page import Linework, wrapped
from nutgen.documents.paint.pdf import pages_pdf
from nutgen.documents.template.template import template_pages
from nutgen.errors import CannotBeMade
from nutgen.formats.stamp import Stamp
from nutgen.nut import solve
from nutgen.nut.part import Nut
from nutgen.spec.read import read_spec, spec_hash
from tests.cases import EACH_PRESET
from tests.model.nuts import nut, nuts, slot
from tests.rounding import half_up
from tests.specs import solved, specs

STAMP = Stamp("Test bar", "0123456789ab")
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; 8.5 x 11 in
DPI = 600
PIXEL = 25.4 / DPI  # mm
MARGIN = 10.0  # mm; what a printer may need


def template_pdf(one: Nut, stamp: Stamp, *, paper: str) -> bytes:
    return pages_pdf(template_pages(one, stamp, paper=paper), stamp)


drawn, printed = cache(template_pages), cache(template_pdf)


def opened(folder: Path, content: bytes) -> pypdfium2.PdfDocument:
    """Through the disk."""
    file = folder / "template.pdf"
    file.write_bytes(content)
    return pypdfium2.PdfDocument(file)


@cache
def preset(path: Path) -> tuple[Nut, Stamp]:
    spec = read_spec(path)
    return solve(spec), Stamp(spec.title, spec_hash(spec))


def ink(document: pypdfium2.PdfDocument, left: float, top: float, right: float, bottom: float) -> np.ndarray:
    """Whether there is ink, pixel by pixel, in a part of the first page given from its upper left corner [mm]."""
    page = document[0]
    wide, high = (length / 72.0 * 25.4 for length in page.get_size())
    crop = tuple(length / 25.4 * 72.0 for length in (left, high - bottom, wide - right, top))
    bitmap = page.render(scale=DPI / 72.0, grayscale=True, crop=crop)
    return bitmap.to_numpy().reshape(bitmap.height, bitmap.width) < 128


def runs(row: np.ndarray) -> list[float]:
    """Middles of the stretches of ink along a row [pixels]."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
    return [(a + b) / 2.0 for a, b in zip(edges[::2], edges[1::2], strict=True)]


def figure(one: Nut, stamp: Stamp, name: str, paper: str) -> Linework:
    """Where to look on the first page; what is found there is measured on the raster."""
    items = drawn(one, stamp, paper=paper)[0].items
    return next(item for item in items if isinstance(item, Linework) and item.name == name)


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("path", EACH_PRESET, ids=lambda path: path.stem)
class TestPresets:
    def test_prints_true(self, path, paper, tmp_path):
        one, stamp = preset(path)
        document = opened(tmp_path, printed(one, stamp, paper=paper))
        for page in document:
            size = [length / 72.0 * 25.4 for length in page.get_size()]
            assert size == pytest.approx(SIZES[paper], abs=0.01)
        for name, length in (("bar-50-mm", 50.0), ("bar-2-in", 50.8)):
            left, top, right, bottom = figure(one, stamp, name, paper).box
            row = ink(document, left - 2.0, top + 0.2, right + 2.0, top + 0.5)[2]
            ends = runs(row)
            assert len(ends) == 2
            assert (ends[1] - ends[0]) * PIXEL == pytest.approx(length, abs=PIXEL)
        front = figure(one, stamp, "front", paper)
        left, top, right, bottom = front.box
        # just above the seat floor only ends, centre lines and the blank are crossed
        crossed = [x * PIXEL for x in runs(ink(document, left - 1.0, bottom - 1.6, right + 1.0, bottom - 1.3)[3])]
        want = front.x - (left - 1.0) + np.array([one.left.x, one.right.x])
        ends = [min(crossed, key=lambda x, at=at: abs(x - at)) for at in want]
        assert ends[1] - ends[0] == pytest.approx(one.length, abs=PIXEL)
        # below it there is nothing but the centre lines
        centres = np.array(runs(ink(document, left - 1.0, bottom - 0.6, right + 1.0, bottom - 0.3)[3])) * PIXEL
        wanted = sorted(float(s.x_at(0.0)) for s in one.slots)
        off = (one.left.x + one.right.x) / 2.0  # of the middle of a face whose ends lean unlike
        assert centres - (ends[0] + ends[1]) / 2.0 + off == pytest.approx(wanted, abs=PIXEL)

    def test_says_what_it_must(self, path, paper, tmp_path):
        one, stamp = preset(path)
        document = opened(tmp_path, printed(one, stamp, paper=paper))
        for page in document:
            words = page.get_textpage().get_text_bounded()
            for needed in (stamp.title, stamp.spec_hash, "100 %", "50 mm", "2 in", "1:1", "mask", "eye protection"):
                if needed not in ("mask", "eye protection") or page is document[0]:
                    assert needed in words
        words = " ".join(page.get_textpage().get_text_bounded() for page in document)
        assert "local rules" in words
        bass = "left" if one.strung == "right" else "right"
        assert f"the bass end is at the {bass}" in words
        for s in one.slots:
            sizes = ((s.gauge / 25.4, 4), (s.gauge, 3), (one.from_bass_end(s), 2), (s.width, 2))
            assert " ".join(half_up(*size) for size in sizes) in " ".join(words.split())

    def test_nothing_lies_over_anything(self, path, paper):
        one, stamp = preset(path)
        check_layout(one, stamp, paper)


def check_layout(one: Nut, stamp: Stamp, paper: str) -> None:
    """All inside the margins; words clear of words and of figures, figures clear of figures."""
    for page in drawn(one, stamp, paper=paper):
        assert (page.width, page.height) == SIZES[paper]
        sheet = box(MARGIN, MARGIN, page.width - MARGIN, page.height - MARGIN)
        words = [(item.text, box(*item.box).buffer(-0.02)) for item in page.items if isinstance(item, Words)]
        figures = [(item.name, box(*item.box).buffer(0.05)) for item in page.items if isinstance(item, Linework)]
        for name, place in [*words, *figures]:
            assert sheet.buffer(0.06).contains(place), f"{name} leaves the page"
        for (a, one_box), (b, other) in combinations(words, 2):
            assert not one_box.intersects(other), f'"{a}" over "{b}"'
        for a, one_box in words:
            for b, other in figures:
                assert not one_box.intersects(other), f'"{a}" over {b}'
        names = [name for name, _ in figures]
        assert len(set(names)) == len(names)
        for (a, one_box), (b, other) in combinations(figures, 2):
            if {a, b} != {"leaders", "front"}:  # the leaders end on the centre lines
                assert one_box.intersection(other).area < 0.01, f"{a} over {b}"


class TestFile:
    def test_same_bytes_again(self):
        one = nut(slots=(slot(),))
        assert len({template_pdf(one, STAMP, paper="a4") for _ in range(3)}) == 1

    def test_unknown_paper(self):
        with pytest.raises(ValueError, match="allowed are a4, letter"):
            template_pdf(nut(slots=(slot(),)), STAMP, paper="legal")

    def test_every_typeface_is_embedded(self, tmp_path):
        document = opened(tmp_path, template_pdf(nut(slots=(slot(),)), STAMP, paper="a4"))
        faces = {}
        for item in document[0].get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT]):
            font = pdfium.FPDFTextObj_GetFont(item)
            name = ctypes.create_string_buffer(64)
            pdfium.FPDFFont_GetBaseFontName(font, name, 64)
            faces[name.value] = pdfium.FPDFFont_GetIsEmbedded(font)
        assert len(faces) == 2
        assert set(faces.values()) == {1}

    def test_properties(self, tmp_path):
        document = opened(tmp_path, template_pdf(nut(slots=(slot(),)), Stamp("竹琴 & Ö", "0" * 12), paper="a4"))
        found = document.get_metadata_dict()
        assert found["Title"] == "竹琴 & Ö"
        assert "000000000000" in found["Subject"]

    @pytest.mark.parametrize(
        "title", ["竹琴", "🎸 bar", "a\nb\x00c", "Ниж. контрабас", "é" * 80, "W" * 80, "\ufffe\ud800"]
    )
    def test_any_title(self, title, tmp_path):
        one = nut(slots=(slot(),))
        check_layout(one, Stamp(title, "0" * 12), "a4")
        document = opened(tmp_path, template_pdf(one, Stamp(title, "0" * 12), paper="a4"))
        words = document[0].get_textpage().get_text_bounded()
        if (title.isalpha() and title.isascii()) or "Ниж" in title:
            assert title in words.replace("\r\n", "")
        elif "竹" in title or "🎸" in title:
            assert "lacks this letter" in words

    def test_left_strung_counts_from_the_right(self, tmp_path):
        one = nut(strung="left", slots=(slot(x=16.0, number=2, note="A2"), slot(x=-15.0, number=1, note="D3")))
        document = opened(tmp_path, template_pdf(one, STAMP, paper="a4"))
        words = " ".join(document[0].get_textpage().get_text_bounded().split())
        assert "1.000 4.00 1.10" in words  # the bass string, 4 mm from the right end
        assert "1.000 35.00 1.10" in words
        assert "strung left-handed" in words
        assert "seen from the bass end" in words

    def test_sixteen_strings_on_the_longest_nut(self, tmp_path):
        cut = [slot(number=16 - i, note="C#4", x=-60.0 + 8.0 * i) for i in range(16)]
        one = nut(length=130.0, thickness=15.0, slots=tuple(cut), land=4.0)
        for paper in SIZES:
            check_layout(one, Stamp("W" * 80, "0" * 12), paper)
            pages = len(opened(tmp_path, template_pdf(one, STAMP, paper=paper)))
            assert pages == len(template_pages(one, STAMP, paper=paper)) > 1


class TestLayout:
    @pytest.mark.slow
    @settings(max_examples=60)
    @given(nuts(most_slots=16), st.text(max_size=80), st.sampled_from(sorted(SIZES)))
    def test_any_nut_has_room(self, one, title, paper):
        try:
            check_layout(one, Stamp(title, "0" * 12), paper)
        except CannotBeMade:
            return

    @pytest.mark.slow
    @settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
    @given(specs(), st.sampled_from(sorted(SIZES)))
    def test_any_file_that_solves_has_room(self, text, paper):
        check_layout(solved(text), STAMP, paper)

    @given(st.lists(st.floats(-60.0, 60.0), min_size=1, max_size=16), st.floats(0.1, 6.0))
    def test_spread_moves_as_little_as_can_be(self, places, apart):
        places = sorted(places)
        moved = spread(places, apart)
        assert np.all(np.diff(moved) >= apart - 1e-9)
        # least squares: in every pool of neighbours that touch, the moves add up to nothing
        ends = [0, *[i + 1 for i, step in enumerate(np.diff(moved)) if step > apart + 1e-9], len(moved)]
        for a, b in pairwise(ends):
            assert sum(moved[a:b]) == pytest.approx(sum(places[a:b]), abs=1e-6)

    @given(st.text(alphabet="abc WM.", max_size=120), st.floats(5.0, 60.0))
    def test_wrapped_lines_fit_and_lose_nothing(self, text, room):
        lines = wrapped(text, 2.6, room)
        assert "".join("".join(lines).split()) == "".join(text.split())
        assert all(Words(0.0, 0.0, line, 2.6).length <= room for line in lines)
