"""The room that a block has in a bar of known size, and the surface itself as the last word."""

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from nutgen.geometry.distance import distances_of, lattice
from nutgen.geometry.mesh import Mesh
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block
from nutgen.stock.laid import Tight
from nutgen.stock.lay.exact import proven, tightest
from nutgen.stock.lay.field import PieceField, Wall
from tests.stock.solids import block

BAR = (80.0, 20.0, 16.0)
WHAT = block(45.0, 7.0, 9.0)


def field_of(solid: trimesh.Trimesh) -> PieceField:
    """What is laid in a bar of which there is nothing but its skin."""
    skin = distances_of(Mesh(np.array(solid.vertices), np.array(solid.faces)))
    low, high = solid.bounds[0] - 3.0, solid.bounds[1] + 3.0
    return cast(
        PieceField, SimpleNamespace(walls={"skin": Wall.of(skin, lattice(skin, low, high, nodes=20_000), -1.0)})
    )


WHOLE = field_of(trimesh.creation.box(BAR))


def alone(keep: float) -> Block:
    """The block, as one box that must keep so far from the skin."""
    return replace(WHAT, regions=(replace(WHAT.regions[0], keep=keep),))


@given(st.floats(-9.0, 9.0), st.floats(-6.0, 6.0), st.floats(0.0, 1.0))
def test_room_in_a_bar_is_what_its_sizes_leave(y: float, z: float, keep: float) -> None:
    """Deep in it or out of it on the side where least is left."""
    pose = Pose.of([0.0, y, z], np.eye(3))
    left = min((BAR[1] - WHAT.thickness) / 2.0 - abs(y), (BAR[2] - WHAT.height) / 2.0 - abs(z))
    (found,) = proven(WHOLE, tightest(WHOLE, alone(keep), pose), pose)
    if left >= 0.0:
        assert found.room == pytest.approx(left - keep, abs=1e-6)
    else:
        assert found.room < -keep


@pytest.mark.parametrize("out", [0.05, 0.5, 2.0])
def test_what_was_overlooked_is_cut_out_and_told_by_how_deep_it_lies(out: float) -> None:
    """A place of which it was told that there is room, while the block stands out of the bar by so much."""
    (region,) = alone(0.2).regions
    pose = Pose.of([0.0, (BAR[1] - WHAT.thickness) / 2.0 + out, 0.0], np.eye(3))
    (found,) = proven(WHOLE, [Tight(region, 1.0, np.zeros(3))], pose)
    assert found.room == pytest.approx(-out - 0.2, abs=1e-6)


def test_a_crack_through_the_block_between_all_that_was_measured() -> None:
    """A slit of 0.02 mm in the bar: points half a millimetre apart lie beside it, none in it."""
    slit = trimesh.creation.box((0.02, 14.0, 30.0))
    slit.apply_translation((0.27, -4.0, 0.0))
    cracked = trimesh.boolean.difference([trimesh.creation.box(BAR), slit], engine="manifold")
    field, pose = field_of(cracked), Pose.of([0.0, 0.0, 0.0], np.eye(3))
    (seen,) = tightest(field, WHAT, pose)
    (found,) = proven(field, [seen], pose)
    assert found.room <= 0.0 < 0.2 < seen.room
