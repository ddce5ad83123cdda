"""mill.txt and its screen: how to set the router up, and what each cutter leaves."""

import math

from nutgen.documents.blocks import (
    Column,
    Document,
    Entry,
    Paragraph,
    Run,
    Space,
    Steps,
    Table,
    Text,
    Title,
    phrase,
)
from nutgen.documents.machines.cautions import ROUTER_CAUTION
from nutgen.model.mill.clearing import NOTHING, Clearing
from nutgen.model.mill.milling import Clamped
from nutgen.nut.part import Blank
from nutgen.spec.forming import Mill


def mill_blocks(work: Clamped, mill: Mill, clearings: tuple[Clearing, ...]) -> Document:
    """How to set it up, and what each cutter leaves."""
    return (
        Title("Mill"),
        Steps(_set_up(work.stock, mill)),
        Space(),
        Table(
            (
                Column("feature"),
                Column("largest", right=True),
                Column("yours", right=True),
                Column("floor", "leaf"),
                Column("walls", "leaf"),
                Column("then"),
            ),
            tuple(_mill_row(clearing) for clearing in clearings),
        ),
        Paragraph(
            phrase(
                "{units}. largest: the cutter that makes the feature whole. yours: the one at hand that comes nearest."
                " floor, walls: what it leaves for the file, above the surface and on each wall. Worked out on a grid"
                " of a tenth of the cutter's radius."
            ),
            "note",
        ),
        Paragraph(ROUTER_CAUTION, "note"),
    )


def _set_up(stock: Blank, mill: Mill) -> tuple[Text, ...]:
    given = all(size is not None for size in (mill.stock_length, mill.stock_thickness, mill.stock_height))
    squared = "" if given else " (the squared blank, where the file gives no size of it)"
    return (
        phrase(
            f"Stock {{length:stock}} long, {{thickness:stock}} thick, {{height:stock}} high{squared}, standing"
            " on its underside, the bridge side toward you.",
            length=stock.length,
            thickness=stock.thickness,
            height=stock.height,
        ),
        "Zero: left corner toward you, on top of the stock; x right, y away from you, z up. mill.dxf,"
        " mill-part.step and mill-stock.step are all in that frame, in mm; every depth is below 0.",
        "Layers of mill.dxf: outline (cut outside, through), land and bevel (clear to the top; surfaces in the"
        " STEP file), slot-centre (z at both ends is the floor's), slot-outline.",
        "mill-profile.dxf is the outline alone, for the piece lying on its back; zero: lower left corner.",
    )


def _mill_row(clearing: Clearing) -> tuple[Entry, ...]:
    size = phrase("{d:bare}", d=clearing.largest) if math.isfinite(clearing.largest) else "any"
    yours = clearing.cutter
    return (
        clearing.feature,
        size if clearing.end == "any" else Run((size, f" {clearing.end}")),
        phrase("{d:bare} {end}", d=yours.diameter, end=yours.end) if yours else "-",
        clearing.floor_left if clearing.floor_left >= NOTHING else None,
        clearing.walls_left if clearing.walls_left >= NOTHING else None,
        clearing.then,
    )
