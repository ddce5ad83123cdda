"""The nut from above, against the mesh of its solid: two ways to the same surface."""

import numpy as np
import pytest

from nutgen.model.mesh import mesh_of
from nutgen.model.mill.relief import height_above
from nutgen.model.solid import nut_solid
from nutgen.nut import solve
from nutgen.spec.read import read_spec
from tests.specs import PRESETS

STEEP = 0.3  # a facet leaning more than this is a wall: nothing to a height


@pytest.mark.parametrize("path", [path for path in PRESETS if path.stem in ("bass-4-fifths", "electric-7", "banjo-5")])
def test_height_is_that_of_the_solid(path) -> None:
    nut = solve(read_spec(path)).rough()
    mesh = mesh_of(nut_solid(nut))
    a, b, c = mesh.vertices[mesh.triangles].transpose(1, 0, 2)
    doubled = np.cross(b - a, c - a)
    size = np.linalg.norm(doubled, axis=1)
    up = doubled[:, 2] / np.maximum(size, 1e-12)
    middle = (a + b + c) / 3.0
    upper = up > STEEP
    off = (height_above(nut, middle[upper, 0], middle[upper, 1]) - middle[upper, 2]) * up[upper]
    mean = float(np.average(np.abs(off), weights=size[upper]))
    assert mean < 0.005  # mm: the mesh's chords
    assert np.percentile(np.abs(off), 95) < 0.01


def test_beside_the_nut_lies_the_floor_it_stands_on() -> None:
    nut = solve(read_spec(PRESETS[0]))
    assert height_above(nut, nut.right.x + 0.1, 1.0) == nut.lowest_z
    assert height_above(nut, 0.0, -0.1) == nut.lowest_z
