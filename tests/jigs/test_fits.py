"""What the printer takes off every side is put on gauges and seat block, as read from their meshes."""

from typing import Any

import numpy as np
import pytest

from nutgen.geometry.mesh import manifold_of
from nutgen.jigs.choose import MAKERS
from nutgen.jigs.jig import JigName
from nutgen.jigs.lay import laid
from tests.jigs.jigs_of import task_of

PER_SIDE = 0.12


def sections(name: JigName, per_side: float) -> dict[str, Any]:
    """A section of every part through its middle, in the plane of its layers, over the nut."""
    task = task_of("electric-6", {"print": {"per_side": per_side}})
    found = {}
    for part in MAKERS[name](task).parts:
        one = laid(part, task.printer)
        body = manifold_of(one.mesh)
        low = part.used.apply_inverse(one.used.vertices)[0] - one.mesh.vertices[0]
        found[part.name] = body.slice(float(np.ptp(one.mesh.vertices[:, 2])) / 3.0).translate(tuple(low[:2]))
    return found


@pytest.mark.slow
def test_gauges() -> None:
    from manifold3d import JoinType

    drawn, wanted = sections("gauges", PER_SIDE), sections("gauges", 0.0)
    assert len(drawn) == 4
    for name, body in drawn.items():
        shrunk = body.offset(-PER_SIDE, JoinType.Miter, 20.0)
        missed = (shrunk - wanted[name]).area() + (wanted[name] - shrunk).area()
        assert missed < 0.002 * wanted[name].area(), name
        assert body.area() > wanted[name].area() + 5.0


@pytest.mark.slow
def test_seat() -> None:
    from manifold3d import CrossSection, JoinType

    (drawn,), (wanted,) = (sections("seat", by).values() for by in (PER_SIDE, 0.0))
    (_, z0, y1, _) = wanted.bounds()
    window = CrossSection.square((y1 + 4.0, 40.0)).translate((-5.0, z0 + 1.0))
    shrunk = drawn.offset(-PER_SIDE, JoinType.Miter, 20.0)
    missed = ((shrunk - wanted) ^ window).area() + ((wanted - shrunk) ^ window).area()
    assert missed < 0.02
    assert ((drawn - wanted) ^ window).area() > 0.5
