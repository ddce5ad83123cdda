"""The sheet of a job: all that stands on it, worked out once and painted twice, as HTML and as PDF."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from nutgen.bench.materials import MATERIALS, NutMaterial
from nutgen.bench.sizes import Size
from nutgen.bench.stages import Stage, stages
from nutgen.documents import blocks, texts
from nutgen.documents.neck import neck_blocks
from nutgen.documents.sheet.dimensions import LEGEND, sketches
from nutgen.documents.sheet.words import LOCAL, stages_of_hazards, stops_read
from nutgen.documents.sheet.work import (
    groups_of,
    how_to,
    size_row,
    sourced,
    stop_table,
    then_off,
    tool_blocks,
    ways_back,
)
from nutgen.documents.strings import by_string, ends_text, front_table, lines_on, shelf_blocks, string_table
from nutgen.documents.words.quantities import Units
from nutgen.documents.words.stages import SIZES
from nutgen.finding import step
from nutgen.formats.stamp import Stamp
from nutgen.model.drawing import draw
from nutgen.nut.heights import fitted_how
from nutgen.nut.part import Nut
from nutgen.spec.workshop import Tools

READINGS = 4
"""Columns left empty for readings at the dry fit."""


NECK = (170.0, 125.0)
"""Room for the view of the neck: across, up [mm]."""


@dataclass(frozen=True, slots=True)
class StageSheet:
    """A stage: what to do, its sizes with boxes to tick and room to write, what to do where one went wrong."""

    number: int
    name: str
    do: blocks.Document
    sizes: blocks.Document
    back: blocks.Document


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything on the sheet, for readers of some units.

    about    : the job in one line
    facts    : sizes, and what was found
    left_on  : allowances of the solid; nothing where it is made to its final sizes
    drawn    : front and top at true size, the end enlarged, and what their lines mean
    neck     : the nut in its neck, from above
    material : how it behaves under files
    tools    : slot by slot
    """

    stamp: Stamp
    units: Units
    about: str
    material_name: str
    facts: blocks.Facts
    findings: blocks.Findings
    left_on: texts.Text | None
    care: blocks.Document
    drawn: blocks.Document
    neck: blocks.Document
    strings: blocks.Document
    material: blocks.Points
    stages: tuple[StageSheet, ...]
    tools: tuple[blocks.Document, ...]
    stops: blocks.Document
    readings: blocks.Document


def sheet(nut: Nut, tools: Tools, stamp: Stamp, units: Units = "mm") -> Sheet:
    """The sheet of a job.

    nut    : as solved; drawn and listed at its final sizes
    tools  : on the bench
    units  : of the reader
    raises : CannotBeMade where the front face falls apart
    """
    material = MATERIALS[nut.material]
    work = stages(nut, tools, material)
    plans = next(stage.slots for stage in work if stage.slots)
    return Sheet(
        stamp=stamp,
        units=units,
        about=f"A nut of {material.name}, strung {nut.strung}-handed, for a {nut.seat.kind} seat",
        material_name=material.name,
        facts=blocks.Facts(tuple(_facts(nut))),
        findings=blocks.Findings(nut.findings, none=""),
        left_on=_left_on(nut),
        care=_care(work, material),
        drawn=(*sketches(nut, draw(nut), units), lines_on(nut, LEGEND)),
        neck=neck_blocks(nut, units, widest=NECK[0], highest=NECK[1]),
        strings=(*string_table(nut), *shelf_blocks(nut)),
        material=blocks.Points(tuple(map(sourced, material.working))),
        stages=tuple(_stage(stage, material) for stage in work),
        tools=tuple(tuple(tool_blocks(plan)) for plan in plans),
        stops=(blocks.Paragraph(stops_read(work), "note"), stop_table(plans)),
        readings=_readings(nut),
    )


def _facts(nut: Nut) -> Iterator[tuple[str, texts.Text]]:
    lengths = tuple(texts.Cell(value, "stock") for value in dict.fromkeys(nut.scale_length))
    yield "Nut", texts.extent((nut.length, nut.thickness, nut.height))
    yield "Squared blank", texts.extent((nut.blank.length, nut.blank.thickness, nut.blank.height), "blank")
    yield "Top", texts.Run(("radius ", texts.Cell(nut.top_radius, "radius"))) if nut.crown.curvature else "flat"
    arch = nut.underside.curvature
    yield "Underside", texts.Run(("radius ", texts.Cell(1.0 / arch, "radius"))) if arch else "flat"
    yield "Ends off square, toward the back", ends_text(nut)
    yield "Land and bevel", texts.phrase("{land}, then {bevel_deg}", nut)
    eased = nut.edge_radius
    yield "Eased edges", texts.phrase("radius {eased}", eased=eased) if eased else "none, left crisp"
    yield "Scale length", texts.Run(lengths, " to ")
    if nut.tops is None:
        yield "Relief", texts.Cell(nut.relief, "setting_out")
    else:
        yield "String tops over the board", texts.Cell(nut.tops, "setting_out")
    left_on = _left_on(nut)
    if left_on:
        yield "Left on the solid", left_on
    if nut.slant_deg:
        yield "Slant in the neck", texts.Cell(nut.slant_deg, "angle", places=2)


def _left_on(nut: Nut) -> texts.Text | None:
    a = nut.allowances
    named = (("top", a.top), ("back", a.back), ("each end", a.ends), ("floors", a.floors))
    parts = tuple(texts.phrase(f"{name} {{size:bare}}", size=size) for name, size in named if size)
    return texts.Run((texts.Run(parts, ", "), texts.phrase(" {units}"))) if parts else None


def _care(work: tuple[Stage, ...], material: NutMaterial) -> blocks.Document:
    hazards = tuple(texts.Run((hazard, f" ({at}.)")) for hazard, at in stages_of_hazards(work))
    name = f"{material.name[:1].upper()}{material.name[1:]}"
    left = (blocks.Title(name, 3), blocks.Points(tuple(map(sourced, material.cautions)), "!"))
    right = (blocks.Title("At the bench", 3), blocks.Points(hazards, "!"))
    return blocks.Beside(left, right), blocks.Paragraph(LOCAL, "strong")


def _stage(stage: Stage, material: NutMaterial) -> StageSheet:
    return StageSheet(
        number=stage.number,
        name=f"{stage.name[:1].upper()}{stage.name[1:]}",
        do=(blocks.Paragraph(stage.do), *how_to(stage, material)),
        sizes=tuple(_sizes(stage, groups_of(stage.reach))) or (blocks.remark("No size on this nut."),),
        back=tuple(ways_back(stage, "note")),
    )


def _sizes(stage: Stage, groups: Iterable[list[Size]]) -> Iterator[blocks.Table]:
    """A line a size, with a box to tick and a place to write what was measured; what comes off next, if all alike."""
    if stage.fronts:
        yield front_table(stage.fronts)
    for number, sizes in enumerate(groups, start=1):
        kind = SIZES[sizes[0].kind]
        head = f"{kind[:1].upper()}{kind[1:]}" if sizes[0].string else ""
        thens = [then_off(size) for size in sizes]
        alike = bool(head and thens[0]) and all(then == thens[0] for then in thens)
        columns = (
            blocks.Column("", "tick"),
            blocks.Column(texts.Run((head, ", then ", thens[0])) if alike else head),
            blocks.Column("stop at", "setting_out"),
            blocks.Column("reach", "setting_out", strong=True),
            blocks.Column("limit", right=True),
            blocks.Column("measured", "write"),
        )
        rows = tuple(_size_row(size, "" if alike else then) for size, then in zip(sizes, thens, strict=True))
        yield blocks.Table(columns, rows, f"stage-{stage.number}-{number}")


def _size_row(size: Size, then: texts.Text) -> tuple[blocks.Entry, ...]:
    name, *numbers = size_row(size)
    return "", texts.Run((name, ", then ", then)) if then else name, *numbers, ""


def _readings(nut: Nut) -> blocks.Document:
    if how := fitted_how(nut):
        return (blocks.Findings((step(f"measure.fix{how}"),), none=""),)
    blank = [""] * len(nut.slots)
    table = by_string(
        nut.slots,
        (blocks.Column("wanted", "leaf"), "first_fret_clearance"),
        *((blocks.Column(f"reading {number}", "write"), blank) for number in range(1, READINGS + 1)),
        name="readings",
    )
    remark = blocks.remark(
        "Clearance at fret 1, open string at pitch, pressed down just in front of the nut before each reading, in"
        " {units}."
    )
    return remark, table
