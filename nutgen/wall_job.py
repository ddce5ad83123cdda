"""The files for the wall over the bench: the sheet as a page and on paper, and the pictures of the setup."""

from typing import Any

from nutgen.export.chart import cents_svg, heights_svg
from nutgen.export.sheet import sheet
from nutgen.export.sheet_html import sheet_html
from nutgen.export.sheet_pdf import sheet_pdf
from nutgen.export.stamp import Stamp
from nutgen.jobs import Job
from nutgen.nut import Nut
from nutgen.proof.files import page_file, pdf_file, picture_file
from nutgen.spec.tables import Spec


def wall_job(
    spec: Spec, nut: Nut, stamp: Stamp, *, paper: str, page: tuple[float, float], mesh: Any, picture: bytes
) -> Job:
    """The sheet and the pictures.

    paper, page : name of the paper and its size [mm]
    mesh        : of the rough part, to turn on the page
    picture     : of the part, shown where a page cannot turn it

    raises      : CannotBeMade where the tools of the file cannot make the nut
    """
    content = sheet(spec, nut, stamp)
    files = {
        "sheet.html": sheet_html(content, mesh=mesh, picture=picture),
        "sheet.pdf": sheet_pdf(content, paper=paper),
        "heights.svg": heights_svg(spec, nut, stamp),
        "cents.svg": cents_svg(spec, nut, stamp),
    }
    return Job(
        files,
        {
            "sheet.html": page_file([stamp.spec_hash]),
            "sheet.pdf": pdf_file(page),
            "heights.svg": picture_file(),
            "cents.svg": picture_file(),
        },
    )
