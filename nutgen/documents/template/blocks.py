"""The words on the paper template: the table of slots, the sizes, how to use it and what to look out for."""

from nutgen.bench.materials import MATERIALS, STRINGS_WHIP
from nutgen.documents.blocks import Beside, Cell, Document, Facts, Points, Title, extent
from nutgen.documents.ends import ends_text
from nutgen.documents.strings import FINISH, shelf_blocks, string_table
from nutgen.finding import Finding
from nutgen.nut.edges import eased_radius
from nutgen.nut.heights import fitted_how
from nutgen.nut.part import Nut

USE = (
    "Measure both check bars on the print. If one is off, print again at 100 %.",
    "Cut a front view out along the line of the blank and glue it to the front face of the squared blank:"
    " its lower edge is the seat floor.",
    "Shape the top to the wide line, the ends last. Start every slot on its centre line.",
    "File toward the short floor line and stop above it: paper is no gauge.",
)


def template_blocks(nut: Nut) -> Document:
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
