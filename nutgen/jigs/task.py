"""The nut on its way through the work, and the bench and the printer that it is made with."""

from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np

from nutgen.bench.materials import NutMaterial
from nutgen.bench.sizes import SizeKind, StageName, tracks
from nutgen.bench.tools import SlotPlan, ToolStep, slot_plans
from nutgen.geometry.mesh import Mesh
from nutgen.jigs.shapes.fits import Fit
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.play.spread import nut_spread
from nutgen.spec.forming import Print
from nutgen.spec.playing import Errors
from nutgen.spec.workshop import Blade, Tools
from nutgen.theory.uncertainty import WITHIN_95

KINDS = MappingProxyType({"saw": "saw", "slotting file": "file"})
"""What a tool of a plan is called among the blades; others are round."""

DRAWS = 4000
"""Of reading errors."""

SAME_TOOL = 0.02
"""A blade is the tool of a plan where their widths differ by no more [mm]."""


@dataclass(frozen=True)
class Task:
    """What every jig is made from.

    nut      : to its final sizes
    tools    : on the bench
    printer  : its table
    material : of the nut
    errors   : of what was read
    mark     : first letters of the nut's hash
    """

    nut: Nut
    tools: Tools
    printer: Print
    material: NutMaterial
    errors: Errors
    mark: str

    @cached_property
    def fit(self) -> Fit:
        """What the printer holds."""
        return Fit(self.printer)

    @cached_property
    def finished(self) -> Mesh:
        """The nut that is wanted, for pictures."""
        from nutgen.model.mesh import mesh_of
        from nutgen.model.solid import nut_solid

        return mesh_of(nut_solid(self.nut))

    @cached_property
    def plans(self) -> tuple[SlotPlan, ...]:
        """Which tool cuts which slot, bass to treble."""
        return slot_plans(self.nut, self.tools, self.material)

    @cached_property
    def _sizes(self) -> dict[tuple[SizeKind, StageName], float]:
        whole = tracks(self.nut, self.material, self.plans)
        return {(track.kind, stage): size for track in whole for stage, size in track.steps if track.string is None}

    def size(self, kind: SizeKind, stage: StageName) -> float:
        """A size as a stage leaves it [mm]."""
        if kind == "thickness" and self.nut.shelves.alone:
            kind = "whole thickness"
        return self._sizes[kind, stage]

    @cached_property
    def end_over(self) -> float:
        """Left on each end when the slots are cut [mm]."""
        return (self.size("length", "ends") - self.nut.length) / 2.0

    @cached_property
    def back_over(self) -> float:
        """Left on the back when the slots are cut [mm]."""
        return self.size("thickness", "fit to seat") - (self.nut.thickness - self.nut.shelves.front)

    @cached_property
    def top_over(self) -> float:
        """Left on the top when the slots are cut [mm]."""
        return self.size("height", "crown") - self.nut.height

    @cached_property
    def highest(self) -> float:
        """Of the blank over its underside when the slots are cut [mm]."""
        return self.nut.height + self.top_over

    @cached_property
    def plane_error(self) -> float:
        """How far a floor may be from its height over the true fret plane, from what was read of the neck [mm]."""
        return WITHIN_95 * float(np.max(nut_spread(self.nut, self.errors, draws=DRAWS).floor_height.sd))

    @property
    def pairs(self) -> list[tuple[Slot, SlotPlan]]:
        """Slots with their plans, bass to treble."""
        return list(zip(self.nut.slots, self.plans, strict=True))

    def blade(self, step: ToolStep) -> Blade | None:
        """The listed blade that a step is done with; None where the file lists none of its width."""
        kind = KINDS.get(step.tool)
        near = [one for one in self.tools.blades if one.tool == kind and abs(one.width - step.tool_width) <= SAME_TOOL]
        return min(near, key=lambda one: abs(one.width - step.tool_width), default=None)
