"""Which ends of a skin are saw cuts: bars whose ends lean by what is known."""

import numpy as np
import pytest
import trimesh

from nutgen.finding import warning
from nutgen.geometry.mesh import Mesh
from nutgen.stock.scan.wall import caps_of


@pytest.mark.parametrize("lean_deg", [0.0, 30.0, 39.0, 41.0, 55.0])
def test_an_end_that_leans_by_more_than_40_is_no_saw_cut(lean_deg: float) -> None:
    bar = trimesh.creation.box((100.0, 12.0, 12.0)).apply_translation((50.0, 0.0, 0.0))
    x, y, z = bar.vertices.T
    lean = np.tan(np.radians(lean_deg)) * z
    skin = Mesh(np.column_stack([x + np.where(x > 50.0, lean, -lean), y, z]), bar.faces)
    found, notes = caps_of(skin, length=100.0, ends=("cut", "cut"))
    if lean_deg > 40.0:
        assert (found, notes) == ([], tuple(warning("scan.end-not-flat", end=end) for end in ("first", "last")))
        return
    assert notes == ()
    c, s = np.cos(np.radians(lean_deg)), np.sin(np.radians(lean_deg))
    for cap, side, at in zip(found, (-1.0, 1.0), (0.0, 100.0), strict=True):
        np.testing.assert_allclose(cap.normal, [side * c, 0.0, -s], atol=1e-9)
        # the middle of the bar is as deep as the plane is far from it
        assert cap.depth(np.array([[50.0, 0.0, 0.0]])) == pytest.approx(abs(at - 50.0) * c)
    assert caps_of(skin, length=100.0, ends=("closed", "closed")) == ([], ())
