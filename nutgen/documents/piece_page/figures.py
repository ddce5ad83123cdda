"""Flat pictures of a piece with its blocks, for the page: from the side, from above, cut across, and the margin's run.

They stand in where a browser shows no 3D, and on paper. Kinds of things are classes, coloured by the page's style.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup, escape

from nutgen.documents.piece_page.scene import BOX_FACES, Parts, crossed_at, end_planes, thinned_core, thinned_skin
from nutgen.documents.words.quantities import Units, figures, quantity
from nutgen.geometry.mesh import Mesh
from nutgen.geometry.slices import Plane, plane_facing, section
from nutgen.stock.laid import Answer, Laid
from nutgen.stock.piece import Piece
from nutgen.theory import Array

STATIONS = 90
"""Places along the piece where its outline is taken for the long views."""

ROOM = 7.0
"""Around a view, for its marks [mm]."""

SIDE, ABOVE = 2, 1
"""The direction that stands upright in a long view: up seen from the right side, sideways seen from above."""

WORD = 13.0
"""Room that a number takes [mm]."""

MOST_CUT_THREE_TIMES = 2
"""Blocks that are shown cut at both ends and in the middle; more of them are shown in the middle only."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture: name and words under it, the picture, its width in mm for the style."""

    name: str
    caption: str
    svg: Markup


def long_views(piece: Piece, answer: Answer, units: Units = "mm") -> tuple[Picture, Picture]:
    """The whole piece from its right side and from above, first end on the left."""
    skin, core = thinned_skin(piece), thinned_core(piece)
    box = skin[0].min(axis=0), skin[0].max(axis=0)
    spans = [_spans(mesh) for mesh in (skin, core) if mesh is not None]
    return (
        _long_view(answer, box, spans, SIDE, "side", "From the right side: the back line is on top", units),
        _long_view(answer, box, spans, ABOVE, "above", "From above, onto the back line: left is up", units),
    )


def cut_views(piece: Piece, answer: Answer, units: Units = "mm") -> list[Picture]:
    """The piece cut across at the blocks, seen from the first end."""
    half = answer.block.length / 2.0
    few = len(answer.laid) <= MOST_CUT_THREE_TIMES
    places = [(-half, "first end"), (0.0, "middle"), (half, "last end")] if few else [(0.0, "middle")]
    views = []
    for number, laid in enumerate(answer.laid, start=1):
        toward_last = 1.0 if laid.pose.axes[0, 0] >= 0.0 else -1.0
        which = f"Block {number}" if len(answer.laid) > 1 else "The block"
        for index, (along, where) in enumerate(places):
            origin = laid.pose.apply(np.array([[toward_last * along, 0.0, 0.0]]))[0]
            plane = plane_facing(origin, -toward_last * laid.pose.axes[0], up=np.array([0.0, 0.0, 1.0]))
            caption = f"{which}, {where}, {quantity(float(origin[0]), 'stock', units)}"
            views.append(_cut_view(piece, answer, laid, plane, f"cut-{number}-{index}", caption, units))
    return views


def _long_view(
    answer: Answer,
    around: tuple[Array, Array],
    spans: Sequence[Array],
    upright: int,
    name: str,
    caption: str,
    units: Units,
) -> Picture:
    """around: corners of a box around the skin; spans: of the skin, and of the core where there is one."""
    kinds = ("skin", "core")
    marks = [f'<path class="{kind}" d="{_silhouette(one, upright)}"/>' for kind, one in zip(kinds, spans, strict=False)]
    eye = np.array([0.0, -1.0, 0.0]) if upright == SIDE else np.array([0.0, 0.0, 1.0])
    low, high = around
    bottom = -low[upright] + ROOM - 1.0
    for laid in answer.laid:
        corners = laid.pose.apply(answer.block.corners)
        for face in BOX_FACES:
            a, b, c, _ = corners[face]
            if np.cross(b - a, c - a) @ eye > 0.0:
                marks.append(f'<path class="{_kind(answer)}" d="{_closed(_seen(corners[face], upright))}"/>')
        x, y = _seen(laid.tightest_at[None], upright)[0]
        marks.append(f'<circle class="spot" cx="{_n(x)}" cy="{_n(y)}" r="1.2"/>')
        for point, _ in end_planes(laid, answer):
            marks.append(f'<path class="away" d="M{_n(point[0])} {_n(y)}L{_n(point[0])} {_n(bottom - 4.0)}"/>')
    rows = _labels(answer)
    for along, row, align in rows:
        words, y = figures(along, "setting_out", units, places=1), bottom + 5.0 * row
        marks.append(f'<text x="{_n(along)}" y="{_n(y)}" text-anchor="{align}">{words}</text>')
    wide = high[0] - low[0] + 2.0 * ROOM
    tall = high[upright] - low[upright] + ROOM + 4.0 + 5.0 * max((row for _, row, _ in rows), default=0)
    box = (low[0] - ROOM, -high[upright] - 2.0, wide, tall)
    return Picture(name, caption, _svg(name, caption, box, marks))


def _labels(answer: Answer) -> list[tuple[float, int, str]]:
    """Where the cross cuts are written: place, row, and which side of it the words lie; none over another."""
    spans: list[tuple[float, float, float, str]] = []
    for laid in answer.laid:
        low, high = sorted(float(point[0]) for point, _ in end_planes(laid, answer))
        spans += [(low, low, low + WORD, "start"), (high, high - WORD, high, "end")]
    labels: list[tuple[float, int, str]] = []
    taken: list[tuple[int, float, float]] = []
    for along, left, right, align in sorted(spans):
        if any(abs(along - other) < 0.3 for other, _, _ in labels):
            continue
        row = next(r for r in range(len(spans)) if all(r != s or right <= a or b <= left for s, a, b in taken))
        taken.append((row, left, right))
        labels.append((along, row, align))
    return labels


def _cut_view(piece: Piece, answer: Answer, laid: Laid, plane: Plane, name: str, caption: str, units: Units) -> Picture:
    skin = _outlines(piece.skin, plane)
    block = answer.block
    along = float(laid.pose.apply_inverse(plane.origin[None])[0, 0])
    marks = [f'<path class="skin" d="{_closed(*skin)}"/>']
    if piece.core is not None:
        marks.append(f'<path class="core" d="{_closed(*_outlines(piece.core, plane))}"/>')

    def seen(outline: Array) -> Array:
        return _flipped(plane.to_plane(laid.pose.apply(np.column_stack([np.full(len(outline), along), outline]))))

    sawn = seen(block.section({}))
    marks.append(f'<path class="{_kind(answer)}" d="{_closed(sawn)}"/>')
    if abs(along) <= block.finished[0] / 2.0:
        marks.append(f'<path class="nut" d="{_closed(seen(block.section(block.to_sand)))}"/>')
    everything = np.concatenate([sawn, *skin])
    low, high = everything.min(axis=0), everything.max(axis=0)
    middle = _flipped(plane.to_plane(piece.axis.at(float(plane.origin[0]))[None]))[0]
    above = [point for outline in skin for point in outline if abs(point[0] - middle[0]) < 1.5]
    if above:
        x, tip = float(middle[0]), float(min(point[1] for point in above))
        marks.append(f'<path class="mark" d="M{_n(x)} {_n(tip)}l-1.3 -2.6h2.6Z"/>')
    box = (low[0] - 1.0, low[1] - 4.0, high[0] - low[0] + 2.0, high[1] - low[1] + 5.0)
    words = f"{caption}; margin of this block {quantity(laid.margin, 'spare', units)}"
    return Picture(name, caption, _svg(name, words, box, marks))


def _kind(answer: Answer) -> str:
    return "block" if answer.fits else "short"


def _spans(mesh: Parts) -> Array:
    """Place, least and greatest sideways, least and greatest up, station by station: (k, 5) [mm]."""
    low, high = mesh[0][:, 0].min(), mesh[0][:, 0].max()
    near = 1e-3 * (high - low)
    rows = []
    for along, lines in crossed_at(mesh, np.linspace(low + near, high - near, STATIONS)):
        if len(lines):
            (left, under), (right, over) = lines[:, :, 1:].min(axis=(0, 1)), lines[:, :, 1:].max(axis=(0, 1))
            rows.append([along, left, right, under, over])
    return np.array(rows).reshape(-1, 5)


def _silhouette(spans: Array, upright: int) -> str:
    """Least and greatest at each station, as one closed outline."""
    along, under, over = spans[:, 0], -spans[:, 2 * upright - 1], -spans[:, 2 * upright]
    return _closed(np.concatenate([np.column_stack([along, over]), np.column_stack([along, under])[::-1]]))


def _outlines(surface: Mesh, plane: Plane) -> list[Array]:
    return [_flipped(loop) for loop in section(surface, plane)]


def _seen(points: Array, upright: int) -> Array:
    return np.stack([points[:, 0], -points[:, upright]], axis=1)


def _flipped(points: Array) -> Array:
    return points * np.array([1.0, -1.0])


def _closed(*loops: Array) -> str:
    return "".join("M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in loop) + "Z" for loop in loops)


def _svg(name: str, words: str, box: Sequence[float], marks: Iterable[str]) -> Markup:
    left, top, wide, tall = (_n(float(value)) for value in box)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" id="{name}" role="img" aria-labelledby="{name}-title"'
        f' viewBox="{left} {top} {wide} {tall}" style="--wide:{wide}mm">'
    )
    return Markup("\n".join([head, f'<title id="{name}-title">{escape(words)}</title>', *marks, "</svg>"]))


def _n(value: float) -> str:
    return f"{value + 0.0:.2f}".rstrip("0").rstrip(".") or "0"
