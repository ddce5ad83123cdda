"""`--for print`: the part as the printer wants it, in STL and 3MF, and what is left to do by hand."""

from dataclasses import asdict, dataclass
from typing import Any

from nutgen.bench.materials import MATERIALS
from nutgen.bench.tools import slot_plans
from nutgen.documents.screen import Column, Screen
from nutgen.formats.stamp import Stamp
from nutgen.jobs.job import Job, report_text
from nutgen.jobs.provers import mesh_file, text_file, threemf_file
from nutgen.model.print.printing import HOLDS, Lying, PrintedSlot, PrintPlan, lay, print_plan
from nutgen.nut import Nut
from nutgen.spec.tables import Spec

CAUTIONS = {
    "PLA": "PLA softens at 55 to 65 degrees C: a trial nut, not one for a hot car.",
    "PETG": "PETG is soft under a wound string: a trial nut.",
    "ABS": "ABS gives off fumes: print it in a closed, vented printer.",
    "nylon": "Nylon swells with damp: print it dry and measure it again after a day.",
    "resin": "Uncured resin sensitises the skin: gloves, air, and a full cure before filing.",
}
"""Common practice, no source."""

_SHORT = {"slotting file": "file"}

DUST = "Filing a printed nut makes plastic dust: wear a mask and glasses, and follow your local rules."


@dataclass(frozen=True, slots=True)
class Finish:
    """The tool that finishes one slot."""

    number: int
    words: str


def print_job(spec: Spec, nut: Nut, stamp: Stamp) -> Job:
    """Make the files for a printer.

    raises : CannotBeMade where the printer is too coarse; KernelError where the slots cannot be cut
    """
    from nutgen.formats.stl import stl_bytes
    from nutgen.formats.threemf import threemf_bytes
    from nutgen.model.mesh import FINE, mesh_of
    from nutgen.model.solid import nut_solid

    plan = print_plan(nut, spec.print)
    lying = lay(mesh_of(nut_solid(plan.drawn), within=FINE), plan)
    finish = finishers(spec, nut)
    report = PrintReport(spec, plan, lying, finish)
    size = [float(extent) for extent in lying.mesh.vertices.max(axis=0)]
    size[0] = plan.drawn.length
    name = "nut"
    words = report.text(stamp)
    return Job(
        files={
            "print.3mf": threemf_bytes(lying.mesh, stamp, name=name),
            "print.stl": stl_bytes(lying.mesh, stamp),
            "print.txt": words.encode(),
        },
        provers={
            "print.3mf": threemf_file(size, lying.mesh.volume, named=name),
            "print.stl": mesh_file(size, lying.mesh.volume, lowest=(0.0, 0.0, 0.0)),
            "print.txt": text_file([stamp.spec_hash, *(f"{slot.number} {slot.note}" for slot in plan.slots)]),
        },
        record=report.record,
        warnings=plan.warnings + report.advice,
        report=report.show,
    )


def finishers(spec: Spec, nut: Nut) -> tuple[Finish, ...]:
    """Which of the tools on the bench brings each slot to its width."""
    plans = slot_plans(nut, spec.tools, MATERIALS[spec.material])
    found = []
    for plan in plans:
        if not plan.final:
            found.append(Finish(plan.number, "no tool on the bench"))
            continue
        step = plan.final[-1]
        inches = f"{step.tool_width / 25.4:.3f} in".lstrip("0")
        words = f"{_SHORT.get(step.tool, step.tool)} {inches} ({step.tool_width:.2f})"
        found.append(Finish(plan.number, f"{words}, rocked" if step.widen > 0.005 else words))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class PrintReport:
    """What is said of a print."""

    spec: Spec
    plan: PrintPlan
    lying: Lying
    finish: tuple[Finish, ...]

    @property
    def advice(self) -> tuple[str, ...]:
        """Warnings that only the lying part shows."""
        table, lying, found = self.plan.table, self.lying, []
        if abs(lying.thickness_error) > 0.02:
            count = lying.layers + (1 if lying.thickness_error < 0.0 else 0)
            drawn = lying.layers * table.layer_height - lying.thickness_error
            found.append(
                f"print: {lying.layers} layers of {table.layer_height:g} mm come to {abs(lying.thickness_error):.2f} mm"
                f" {'less' if lying.thickness_error < 0.0 else 'more'} than the {drawn:.2f} mm from front to back;"
                f" a layer of {drawn / count:.3f} mm fits"
                + ("" if lying.thickness_error < 0.0 else ", or sand the back")
            )
        if lying.overhang > 2.0:
            found.append(
                f"print: {lying.overhang:.0f} mm2 of an eased edge leans out too far for layers of"
                f" {table.layer_height:g} mm; print finer layers, or ease the edge by hand (body.edge_radius)"
            )
        return tuple(found)

    @property
    def record(self) -> dict[str, Any]:
        """For nut.json."""
        table, lying = self.plan.table, self.lying
        finish = {entry.number: entry.words for entry in self.finish}
        return {
            "down": lying.down,
            "why": lying.why,
            "nozzle": table.nozzle,
            "layer_height": table.layer_height,
            "line_width": table.line,
            "material": table.material,
            "layers": lying.layers,
            "thickness_error": lying.thickness_error,
            "per_side": table.per_side,
            "overhang_mm2": lying.overhang,
            "volume": lying.mesh.volume,
            "slots": [{**asdict(slot), "finish": finish[slot.number]} for slot in self.plan.slots],
        }

    def text(self, stamp: Stamp) -> str:
        """The report as a file."""
        return report_text(stamp, self.show, self.plan.warnings + self.advice)

    def show(self, screen: Screen) -> None:
        """How to print it, and what each slot still needs."""
        table, lying = self.plan.table, self.lying
        screen.say("Print", style="bold")
        screen.say(
            f"1. Open print.3mf in your slicer (or print.stl, in mm). It lies on its {lying.down}: leave it so,"
            " at 100 %, without supports.",
            hang="   ",
        )
        screen.say(
            f"2. Set a {table.nozzle:g} mm nozzle, {lying.layers} layers of {table.layer_height:g} mm, lines of"
            f" {table.line:g} mm, solid all through, {table.material}. {self._compensation()}",
            hang="   ",
        )
        screen.say(f"3. Sand the front face flat, then finish each slot: {self._by_hand()}", hang="   ")
        screen.say(f"Why this way: {lying.why}.", style="dim")
        screen.say()
        finish = {entry.number: entry.words for entry in self.finish}
        rows = [_row(slot, finish[slot.number]) for slot in self.plan.slots]
        screen.table(
            [
                Column("string"),
                Column("printed"),
                Column("width", right=True),
                Column("final", right=True),
                Column("walls", right=True),
                Column("floor", right=True),
                Column("layers", right=True),
                Column("finish with"),
            ],
            rows,
        )
        screen.say(
            "mm. walls, floor: left for the file, on each wall and above the final floor. layers: how far the"
            " layers put the floor off, + is high. pilot: narrower and shallower, centred; mark: a line to start"
            f" the file in. Slots under {HOLDS * table.nozzle:.2f} mm do not come out true from this nozzle.",
            style="dim",
        )
        screen.say(f"{CAUTIONS[table.material]} {DUST}", style="dim")

    def _compensation(self) -> str:
        table = self.plan.table
        if table.per_side:
            turned = "added to" if table.per_side > 0.0 else "taken off"
            source = "read from the coupon" if table.coupon_slot is not None else "as the file says"
            return (
                f"{abs(table.per_side):.3f} mm is {turned} every side already ({source}):"
                " leave the slicer's own correction of sizes at 0."
            )
        return "Nothing is added for the printer's own error yet: `nutgen coupon` makes a bar that measures it."

    def _by_hand(self) -> str:
        ways = {slot.way for slot in self.plan.slots}
        parts = []
        if "whole" in ways:
            parts.append("whole slots only want smoothing")
        if "pilot" in ways:
            parts.append("file pilots down to width and floor")
        if "mark" in ways:
            parts.append("start the file in the marks")
        if "none" in ways:
            parts.append("lay out the rest from the paper template")
        return f"{'; '.join(parts)}. The string at pitch decides: stop above the floor and measure at fret 1."


def _row(slot: PrintedSlot, finish: str) -> list[str]:
    done = slot.way == "whole" and slot.floor_left < 0.005
    return [
        f"{slot.number} {slot.note}",
        slot.way,
        f"{slot.width:.2f}" if slot.width else "-",
        f"{slot.final_width:.2f}",
        f"{slot.walls_left:.2f}" if abs(slot.walls_left) >= 0.005 else "-",
        f"{slot.floor_left:.2f}" if abs(slot.floor_left) >= 0.005 else "-",
        f"{slot.layer_error:+.3f}" if slot.width else "-",
        f"{finish}, if tight" if done else finish,
    ]
