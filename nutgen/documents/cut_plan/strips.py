"""The wrap-around strips of a cut plan, 1:1: glued on the piece they show every line the saw follows."""

import numpy as np

from nutgen.documents.blocks import Document, Figure, Title
from nutgen.documents.cut_plan.lines import Room, closed_line, distinct, open_lines, segment
from nutgen.documents.cut_plan.strip_labels import (
    TAB,
    arrow_to_first_end,
    at_foot,
    by_cross_cut,
    edge_labels,
    joint_labels,
    longest,
    rip_label,
)
from nutgen.documents.lettering import Words
from nutgen.documents.texts import Phrase, phrase
from nutgen.documents.words.quantities import Units
from nutgen.errors import CannotBeMade
from nutgen.geometry.lines import Chain
from nutgen.geometry.mesh import Array
from nutgen.geometry.slices import Plane, section
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan, RipCut, Stretch
from nutgen.stock.cut.strip_parts import StripPart, clipped, dense, parts
from nutgen.stock.cut.turns import LINES, QUARTERS, at_turns, skin_outline
from nutgen.stock.cut.unroll import Strip, strips
from nutgen.stock.piece import Piece, square_to_straightedge

BEYOND = 8.0
"""Paper beyond the cross cuts [mm]."""

NAMES = dict(zip(LINES, ("back line", "left side", "belly", "right side"), strict=True))
"""What is written on each of the four lines."""

HATCH = 1.4
"""Between strokes of a hatched kerf [mm]."""

FITS = 0.3
"""A strip that differs more from the skin is cut in two, and says so where that does not help [mm]."""

LONGEST = 120.0
"""Of a strip, from edge to edge; longer ones are cut [mm]."""

_EDGE = 0.05  # off the flat ends of the piece, where a plane would graze them
_TALL = 30.0  # a strip with room for a tick in the middle of its joints
_STROKES = 80  # of the hatching around a cross cut


def strip_blocks(piece: Piece, plan: CutPlan, room: float, units: Units) -> tuple[Document, ...]:
    """The strips of all stretches, from the first end on."""
    documents: list[Document] = []
    for stretch in plan.stretches:
        found = stretch_strips(piece, plan, stretch)
        for number, strip in enumerate(found, start=1):
            pieces = parts(strip, room - TAB)
            for index, part in enumerate(pieces):
                of = f"Strip for stretch {stretch.number}"
                of += f", {number} of {len(found)}" if len(found) > 1 else ""
                of += f", part {index + 1} of {len(pieces)}" if len(pieces) > 1 else ""
                lines, labels = drawn(piece, plan, stretch, part, (index, len(pieces)), units)
                name = f"strip-{stretch.number}-{number}-{index + 1}"
                documents.append((Title(of, 4), Figure(name, distinct(lines), tuple(labels), _caption(plan, strip))))
    return tuple(documents)


def stretch_strips(piece: Piece, plan: CutPlan, stretch: Stretch) -> tuple[Strip, ...]:
    """The strips of a stretch, edge to edge, from before its first cross cut to behind its second."""
    first, last = (cut.outline[:, 0] + cut.plane.normal[0] * plan.kerf for cut in (stretch.first, stretch.last))
    near = max(float(plan.along.along[0]), _EDGE, float(first.min()) - BEYOND)
    far = min(float(plan.along.along[-1]), piece.length - _EDGE, float(last.max()) + BEYOND)
    return strips(piece, near, far, misfit=FITS, longest=LONGEST)


def _caption(plan: CutPlan, strip: Strip) -> Phrase:
    near, far = strip.girths
    skin = plan.along.along_skin(0, strip.near)
    template = "Upper edge " + ("{near:stock} from the first end" if strip.near >= 0.15 else "flush with the first end")
    if strip.near >= 0.15 and abs(skin - strip.near) >= 0.15:
        template += " ({skin:stock} along the skin on the back line)"
    template += (
        "; lower edge {far:stock}. Girth there {near_girth:stock} and {far_girth:stock}: check with a strip of paper"
        " before you glue."
    )
    if strip.misfit > FITS:
        template += (
            " Flat paper does not quite fit the skin here: lines may be off by up to {misfit:stock}, most far from the"
            " back line. Trust the pencil marks."
        )
    elif strip.stand_off > 1.0:
        template += (
            " The skin lies up to {stand_off:stock} off the paper's own shape: press it on from the back line outward."
        )
    return phrase(template, strip, skin=skin, near_girth=near, far_girth=far)


def drawn(
    piece: Piece, plan: CutPlan, stretch: Stretch, part: StripPart, place: tuple[int, int], units: Units
) -> tuple[list[Chain], list[Words]]:
    """All lines of a part and its labels, in a frame that runs up; the labels too.

    place : number of the part, from 0, and how many there are
    """
    chains = [closed_line("paper-edge", np.vstack([part.near_edge, part.far_edge[::-1]])), *_tab(part)]
    chains += _ticks(part)
    lined = [(name, _laid(part, "turn-lines", line)) for name, line in _turn_lines(piece, part.strip)]
    cross = [(cut, _cross(piece, plan, part, cut)) for cut in (stretch.first, stretch.last)]
    ripped = [(cut, _rip(piece, plan, part, cut)) for cut in stretch.cuts if cut.entries is not None]
    chains += [chain for _, found in (*lined, *cross, *ripped) for chain in found]
    paper = np.vstack([part.near_edge, part.far_edge[::-1]])
    arrow, words = arrow_to_first_end(part, Room(chains, within=paper))
    chains += arrow
    room = Room(chains, within=paper)
    labels = [room.place(one.text, [(one.x, one.y)]) for one in words]
    labels += edge_labels(part, stretch, room, units)
    for one, found in cross:
        kept = [chain for chain in found if chain.layer == "keep-lines"]
        labels += [room.place(f"cut {one.number}", by_cross_cut(chain, one), bold=True) for chain in longest(kept)]
    for rip, found in ripped:
        kept = [chain for chain in found if chain.layer == "keep-lines"]
        labels += [rip_label(room, rip.rip.number, chain) for chain in kept]
    for name, found in lined:
        named = [room.placed(NAMES[name], at_foot(chain)) for chain in longest(found)]
        labels += [words for words in named if words is not None]
    labels += joint_labels(part, place, room)
    return chains, labels


def _laid(part: StripPart, layer: str, *lines: Array) -> list[Chain]:
    return open_lines(layer, *part.lines(lines))


def _turn_lines(piece: Piece, strip: Strip) -> list[tuple[str, Array]]:
    """Back, left, belly and right line on the skin, from edge to edge."""
    count = max(4, int((strip.far - strip.near) / 5.0))
    rows = []
    for along in np.linspace(strip.near, strip.far, count + 1):
        loop = skin_outline(piece, square_to_straightedge(float(along)))
        if loop is not None:
            rows.append(at_turns(loop, piece.axis, np.array(QUARTERS)))
    return list(zip(LINES, np.array(rows).transpose(1, 0, 2), strict=True))


def _cross(piece: Piece, plan: CutPlan, part: StripPart, cut: CrossCut) -> list[Chain]:
    """The line to keep, the far side of the kerf, and strokes between them."""
    chains = _laid(part, "keep-lines", _round(cut.outline))
    beyond = skin_outline(piece, cut.plane.moved(plan.kerf))
    if cut.by != "saw" or beyond is None:
        return chains
    chains += _laid(part, "kerf", _round(beyond))
    turns = np.linspace(0.0, 360.0, _STROKES, endpoint=False)
    here = at_turns(cut.outline, piece.axis, turns)
    try:
        there = at_turns(beyond, piece.axis, turns + 180.0 / _STROKES)
    except CannotBeMade:  # a slant kerf runs out of the end of the piece before it is round
        there = _nearest(dense(_round(beyond)), np.roll(here, -1, axis=0))
    return chains + _laid(part, "kerf", *_strokes(here, there, plan.kerf))


def _rip(piece: Piece, plan: CutPlan, part: StripPart, cut: RipCut) -> list[Chain]:
    """Where a rip cut or a flat meets the skin, as far as it is still there by then, with the saw's kerf."""
    keep, far = (_met(piece, plane, cut) for plane in (cut.rip.plane, cut.rip.plane.moved(plan.kerf)))
    chains = _laid(part, "keep-lines", *keep)
    if not far or cut.rip.by != "saw":
        return chains
    chains += _laid(part, "kerf", *far)
    beyond = np.vstack([dense(line) for line in far])
    strokes = []
    for line in keep:
        spaced = _spaced(line, HATCH)
        strokes += _strokes(spaced[:-1], _nearest(beyond, spaced[1:]), plan.kerf)
    return chains + _laid(part, "kerf", *strokes)


def _nearest(points: Array, to: Array) -> Array:
    """Of some points the nearest to each of others: (n, 3)."""
    return np.array([points[((points - one) ** 2).sum(axis=1).argmin()] for one in to]).reshape(-1, 3)


def _strokes(here: Array, there: Array, kerf: float) -> list[Array]:
    """Strokes across a kerf, where both its sides are on the skin."""
    short = np.linalg.norm(there - here, axis=1) < 4.0 * (HATCH + kerf)
    return list(np.stack([here, there], axis=1)[short])


def _met(piece: Piece, plane: Plane, cut: RipCut) -> list[Array]:
    """A plane's lines on the skin, bounded by the cuts before."""
    loops = section(piece.skin, plane)
    return clipped([_round(plane.to_space(loop)) for loop in loops], cut.rip.before)


def _spaced(line: Array, step: float) -> Array:
    """Points of a line at equal steps along it."""
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    at = np.arange(step / 2.0, way[-1], step)
    return np.stack([np.interp(at, way, line[:, axis]) for axis in range(3)], axis=1)


def _round(loop: Array) -> Array:
    return np.vstack([loop, loop[:1]])


def _tab(part: StripPart) -> list[Chain]:
    """The flap at the right, which goes under the next part's left edge."""
    top, foot = part.near_edge[-1], part.far_edge[-1]
    down = (foot - top) / np.linalg.norm(foot - top)
    out = np.array([-down[1], down[0]]) * TAB
    return open_lines("tab", np.array([top, top + out + down * TAB / 2.0, foot + out - down * TAB / 2.0, foot]))


def _ticks(part: StripPart) -> list[Chain]:
    """Across both joints: they meet where the paper fits."""
    chains = []
    for end, way in ((0, 1.0), (-1, -1.0)):
        top, foot = part.near_edge[end], part.far_edge[end]
        down = (foot - top) / np.linalg.norm(foot - top)
        inward = np.array([-down[1], down[0]]) * way
        for share in (0.2, 0.5, 0.8) if part.size[1] >= _TALL else (0.2, 0.8):
            at = top + share * (foot - top)
            chains.append(segment("keep-lines", at, at + 4.0 * inward))
    return chains
