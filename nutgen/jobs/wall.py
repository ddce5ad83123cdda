"""The files for the wall over the bench: the sheet as a page and on paper, and the pictures of the setup."""

from typing import Any

from nutgen.documents.sheet.sheet import sheet
from nutgen.formats.stamp import Stamp
from nutgen.jobs.job import Job
from nutgen.jobs.provers import page_file, pdf_file, picture_file
from nutgen.nut import Nut
from nutgen.spec.tables import Spec


def drawn_files(spec: Spec, nut: Nut, stamp: Stamp, *, paper: str) -> dict[str, bytes]:
    """What is drawn from numbers alone: the sheet on paper, the pictures of the setup.

    raises : CannotBeMade where the tools of the file cannot make the nut
    """
    from nutgen.documents.charts.play import cents_svg, heights_svg
    from nutgen.documents.sheet.pdf import sheet_pdf

    return {
        "sheet.pdf": sheet_pdf(sheet(nut, spec.tools, stamp, spec.units), paper=paper),
        "heights.svg": heights_svg(nut, stamp),
        "cents.svg": cents_svg(nut, stamp),
    }


def wall_job(
    spec: Spec,
    nut: Nut,
    stamp: Stamp,
    *,
    page: tuple[float, float],
    mesh: Any,
    picture: bytes,
    drawn: dict[str, bytes],
) -> Job:
    """The sheet as a page, with the part to turn, and what is drawn.

    page    : size of the paper [mm]
    mesh    : of the rough part, to turn on the page
    picture : of the part, shown where a page cannot turn it
    drawn   : what `drawn_files` gave
    """
    from nutgen.documents.sheet.html import sheet_html

    page_with_part = sheet_html(sheet(nut, spec.tools, stamp, spec.units), mesh=mesh, picture=picture)
    return Job(
        {"sheet.html": page_with_part, **drawn},
        {
            "sheet.html": page_file([stamp.spec_hash]),
            "sheet.pdf": pdf_file(page),
            "heights.svg": picture_file(),
            "cents.svg": picture_file(),
        },
    )
