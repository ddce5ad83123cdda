"""`--for mill`: lines for the router's own program, part and stock in its frame, and what the cutters leave."""

import math
from dataclasses import dataclass, replace
from typing import Any

from nutgen.documents.screen import Column, Screen
from nutgen.formats.stamp import Stamp
from nutgen.geometry.kernel import Solid
from nutgen.geometry.lines import Chain
from nutgen.jobs.job import Job, report_text
from nutgen.jobs.provers import router_file, step_file, text_file
from nutgen.model.mill.clearing import Clearing, clearings
from nutgen.model.mill.milling import (
    OPERATIONS,
    Clamped,
    clamped,
    plan_chains,
    profile_chains,
    slot_lines,
)
from nutgen.nut import Nut
from nutgen.spec.tables import Spec

CAUTION = (
    "Bone and antler dust harms lungs: draw it off or cut wet, wear a fitted mask and glasses, keep hands, hair and"
    " sleeves away, clamp the piece so that the cutter cannot reach the clamps. Local rules come first."
)


def mill_job(
    spec: Spec, nut: Nut, stamp: Stamp, solid: Solid, solid_step: bytes, *, volume: float, front: float
) -> Job:
    """Make the files for a router.

    solid      : of `nut.rough()`, in the nut's own frame
    solid_step : the same as a STEP file, which is proved by itself
    volume     : of the solid [mm3]
    front      : the solid's foremost plane, y in its own frame [mm]
    raises : CannotBeMade where the stock or a cutter does not go with the part
    """
    from nutgen.formats.mill_dxf import mill_dxf, profile_dxf
    from nutgen.formats.step import step_bytes
    from nutgen.model.block import block

    work = clamped(nut, spec.mill)
    part, stock = work.nut, work.stock
    report = MillReport(spec, nut, work, clearings(part, spec.mill.cutters))
    low, high = (0.0, 0.0, -stock.height), (stock.length, stock.thickness, 0.0)
    moved = solid.translate(work.shift)
    layers = [operation.layer for operation in OPERATIONS]
    profile = next(level.chain for level in profile_chains(work) if level.chain.layer == "profile")
    return Job(
        files={
            "mill.dxf": mill_dxf(work, spec.mill, stamp),
            "mill-profile.dxf": profile_dxf(work, stamp),
            "mill-part.step": step_bytes(moved, replace(stamp, title=f"{stamp.title}: part in its stock")),
            "mill-stock.step": step_bytes(block(low, high), replace(stamp, title=f"{stamp.title}: stock")),
            "mill.txt": report.text(stamp).encode(),
        },
        provers={
            "mill.dxf": router_file(
                layers,
                stock=(stock.length, stock.thickness),
                outline=("outline", _outline(work, spec).area),
                slots=[line.points[0] for line in slot_lines(work)],
            ),
            "mill-profile.dxf": router_file(
                layers, stock=(stock.length, stock.height), outline=("profile", profile.area)
            ),
            "mill-part.step": step_file(*_corners(work, front), volume, twin=(solid_step, work.shift)),
            "mill-stock.step": step_file(low, high, stock.length * stock.thickness * stock.height),
            "mill.txt": text_file([stamp.spec_hash, *(clearing.feature for clearing in report.clearings)]),
        },
        record=report.record,
        report=report.show,
    )


def _outline(work: Clamped, spec: Spec) -> Chain:
    return next(level.chain for level in plan_chains(work, spec.mill) if level.chain.layer == "outline")


def _corners(work: Clamped, front: float) -> tuple[tuple[float, float, float], tuple[float, float, None]]:
    """The part's lowest and highest corner in the stock's frame; its top may be eased."""
    part, (dx, dy, dz) = work.nut, work.shift
    half = part.half_length
    return (dx - half, front + dy, part.lowest_z + dz), (dx + half, part.thickness + dy, None)


@dataclass(frozen=True, slots=True)
class MillReport:
    """What is said of a job on the router."""

    spec: Spec
    nut: Nut
    work: Clamped
    clearings: tuple[Clearing, ...]

    @property
    def record(self) -> dict[str, Any]:
        """For nut.json."""
        stock = self.work.stock
        return {
            "zero": "left corner of the stock toward the bridge, on its top; x right, y to the headstock, z up",
            "stock": {"length": stock.length, "thickness": stock.thickness, "height": stock.height},
            "nut_frame_at": list(self.work.shift),
            "cutters": [{"diameter": c.diameter, "end": c.end} for c in self.spec.mill.cutters],
            "dogbones": self.spec.mill.dogbones,
            "layers": {operation.layer: operation.meaning for operation in OPERATIONS},
            "features": [
                {
                    "feature": c.feature,
                    "largest": c.largest if math.isfinite(c.largest) else None,
                    "end": c.end,
                    "cutter": c.cutter.words if c.cutter else None,
                    "floor_left": c.floor_left,
                    "walls_left": c.walls_left,
                    "grid_pitch": c.pitch,
                    "then": c.words,
                }
                for c in self.clearings
            ],
        }

    def text(self, stamp: Stamp) -> str:
        """The report as a file."""
        return report_text(stamp, self.show)

    def show(self, screen: Screen) -> None:
        """How to set it up, and what each cutter leaves."""
        stock, mill = self.work.stock, self.spec.mill
        given = all(size is not None for size in (mill.stock_length, mill.stock_thickness, mill.stock_height))
        screen.say("Mill", style="bold")
        screen.say(
            f"1. Stock {stock.length:.1f} long, {stock.thickness:.1f} thick, {stock.height:.1f} high"
            f"{'' if given else ' (the squared blank, where the file gives no size of it)'}, standing on its underside,"
            " the bridge side toward you.",
            hang="   ",
        )
        screen.say(
            "2. Zero: left corner toward you, on top of the stock; x right, y away from you, z up. mill.dxf,"
            " mill-part.step and mill-stock.step are all in that frame; every depth is below 0.",
            hang="   ",
        )
        screen.say(
            "3. Layers of mill.dxf: outline (cut outside, through), land and bevel (clear to the top; surfaces in the"
            " STEP file), slot-centre (z at both ends is the floor's), slot-outline.",
            hang="   ",
        )
        screen.say(
            "4. mill-profile.dxf is the outline alone, for the piece lying on its back; zero: lower left corner.",
            hang="   ",
        )
        screen.say()
        screen.table(
            [
                Column("feature"),
                Column("largest cutter", right=True),
                Column("yours", right=True),
                Column("floor", right=True),
                Column("walls", right=True),
                Column("then"),
            ],
            [_row(clearing) for clearing in self.clearings],
        )
        screen.say(
            "mm. largest cutter: that makes the feature whole. yours: the one at hand that comes nearest. floor, walls:"
            " what it leaves for the file, above the surface and on each wall. Worked out on a grid of a tenth of the"
            " cutter's radius.",
            style="dim",
        )
        screen.say(CAUTION, style="dim")


def _row(clearing: Clearing) -> list[str]:
    largest = f"{clearing.largest:.2f}" if math.isfinite(clearing.largest) else "any"
    return [
        clearing.feature,
        largest if clearing.end == "any" else f"{largest} {clearing.end}",
        clearing.cutter.words if clearing.cutter else "-",
        f"{clearing.floor_left:.2f}" if clearing.floor_left >= 0.01 else "-",
        f"{clearing.walls_left:.2f}" if clearing.walls_left >= 0.01 else "-",
        clearing.words,
    ]
