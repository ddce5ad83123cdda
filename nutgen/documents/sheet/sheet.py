"""The sheet of a job: all that stands on it, worked out once and painted twice, as HTML and as PDF."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from nutgen.bench.materials import MATERIALS
from nutgen.bench.stages import stages
from nutgen.documents.sheet.dimensions import Sketch, sketches
from nutgen.documents.sheet.words import (
    LOCAL,
    Cut,
    Note,
    StageWords,
    Table,
    cuts,
    hazards,
    noted,
    stage_words,
    stops,
    string_name,
)
from nutgen.documents.words import sentence
from nutgen.formats.stamp import Stamp
from nutgen.model.drawing import draw
from nutgen.nut.part import Allowances, Nut, Slot
from nutgen.spec.tables import Spec

READINGS = 4
"""Columns left empty for readings at the dry fit."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything on the sheet.

    about    : the job in one line
    facts    : label and value
    cautions : of the material
    hazards  : of the stages, each said once
    material : what the material does to files, and how it behaves
    left_on  : allowances of the solid, in words; empty where it is made to its final sizes
    drawn    : front and top at true size, the end enlarged
    """

    title: str
    spec_hash: str
    program: str
    about: str
    material_name: str
    facts: tuple[tuple[str, str], ...]
    left_on: str
    warnings: tuple[str, ...]
    cautions: tuple[Note, ...]
    hazards: tuple[Note, ...]
    local: str
    material: tuple[Note, ...]
    strings: Table
    stages: tuple[StageWords, ...]
    cuts: tuple[Cut, ...]
    stops: Table
    readings: Table
    drawn: tuple[Sketch, Sketch]


def sheet(spec: Spec, nut: Nut, stamp: Stamp) -> Sheet:
    """The sheet of a job.

    nut    : solved from the spec; drawn and listed at its final sizes
    raises : CannotBeMade where the front face falls apart
    """
    material = MATERIALS[spec.material]
    work = stages(nut, spec.tools, material)
    plans = next(stage.slots for stage in work if stage.slots)
    return Sheet(
        title=stamp.title,
        spec_hash=stamp.spec_hash,
        program=stamp.program,
        about=f"A nut of {material.name}, strung {nut.strung}-handed, for a {nut.seat_kind} seat",
        material_name=material.name,
        facts=tuple(_facts(spec, nut)),
        left_on=_left_on(nut),
        warnings=tuple(map(sentence, nut.findings)),
        cautions=noted(material.cautions),
        hazards=hazards(work),
        local=LOCAL,
        material=noted(material.working),
        strings=_strings(nut),
        stages=tuple(stage_words(stage, material) for stage in work),
        cuts=cuts(plans),
        stops=stops(plans),
        readings=_readings(nut),
        drawn=sketches(nut, draw(nut)),
    )


def _facts(spec: Spec, nut: Nut) -> Iterator[tuple[str, str]]:
    scale = spec.instrument.scale_length
    yield "Nut", f"{nut.length:.2f} × {nut.thickness:.2f} × {nut.height:.2f} mm"
    yield "Squared blank", f"{nut.blank.length:.1f} × {nut.blank.thickness:.1f} × {nut.blank.height:.1f} mm"
    yield "Top", f"radius {nut.top_radius:.0f} mm" if math.isfinite(nut.top_radius) else "flat"
    yield "Underside", f"radius {1.0 / nut.underside.curvature:.0f} mm" if nut.underside.curvature else "flat"
    yield "Land and bevel", f"{nut.land:.2f} mm, then {nut.bevel_deg:g}\N{DEGREE SIGN}"
    yield "Eased edges", f"radius {nut.edge_radius:.2f} mm" if nut.edge_radius else "none, left crisp"
    yield "Scale length", " to ".join(dict.fromkeys(f"{value:g}" for value in (scale.bass, scale.treble))) + " mm"
    yield "Relief", f"{nut.relief:.2f} mm"
    if _left_on(nut):
        yield "Left on the solid", _left_on(nut)
    if nut.slant_deg:
        yield "Slant in the neck", f"{nut.slant_deg:.2f}\N{DEGREE SIGN}"


def _left_on(nut: Nut) -> str:
    a = nut.allowances
    parts = (("top", a.top), ("back", a.back), ("each end", a.ends), ("floors", a.floors))
    return ", ".join(f"{part} {size:.2f}" for part, size in parts if size) + (" mm" if a != Allowances() else "")


_STRING_COLUMNS = (
    ("string", "", False),
    ("gauge", "in", True),
    ("gauge", "mm", True),
    ("centre from", "bass end", True),
    ("slot", "width", True),
    ("floor over", "seat", True),
    ("floor over", "fret plane", True),
    ("floor", "under top", True),
    ("falls", "deg", True),
    ("fans", "deg", True),
    ("clears", "fret 1", True),
    ("clears", "fret 12", True),
)


def _strings(nut: Nut) -> Table:
    bass = "left" if nut.strung == "right" else "right"
    remark = (
        "Lengths in mm; w: wound. Floors are given at the front face and fall toward the headstock; the bass end is"
        f" at the {bass} as seen from the bridge; a slot fans + to the right. Clearances: open string, at pitch."
    )
    heads = tuple((first, second) for first, second, _ in _STRING_COLUMNS)
    right = tuple(number for _, _, number in _STRING_COLUMNS)
    return Table(heads, right, tuple(_string_row(nut, slot) for slot in nut.slots), remark)


def _string_row(nut: Nut, slot: Slot) -> tuple[str, ...]:
    side = 1.0 if nut.strung == "right" else -1.0
    x, floor = float(slot.x_at(0.0)), float(slot.floor_at(0.0))
    falls = [slot.tilt_at(0.0)] + ([slot.tilt_at(nut.thickness)] if slot.rolled else [])
    return (
        f"{string_name(slot)}{' w' if slot.wound else ''}",
        f"{slot.gauge / 25.4:.4f}",
        f"{slot.gauge:.3f}",
        f"{nut.half_length + side * x:.2f}",
        f"{slot.width:.2f}",
        f"{floor - float(nut.underside.z(x)):.2f}",
        f"{slot.floor_height:.2f}",
        f"{slot.depth:.2f}",
        " to ".join(f"{fall:.1f}" for fall in falls),
        f"{slot.fan_deg:+.1f}" if abs(slot.fan_deg) >= 0.05 else "0.0",
        f"{slot.first_fret_clearance:.2f}",
        f"{slot.action:.2f}",
    )


def _readings(nut: Nut) -> Table:
    heads = (("string", ""), ("wanted", ""), *((f"reading {n}", "") for n in range(1, READINGS + 1)))
    rows = tuple((string_name(slot), f"{slot.first_fret_clearance:.2f}", *[""] * READINGS) for slot in nut.slots)
    remark = (
        "Clearance at fret 1, open string at pitch, pressed down just in front of the nut before each reading [mm]."
    )
    return Table(heads, (False, True, *[True] * READINGS), rows, remark)
