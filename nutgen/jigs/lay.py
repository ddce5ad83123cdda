"""A part on the bed: turned so that it fits, its mesh, its time."""

from dataclasses import dataclass
from typing import Any

from nutgen.finding import refusal
from nutgen.geometry.mesh import Mesh
from nutgen.jigs.jig import NoJigError, Part
from nutgen.jigs.shapes.fits import WALL_LINES
from nutgen.model.print.amount import Amount, amount_of
from nutgen.model.print.printing import layer_count
from nutgen.spec.forming import Print

FILLED = 0.25
"""Share of a jig's inside that is printed. Common practice, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A part as it is printed.

    part   : whose it is
    solid  : moved so that no coordinate is below 0
    mesh   : of it
    used   : the same where it is used, in the nut's frame
    moved  : the same drawn apart
    size   : across, deep, high [mm]
    volume : of the solid [mm3]
    amount : what it takes
    """

    part: Part
    solid: Any
    mesh: Mesh
    used: Mesh
    moved: Mesh
    size: tuple[float, float, float]
    volume: float
    amount: Amount


def laid(part: Part, table: Print) -> Laid:
    """A part on the bed; raises NoJigError where the bed is too small."""
    from nutgen.geometry import kernel
    from nutgen.model.mesh import mesh_of

    mesh = mesh_of(part.solid)
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    across, deep, tall = (float(size) for size in high - low)
    bed = sorted(table.bed)
    if min(across, deep) > bed[0] or max(across, deep) > bed[1]:
        wide, long = table.bed
        why = refusal("jig.bed-too-small", part=part.name, across=across, deep=deep, bed_wide=wide, bed_deep=long)
        raise NoJigError(why)
    moved = Mesh(mesh.vertices - low, mesh.triangles)
    amount = amount_of(moved, layer_count(tall, table.layer_height), table, walls=WALL_LINES, filled=FILLED)
    solid = part.solid.translate(tuple(-float(value) for value in low))
    used = Mesh(part.used.apply(mesh.vertices), mesh.triangles)
    apart = Mesh(used.vertices + part.apart, used.triangles)
    return Laid(part, solid, moved, used, apart, (across, deep, tall), kernel.volume(part.solid), amount)
