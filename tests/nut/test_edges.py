"""How far edges can be eased: the conditions themselves, tried a hair below and a hair above the answer."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from nutgen.nut.edges import largest_edge_radius
from nutgen.nut.part import Nut
from nutgen.nut.seat import Underside
from nutgen.theory.crown import Crown
from tests.model.nuts import nut

LEAST = 0.2  # mm that must stand at the back, and under the arc at each end


def stands(made: Nut, eased: float) -> bool:
    """Whether the back face, the top drawn in by this, and the foot of each end's arc are high enough."""
    fall = (made.thickness - made.land) * math.tan(math.radians(made.bevel_deg))

    def top(x: np.ndarray, inward: float) -> np.ndarray:
        if made.crown.curvature == 0.0:
            slope = math.tan(math.radians(made.crown.slope_deg))
            return made.crown.z0 + slope * x - inward * math.hypot(1.0, slope)
        xc, zc = made.crown.centre
        left = (1.0 / made.crown.curvature - inward) ** 2 - (x - xc) ** 2
        return zc + np.sqrt(np.where(left >= 0.0, left, np.nan))

    ends = np.array([-20.0, 20.0])
    feet = top(ends - np.sign(ends) * eased, fall + 2.0 * eased)
    x = np.linspace(*ends, 41)
    back = top(x, fall + eased) - made.underside.z(x, made.thickness)
    return bool(eased <= made.thickness / 2.0 and min(*back, *(feet - made.lowest_z)) >= LEAST)


@given(
    st.one_of(st.just(math.inf), st.floats(60.0, 600.0)),
    st.floats(-8.0, 8.0),
    st.floats(-1.5, 4.0),
    st.floats(2.0, 12.0),
    st.floats(0.0, 25.0),
    st.sampled_from([0.0, 1.0 / 60.0, 1.0 / 184.0]),
)
def test_edges_are_eased_until_something_would_not_stand(radius, slope, top, thickness, bevel, arch) -> None:
    made = nut(
        crown=Crown(top, slope, 1.0 / radius), underside=Underside(-3.0, arch), thickness=thickness, bevel_deg=bevel
    )
    eased = largest_edge_radius(made)
    assert not stands(made, eased + 1e-6)
    assert eased == 0.0 or stands(made, max(eased - 1e-6, 0.0))
