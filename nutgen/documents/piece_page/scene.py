"""A piece with the blocks laid in it, for the page's view: skin and core seen through, blocks and marks solid.

Parts that are seen through come last, the inner one before the outer.
"""

from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Any

import numpy as np

from nutgen.documents.piece_page.thinned import shaded, thinned
from nutgen.documents.sheet.mesh import packed
from nutgen.geometry.mesh import Mesh
from nutgen.stock.laid import Answer, Laid
from nutgen.stock.piece import Piece
from nutgen.theory import Array, Ints

Parts = tuple[Array, Ints]

SKIN_TRIANGLES, CORE_TRIANGLES = 22_000, 8_000
"""Triangles shown of each: the page stays light, the outline round."""

THICK = 0.4
"""Half the width of a mark on the skin [mm]."""

LOOKS: dict[str, dict[str, Any]] = {
    "block": {"dark": [0.02, 0.22, 0.26], "light": [0.25, 0.72, 0.74], "line": [0.0, 0.13, 0.16, 1.0], "cover": 1},
    "short": {"dark": [0.32, 0.05, 0.03], "light": [0.93, 0.42, 0.32], "line": [0.2, 0.02, 0.0, 1.0], "cover": 1},
    "mark": {"dark": [0.13, 0.12, 0.11], "light": [0.19, 0.175, 0.16], "line": [0.0, 0.0, 0.0, 0.0], "cover": 1},
    "spot": {
        "dark": [0.70, 0.30, 0.0],
        "light": [1.0, 0.66, 0.10],
        "line": [0.0, 0.0, 0.0, 0.0],
        "cover": 1,
        "before": 1,
    },
    "core": {"dark": [0.36, 0.13, 0.10], "light": [0.76, 0.40, 0.33], "line": [0.36, 0.13, 0.1, 0.5], "cover": 0.26},
    "skin": {"dark": [0.47, 0.38, 0.26], "light": [0.98, 0.93, 0.82], "line": [0.3, 0.23, 0.15, 0.8], "cover": 0.22},
}
"""Red, green, blue in its own shade and in full light, its edges, how much it covers seen square on; `before` hides
behind nothing."""

_CORNERS = np.array([[x, y, z] for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (-0.5, 0.5)])
BOX_FACES: Ints = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
"""The six faces over the corners of a block as `Block` has them, each seen from outside."""

BOX_TRIANGLES: Ints = np.concatenate([BOX_FACES[:, [0, 1, 2]], BOX_FACES[:, [0, 2, 3]]])
"""The same as triangles."""


def scene(piece: Piece, answer: Answer) -> dict[str, Any]:
    """Everything the view shows, in words of JSON: the piece's frame, mm."""
    skin, core = thinned_skin(piece), thinned_core(piece)
    blocks = [(laid.pose.apply(answer.block.corners), BOX_TRIANGLES) for laid in answer.laid]
    marks = [
        *_arrow(back_line(piece, skin)),
        *(
            _tubes(crossed(*skin, point, normal), normal)
            for laid in answer.laid
            for point, normal in end_planes(laid, answer)
        ),
    ]
    spots = [_ball(laid.tightest_at, 1.1) for laid in answer.laid]
    parts = [
        _part("block", _joined(blocks), "block" if answer.fits else "short"),
        _part("marks", _joined(marks), "mark"),
        _part("tightest", _joined(spots), "spot"),
    ]
    if core is not None:
        parts.append(_part("core", core, "core"))
    return {"parts": [*parts, _part("skin", skin, "skin")]}


@lru_cache(maxsize=1)  # the view and the flat pictures show the same
def thinned_skin(piece: Piece) -> Parts:
    """The skin, light enough for a page."""
    return thinned(piece.skin.vertices, piece.skin.triangles, most=SKIN_TRIANGLES)


@lru_cache(maxsize=1)
def thinned_core(piece: Piece) -> Parts | None:
    """The core likewise; None where there is none."""
    core = piece.core
    return thinned(core.vertices, core.triangles, most=CORE_TRIANGLES) if core is not None else None


def blocks_surface(answer: Answer) -> Mesh:
    """All blocks of an answer, in the piece's frame."""
    return Mesh(*_joined((laid.pose.apply(answer.block.corners), BOX_TRIANGLES) for laid in answer.laid))


def end_planes(laid: Laid, answer: Answer) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """The planes of the two cross cuts, at the block's own ends: a point and the normal of each."""
    long = laid.pose.axes[0]
    half = answer.block.length / 2.0 * long
    return (laid.pose.at - half, long), (laid.pose.at + half, long)


def crossed(vertices: Array, triangles: Ints, point: Array, normal: Array) -> Array:
    """Where a plane crosses a surface: a line in each triangle that it meets, (k, 2, 3) [mm].

    A corner on the plane counts as below it.
    """
    above = (vertices - point) @ normal
    over = (above > 0.0)[triangles]
    met = over.any(axis=1) & ~over.all(axis=1)
    corners, height, over = vertices[triangles[met]], above[triangles[met]], over[met]
    rows = np.arange(len(corners))
    # the corner that lies alone on its side comes first
    alone = np.where(over.sum(axis=1) == 1, over.argmax(axis=1), (~over).argmax(axis=1))
    a, high = corners[rows, alone], height[rows, alone]
    ends = []
    for k in (1, 2):
        other = (alone + k) % 3
        ends.append(a + (high / (high - height[rows, other]))[:, None] * (corners[rows, other] - a))
    return np.stack(ends, axis=1)


def crossed_at(mesh: Parts, places: Array) -> Iterator[tuple[float, Array]]:
    """Places along the piece, and where the planes square to the straightedge there cross a surface [mm]."""
    for along in places.tolist():
        yield along, crossed(*mesh, np.array([along, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]))


def back_line(piece: Piece, skin: Parts) -> Array:
    """The line along the piece's back, above its axis: (k, 3) from the first end on [mm]."""
    found = []
    for along, lines in crossed_at(skin, np.linspace(0.0, piece.length, 61)[1:-1]):
        _, middle, level = piece.axis.at(along)
        left = lines[:, :, 1] - middle
        meets = (left[:, 0] > 0.0) != (left[:, 1] > 0.0)
        meets &= lines[:, :, 2].max(axis=1) > level  # a skin thinned out for the eye may have a chink in its back
        if meets.any():
            one, other = lines[meets, 0, 2], lines[meets, 1, 2]
            share = left[meets, 0] / (left[meets, 0] - left[meets, 1])
            found.append([along, float(middle), float((one + share * (other - one)).max())])
    return np.array(found).reshape(-1, 3)


def _part(name: str, mesh: Parts, look: str) -> dict[str, Any]:
    return {"name": name, **packed(*shaded(*mesh)), **LOOKS[look]}


def _joined(meshes: Iterable[Parts]) -> Parts:
    meshes = [mesh for mesh in meshes if len(mesh[1])]
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    return (
        np.concatenate([vertices for vertices, _ in meshes]),
        np.concatenate([triangles + start for (_, triangles), start in zip(meshes, starts, strict=False)]),
    )


def _arrow(points: Array) -> list[Parts]:
    """A line with a head at its last end; nothing where there is no line."""
    if len(points) < 2:
        return []
    up = np.array([0.0, 0.0, 1.0])
    return [_tubes(np.stack([points[:-1], points[1:]], axis=1), up), _head(points[-2], points[-1])]


def _head(before: Array, tip: Array) -> Parts:
    long = (tip - before) / np.linalg.norm(tip - before)
    left = np.array([0.0, 1.0, 0.0])
    up = np.cross(long, left)
    base = [tip + left * x + up * y for x, y in ((-2.0, 0.0), (0.0, -2.0), (2.0, 0.0), (0.0, 2.0))]
    triangles = [[4, 0, 3], [4, 1, 0], [4, 2, 1], [4, 3, 2], [0, 1, 2], [0, 2, 3]]
    return np.array([*base, tip + 6.0 * long]), np.array(triangles, np.int64)


def _tubes(lines: Array, up: Array) -> Parts:
    """Bars along lines, (k, 2, 3), standing in one direction, and a little longer than each so that they join."""
    long = lines[:, 1] - lines[:, 0]
    length = np.linalg.norm(long, axis=1)
    lines, long, length = lines[length > 1e-6], long[length > 1e-6], length[length > 1e-6]
    long = long / length[:, None]
    aside = np.cross(up, long)
    aside /= np.maximum(np.linalg.norm(aside, axis=1, keepdims=True), 1e-9)
    axes = np.stack([long, aside, np.cross(long, aside)], axis=1)
    sizes = np.stack([length + THICK, np.full_like(length, 2.0 * THICK), np.full_like(length, 2.0 * THICK)], axis=1)
    corners = lines.mean(axis=1)[:, None] + np.einsum("kc,nc,ncj->nkj", _CORNERS, sizes, axes)
    triangles = BOX_TRIANGLES[None] + 8 * np.arange(len(lines))[:, None, None]
    return corners.reshape(-1, 3), triangles.reshape(-1, 3)


def _ball(middle: Array, radius: float) -> Parts:
    """A small round mark."""
    from trimesh.creation import icosphere

    ball = icosphere(subdivisions=1, radius=radius)
    return middle + ball.vertices, np.asarray(ball.faces, np.int64)
