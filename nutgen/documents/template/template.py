"""The paper template, page by page: one layout, which PDF and SVG both paint."""

from nutgen.documents.neck import neck_blocks
from nutgen.documents.paint.compose import composed
from nutgen.documents.paint.heading import printed
from nutgen.documents.paint.page import GAP, Group, Page
from nutgen.documents.template.blocks import template_blocks
from nutgen.documents.template.figures import spare_views, views
from nutgen.documents.words.quantities import Units
from nutgen.formats.stamp import Stamp
from nutgen.model.drawing import draw
from nutgen.nut.part import Nut

AMONG, ALONE = 125.0, 215.0
"""Height that the view of the neck may take, among the others and on a page of its own [mm]."""


def neck_page(nut: Nut, stamp: Stamp, *, paper: str, units: Units = "mm") -> Page:
    """The nut in its neck, with its tuner posts, on a page of its own; raises as `template_pages`."""

    def drawn(room: float) -> list[Group]:
        return composed(neck_blocks(nut, units, widest=room, highest=ALONE), room, units)

    subtitle = f"The nut in its neck, strung {nut.strung}-handed"
    return printed(stamp, subtitle, paper, lambda room: [(drawn(room), GAP)])[0]


def template_pages(nut: Nut, stamp: Stamp, *, paper: str, units: Units = "mm") -> tuple[Page, ...]:
    """Lay out the template of a nut.

    nut     : as solved; it is drawn at its final sizes
    stamp   : title, hash and version stand on every page
    paper   : "a4" or "letter"
    units   : of the reader
    returns : pages, every drawing on them at 1:1 but the view of the neck
    raises  : ValueError for another paper, CannotBeMade where the front face falls apart
    """
    drawing = draw(nut)
    subtitle = f"Nut template, scale 1:1, final sizes, strung {nut.strung}-handed"
    return printed(
        stamp,
        subtitle,
        paper,
        lambda room: [
            (
                [
                    *views(nut, drawing, room, units),
                    *composed(template_blocks(nut), room, units),
                    *spare_views(drawing, room),
                    *composed(neck_blocks(nut, units, widest=room, highest=AMONG), room, units),
                ],
                GAP,
            )
        ],
    )
