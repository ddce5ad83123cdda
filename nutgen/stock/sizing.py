"""From a solved nut to the block that must come out of the piece, with every allowance on it.

z ^      ____________________
  |     |  __________        |    the sawn block, and in it the finished nut seen from its end:
  |     | |          \\___    |    the same is left to sand on front and back; the top takes what
  |     | |   floors     |   |    the crown and its dressing need
  |     | |______________|   |
  |     |____________________|
  +----------------------------> y, front to back
"""

import math
from dataclasses import replace

from nutgen.bench.materials import MATERIALS
from nutgen.bench.sizes import blank_tracks
from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, of_key, refusal, remedy
from nutgen.nut.part import Nut
from nutgen.spec.piece import Permit
from nutgen.spec.workshop import MaterialName
from nutgen.stock.block import Block, Part, Region

LEAST_LEFT = 0.5
"""On each sawn face for squaring, where the piece has no more to give: what planed stock is given. Common practice, no
source [mm]."""

LEFT_AT_WANE = 0.2
"""Between a wane and the finished top, at least, for a file's slip [mm]. Common practice, no source."""


WANE_OF_FACE = 0.5
"""Of a face, at most, that a wane takes: the rest is what the block is clamped and measured by. Common practice."""


def block_of(nut: Nut, material: MaterialName, permitted: Permit) -> Block:
    """The block to saw for a nut.

    nut       : to its final sizes
    material  : of the piece; what is left on for squaring and finishing follows from it
    permitted : where core may be, the wane, and the least compact material under floors and front edge
    returns   : its sizes, what is sanded off each face, and what must keep away from skin and core
    raises    : CannotBeMade where the wane is more than what is cut away later

    Sizes are those of the stages at the bench, so that piece, stages and template agree.
    """
    left = MATERIALS[material].left_on
    if permitted.sawn_face is not None:
        left = replace(left, sawn_face=permitted.sawn_face)
    tracks = blank_tracks(nut, replace(MATERIALS[material], left_on=left))
    sawn_length, sawn_thickness, sawn_height = (dict(track.steps)["saw"] for track in tracks)
    squared = tuple(dict(track.steps)["square"] for track in tracks)
    front = nut.shelves.front
    thickness = nut.thickness - front
    end, side = (sawn_length - nut.extent) / 2.0, (sawn_thickness - thickness) / 2.0
    under = left.sawn_face + left.bed
    top = sawn_height - nut.height - under
    block = Block(
        length=sawn_length,
        thickness=sawn_thickness,
        height=sawn_height,
        squared=(squared[0], squared[1], squared[2]),
        finished=(nut.extent, thickness, nut.height),
        to_sand={"end": end, "front": side, "back": side, "underside": under, "top": top},
        to_square=dict.fromkeys(("end", "front", "back", "underside", "top"), left.sawn_face),
        wane=permitted.wane,
        regions=(),
    )
    if permitted.wane > 0.0 and permitted.wane > (most := most_wane(nut, block)):
        raise CannotBeMade([refusal("permit.wane-too-large", of_key("permit.wane"), wane=block.wane, most=most)])
    return replace(block, regions=(_against_skin(block), *_against_core(block, nut, permitted)))


def _against_skin(block: Block) -> Region:
    y, z, w = block.thickness / 2.0, block.height / 2.0, block.wane
    outline = [(-y, -z), (y, -z), (y, z), (-y, z)]
    if w > 0.0:
        outline[2:3] = [(y, z - w), (y - w, z)]
    return Region("block", "skin", -block.length / 2.0, block.length / 2.0, tuple(outline), 0.0)


def _against_core(block: Block, nut: Nut, permitted: Permit) -> list[Region]:
    """Front edge and slot floors with compact material around them; and the rest of the nut where no core may be."""
    (low_y, low_z), _, (high_y, high_z), _ = block.section(block.to_sand).tolist()
    back = low_y - nut.shelves.front + nut.land if "back" in permitted.core_in else high_y
    behind = (back - low_y) + nut.shelves.front
    floor = min(min(float(slot.floor_at(slot.start_y)), float(slot.floor_at(behind))) for slot in nut.slots)
    floors = low_z + floor - nut.lowest_z
    half = nut.extent / 2.0
    found = [_box("front edge and slot floors", half, (low_y, back), (floors, high_z), permitted.compact)]
    if "underside" not in permitted.core_in:
        found.append(_box("nut", half, (low_y, back), (low_z, high_z), 0.0))
    return found


def _box(part: Part, half: float, y: tuple[float, float], z: tuple[float, float], keep: float) -> Region:
    outline = ((y[0], z[0]), (y[1], z[0]), (y[1], z[1]), (y[0], z[1]))
    return Region(part, "core", -half, half, outline, keep)


def most_wane(nut: Nut, block: Block) -> float:
    """How large a wane may be: front to back it falls one in one, and must pass over the finished top [mm]."""
    sand = block.to_sand
    at_back = sand["back"] + sand["top"] + nut.bevel_fall
    at_land = sand["back"] + (nut.thickness - nut.land) + sand["top"]
    most = min(min(at_back, at_land) - LEFT_AT_WANE, WANE_OF_FACE * min(block.thickness, block.height))
    return math.floor(most * 10.0) / 10.0


def if_more_were_permitted(nut: Nut, material: MaterialName, permitted: Permit) -> dict[Finding, Block]:
    """The same block with what the maker could still permit, by what that is."""
    most = most_wane(nut, block_of(nut, material, permitted.model_copy(update={"wane": 0.0})))
    more: dict[Finding, Permit] = {}
    if permitted.wane < most:
        more[remedy("permit.wane", most=most)] = permitted.model_copy(update={"wane": most})
    core_in = permitted.core_in
    usual = MATERIALS[material].left_on.sawn_face if permitted.sawn_face is None else permitted.sawn_face
    if usual > LEAST_LEFT:
        less = permitted.model_copy(update={"sawn_face": LEAST_LEFT, "wane": 0.0})
        wane = min(permitted.wane, most_wane(nut, block_of(nut, material, less)))  # a smaller block bears less of it
        more[remedy("permit.sawn-face", left=LEAST_LEFT)] = less.model_copy(update={"wane": wane})
    for part in ("underside", "back"):
        if part not in core_in:
            more[remedy("permit.core", parts=(part,))] = permitted.model_copy(update={"core_in": (*core_in, part)})
    if not core_in:
        both = ("underside", "back")
        more[remedy("permit.core", parts=both)] = permitted.model_copy(update={"core_in": both})
    return {what: block_of(nut, material, one) for what, one in more.items()}
