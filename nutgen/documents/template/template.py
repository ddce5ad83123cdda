"""The paper template, page by page: one layout, which PDF and SVG both paint."""

from collections.abc import Iterator

from nutgen.bench.materials import MATERIALS, STRINGS_WHIP
from nutgen.documents.blocks import Beside, Document, Facts, Points, Title
from nutgen.documents.neck import neck_blocks
from nutgen.documents.paint.compose import composed
from nutgen.documents.paint.heading import printed
from nutgen.documents.paint.look import GAP
from nutgen.documents.paint.page import Group, Page
from nutgen.documents.strings import FINISH, ends_text, shelf_blocks, string_table
from nutgen.documents.template.figures import spare_views, views
from nutgen.documents.texts import Cell, extent
from nutgen.documents.words.quantities import Units
from nutgen.finding import Finding
from nutgen.formats.stamp import Stamp
from nutgen.model.drawing import draw
from nutgen.nut.edges import eased_radius
from nutgen.nut.heights import fitted_how
from nutgen.nut.part import Nut

AMONG, ALONE = 125.0, 215.0
"""Height that the view of the neck may take, among the others and on a page of its own [mm]."""

USE = (
    "Measure both check bars on the print. If one is off, print again at 100 %.",
    "Cut a front view out along the line of the blank and glue it to the front face of the squared blank:"
    " its lower edge is the seat floor.",
    "Shape the top to the wide line, the ends last. Start every slot on its centre line.",
    "File toward the short floor line and stop above it: paper is no gauge.",
)


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

    def drawn(room: float) -> Iterator[Group]:
        yield from views(nut, drawing, room, units)
        yield from composed(_told(nut), room, units)
        yield from spare_views(drawing, room)
        yield from composed(neck_blocks(nut, units, widest=room, highest=AMONG), room, units)

    subtitle = f"Nut template, scale 1:1, final sizes, strung {nut.strung}-handed"
    return printed(stamp, subtitle, paper, lambda room: [(list(drawn(room)), GAP)])


def _told(nut: Nut) -> Document:
    """Everything on the template but its drawings."""
    eased = eased_radius(nut)
    care: tuple[str | Finding, ...] = (*_unmeasured(nut), MATERIALS[nut.material].in_short, STRINGS_WHIP)
    use = (*USE, f"Finish at pitch: {FINISH[fitted_how(nut)]}.")
    facts = (
        ("nut: length, thickness, height", extent((nut.length, nut.thickness, nut.height))),
        ("squared blank", extent((nut.blank.length, nut.blank.thickness, nut.blank.height), "blank")),
        ("ends off square, toward the back", ends_text(nut)),
        ("top radius", Cell(nut.top_radius, "radius", none="flat")),
        ("land", Cell(nut.land, "setting_out")),
        ("bevel", Cell(nut.bevel_deg, "angle")),
        ("eased edges", Cell(eased, "setting_out") if eased else "sharp"),
    )
    return (
        *string_table(nut),
        *shelf_blocks(nut),
        Facts(facts),
        Beside((Title("How to use it", 3), Points(use, "")), (Title("Take care", 3), Points(care, ""))),
    )


def _unmeasured(nut: Nut) -> tuple[str, ...]:
    """A line that names the readings which were not taken; nothing where all were."""
    keys = [key.name for one in nut.unmeasured for key in one.about]
    return (f"Not measured: {', '.join(keys)}. The sheet and nutgen check tell what each may cost.",) if keys else ()
