"""The end views of a cut plan, 1:1: glued on the fresh face of a stretch they show the rip cuts that start there."""

from dataclasses import replace

import numpy as np

from nutgen.documents.blocks import Beside, Document, Figure, Title
from nutgen.documents.cut_plan.lines import Room, closed_line, distinct, hatched, segment
from nutgen.documents.cut_plan.strips import NAMES
from nutgen.documents.lettering import Words
from nutgen.documents.paint.look import GAP
from nutgen.documents.texts import phrase
from nutgen.geometry.lines import Chain
from nutgen.geometry.mesh import Array
from nutgen.geometry.slices import Plane, kept, section
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan, RipCut, Stretch, crossings
from nutgen.stock.cut.rips import LaidBlock
from nutgen.stock.cut.turns import LINES, QUARTERS, at_turn
from nutgen.stock.piece import Piece

_TICK = 2.5  # of the four lines, outside the outline


def end_blocks(piece: Piece, plan: CutPlan, room: float) -> tuple[Document, ...]:
    """The face of every stretch that its rips start from, two beside each other where there is room."""
    half = (room - GAP) / 2.0
    documents: list[Document] = []
    waiting: tuple[Title, Figure] | None = None
    for stretch in plan.stretches:
        view = _titled(end_view(piece, plan, stretch), stretch)
        if view[1].box[2] - view[1].box[0] > half:
            documents.append(view)
        elif waiting is None:
            waiting = view
        else:
            documents.append((Beside(waiting, view),))
            waiting = None
    return (*documents, waiting) if waiting else tuple(documents)


def _titled(view: Figure, stretch: Stretch) -> tuple[Title, Figure]:
    end, cut, other = stretch.start, stretch.face, "left" if stretch.start == "first" else "right"
    caption = phrase(
        "Glue it on the face toward the {end} end, this side out. You look at that face: the left side of the piece"
        " is at the {other}. Girth {girth:stock}. The arrow in the block points to the nut's top.",
        end=end,
        other=other,
        girth=cut.girth,
    )
    which = "sawn already" if cut.by == "sawn end" else f"cut {cut.number}"
    return Title(f"Stretch {stretch.number}, {end} end ({which})", 4), replace(view, caption=caption)


def end_view(piece: Piece, plan: CutPlan, stretch: Stretch) -> Figure:
    """Skin, core, blocks and rip cuts in the plane of the cross cut that the rips start from."""
    cut = stretch.face
    plane, index = cut.plane, 0 if stretch.start == "first" else 1
    chains = [closed_line("skin", plane.to_plane(cut.outline)), *_core(piece, plane)]
    for nut in stretch.nuts:
        chains += [*_block(plan.blocks[nut - 1], plane, index), *_upward(plan.blocks[nut - 1], plane)]
    lines = [(one, _rip_line(one, cut, plan.kerf)) for one in stretch.cuts if one.entries is not None]
    chains += [chain for _, (_, found) in lines for chain in found]
    ticks = _ticks(piece, cut)
    chains += [tick for tick, _ in ticks]
    room = Room(chains)
    labels = []
    for (_, spots), name in zip(ticks, LINES, strict=True):
        labels.append(room.place(NAMES[name], spots))
    for one, (keep, found) in lines:
        if found and keep is not None:
            words, leader = _label(room, one, keep, plan.kerf)
            labels.append(words)
            chains += leader
    for nut in stretch.nuts if len(plan.blocks) > 1 else ():
        labels += _number(plan.blocks[nut - 1], plane, room)
    return Figure(f"end-{stretch.number}-{stretch.start}", distinct(chains), tuple(labels))


def _core(piece: Piece, plane: Plane) -> list[Chain]:
    return [closed_line("core", loop) for loop in section(piece.core, plane)] if piece.core is not None else []


def _block(solid: LaidBlock, plane: Plane, index: int) -> list[Chain]:
    """The block sawn, squared and finished, and what must be compact, where they end or seen through."""
    block = solid.block
    toward = 1.0 if solid.pose.axes[0, 0] >= 0.0 else -1.0
    x = toward * block.length / 2.0 * (-1.0 if index == 0 else 1.0)

    def seen(outline: Array) -> Array:
        return plane.to_plane(solid.pose.apply(np.column_stack([np.full(len(outline), x), outline])))

    chains = [
        closed_line("sawn-block", seen(block.section({}))),
        closed_line("squared-block", seen(block.section(block.to_square))),
        closed_line("finished-nut", seen(block.section(block.to_sand))),
    ]
    for region in block.regions:
        if region.against == "core":
            chains.append(closed_line("compact", seen(np.array(region.outline, float))))
    return chains


def _upward(solid: LaidBlock, plane: Plane) -> list[Chain]:
    """An arrow in the block to its top, behind its middle, where nothing else is drawn."""
    size = solid.block.height / 2.0 - solid.block.to_sand["top"] - 0.6
    y = 0.18 * solid.block.thickness
    tip, barb = 0.8 * size, 0.22 * size
    marks = np.array([[0, y, -tip], [0, y, tip], [0, y - barb / 2.0, tip - barb], [0, y + barb / 2.0, tip - barb]])
    foot, top, left, right = plane.to_plane(solid.pose.apply(marks))
    return [segment("sizes", foot, top), segment("sizes", top, left), segment("sizes", top, right)]


def _number(solid: LaidBlock, plane: Plane, room: Room) -> list[Words]:
    """Whose block it is, inside it, where there is room."""
    half_thickness, half_height = solid.block.thickness / 2.0, solid.block.height / 2.0
    inside = [(0.0, y * half_thickness, z * half_height) for z in np.linspace(-0.6, 0.6, 9) for y in (-0.3, 0.0, 0.5)]
    words = room.placed(f"{solid.nut}", list(plane.to_plane(solid.pose.apply(np.array(inside)))), bold=True)
    return [words] if words else []


Keep = tuple[Array, Array, Array]
"""Ends of a line to keep and the direction of its waste side, (2,) each."""


def _rip_line(one: RipCut, cut: CrossCut, kerf: float) -> tuple[Keep | None, list[Chain]]:
    """A rip's line as far as there is something left to saw, with its kerf; a flat that is filed has none."""
    polygon = cut.outline
    for bound in one.rip.before:
        polygon = kept(polygon, bound)
    places, _ = crossings(polygon, one.rip.plane)
    if len(places) < 2:
        return None, []
    flat = cut.plane.to_plane(places)
    normal = cut.plane.to_plane(cut.plane.origin + one.rip.plane.normal[None])[0]
    outward = normal / np.linalg.norm(normal)
    along = np.array([-outward[1], outward[0]])
    order = np.argsort(flat @ along)
    start, end = flat[order[0]], flat[order[-1]]
    chains = [segment("keep-lines", start, end)]
    if one.rip.by == "saw":
        chains += hatched((start, end), kerf, outward)
    return (start, end, outward), chains


def _label(room: Room, one: RipCut, keep: Keep, kerf: float) -> tuple[Words, list[Chain]]:
    """The number of a rip cut, on its waste side; where that is full, farther out at the end of a leader."""
    start, end, outward = keep
    way = end - start
    shares = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
    near = [(away, share) for away in kerf + np.array([1.7, 2.4, 3.4, 4.7]) for share in shares]
    if one.rip.parts:  # no waste there: both sides are as good
        near += [(-away, share) for away in (1.7, 2.4, 3.4, 4.7) for share in shares]
    outside = [
        (kerf + away, share)
        for away in (6.2, 8.2, 10.2, 13.0, 17.0)
        for share in (0.2, 0.8, -0.3, 1.3, -0.7, 1.7, -1.1, 2.1)
    ]
    spots = [start + share * way + outward * away for away, share in (*near, *outside)]
    text, number = f"cut {one.rip.number}", f"{one.rip.number}"
    words = room.placed(text, spots[: len(near)], bold=True) or room.placed(number, spots[: len(near)], bold=True)
    if words is not None:
        return words, []
    foot = (start + end) / 2.0 + outward * kerf / 2.0
    farther = spots[len(near) :]
    free = [spot for spot in farther if not room.crosses_a_label(spot, foot)]
    words = room.placed(text, free, bold=True) or room.place(text, farther, bold=True)
    middle = np.array([words.x, words.y + 0.26 * words.size])
    toward = (foot - middle) / np.linalg.norm(foot - middle)
    clear = min(
        (words.length / 2.0 + 0.4) / max(abs(toward[0]), 1e-9), (words.size / 2.0 + 0.4) / max(abs(toward[1]), 1e-9)
    )
    return words, [segment("leaders", middle + clear * toward, foot)]


def _ticks(piece: Piece, cut: CrossCut) -> list[tuple[Chain, list[Array]]]:
    """Short strokes outside the outline at the four lines, the back's with a second one; and where to name them."""
    middle = cut.plane.to_plane(cut.outline).mean(axis=0)
    found = []
    for turn in QUARTERS:
        foot = cut.plane.to_plane(at_turn(cut.outline, piece.axis, turn)[None])[0]
        out = (foot - middle) / np.linalg.norm(foot - middle)
        chain = segment("keep-lines" if turn == 0.0 else "turn-lines", foot, foot + out * _TICK)
        side = np.array([-out[1], out[0]])
        clear = _TICK + 1.2 + abs(out[0]) * 5.5
        places = [(aside, clear + away) for aside in (0.0, 4.0, -4.0) for away in (1.0, 2.0, 3.0)]
        found.append((chain, [foot + out * away + side * aside for aside, away in places]))
    return found
