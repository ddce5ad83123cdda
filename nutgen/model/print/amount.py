"""How much is printed, and for how long: a calculation from volume, walls and layers, not a slicer's.

Solid all through, every layer is its two outer lines and what fills them:

    outline = two lines along every section's edge;  its length is the upright surface over a layer's height
    filling = the rest of the volume, as lines of the same section
    time    = outline and filling at their speeds, and a pause for each layer

Left out: a skirt or a brim, what is purged, heating, supports. The amount is the part's own volume, true where it is
filled solid. The time is within 3 % of the same sum over every layer's own section, at these speeds; they are assumed,
and a machine that moves half or twice as fast takes twice or half as long.
"""

import math
from dataclasses import dataclass

import numpy as np

from nutgen.geometry.mesh import Mesh
from nutgen.model.print.printing import WALL_LINES
from nutgen.spec.forming import Print

FILAMENT = 1.75
"""Diameter of the filament. Common practice, no source [mm]."""

OUTLINE_SPEED, FILL_SPEED = 25.0, 50.0
"""Along the two outer lines, and between them. Common practice for small parts, no source [mm/s]."""

LAYER_PAUSE = 3.0
"""Moves without printing, in each layer. Common practice, no source [s]."""

CURED_LAYER = 10.0
"""Light and lift of one layer of resin. Common practice, no source [s]."""

SKINS = 4.0
"""Layers that are solid above and below what is only partly filled. Common practice, no source."""

DENSITIES = {"PLA": 1.24, "PETG": 1.27, "ABS": 1.04, "nylon": 1.13, "resin": 1.15}
"""Of what is printed; from memory [g/cm3]."""


@dataclass(frozen=True, slots=True)
class Amount:
    """What one print takes.

    volume   : of what is printed [mm3]
    grams    : of material
    filament : its length; 0 where resin is cured [mm]
    minutes  : on the printer
    """

    volume: float
    grams: float
    filament: float
    minutes: float


def amount_of(mesh: Mesh, layers: int, table: Print, *, walls: float = WALL_LINES, filled: float = 1.0) -> Amount:
    """Amount and time of a part that lies on the bed, z up.

    mesh   : in the printer's frame
    layers : in all
    walls  : outer lines
    filled : share of what lies within them and SKINS layers above and below
    """
    section = table.layer_height * table.line
    flat = np.abs(mesh.facing[:, 2])
    upright = float((mesh.areas * np.sqrt(np.maximum(0.0, 1.0 - flat**2))).sum())
    outline = min(walls * upright / table.layer_height, mesh.volume / section)
    within = mesh.volume / section - outline
    level = float((mesh.areas * flat).sum()) * within * section / mesh.volume  # of what the outer lines leave to fill
    skins = min(SKINS * level / table.line, within)
    filling = skins + filled * (within - skins)
    volume = mesh.volume if table.material == "resin" else (outline + filling) * section
    grams = volume / 1000.0 * DENSITIES[table.material]
    if table.material == "resin":
        return Amount(volume, grams, 0.0, layers * CURED_LAYER / 60.0)
    seconds = outline / OUTLINE_SPEED + filling / FILL_SPEED + layers * LAYER_PAUSE
    return Amount(volume, grams, volume / (math.pi / 4.0 * FILAMENT**2), seconds / 60.0)
