"""`--for print`: the part as the printer wants it, in STL and 3MF, and what is left to do by hand."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from nutgen.bench.materials import MATERIALS
from nutgen.bench.tools import slot_plans
from nutgen.documents.blocks import Text
from nutgen.documents.machines.cautions import on_paper
from nutgen.documents.machines.printer import finishing, print_blocks
from nutgen.documents.paint.text import text
from nutgen.documents.paint.written import written
from nutgen.documents.words import sentence
from nutgen.finding import Finding, warning
from nutgen.formats.stamp import Stamp
from nutgen.jobs.job import File, Job
from nutgen.jobs.provers import mesh_file, threemf_file
from nutgen.model.print.printing import DROOP_AREA, Lying, PrintPlan, lay, print_plan
from nutgen.nut import Nut
from nutgen.nut.shelf import front_of
from nutgen.spec.tables import Spec

THICKNESS_OFF = 0.02
"""Layers that miss the thickness from front to back by more are told [mm]."""

NAME = "nut"


def print_job(spec: Spec, nut: Nut, stamp: Stamp) -> Job:
    """Make the files for a printer.

    raises : CannotBeMade where the printer is too coarse, or where the slots cannot be cut
    """
    from nutgen.formats.stl import stl_bytes
    from nutgen.formats.threemf import threemf_bytes
    from nutgen.model.mesh import FINE, mesh_of
    from nutgen.model.solid import nut_solid

    plan = print_plan(nut, spec.print)
    lying = lay(mesh_of(nut_solid(plan.drawn), within=FINE), plan)
    finish = {one.number: finishing(one) for one in slot_plans(nut, spec.tools, MATERIALS[spec.material])}
    report, warnings = print_blocks(plan, lying, finish), (*plan.warnings, *_of_layers(lying, plan))
    size = [float(extent) for extent in lying.mesh.vertices.max(axis=0)]
    left, right = plan.drawn.reach_of(front_of(plan.drawn), plan.drawn.thickness)
    size[0] = right - left
    volume = lying.mesh.volume
    words = text(on_paper(stamp, report, warnings), units=spec.units)
    files = (
        File("print.3mf", threemf_bytes(lying.mesh, stamp, name=NAME), threemf_file(size, volume, named=NAME)),
        File("print.stl", stl_bytes(lying.mesh, stamp), mesh_file(size, volume, lowest=(0.0, 0.0, 0.0))),
        File("print.txt", words.encode()),
    )
    return Job(files, {"print": _record(plan, lying, finish)}, warnings, report)


def _of_layers(lying: Lying, plan: PrintPlan) -> Iterator[Finding]:
    """Warnings that only the lying part shows."""
    layer = plan.table.layer_height
    if abs(lying.thickness_error) > THICKNESS_OFF:
        drawn = lying.layers * layer - lying.thickness_error
        yield warning(
            "print.layers-miss-the-thickness",
            layers=lying.layers,
            layer=layer,
            error=lying.thickness_error,
            off=abs(lying.thickness_error),
            drawn=drawn,
            fitting=round(drawn / (lying.layers + (1 if lying.thickness_error < 0.0 else 0)), 3),
        )
    if lying.overhang > DROOP_AREA:
        yield warning("print.edge-droops", droops_mm2=round(lying.overhang), layer=layer)


def _record(plan: PrintPlan, lying: Lying, finish: Mapping[int, Text]) -> dict[str, Any]:
    """For nut.json."""
    table = plan.table
    return {
        "down": lying.down,
        "why": sentence(lying.why),
        "nozzle": table.nozzle,
        "layer_height": table.layer_height,
        "line_width": table.line,
        "material": table.material,
        "layers": lying.layers,
        "thickness_error": lying.thickness_error,
        "per_side": table.per_side,
        "overhang_mm2": lying.overhang,
        "volume": lying.mesh.volume,
        "slots": [{**asdict(slot), "finish": written(finish[slot.number], "mm")} for slot in plan.slots],
    }
