"""The cut plan as a printer and a drawing program get it: PDF and SVG read back by other readers, and measured."""

import re
from functools import cache
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
import svgelements

from nutgen.documents.cut_plan.pages import cut_plan_pages, cut_plan_svg
from nutgen.documents.lettering import Words
from nutgen.documents.paint.page import Linework
from nutgen.documents.paint.pdf import pages_pdf
from nutgen.formats.stamp import Stamp
from nutgen.geometry.mesh import manifold_of, mesh_of_manifold
from nutgen.stock.cut.cuts import cut_plan
from tests.cases import cases
from tests.stock.pieces_by_hand import answer, block, cylinder, frustum, laid, none, piece, shin, swept, turned

STAMP = Stamp("Test bar, from: a shin", "0123456789ab")
UNITS = {"a4": "mm", "letter": "in"}
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; 8.5 x 11 in
PRINTABLE = 10.0  # mm; what a printer may leave white
DPI = 600
PIXEL = 25.4 / DPI  # mm
RADIUS = 14.0


def rod():
    body = piece(cylinder(RADIUS, 150.0, around=720), 150.0)
    return body, answer(block(48.0, 9.4, 12.6), laid([55.0, 0.0, 0.0], turned(pitch_deg=3.0)))


def rod_from_behind():
    """Nearer to its last end, where work begins."""
    body = piece(cylinder(RADIUS, 150.0, around=720), 150.0)
    return body, answer(block(48.0, 9.4, 12.6), laid([95.0, 0.0, 0.0], turned(pitch_deg=3.0)))


def hollow():
    return shin(), answer(block(), laid([62.0, 0.3, 9.0], turned(yaw_deg=2.0, pitch_deg=1.5, roll_deg=90.0)))


def four():
    body = piece(cylinder(20.0, 150.0), 150.0)
    places = ((40.0, -5.5), (40.2, 5.5), (90.0, -5.5), (97.0, 5.5))
    return body, answer(block(), *(laid([along, aside, 0.0], turned()) for along, aside in places))


def thick():
    """Wider around than any page."""
    body = piece(frustum(44.0, 38.0, 200.0, around=360), 200.0)
    return body, answer(block(120.0, 12.0, 18.0), laid([100.0, 0.0, 10.0], turned(roll_deg=30.0, yaw_deg=-2.0)))


def slim():
    stations = np.linspace(0.0, 110.0, 12)
    skin = swept(stations, wide=lambda a: 10 - 0.01 * a, high=lambda a: 8.6 - 0.01 * a, sideways=none, up=none)
    return piece(skin, 110.0), answer(block(44.0, 6.5, 11.0), laid([25.0, 0, 0], turned(roll_deg=88.0), margin=0.31))


def twelve():
    """As many as may be asked for: side by side in four stretches."""
    body = piece(cylinder(24.0, 250.0), 250.0)
    places = [(30.0 + 60.0 * row, -10.5 + 10.5 * column) for row in range(4) for column in range(3)]
    return body, answer(block(), *(laid([along, aside, 0.0], turned()) for along, aside in places))


def run_out():
    """Its last end runs out slantwise, and from the kerf of the last cut on no longer goes round the axis."""
    whole = manifold_of(cylinder(RADIUS, 150.0))
    skin = mesh_of_manifold(whole.trim_by_plane((-0.8, 0.0, 0.6), -0.8 * 130.0))
    return piece(skin, 150.0), answer(block(48.0, 9.4, 6.6), laid([105.4, 0.0, 7.0], turned()))


FACES = {"first": "rod", "last": "rod from behind"}  # the end that the rips start from
CASES = {
    "rod": rod,
    "rod from behind": rod_from_behind,
    "hollow": hollow,
    "four": four,
    "thick": thick,
    "slim": slim,
    "twelve": twelve,
    "run out": run_out,
}


@cache
def laid_out(case: str, paper: str):
    return pages_of(*CASES[case](), paper)


@cache
def made(case: str, paper: str) -> tuple[bytes, bytes]:
    pages = laid_out(case, paper)
    return pages_pdf(pages, STAMP), cut_plan_svg(pages, STAMP)


def pages_of(body, given, paper, stamp=STAMP, nut_title="Loan bass"):
    told = {"nut_title": nut_title, "paper": paper, "units": UNITS.get(paper, "mm")}
    return cut_plan_pages(body, given, cut_plan(body, given), stamp, **told)


def groups(content: bytes) -> dict[str, list[svgelements.Path]]:
    """Paths of the SVG by figure and layer, as svgelements reads them; units are mm."""
    svg = svgelements.SVG.parse(BytesIO(content), ppi=25.4)
    found: dict[str, list[svgelements.Path]] = {}
    for group in svg.select(lambda e: isinstance(e, svgelements.Group) and e.id and "." in e.id):
        found[group.id] = [element for element in group if isinstance(element, svgelements.Path)]
    return found


def corners(path: svgelements.Path) -> np.ndarray:
    points = [segment.end for segment in path if segment.end is not None]
    return np.array([(p.x, p.y) for p in points])


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("case", cases("hollow", "four", "run out", slow=["rod", "thick", "slim", "twelve"]))
class TestEveryPage:
    def test_prints_inside_the_margins(self, case, paper):
        document = pypdfium2.PdfDocument(made(case, paper)[0])
        for page in document:
            size = [length / 72.0 * 25.4 for length in page.get_size()]
            assert size == pytest.approx(SIZES[paper], abs=0.01)
            bitmap = page.render(scale=150.0 / 72.0, grayscale=True)
            dark = bitmap.to_numpy().reshape(bitmap.height, bitmap.width) < 200
            rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
            edge = PRINTABLE / 25.4 * 150.0
            assert rows[0] > edge
            assert columns[0] > edge
            assert rows[-1] < bitmap.height - edge
            assert columns[-1] < bitmap.width - edge

    def test_both_say_the_same(self, case, paper):
        pdf, svg = made(case, paper)
        document = pypdfium2.PdfDocument(pdf)
        pages = [page.get_textpage().get_text_bounded() for page in document]
        for text in pages:
            for needed in (STAMP.title, STAMP.spec_hash, "100 %", "50 mm", "2 in", "1:1"):
                assert needed in text
        said = " ".join(" ".join(pages).split())
        for needed in (
            "Yes:",
            "Loan bass",
            "mask",
            "V-block",
            "eye protection",
            "Left to sand",
            "edge at",
            "first end",
        ):
            assert needed in said
        words = re.findall(r"<text [^>]*>([^<]*)</text>", svg.decode())
        for line in words:
            assert " ".join(line.replace("&amp;", "&").split()) in said

    def test_words_stand_clear_of_each_other(self, case, paper):
        for page in laid_out(case, paper):
            boxes = [item.box for item in page.items if isinstance(item, Words)]
            for k, a in enumerate(boxes):
                for b in boxes[k + 1 :]:
                    across = min(a[2], b[2]) - max(a[0], b[0])
                    up = min(a[3], b[3]) - max(a[1], b[1])
                    assert across <= 0.2 or up <= 0.35, (page.items, a, b)

    def test_same_bytes(self, case, paper):
        body, given = CASES[case]()
        again = pages_pdf(pages_of(body, given, paper), STAMP)
        assert again == made(case, paper)[0]


@pytest.mark.parametrize("paper", SIZES)
class TestRod:
    def test_strip_is_as_wide_as_the_girth(self, paper):
        paths = groups(made("rod", paper)[1])
        (edge,) = paths["strip-1-1-1.paper-edge"]
        left, top, right, bottom = edge.bbox()
        assert right - left == pytest.approx(2.0 * np.pi * RADIUS, abs=0.05)
        body, given = rod()
        plan = cut_plan(body, given)
        # 8 mm beyond both kerfs; the ends are pitched 3 degrees
        slant = 2.0 * RADIUS * np.tan(np.radians(3.0))
        assert bottom - top == pytest.approx(48.0 / np.cos(np.radians(3.0)) + slant + 2.0 * (8.0 + plan.kerf), abs=0.05)

    def test_cross_cuts_are_sines_a_kerf_apart(self, paper):
        """y = a cos(x / r): the development of a cut cylinder, any textbook of descriptive geometry."""
        paths = groups(made("rod", paper)[1])
        left = paths["strip-1-1-1.paper-edge"][0].bbox()[0]
        wide = [corners(path) for path in paths["strip-1-1-1.keep-lines"]]
        cuts = [line for line in wide if np.ptp(line[:, 0]) > 80.0]
        assert len(cuts) == 2
        for line in cuts:
            x = line[:, 0] - left - np.pi * RADIUS
            wave = RADIUS * np.tan(np.radians(3.0)) * np.cos(x / RADIUS)
            level = line[:, 1] - wave * np.sign(np.polyfit(wave, line[:, 1], 1)[0])
            assert np.ptp(level) < 0.05
        middles = sorted(float(line[:, 1].mean()) for line in cuts)
        assert middles[1] - middles[0] == pytest.approx(48.0 / np.cos(np.radians(3.0)), abs=0.05)

    def test_rip_lines_lie_where_the_planes_meet_the_skin(self, paper):
        """Back and front face at 4.7 mm off the middle: r asin(4.7 / r) from the back line."""
        paths = groups(made("rod", paper)[1])
        left = paths["strip-1-1-1.paper-edge"][0].bbox()[0]
        upright = [corners(path) for path in paths["strip-1-1-1.keep-lines"]]
        places = [
            float(line[:, 0].mean()) - left - np.pi * RADIUS
            for line in upright
            if np.ptp(line[:, 1]) > 40.0 and np.ptp(line[:, 0]) < 3.0
        ]
        first = RADIUS * np.arcsin(4.7 / RADIUS)
        assert min(abs(abs(place) - first) for place in places) < 0.05

    def test_end_views_are_true(self, paper):
        for end, case in FACES.items():
            paths = groups(made(case, paper)[1])
            left, top, right, bottom = paths[f"end-1-{end}.skin"][0].bbox()
            assert right - left == pytest.approx(2.0 * RADIUS, abs=0.05)
            assert bottom - top == pytest.approx(2.0 * RADIUS / np.cos(np.radians(3.0)), abs=0.05)
            for layer, wide, high in (
                ("sawn-block", 9.4, 12.6),
                ("squared-block", 7.4, 10.6),
                ("finished-nut", 9.4 - 2.8, 12.6 - 3.2),
            ):
                left, top, right, bottom = paths[f"end-1-{end}.{layer}"][0].bbox()
                assert (right - left, bottom - top) == pytest.approx((wide, high), abs=0.05)

    def test_end_views_are_the_right_way_round(self, paper):
        """Front is to the right of the back seen from the first end: +sideways is left, and y runs to the left."""
        for end, way in (("first", -1.0), ("last", 1.0)):
            paths = groups(made(FACES[end], paper)[1])
            assert [name for name in paths if name.startswith("end-")] == [n for n in paths if f"end-1-{end}" in n]
            skin, compact = (paths[f"end-1-{end}.{layer}"][0].bbox() for layer in ("skin", "compact"))
            middle, at = (skin[0] + skin[2]) / 2.0, (compact[0] + compact[2]) / 2.0
            assert (at - middle) * way < 0.0  # the compact part is at the front, where sideways is negative
            assert (compact[1] + compact[3]) / 2.0 < (skin[1] + skin[3]) / 2.0  # and at the top

    def test_the_print_is_true(self, paper):
        """The PDF in pixels: bars, and the strip from edge to edge."""
        document = pypdfium2.PdfDocument(made("rod", paper)[0])
        pages = laid_out("rod", paper)
        number = next(
            n
            for n, page in enumerate(pages)
            if any(i.name == "strip-1-1-1" for i in page.items if isinstance(i, Linework))
        )
        figures = {item.name: item for item in pages[number].items if isinstance(item, Linework)}
        bitmap = document[number].render(scale=DPI / 72.0, grayscale=True)
        dark = bitmap.to_numpy().reshape(bitmap.height, bitmap.width) < 128
        for name, length in (("bar-50-mm", 50.0), ("bar-2-in", 50.8)):
            left, top, right, _ = figures[name].box
            row = dark[int((top + 0.3) / PIXEL), int((left - 2) / PIXEL) : int((right + 2) / PIXEL)]
            ends = np.flatnonzero(row)
            assert (ends[-1] - ends[0]) * PIXEL == pytest.approx(length + 0.25, abs=2 * PIXEL)
        strip = figures["strip-1-1-1"]
        foot = strip.y - 0.6  # just above the lower edge, where only the four lines and the edges are crossed
        row = dark[int(foot / PIXEL), int((strip.x - 1) / PIXEL) : int((strip.x + 2 * np.pi * RADIUS + 1) / PIXEL)]
        ends = np.flatnonzero(row)
        assert (ends[-1] - ends[0]) * PIXEL == pytest.approx(2.0 * np.pi * RADIUS + 0.13, abs=2 * PIXEL)


class TestParts:
    def test_a_thick_piece_gets_strips_in_parts_that_match(self):
        """Around all parts: both girths of the frustum, and a slant on either side of each joint."""
        content = made("thick", "a4")[1]
        paths = groups(content)
        edges = {name: paths[name][0] for name in paths if name.startswith("strip-") and "paper-edge" in name}
        assert all(edge.bbox()[2] - edge.bbox()[0] + 8.0 <= 210.0 - 24.0 + 1e-6 for edge in edges.values())
        found = [edge for name, edge in edges.items() if name.startswith("strip-1-1-")]
        assert len(found) >= 2
        said = " ".join(re.findall(r"<text [^>]*>([^<]*)</text>", content.decode()))
        near, far = (float(re.search(rf"{which} edge ([\d.]+) mm", said)[1]) for which in ("Upper", "lower"))
        girths = sum(2.0 * np.pi * (44.0 - 0.03 * at) for at in (near, far))
        slants = 2.0 * len(found) * (far - near) * np.hypot(1.0, 0.03)
        around = sum(float(edge.length()) for edge in found)
        assert around == pytest.approx(girths + slants, abs=0.05 * 4 + 0.1 * 2 * len(found))


class TestRefusals:
    def test_another_paper(self):
        body, given = rod()
        with pytest.raises(ValueError, match="allowed are a4, letter"):
            pages_of(body, given, "a3")

    def test_titles_of_any_letters(self):
        body, given = rod()
        odd = Stamp("Ⱨ & <piece> \N{SNOWMAN} أ", "0123456789ab")
        pages = pages_of(body, given, "a4", odd, nut_title="Þ <b> & \x07")
        assert pages_pdf(pages, odd).startswith(b"%PDF")
        assert b"<piece>" not in cut_plan_svg(pages, odd)
