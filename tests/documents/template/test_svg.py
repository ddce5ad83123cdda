"""The SVG as other programs get it: parsed back, sizes in mm."""

import math
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import translate
from shapely.ops import unary_union

from nutgen.documents.paint.svg import page_svg
from nutgen.documents.template.template import template_pages
from nutgen.errors import CannotBeMade
from nutgen.formats.stamp import Stamp
from nutgen.nut import Nut, solve
from nutgen.spec.read import read_spec, spec_hash
from tests.cases import EACH_PRESET
from tests.model.faces import body, gap
from tests.model.nuts import nut, nuts, slot
from tests.rounding import half_up

STAMP = Stamp("Test bar", "0123456789ab")
NAME = "{http://www.w3.org/2000/svg}"
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; 8.5 x 11 in


def template_svg(one: Nut, stamp: Stamp, *, paper: str) -> bytes:
    return page_svg(template_pages(one, stamp, paper=paper)[0], stamp)


def parsed(folder: Path, content: bytes) -> svgelements.SVG:
    """Through the disk; a unit of the result is a millimetre."""
    file = folder / "template.svg"
    file.write_bytes(content)
    return svgelements.SVG.parse(file, ppi=25.4)


def paths_of(svg: svgelements.SVG, name: str) -> list[svgelements.Path]:
    """The paths of a group by id."""
    return list(svg.get_element_by_id(name).select(lambda e: isinstance(e, svgelements.Path)))


def ring(path: svgelements.Path) -> Polygon:
    """A closed path, arcs cut fine, up turned up again."""
    points = []
    for part in path:
        count = max(2, math.ceil(part.length() / 0.02)) if isinstance(part, svgelements.Arc) else 1
        points += [(p.x, -p.y) for p in (part.point(i / count) for i in range(1, count + 1))]
    return Polygon(points)


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("path", EACH_PRESET, ids=lambda path: path.stem)
class TestPresets:
    def test_outline_has_its_size_and_shape(self, path, paper, tmp_path):
        spec = read_spec(path)
        one = solve(spec)
        svg = parsed(tmp_path, template_svg(one, Stamp(spec.title, spec_hash(spec)), paper=paper))
        assert (svg.width, svg.height) == pytest.approx(SIZES[paper], rel=1e-6)
        (outline,) = paths_of(svg, "front.front-outline")
        left, _, right, bottom = outline.bbox()
        assert right - left == pytest.approx(one.length, abs=1e-4)
        drawn = ring(outline)
        wanted = body(one).difference(unary_union([gap(s) for s in one.slots]))
        shift = left - one.left.x, -bottom - one.lowest_z
        wanted = translate(wanted, *shift)
        assert drawn.symmetric_difference(wanted).area < 3e-4 * drawn.length
        for spare in (1, 2, 3):
            found = svg.get_element_by_id(f"front-spare-{spare}")
            if found is not None:  # on this page
                (copy,) = paths_of(svg, f"front-spare-{spare}.front-outline")
                assert ring(copy).area == pytest.approx(drawn.area, rel=1e-6)


class TestFile:
    @pytest.fixture
    def tree(self):
        return ElementTree.fromstring(template_svg(nut(slots=(slot(), slot(x=5.0))), STAMP, paper="a4"))

    def test_says_millimetres(self, tree):
        assert tree.get("width") == "210mm"
        assert tree.get("height") == "297mm"
        assert tree.get("viewBox") == "0 0 210 297"

    def test_title_and_description(self, tree):
        assert tree.findtext(f"{NAME}title") == "Test bar"
        assert STAMP.line in tree.findtext(f"{NAME}desc")

    def test_groups_are_named_once(self, tree):
        names = [group.get("id") for group in tree.iter(f"{NAME}g")]
        assert len(set(names)) == len(names)
        assert {"front", "top", "end", "front.front-outline", "top.top-slots", "end.end-outline"} <= set(names)

    def test_arcs_stay_arcs(self, tree):
        letters = set("".join(re.findall("[A-Za-z]", " ".join(p.get("d") for p in tree.iter(f"{NAME}path")))))
        assert letters == set("MLAZ")

    def test_check_bars(self, tmp_path):
        svg = parsed(tmp_path, template_svg(nut(slots=(slot(),)), STAMP, paper="letter"))
        for name, length in (("bar-50-mm", 50.0), ("bar-2-in", 50.8)):
            boxes = np.array([one.bbox() for one in paths_of(svg, name)])
            assert boxes[:, 2].max() - boxes[:, 0].min() == pytest.approx(length, rel=1e-6)

    def test_lines_differ_without_colour(self, tree):
        strokes = {group.get("stroke") for group in tree.iter(f"{NAME}g")} - {None}
        colours = [bytes.fromhex(colour[1:]) for colour in strokes - {"black", "#cccccc"}]
        # relative luminance, sRGB (IEC 61966-2-1, from memory): what is under a twentieth prints black
        assert all(
            sum(k * (c / 255.0) ** 2.2 for k, c in zip((0.21, 0.72, 0.07), rgb, strict=True)) < 0.05 for rgb in colours
        )
        assert len(colours) >= 5

    def test_every_line_is_on_a_named_layer(self, tree):
        space = "{http://www.inkscape.org/namespaces/inkscape}"
        groups = list(tree.iter(f"{NAME}g"))
        assert all(group.get(f"{space}groupmode") == "layer" for group in groups)
        labels = [group.get(f"{space}label") for group in groups]
        assert {"words", "front", "front-outline", "front-blank", "slot-centres"} <= set(labels)
        assert not list(tree.iter(f"{NAME}rect"))

    def test_no_segment_is_nothing(self, tmp_path):
        path = tmp_path / "template.svg"
        path.write_bytes(template_svg(nut(slots=(slot(), slot(x=6.0, fan_deg=4.0))), STAMP, paper="a4"))
        shapes = [shape for shape in svgelements.SVG.parse(str(path)).elements() if isinstance(shape, svgelements.Path)]
        drawn = [s for shape in shapes for s in shape if not isinstance(s, svgelements.Move)]
        assert len(drawn) > 50
        assert min(segment.length(error=1e-4) for segment in drawn) > 1e-6

    def test_same_bytes_again(self):
        one = nut(slots=(slot(),))
        assert template_svg(one, STAMP, paper="a4") == template_svg(one, STAMP, paper="a4")

    def test_unknown_paper(self):
        with pytest.raises(ValueError, match="allowed are a4, letter"):
            template_svg(nut(slots=(slot(),)), STAMP, paper="a3")

    @pytest.mark.parametrize("title", ["<b> & \"quoted\" 'x'", "竹琴", "a\x00b\x0bc", "]]>", "﻿\uffff\ud800"])
    def test_any_title(self, title):
        tree = ElementTree.fromstring(template_svg(nut(slots=(slot(),)), Stamp(title, "0" * 12), paper="a4"))
        kept = "".join(c if c.isprintable() else " " for c in title)
        assert tree.findtext(f"{NAME}title").replace("﻿", " ") == kept


@settings(max_examples=12)
@given(nuts(most_slots=16), st.text(max_size=80), st.sampled_from(sorted(SIZES)))
def test_any_nut_parses(tmp_path_factory, one, title, paper):
    try:
        content = template_svg(one, Stamp(title, "0" * 12), paper=paper)
    except CannotBeMade:
        return
    svg = parsed(tmp_path_factory.mktemp("svg"), content)
    (outline,) = paths_of(svg, "front.front-outline")
    left, _, right, _ = outline.bbox()
    assert right - left == pytest.approx(one.length, abs=1e-3)


def test_a_reader_of_inches_gets_inches() -> None:
    """1 in is 25.4 mm (international inch, 1959); the bar of 50 mm stays, the print is checked by both."""
    one = nut(slots=(slot(),))
    content = page_svg(
        template_pages(one, Stamp("Test bar", "0" * 12), paper="a4", units="in")[0], Stamp("x", "0" * 12)
    )
    words = re.findall(r"<text [^>]*>([^<]*)</text>", content.decode())
    assert [text for text in words if text.endswith(" mm")] == ["50 mm"]
    assert half_up(one.slots[0].width / 25.4, 3) in words
    assert "1/2" in words  # on the rule, in sixteenths
