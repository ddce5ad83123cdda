"""The fit coupon as files."""

from collections.abc import Generator, Sequence
from pathlib import Path
from typing import Any

from nutgen.bench.materials import MATERIALS
from nutgen.documents.machines.cautions import PLASTIC_CAUTIONS, on_paper
from nutgen.documents.machines.coupon import coupon_blocks
from nutgen.documents.paint.text import text
from nutgen.formats.stamp import Stamp
from nutgen.jobs.record import plain
from nutgen.jobs.run import File, Job, Made, Plan, on_the_bed, run
from nutgen.model.print.coupon import Coupon, coupon_of
from nutgen.nut import Nut
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec

NAME = "coupon"


def make_coupon(spec: Spec, nut: Nut, *, number: int | None, folder: Path) -> Made:
    """Write the fit coupon of a nut, read back, as one set.

    number : of the string that is tried; the thickest where not given
    raises : CannotBeMade where it cannot be printed or does not read back as planned; OSError
    """

    def record(jobs: Sequence[Job]) -> dict[str, Any]:
        return {"title": spec.title, **jobs[0].record}

    return run(Plan(folder, _jobs(spec, nut, number), record))


def _jobs(spec: Spec, nut: Nut, number: int | None) -> Generator[Job, None, None]:
    from nutgen.model.mesh import mesh_of
    from nutgen.model.print.coupon import coupon_solid

    coupon = coupon_of(nut, spec.print, number=number)
    mesh = mesh_of(coupon_solid(coupon, spec.print))
    stamp = Stamp(f"{spec.title}: fit coupon", spec_hash(spec))
    report = coupon_blocks(coupon, spec.print, step_given="coupon_step" in spec.print.model_fields_set)
    size = coupon.length, coupon.depth, max(coupon.height, *coupon.treads.values())
    words = File("coupon.txt", text(on_paper(stamp, report), units=spec.units).encode())
    files = (*on_the_bed(NAME, mesh, stamp, size=size, volume=mesh.volume, named=NAME), words)
    cautions = (PLASTIC_CAUTIONS[spec.print.material], MATERIALS["printed plastic"].in_short)
    yield Job(files, {**_record(coupon), "cautions": plain(cautions)}, report=report)


def _record(coupon: Coupon) -> dict[str, Any]:
    return {
        "string": coupon.slot.number,
        "gauge": coupon.slot.gauge,
        "step": coupon.step,
        "slots": [{"step": one.step, "width": one.width, "per_side": one.per_side} for one in coupon.tries],
        "stair": [{"step": step, "height": height} for step, height in sorted(coupon.treads.items())],
        "size": [coupon.length, coupon.depth, coupon.height],
    }
