"""`--for print`: the part as the printer wants it, in STL and 3MF, and what is left to do by hand."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from nutgen.bench.materials import MATERIALS
from nutgen.bench.tools import slot_plans
from nutgen.documents.machines.cautions import on_paper
from nutgen.documents.machines.printer import finishing, print_blocks
from nutgen.documents.paint.text import text
from nutgen.documents.paint.written import written
from nutgen.documents.texts import Text
from nutgen.documents.words import sentence
from nutgen.finding import Finding, warning
from nutgen.formats.stamp import Stamp
from nutgen.geometry.mesh import lean
from nutgen.jobs.run import File, Job, on_the_bed
from nutgen.model.print.amount import Amount, amount_of
from nutgen.model.print.printing import DROOP_AREA, Lying, PrintPlan, lay, print_plan
from nutgen.nut import Nut
from nutgen.spec.tables import Spec

THICKNESS_OFF = 0.02
"""Layers that miss the thickness from front to back, or the front of a shelf, by more are told [mm]."""

NAME = "nut"


def print_job(spec: Spec, nut: Nut, stamp: Stamp) -> Job:
    """Make the files for a printer.

    raises : CannotBeMade where the printer is too coarse, or where the slots cannot be cut
    """
    from nutgen.model.mesh import FINE, LEAN, mesh_of
    from nutgen.model.solid import nut_solid

    plan = print_plan(nut, spec.print)
    lying = lay(lean(mesh_of(nut_solid(plan.drawn), within=FINE), LEAN), plan)
    finish = {one.number: finishing(one) for one in slot_plans(nut, spec.tools, MATERIALS[spec.material])}
    amount = amount_of(lying.mesh, lying.layers, spec.print)
    report, warnings = print_blocks(plan, lying, amount, finish), (*plan.warnings, *of_layers(lying, plan))
    size = [float(extent) for extent in lying.mesh.vertices.max(axis=0)]
    left, right = plan.drawn.reach
    size[0] = right - left
    words = File("print.txt", text(on_paper(stamp, report, warnings), units=spec.units).encode())
    files = on_the_bed("print", lying.mesh, stamp, size=size, volume=lying.mesh.volume, named=NAME)
    return Job((*files, words), {"print": _record(plan, lying, amount, finish)}, warnings, report)


def of_layers(lying: Lying, plan: PrintPlan) -> Iterator[Finding]:
    """Warnings that only the lying part shows."""
    layer = plan.table.layer_height
    if plan.over > THICKNESS_OFF:
        drawn, layers = plan.nut.thickness, round(plan.nut.thickness / layer)
        wanted = drawn - plan.over
        fits = round(wanted / layers, 3)
        yield warning(
            "print.layers-miss-the-thickness", layers=layers, layer=layer, over=plan.over, wanted=wanted, fits=fits
        )
    off = max((abs(one.front - round(one.front / layer) * layer) for one in plan.nut.shelves.alone), default=0.0)
    if off > THICKNESS_OFF:
        yield warning("print.shelves-between-layers", layer=layer, off=off)
    if lying.overhang > DROOP_AREA:
        yield warning("print.edge-droops", droops_mm2=float(lying.overhang), layer=layer)


def _record(plan: PrintPlan, lying: Lying, amount: Amount, finish: Mapping[int, Text]) -> dict[str, Any]:
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
        "over_thickness": plan.over,
        "per_side": table.added_per_side,
        "overhang_mm2": lying.overhang,
        "volume": lying.mesh.volume,
        "grams": amount.grams,
        "filament": amount.filament,
        "minutes": amount.minutes,
        "slots": [{**asdict(slot), "finish": written(finish[slot.number], "mm")} for slot in plan.slots],
    }
