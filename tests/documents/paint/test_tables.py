"""Tables wider than their room: set on paper, read back from the PDF by PDFium."""

import pypdfium2
import pytest

from nutgen.documents.blocks import Column, Document, Facts, Table
from nutgen.documents.paint.compose import composed
from nutgen.documents.paint.heading import printed
from nutgen.documents.paint.pdf import pages_pdf
from nutgen.formats.stamp import Stamp

STAMP = Stamp("Wide", "0123456789ab")
PRINTABLE = 10.0 / 25.4 * 72.0  # pt; what a printer may leave white


def table(numbers: int) -> Table:
    heads = tuple(Column(f"{end} end from", "stock", sign=True) for end in ("first", "last"))
    columns = (Column("rip line"), *(heads * numbers)[:numbers])
    rows = [(f"{n} underside, nut {n}, sand", *(-127.38 - 10.3 * i - n for i in range(numbers))) for n in range(1, 4)]
    return Table(columns, tuple(rows), "rips")


def placed(document: Document) -> bytes:
    return pages_pdf(printed(STAMP, "", "letter", lambda room: [(composed(document, room, "in"), 2.0)]), STAMP)


@pytest.mark.parametrize("numbers", [4, 7, 10])
def test_a_wide_table_stays_in_its_margins_and_loses_nothing(numbers: int) -> None:
    page = pypdfium2.PdfDocument(placed((table(numbers),)))[0]
    text = page.get_textpage()
    boxes = [text.get_charbox(n) for n in range(text.count_chars()) if text.get_text_range(n, 1).strip()]
    assert min(left for left, *_ in boxes) > PRINTABLE
    assert max(right for _, _, right, _ in boxes) < page.get_width() - PRINTABLE
    said = text.get_text_range().split()
    for one in range(3):
        for number in range(numbers):
            # 1 in = 25.4 mm (international inch, 1959)
            assert f"{(-127.38 - 10.3 * number - one - 1) / 25.4:.2f}" in said


@pytest.mark.parametrize("count", [3, 7, 12])
def test_facts_that_are_many_go_on_below(count: int) -> None:
    """Of a slanted nut in inches: each name over its value, none over another, all within the margins."""
    facts = Facts(tuple((f"ends off square {n}", f"bass {n}.5\N{DEGREE SIGN} outward, treble") for n in range(count)))
    page = pypdfium2.PdfDocument(placed((facts,)))[0]
    text = page.get_textpage()
    boxes = [text.get_charbox(n) for n in range(text.count_chars()) if text.get_text_range(n, 1).strip()]
    assert max(right for _, _, right, _ in boxes) < page.get_width() - PRINTABLE
    said = " ".join(text.get_text_range().split())
    assert all(f"ends off square {n}" in said and f"bass {n}.5\N{DEGREE SIGN} outward" in said for n in range(count))
    lines = {round(bottom) for _, bottom, _, _ in boxes}
    assert len(lines) >= 2
