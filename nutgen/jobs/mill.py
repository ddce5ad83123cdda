"""`--for mill`: lines for the router's own program, part and stock in its frame, and what the cutters leave."""

import math
from collections.abc import Iterator
from dataclasses import asdict, replace
from functools import partial
from typing import Any

from nutgen.documents.machines.cautions import on_paper
from nutgen.documents.machines.router import mill_blocks
from nutgen.documents.paint.text import text
from nutgen.documents.words import sentence
from nutgen.finding import Finding
from nutgen.formats.stamp import Stamp
from nutgen.geometry.kernel import Solid
from nutgen.jobs.provers import router_file, step_file
from nutgen.jobs.run import File, Job
from nutgen.model.mill.clearing import by_hand
from nutgen.model.mill.milling import MEANINGS, SLOT_MEANING, Clamped, clamped, plan_levels, profile_levels
from nutgen.model.mill.runs import SlotCut, slot_cuts
from nutgen.nut import Nut
from nutgen.spec.forming import Mill
from nutgen.spec.tables import Spec


def mill_job(spec: Spec, nut: Nut, stamp: Stamp, solid: Solid, *, volume: float, front: float) -> Job:
    """Make the files for a router.

    solid  : of `nut.rough()`, in the nut's own frame
    volume : of the solid [mm3]
    front  : the solid's foremost plane, y in its own frame [mm]
    raises : CannotBeMade where the stock or a cutter does not go with the part
    """
    work = clamped(nut, spec.mill)
    cuts, rest = slot_cuts(work, spec.mill.cutters), tuple(by_hand(work))
    report = mill_blocks(work, spec.mill, cuts, rest)
    words = text(on_paper(stamp, report, work.warnings), units=spec.units)
    files = (*_drawings(work, cuts, stamp), *_solids(work, stamp, solid, volume, front))
    record = {"mill": _record(work, spec.mill, cuts, rest)}
    return Job((*files, File("mill.txt", words.encode())), record, work.warnings, report)


def _drawings(work: Clamped, cuts: tuple[SlotCut, ...], stamp: Stamp) -> Iterator[File]:
    from nutgen.formats.dxf import mill_dxf, profile_dxf

    stock, runs = work.stock, [run for cut in cuts for run in cut.runs]
    plan, profile = (
        {level.chain.layer: level.chain for level in levels(work)} for levels in (plan_levels, profile_levels)
    )
    lines = [(run.layer, run.points) for run in runs]
    proof = partial(
        router_file,
        {*plan, *(run.layer for run in runs)},
        stock=(stock.length, stock.thickness),
        outline=("outline", plan["outline"].area),
        lines=lines,
    )
    yield File("mill.dxf", mill_dxf(work, runs, stamp), proof)
    area = profile["profile"].area
    proof = partial(router_file, [*profile], stock=(stock.length, stock.height), outline=("profile", area))
    yield File("mill-profile.dxf", profile_dxf(work, stamp), proof)


def _solids(work: Clamped, stamp: Stamp, solid: Solid, volume: float, front: float) -> Iterator[File]:
    """Part and stock in the stock's frame; the part's top may be eased."""
    from nutgen.formats.step import step_bytes
    from nutgen.model.block import block

    part, stock, (dx, dy, dz) = work.nut, work.stock, work.shift
    left, right = part.reach
    lowest, highest = (dx + left, front + dy, part.lowest_z + dz), (dx + right, None, None)
    moved = step_bytes(solid, replace(stamp, title=f"{stamp.title}: part in its stock"), at=work.shift)
    yield File("mill-part.step", moved, partial(step_file, lowest, (highest[0], part.thickness + dy, None), volume))
    low, high = (0.0, 0.0, -stock.height), (stock.length, stock.thickness, 0.0)
    piece = step_bytes(block(low, high), replace(stamp, title=f"{stamp.title}: stock"))
    yield File("mill-stock.step", piece, partial(step_file, low, high, stock.length * stock.thickness * stock.height))


def _record(work: Clamped, mill: Mill, cuts: tuple[SlotCut, ...], rest: tuple[Finding, ...]) -> dict[str, Any]:
    """For nut.json."""
    stock = work.stock
    return {
        "zero": "left corner of the stock toward the bridge, on its top; x right, y to the headstock, z up",
        "stock": {"length": stock.length, "thickness": stock.thickness, "height": stock.height},
        "beyond_each_end": work.beyond,
        "nut_frame_at": list(work.shift),
        "cutters": [{"diameter": c.diameter, "end": c.end} for c in mill.cutters],
        "dogbones": mill.dogbones,
        "layers": MEANINGS | {run.layer: SLOT_MEANING for cut in cuts for run in cut.runs},
        "slots": [
            {
                "number": cut.slot.number,
                "note": cut.slot.note,
                "largest": cut.largest,
                "cutter": cut.cutter.words if cut.cutter else None,
                "runs": [asdict(run) for run in cut.runs],
                "floor_left": cut.floor_left,
                "level_left": cut.level_left,
                "walls_left": cut.walls_left if math.isfinite(cut.walls_left) else None,
                "then": sentence(cut.then),
            }
            for cut in cuts
        ],
        "by_hand": [sentence(one) for one in rest],
    }
