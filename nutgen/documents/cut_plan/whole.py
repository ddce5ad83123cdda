"""The whole piece on the first page of a cut plan, reduced: from above, from its right side, and the best margin."""

from itertools import pairwise

import numpy as np

from nutgen.documents.blocks import Paragraph
from nutgen.documents.cut_plan.lines import closed_line, distinct, open_lines, segment
from nutgen.documents.font import width
from nutgen.documents.lettering import Words, spread
from nutgen.documents.paint.compose import below, composed
from nutgen.documents.paint.look import GREY, SMALL
from nutgen.documents.paint.page import Group, Item, Linework
from nutgen.documents.texts import phrase
from nutgen.documents.words.quantities import Units, figures
from nutgen.geometry.lines import Chain, Line
from nutgen.geometry.mesh import Array
from nutgen.geometry.slices import hull
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan
from nutgen.stock.laid import Answer
from nutgen.stock.piece import Piece

SCALES = (1, 2, 5, 10)
"""Reductions of ISO 5455, and full size."""

HIGHEST = 46.0
"""Both views together, on paper [mm]."""

CHART = 15.0
"""Height of the chart [mm]."""

WORST = -2.0
"""Margins below this lie on the chart's foot [mm]."""

_LEFT = 12.0  # for the numbers of the chart


def whole_piece(piece: Piece, answer: Answer, plan: CutPlan, room: float, units: Units) -> Group:
    """Two views with the marks' distances, and under them the chart on the same scale.

    room : of the page; the block is no wider than `column_of` says [mm]
    """
    column = column_of(piece, plan, room)
    scale = scale_of(piece, plan, room)
    tops, sides = plan.along.skin[:, :2] / scale, plan.along.skin[:, 2:] / scale
    how = "1:1" if scale == 1 else f"1:{scale}"
    items: list[Item] = [
        Words(0.0, SMALL, f"From above, {how}; first end at the left, left side up", SMALL, shade=GREY)
    ]
    y = SMALL + 2.0 + float(tops[:, 1].max())
    items.append(Linework("whole-from-above", _LEFT, y, distinct(_view(plan, scale, upright=0))))
    text = phrase(f"From its right side, {how}: back up; distances on the back line, {{units}}")
    title = below(composed((Paragraph(text, "note"),), column, units), 0.0)
    y += 2.5 - float(tops[:, 0].min())
    items += [item.moved(0.0, y) for item in title.items]
    y += title.height
    y += 2.0
    sizes, high = _distances(plan, scale, y, piece.length, column, units)
    items += sizes
    y += high + float(sides[:, 1].max())
    items.append(Linework("whole-from-right", _LEFT, y, distinct(_view(plan, scale, upright=1))))
    y += -float(sides[:, 0].min()) + 3.0
    chart = _chart(piece, answer, scale, y, column, units)
    return Group(chart[1] if chart else y, (*items, *(chart[0] if chart else ())))


def column_of(piece: Piece, plan: CutPlan, room: float) -> float:
    """Width of the views: what is left of the room may hold tables [mm]."""
    return _LEFT + piece.length / scale_of(piece, plan, room) + 8.0


def scale_of(piece: Piece, plan: CutPlan, room: float) -> int:
    """The greatest scale at which the piece fits."""
    high = float(np.ptp(plan.along.skin[:, :2]) + np.ptp(plan.along.skin[:, 2:]))
    fits = [scale for scale in SCALES if piece.length / scale <= room - _LEFT - 2.0 and high / scale <= HIGHEST]
    return fits[0] if fits else SCALES[-1]


def _view(plan: CutPlan, scale: int, *, upright: int) -> list[Chain]:
    """Skin, core, blocks and cross cuts; upright is 0 for sideways, seen from above, 1 for up, seen from the right."""
    seen = plan.along
    low, high = 2 * upright, 2 * upright + 1

    def band(extent: Array) -> Array:
        there = ~np.isnan(extent[:, 0])
        along = seen.along[there]
        up, down = extent[there, high], extent[there, low]
        return np.vstack([np.column_stack([along, up]), np.column_stack([along, down])[::-1]]) / scale

    chains = [closed_line("skin", band(seen.skin))]
    if (~np.isnan(seen.core[:, 0])).sum() > 1:
        chains.append(closed_line("core", band(seen.core)))
    if upright == 0:
        chains += open_lines("turn-lines", seen.lines[0][:, [0, 1]] / scale)
    for solid in plan.blocks:
        chains.append(closed_line("sawn-block", hull(solid.corners[:, [0, 1 + upright]]) / scale))
    for cut in plan.order:
        ends = _across(cut, upright)
        chains.append(segment("keep-lines", ends[0] / scale, ends[1] / scale))
    return chains


def _across(cut: CrossCut, upright: int) -> Array:
    """The trace of a cross cut in a view: from its highest to its lowest point there, and a little beyond."""
    flat = cut.outline[:, [0, 1 + upright]]
    ends = flat[[int(flat[:, 1].argmax()), int(flat[:, 1].argmin())]]
    way = (ends[0] - ends[1]) / np.linalg.norm(ends[0] - ends[1])
    return np.array([ends[0] + way, ends[1] - way])


def _distances(
    plan: CutPlan, scale: int, y: float, length: float, column: float, units: Units
) -> tuple[list[Item], float]:
    """Running sizes over the side view, as full as there is room for; and the height they take above its top."""
    for text in ("cut {0}: {1}", "{0}: {1}", "{0}"):
        marks = sorted((cut.marks[0], cut.number) for cut in plan.order if cut.by != "sawn end")
        sizes = [(at, text.format(number, figures(at, "stock", units))) for at, number in marks]
        whole = figures(length, "stock", units) if "{1}" in text else figures(length, "setting_out", units, places=1)
        rows = [(0.0, "0"), *sizes, (length, whole)]
        apart = max(width(words, SMALL) for _, words in rows) + 1.0
        places = spread([at / scale for at, _ in rows], apart)
        shift = max(0.0, -_LEFT + width(rows[0][1], SMALL) / 2.0 - places[0])
        if places[-1] + shift + apart / 2.0 <= column - _LEFT:
            break
    words: list[Item] = []
    lines = []
    foot = 8.0  # from the words down to the top of the piece
    for (at, text), place in zip(rows, places, strict=True):
        words.append(Words(_LEFT + place + shift, y + SMALL, text, SMALL, align="centre"))
        bent = [(place + shift, foot - SMALL - 0.8), (at / scale, foot - SMALL - 3.2), (at / scale, 0.6)]
        lines.append(Chain("sizes", tuple(Line(a, b) for a, b in pairwise(bent))))
    return [*words, Linework("whole-distances", _LEFT, y + foot, distinct(lines))], foot


def _chart(
    piece: Piece, answer: Answer, scale: int, y: float, column: float, units: Units
) -> tuple[list[Item], float] | None:
    """Best margin of a block whose middle lies at a distance, and where the blocks were laid."""
    profile = answer.profile[np.isfinite(answer.profile).all(axis=1)] if len(answer.profile) else answer.profile
    if len(profile) < 2:
        return None
    margins = np.clip(profile[:, 1], WORST, None)
    highest, lowest = max(0.5, float(margins.max())), min(0.0, float(margins.min()))
    grade = CHART / (highest - lowest)
    right = piece.length / scale
    zero = -lowest * grade
    chains = [segment("sizes", (0.0, 0.0), (0.0, CHART)), segment("sizes", (0.0, zero), (right, zero))]
    chains += open_lines("best-margin", np.column_stack([profile[:, 0] / scale, (margins - lowest) * grade]))
    words = phrase(
        "Best margin of a block whose middle lies here, {units}; below 0 it does not fit. Upright: laid here"
    )
    title = below(composed((Paragraph(words, "note"),), column, units), 0.0)
    items = [item.moved(0.0, y) for item in title.items]
    y += title.height + 3.5
    labels = (
        [figures(answer.laid[0].margin, "spare", units)]
        if len(answer.laid) == 1
        else [str(n + 1) for n in range(len(answer.laid))]
    )
    middles = sorted((laid.pose.origin[0] / scale, text) for laid, text in zip(answer.laid, labels, strict=True))
    chains += [segment("sizes", (at, zero), (at, CHART + 0.6)) for at, _ in middles]
    apart = max(width(text, SMALL, bold=True) for text in labels) + 0.8
    for place, (_, text) in zip(spread([at for at, _ in middles], apart), middles, strict=True):
        items.append(Words(_LEFT + place, y - 1.4, text, SMALL, bold=True, align="centre"))
    items.append(Linework("best-margin", _LEFT, y + CHART, distinct(chains)))
    for value in (0.0, highest, lowest) if -lowest * grade > SMALL else (0.0, highest):
        level = y + CHART - (value - lowest) * grade + SMALL * 0.35
        items.append(Words(_LEFT - 1.0, level, figures(value, "spare", units), SMALL, align="right", shade=GREY))
    return items, y + CHART + 1.5
