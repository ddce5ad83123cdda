"""The nut on the printer: which face lies on the bed, which slots are only begun, what the layers leave.

Lying on its back or on its front face the nut's front view is what each layer draws: slot widths and
floor heights lie in the plane of the layers, where a printer is fine, and every floor is built of as
many layers as the nut has along the string. On its underside a floor could only be as true as a layer is thin.

Limits here are common practice, no source, unless they say otherwise.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np

from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, Subject, note, of_key, refusal, warning
from nutgen.geometry.mesh import Mesh
from nutgen.model.print.compensate import compensated
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.forming import Print

Down = Literal["back", "front"]
Way = Literal["whole", "pilot", "mark", "none"]

HOLDS = 2.5
"""A slot this many nozzles wide comes out true; a narrower one closes up."""

LEAST_VOID = 0.85
"""A slot narrower than this many nozzles is not printed at all. In trial slicings with a 0.4 nozzle slots
survived from 0.33 mm."""

LEAST_TO_FILE = 0.05
"""A pilot leaves at least this on each wall: less, and the file has nothing to guide it true [mm]."""

LEAST_PILOT = 0.10
"""A pilot shallower than this at the front is none [mm]."""

MARK_DEPTH = 0.15
MARK_SHARE = 0.5
"""A mark is this deep, or this share of the slot where that is less [mm]."""

MARK_WIDER = 0.25
"""A mark this much wider than the slot would spoil it, and is left out [mm]."""

LEAST_DRAWN = 0.05
"""A wall is drawn no thinner once the printer's error is taken off [mm]."""

WALL_LINES = 2.0
"""A wall of fewer printed lines is weak."""

THIN = 0.02
"""A nut that is thinner than its seat by no more still fits it [mm]."""

DROOPS = 0.5
"""A layer may stand out over the one below by this share of a line."""

DROOP_AREA = 2.0
"""Less overhanging surface than this is not worth a support [mm2]."""


@dataclass(frozen=True, slots=True)
class PrintedSlot:
    """How one slot comes off the printer, and what is left to do.

    number, note  : the string
    way           : whole, to its width; pilot, narrower and shallower; mark, a line to start a file in;
                    none, where even that would be too wide
    width         : as printed, before compensation [mm]
    final_width   : as it should be in the end [mm]
    walls_left    : for the file on each wall; negative where a mark is wider than the slot [mm]
    floor_left    : for the file above the final floor, at the string's start [mm]
    layer_error   : of the printed floor there, from the layers; positive is high [mm]
    """

    number: int
    note: str
    way: Way
    width: float
    final_width: float
    walls_left: float
    floor_left: float
    layer_error: float


@dataclass(frozen=True, slots=True)
class PrintPlan:
    """A nut made ready for one printer.

    nut             : with allowances, pilots and marks, as it should come off the printer; in its own frame
    drawn           : the same, compensated: as it is given to the printer
    table           : the printer
    slots           : bass to treble
    over            : printed front to back over what the file asks: to be sanded off the back [mm]
    warnings        : walls that are weak, a floor that the material will not keep
    """

    nut: Nut
    drawn: Nut
    table: Print
    slots: tuple[PrintedSlot, ...]
    over: float
    warnings: tuple[Finding, ...]


def print_plan(nut: Nut, table: Print) -> PrintPlan:
    """Decide what a printer can hold of a nut.

    nut    : final; its allowances are put on here
    raises : CannotBeMade where the nozzle is wider than a gap between two strings, where a wall is no
             thicker than what is taken off its two sides, or where shelves keep the front face off the bed
    """
    reasons = list(_unprintable(nut, table))
    if reasons:
        raise CannotBeMade(reasons)
    rough = nut.rough()
    wanted, rough = rough.thickness, replace(rough, thickness=_seated(rough.thickness, table))
    over = rough.thickness - wanted if table.coupon_seat is None else 0.0
    begun = [_begun(final, slot, table) for final, slot in zip(nut.slots, rough.slots, strict=True)]
    part = replace(rough, slots=tuple(slot for way, slot in begun if way != "none"))
    reasons = list(_vanishing(part, table))
    if reasons:
        raise CannotBeMade(reasons)
    slots = tuple(_printed(way, final, slot, part, table) for (way, slot), final in zip(begun, nut.slots, strict=True))
    return PrintPlan(part, compensated(part, table.added_per_side), table, slots, over, tuple(_weak(part, table)))


def _unprintable(nut: Nut, table: Print) -> Iterator[Finding]:
    for a, b in pairwise(sorted(nut.slots, key=lambda slot: slot.x)):
        gap = b.x - a.x - (a.gauge + b.gauge) / 2.0
        if 0.0 < gap < table.nozzle:
            yield refusal("print.nozzle-wider-than-gap", *_strings(a, b), nozzle=table.nozzle, gap=gap)
    if table.down == "front" and nut.shelves.front < 0.0:
        yield refusal("print.front-off-the-bed", of_key("print.down"))


def _vanishing(part: Nut, table: Print) -> Iterator[Finding]:
    """Walls that are there but not once the printer's error is taken off."""
    taken = -2.0 * table.added_per_side
    if taken <= 0.0:
        return
    for about, place, wall in _walls(part):
        if place != "under" and 0.0 < wall < taken + LEAST_DRAWN:
            yield refusal(f"print.nothing-left-{place}", *about, taken=taken, wall=wall)


def _walls(part: Nut) -> Iterator[tuple[tuple[Subject, ...], Literal["between", "outside", "under"], float]]:
    """Every wall of the slots: whose it is, where, and how thick [mm]."""
    for a, b in pairwise(sorted(part.slots, key=lambda slot: slot.x)):
        yield _strings(a, b), "between", part.wall_between(a, b)
    for slot in part.slots:
        yield _strings(slot), "outside", part.end_wall(slot)
        yield _strings(slot), "under", part.floor_wall(slot)


def _strings(*slots: Slot) -> tuple[Subject, ...]:
    return tuple(slot.who for slot in slots)


def _seated(thickness: float, table: Print) -> float:
    """Front to back: whole layers, as many as the stair of the fit coupon says [mm].

    A thickness between two layers is printed with the one more by one slicer and without it by the next.
    """
    return (whole_layers(thickness, table.layer_height) + (table.coupon_seat or 0)) * table.layer_height


def whole_layers(thickness: float, layer: float) -> int:
    """Layers that are no thinner than what is wanted, or by no more than no one feels: too thick can be sanded."""
    return max(1, math.ceil((thickness - THIN) / layer - 1e-9))


def layer_count(height: float, layer: float) -> int:
    """Layers in a height: one is printed where at least its middle lies within the part."""
    return max(1, math.ceil(height / layer - 0.5 - 1e-9))


def _begun(final: Slot, rough: Slot, table: Print) -> tuple[Way, Slot]:
    """A slot as it is printed: whole where the printer holds it, else a pilot, else a mark."""
    void = LEAST_VOID * table.nozzle + 2.0 * max(0.0, table.added_per_side)
    if final.width >= HOLDS * table.nozzle:
        return "whole", rough
    width = max(void, final.width - 2.0 * table.pilot_walls)
    lift = max(0.0, final.floor_z + table.pilot_floors - rough.floor_z)
    if width <= final.width - 2.0 * LEAST_TO_FILE and rough.depth - lift >= LEAST_PILOT:
        return "pilot", replace(rough, width=width).raised(lift)
    if void > final.width + MARK_WIDER:
        return "none", rough
    depth = min(MARK_DEPTH, MARK_SHARE * rough.depth)
    return "mark", replace(rough, width=max(void, min(width, final.width))).raised(rough.depth - depth)


def _printed(way: Way, final: Slot, slot: Slot, part: Nut, table: Print) -> PrintedSlot:
    if way == "none":
        return PrintedSlot(slot.number, slot.note, way, 0.0, final.width, final.width / 2.0, slot.depth, 0.0)
    return PrintedSlot(
        number=slot.number,
        note=slot.note,
        way=way,
        width=slot.width,
        final_width=final.width,
        walls_left=(final.width - slot.width) / 2.0,
        floor_left=slot.floor_z - final.floor_z,
        layer_error=layer_error(slot, part.thickness, table.layer_height),
    )


def layer_error(slot: Slot, back: float, layer: float) -> float:
    """How far the printed floor is from the drawn one where the string starts, lying on the back [mm].

    The layer that holds the start is drawn as the part is cut through its middle: so the floor there is
    that of half a layer further back, or nearly. Lying on the front face it is half a layer, always.
    """
    count = layer_count(back - slot.start_y, layer)
    middle = back - (count - 0.5) * layer
    return float(slot.floor_at(middle)) - slot.floor_z


def standing_error(slot: Slot, nut: Nut, layer: float) -> float:
    """The same for a nut that stands on its underside: the floor is a whole number of layers up [mm]."""
    height = slot.floor_z - nut.lowest_z
    return layer_count(height, layer) * layer - height


def _weak(part: Nut, table: Print) -> Iterator[Finding]:
    """Walls thinner than two printed lines."""
    least, line = WALL_LINES * table.line, table.line
    for about, place, wall in _walls(part):
        if wall < least:
            yield warning(f"print.weak-{place}", *about, wall=max(wall, 0.0), line=line)
    across = np.linspace(*part.reach_of(part.thickness), 41)
    rim = float((part.top_z(across, part.thickness) - part.underside.z(across, part.thickness)).min())
    if rim < least:
        yield warning("print.weak-at-the-back", wall=rim, line=line)


@dataclass(frozen=True, slots=True, eq=False)
class Lying:
    """The part on the bed.

    mesh       : in the printer's frame: x along the nut, z up from the bed, no coordinate below 0
    down       : the face on the bed
    why        : it lies so
    overhang   : surface that would droop without support [mm2]
    layers     : in all
    """

    mesh: Mesh
    down: Down
    why: Finding
    overhang: float
    layers: int


def lay(mesh: Mesh, plan: PrintPlan) -> Lying:
    """Lay the part down on its better face.

    mesh : of `plan.drawn`, in the nut's own frame
    """
    table = plan.table
    turned = {down: turned_down(mesh, down) for down in ("back", "front")}
    droops = {down: overhang(turned[down], table) for down in turned}
    down = _better(droops, table) if plan.nut.shelves.front == 0.0 else "back"
    placed = Mesh(turned[down].vertices - turned[down].vertices.min(axis=0), mesh.triangles)
    return Lying(
        mesh=placed,
        down=down,
        why=_why(down, droops, plan),
        overhang=droops[down],
        layers=layer_count(float(np.ptp(mesh.vertices[:, 1])), table.layer_height),
    )


def turned_down(mesh: Mesh, down: Down) -> Mesh:
    """A mesh turned, not mirrored, so that its back or front face is below."""
    signs = {"back": (1.0, 1.0, -1.0), "front": (1.0, -1.0, 1.0)}[down]
    order, factor = [0, 2, 1], np.array(signs)
    vertices = mesh.vertices[:, order] * factor
    vertices[:, 2] -= vertices[:, 2].min()
    return Mesh(vertices, mesh.triangles)


def overhang(mesh: Mesh, table: Print) -> float:
    """Surface that leans out over the bed too far for each layer to rest on the one below [mm2]."""
    down = -mesh.facing[:, 2]
    lean = np.divide(down, np.sqrt(np.maximum(1.0 - down**2, 1e-12)))
    above = mesh.corners[:, :, 2].mean(axis=1) > table.layer_height
    droops = above & (table.layer_height * lean > DROOPS * table.line)
    return float(mesh.areas[droops].sum())


def _better(droops: dict[str, float], table: Print) -> Down:
    """The back, unless only the front face needs no support: the front's edge is where the strings start."""
    if table.down != "best":
        return table.down
    return "front" if droops["back"] > DROOP_AREA and droops["front"] <= DROOP_AREA else "back"


def _why(down: Down, droops: dict[str, float], plan: PrintPlan) -> Finding:
    layer = plan.table.layer_height
    worst = max((abs(slot.layer_error) for slot in plan.slots), default=0.0)
    standing = max((abs(standing_error(slot, plan.nut, layer)) for slot in plan.nut.slots), default=0.0)
    code = "print.lies-as-told" if plan.table.down == down else f"print.lies-on-{down}"
    return note(code, worst=worst, standing=standing, droops_mm2=float(droops["back"]))
