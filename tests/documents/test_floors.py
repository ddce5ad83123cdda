"""Template and sheet give the same floors: lines measured in the SVG against the stage's sizes in the HTML.

A line's height over the blank's lower edge, the seat floor at its lowest, is the sheet's floor over the board and the
board's own height there, an arc of the radius that the maker read: plane geometry.
"""

import math
import re
from pathlib import Path

import pytest

from nutgen.documents.paint.svg import page_svg
from nutgen.documents.sheet.html import sheet_html
from nutgen.documents.sheet.sheet import sheet
from nutgen.documents.template.template import template_pages
from nutgen.formats.stamp import Stamp
from nutgen.nut import solve
from nutgen.spec.presets import kind_names
from nutgen.spec.read import parse_spec
from tests.bench.test_cuts import set_back
from tests.cases import cases
from tests.documents.template.test_svg import parsed, paths_of
from tests.kinds import text_of, without

STAMP = Stamp("Floors", "0123456789ab")
ROW = r'string (\d+) \([^)]*\)<span class="unseen">, Floor over the board</span>.*?<b>(-?[\d.]+)</b>'


QUICK = [("classical", False), ("electric-6-left", True), ("bass-5", True), ("electric-6-slanted", True)]
ON_NUT = without("lap", "zero_fret")
EVERY = [(kind, i % 2 == 1 and kind in ON_NUT) for i, kind in enumerate(kind_names())] + [
    (kind, False) for kind in kind_names()[1::2]
]


@pytest.mark.parametrize(("kind", "back"), cases(*QUICK, slow=[case for case in EVERY if case not in QUICK]))
def test_template_and_sheet_give_the_same_floors(kind: str, back: bool, tmp_path: Path) -> None:
    spec = parse_spec(set_back(kind, "brass") if back else text_of(kind), source=kind)
    one = solve(spec)
    html = sheet_html(sheet(one, spec.tools, STAMP)).decode("utf-8")
    told = {int(number): float(floor) for number, floor in re.findall(ROW, html, flags=re.DOTALL)}
    svg = parsed(tmp_path, page_svg(template_pages(one, STAMP, paper="a4")[0], STAMP))
    (blank,) = paths_of(svg, "front.front-blank")
    lines, seat = paths_of(svg, "front.slot-floors"), blank.bbox()[3]
    assert len(lines) == len(told) == len(spec.strings)
    radius = spec.fretboard.radius / math.cos(math.radians(one.slant_deg)) ** 2
    for line, slot in zip(lines, one.slots, strict=True):
        board = 0.0 if math.isinf(radius) else math.sqrt(radius**2 - slot.face_x**2) - radius
        drawn = seat - line.bbox()[1]
        assert drawn == pytest.approx(told[slot.number] + board - one.lowest_z, abs=0.0051)
