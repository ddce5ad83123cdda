"""`--for mill`: lines for the router's own program, part and stock in its frame, and what the cutters leave."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from nutgen.documents.machines.cautions import on_paper
from nutgen.documents.machines.router import mill_blocks
from nutgen.documents.paint.text import text
from nutgen.documents.words import sentence
from nutgen.formats.stamp import Stamp
from nutgen.geometry.kernel import Solid
from nutgen.geometry.lines import Chain
from nutgen.jobs.job import File, Job
from nutgen.jobs.provers import router_file, step_file
from nutgen.model.mill.clearing import Clearing, clearings
from nutgen.model.mill.milling import OPERATIONS, Clamped, Level, clamped, plan_chains, profile_chains, slot_lines
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
    cleared = clearings(work.nut, spec.mill.cutters)
    report = mill_blocks(work, spec.mill, cleared)
    words = text(on_paper(stamp, report), units=spec.units)
    files = (*_drawings(work, spec.mill, stamp), *_solids(work, stamp, solid, volume, front))
    record = {"mill": _record(work, spec.mill, cleared)}
    return Job((*files, File("mill.txt", words.encode())), record, report=report)


def _drawings(work: Clamped, mill: Mill, stamp: Stamp) -> Iterator[File]:
    from nutgen.formats.dxf import mill_dxf, profile_dxf

    stock = work.stock
    outline = _on("outline", plan_chains(work, mill)).area
    profile = _on("profile", profile_chains(work)).area
    starts = [line.points[0] for line in slot_lines(work)]
    proof = router_file(OPERATIONS, stock=(stock.length, stock.thickness), outline=("outline", outline), slots=starts)
    yield File("mill.dxf", mill_dxf(work, mill, stamp), proof)
    proof = router_file(OPERATIONS, stock=(stock.length, stock.height), outline=("profile", profile))
    yield File("mill-profile.dxf", profile_dxf(work, stamp), proof)


def _on(layer: str, levels: Iterator[Level]) -> Chain:
    return next(level.chain for level in levels if level.chain.layer == layer)


def _solids(work: Clamped, stamp: Stamp, solid: Solid, volume: float, front: float) -> Iterator[File]:
    """Part and stock in the stock's frame; the part's top may be eased."""
    from nutgen.formats.step import step_bytes
    from nutgen.model.block import block

    part, stock, (dx, dy, dz) = work.nut, work.stock, work.shift
    left, right = part.reach_of(front, part.thickness)
    lowest, highest = (dx + left, front + dy, part.lowest_z + dz), (dx + right, None, None)
    moved = step_bytes(solid.translate(work.shift), replace(stamp, title=f"{stamp.title}: part in its stock"))
    yield File("mill-part.step", moved, step_file(lowest, (highest[0], part.thickness + dy, None), volume))
    low, high = (0.0, 0.0, -stock.height), (stock.length, stock.thickness, 0.0)
    piece = step_bytes(block(low, high), replace(stamp, title=f"{stamp.title}: stock"))
    yield File("mill-stock.step", piece, step_file(low, high, stock.length * stock.thickness * stock.height))


def _record(work: Clamped, mill: Mill, cleared: tuple[Clearing, ...]) -> dict[str, Any]:
    """For nut.json."""
    stock = work.stock
    return {
        "zero": "left corner of the stock toward the bridge, on its top; x right, y to the headstock, z up",
        "stock": {"length": stock.length, "thickness": stock.thickness, "height": stock.height},
        "nut_frame_at": list(work.shift),
        "cutters": [{"diameter": c.diameter, "end": c.end} for c in mill.cutters],
        "dogbones": mill.dogbones,
        "layers": OPERATIONS,
        "features": [
            {
                "feature": sentence(c.feature),
                "largest": c.largest if math.isfinite(c.largest) else None,
                "end": c.end,
                "cutter": c.cutter.words if c.cutter else None,
                "floor_left": c.floor_left,
                "walls_left": c.walls_left,
                "grid_pitch": c.pitch,
                "then": sentence(c.then),
            }
            for c in cleared
        ],
    }
