"""Random pieces, through the door, against a plain long search and trimesh's own distances."""

from dataclasses import replace

import numpy as np
import pytest

from nutgen.geometry.mesh import Mesh
from nutgen.nut import solve
from nutgen.spec.presets import kind_names, kind_path
from nutgen.spec.read import parse_piece, read_spec
from nutgen.stock.block import Block
from nutgen.stock.calipers import piece_from_calipers
from nutgen.stock.lay.lay import lay
from nutgen.stock.piece import Axis, Piece
from nutgen.stock.sizing import block_of
from tests.cases import cases
from tests.specs import EXAMPLES
from tests.stock.brute import Search, as_laid
from tests.stock.solids import margin_by_trimesh

PIECES = max(17, EXAMPLES // 16)

CLIMBS = max(3, EXAMPLES // 100)
"""Of the plain search: three in the suite, more where NUTGEN_EXAMPLES asks for a longer hunt."""


def random_text(seed: int) -> str:
    """A piece file: three to six stations of a tapering, bowed, twisted piece, with a core in two of three."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(3, 7))
    length = rng.uniform(62.0, 140.0)
    at = np.concatenate([[0.0], np.sort(rng.uniform(0.1, 0.9, count - 2)), [1.0]]) * length
    at += np.arange(count) * 4.0  # no two too close
    length = at[-1]
    wide = rng.uniform(15.0, 34.0) * (1.0 - rng.uniform(0.0, 0.25) * at / length + rng.normal(0.0, 0.02, count))
    high = wide * rng.uniform(0.8, 1.25)
    bow = rng.uniform(-6.0, 6.0, 2)
    shape = 4.0 * (at / length) * (1.0 - at / length)
    turn = rng.uniform(-12.0, 12.0) * at / length
    wall = rng.uniform(4.0, 9.0)
    core = rng.random() < 0.67 and min(wide.min(), high.min()) / 2.0 > wall + 1.5
    core_in = rng.choice(["[]", '["underside"]', '["underside", "back"]'])
    lines = [
        'title = "A random piece"',
        'material = "bone"',
        "[permit]",
        f"core_in = {core_in}",
        f"compact = {rng.uniform(0.3, 1.2):.2f}",
        f"grain_deg = {rng.uniform(2.0, 12.0):.1f}",
    ]
    for i in range(count):
        lines += [
            "[[stations]]",
            f"at = {at[i]:.2f}",
            f"width = {wide[i]:.2f}",
            f"height = {high[i]:.2f}",
            f"sideways = {bow[0] * shape[i]:.2f}",
            f"up = {bow[1] * shape[i]:.2f}",
            f"turn_deg = {turn[i]:.2f}",
        ]
        if core:
            left, right, back, belly = wall + rng.uniform(-0.8, 0.8, 4)
            lines.append(f"wall = {{ left = {left:.2f}, right = {right:.2f}, back = {back:.2f}, belly = {belly:.2f} }}")
    return "\n".join(lines)


def random_case(seed: int) -> tuple[Piece, Block]:
    spec = parse_piece(random_text(seed), source=f"piece {seed}")
    piece = piece_from_calipers(spec)
    names = kind_names()
    nut = solve(read_spec(kind_path(names[seed % len(names)])))
    return piece, block_of(nut, piece.material, piece.permitted)


@pytest.mark.parametrize("seed", cases(16, slow=[seed for seed in range(PIECES) if seed != 16]))
def test_as_good_as_a_long_plain_search(seed):
    """Not a tenth worse than what the plain search finds, and never told larger than it is."""
    piece, block = random_case(seed)
    found = lay(piece, block)
    plain, pose = Search(piece, block).run(seed=seed, tries=100 * CLIMBS, climbs=CLIMBS)
    if plain > found.margin + 0.05:  # the plain search measures over strewn points: measure its place well
        plain = margin_by_trimesh(as_laid(pose), block, piece)
    assert found.margin >= plain - 0.1, random_text(seed)
    assert found.margin <= margin_by_trimesh(found.laid[0], block, piece) + 0.05, random_text(seed)


def turned(piece: Piece, angle: float, *, end_for_end: bool) -> Piece:
    """The same piece rolled about its straightedge line, or seen from the other end."""
    c, s = np.cos(angle), np.sin(angle)
    move = np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])
    shift = np.zeros(3)
    if end_for_end:
        move = np.diag([-1.0, -1.0, 1.0]) @ move
        shift[0] = piece.length
    line = np.column_stack([piece.axis.along, piece.axis.sideways, piece.axis.up]) @ move.T + shift
    line = line[::-1] if end_for_end else line

    def moved(surface: Mesh) -> Mesh:
        return Mesh(surface.vertices @ move.T + shift, surface.triangles)

    core = None if piece.core is None else moved(piece.core)
    return replace(piece, skin=moved(piece.skin), core=core, axis=Axis(*line.T))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 106))
def test_a_turned_piece_yields_the_same(seed):
    """Where the frame of a piece lies is no part of the answer."""
    piece, block = random_case(seed)
    other = turned(piece, 0.7 + seed, end_for_end=seed % 2 == 0)
    assert lay(other, block).margin == pytest.approx(lay(piece, block).margin, abs=0.05), random_text(seed)
