"""The fit coupon as files, and how to read it."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nutgen.documents.screen import Column, Screen
from nutgen.errors import CannotBeMade
from nutgen.formats.stamp import Stamp
from nutgen.jobs.job import report_text
from nutgen.jobs.print import CAUTIONS, DUST
from nutgen.jobs.proof import settle
from nutgen.jobs.provers import mesh_file, text_file, threemf_file
from nutgen.jobs.record import plain
from nutgen.jobs.whole import staged
from nutgen.model.print.coupon import Coupon, coupon_of
from nutgen.nut import Nut
from nutgen.spec.forming import Print
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec


@dataclass(frozen=True, slots=True)
class CouponMade:
    """The coupon on the disk, what is said of it, and how to read it."""

    folder: Path
    files: tuple[tuple[str, int], ...]
    record: dict[str, Any]
    report: Callable[[Screen], None]


def make_coupon(spec: Spec, nut: Nut, *, number: int | None, folder: Path) -> CouponMade:
    """Write the fit coupon of a nut, read back, as one set.

    number : of the string that is tried; the thickest where not given
    raises : CannotBeMade where it cannot be printed or does not read back as planned; OSError
    """
    from nutgen.formats.stl import stl_bytes
    from nutgen.formats.threemf import threemf_bytes
    from nutgen.geometry.kernel import KernelError
    from nutgen.model.mesh import mesh_of
    from nutgen.model.print.coupon import coupon_solid

    try:
        coupon = coupon_of(nut, spec.print, number=number)
        mesh = mesh_of(coupon_solid(coupon, spec.print))
    except (ValueError, KernelError) as error:
        raise CannotBeMade([str(error)]) from error
    stamp = Stamp(f"{spec.title}: fit coupon", spec_hash(spec))
    report = CouponReport(coupon, spec.print)
    size = (coupon.length, coupon.depth, max(coupon.height, *coupon.treads.values()))
    files = {
        "coupon.3mf": threemf_bytes(mesh, stamp, name="coupon"),
        "coupon.stl": stl_bytes(mesh, stamp),
        "coupon.txt": report.text(stamp).encode(),
    }
    provers = {
        "coupon.3mf": threemf_file(size, mesh.volume, named="coupon"),
        "coupon.stl": mesh_file(size, mesh.volume, lowest=(0.0, 0.0, 0.0)),
        "coupon.txt": text_file([stamp.spec_hash, "coupon_slot"]),
    }
    with staged(folder) as stage:
        proof = settle([provers[name](name, stage.add(name, content)) for name, content in files.items()])
    record = plain({"title": spec.title, **report.record, "proof": proof})
    return CouponMade(folder, tuple((name, len(content)) for name, content in files.items()), record, report.show)


@dataclass(frozen=True, slots=True)
class CouponReport:
    """What is said of a coupon."""

    coupon: Coupon
    table: Print

    @property
    def rows(self) -> list[tuple[int, float, float]]:
        """Step, width as drawn, and what is then added to every side [mm]."""
        return [
            (step, width, self.table.model_copy(update={"coupon_slot": step}).per_side)
            for step, width in sorted(self.coupon.widths.items())
        ]

    @property
    def record(self) -> dict[str, Any]:
        """For --json."""
        return {
            "string": self.coupon.slot.number,
            "gauge": self.coupon.slot.gauge,
            "step": self.coupon.step,
            "slots": [{"step": step, "width": width, "per_side": side} for step, width, side in self.rows],
            "stair": [{"step": step, "height": height} for step, height in sorted(self.coupon.treads.items())],
            "size": [self.coupon.length, self.coupon.depth, self.coupon.height],
        }

    def text(self, stamp: Stamp) -> str:
        """The report as a file."""
        return report_text(stamp, self.show)

    def show(self, screen: Screen) -> None:
        """How to print it, read it and write the reading down."""
        slot, table = self.coupon.slot, self.table
        screen.say("Read the printer", style="bold")
        screen.say(
            f"1. Print coupon.3mf as it lies, with the settings of the nut: {table.nozzle:g} mm nozzle, layers of"
            f" {table.layer_height:g} mm, {table.material}, the slicer's own correction of sizes at 0.",
            hang="   ",
        )
        screen.say(
            f"2. Take string {slot.number} ({slot.note}, {slot.gauge:.3f} mm by caliper) and find the narrowest slot"
            " that it enters without force. Count the steps from the slot without notches: a shallow notch is one, a"
            " deep one five; minus on the side of the cut corner.",
            hang="   ",
        )
        screen.say(
            "3. Slide the stair into the nut's seat, thin end first, and count the thickest tread that goes in; minus"
            " toward the thin end.",
            hang="   ",
        )
        screen.say("4. Write both into the instrument file, then make the nut again:", hang="   ")
        screen.say()
        screen.say("[print]", indent="       ")
        screen.say("coupon_slot = 2", indent="       ")
        screen.say("coupon_seat = 0", indent="       ")
        if "coupon_step" in table.model_fields_set:
            screen.say(f"coupon_step = {self.coupon.step:g}", indent="       ")
        screen.say()
        screen.table(
            [Column("coupon_slot", right=True), Column("slot as drawn", right=True), Column("per side", right=True)],
            [[f"{step:+d}" if step else "0", f"{width:.3f}", f"{side:+.4f}"] for step, width, side in self.rows],
            indent="   ",
        )
        screen.say(
            f"mm. per side: what is then added to every side of the nut, so that widths come out within"
            f" {self.coupon.step / 2.0:.3f} mm. If the string enters the narrowest slot, or not even the widest, the"
            f" printer is off by more than the bar shows: set coupon_step to {2.0 * self.coupon.step:.3f} and print it"
            " again.",
            style="dim",
        )
        screen.say(f"{CAUTIONS[table.material]} {DUST}", style="dim")
