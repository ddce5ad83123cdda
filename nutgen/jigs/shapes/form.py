"""Printed shapes from few words: boxes, prisms, rods, traps; put together, then taken away.

Each is drawn as it lies on the bed: z up, the bed at z = 0.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from nutgen.errors import KernelError
from nutgen.geometry import kernel
from nutgen.geometry.kernel import Edge, SharedEdges, Solid
from nutgen.geometry.lines import Arc, Line, Part, Point, polygon
from nutgen.geometry.pose import Pose
from nutgen.jigs.shapes.fasteners import Screw
from nutgen.theory import Array
from nutgen.theory.crown import Crown

UP = Pose()
ALONG_X = Pose(((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)))
"""Outlines in (y, z), drawn along x."""

ALONG_Y = Pose(((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)))
"""Outlines in (x, z), drawn against y."""

Vector = tuple[float, float, float]


class Form:
    """A printed body as it grows."""

    def __init__(self) -> None:
        self._put: list[Solid] = []
        self._marks: list[Solid] = []
        self._off: list[Solid] = []
        self._after: list[Solid] = []

    def box(self, low: Sequence[float], high: Sequence[float], *, off: bool = False, after: bool = False) -> None:
        """A block from its lowest corner to its highest; or its room, taken away; or put in after all was taken."""
        (x0, y0, z0), (x1, y1, z1) = low, high
        corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
        if after:
            self._after.append(prism(corners, z0, z1))
        else:
            self.prism(corners, z0, z1, off=off)

    def prism(
        self,
        outline: Sequence[Point] | Sequence[Part],
        low: float,
        high: float,
        *,
        frame: Pose = UP,
        lean: float = 0.0,
        off: bool = False,
    ) -> None:
        """A contour, counterclockwise in the plane of a frame, drawn from one height over it to another."""
        (self._off if off else self._put).append(prism(outline, low, high, frame=frame, lean=lean))

    def rod(self, centre: Vector, radius: float, long: float, *, frame: Pose = UP) -> None:
        """A round hole from a place on its axis on, along the third axis of a frame."""
        u, v, low = (frame.axes @ np.array(centre)).tolist()
        left, right = (u - radius, v), (u + radius, v)
        circle = [Arc(right, left, (u, v), 1), Arc(left, right, (u, v), 1)]
        self.prism(circle, low, low + long, frame=frame, off=True)

    def hexagon(self, centre: Vector, flats: float, long: float) -> None:
        """An upright trap for a nut, a flat toward x."""
        (u, v, low), reach = centre, flats / math.sqrt(3.0)
        turns = [math.radians(30.0 + 60.0 * k) for k in range(6)]
        self.prism([(u + reach * math.cos(a), v + reach * math.sin(a)) for a in turns], low, low + long, off=True)

    def marks(self, solids: Sequence[Solid]) -> None:
        """Raised letters, put on last."""
        self._marks += solids

    def solid(self, name: str) -> Solid:
        """The body; raises KernelError where it is not one."""
        with kernel.making(name):
            first, *others = self._put
            made = kernel.fused(first, others) if others else [first]
            if len(made) == 1 and self._off:
                made = kernel.cut(made[0], self._off)
            if len(made) == 1 and self._marks + self._after:
                made = kernel.fused(made[0], self._marks + self._after)
            if len(made) != 1:
                raise KernelError(name, f"it is in {len(made)} pieces")
        return made[0]


def prism(
    outline: Sequence[Point] | Sequence[Part],
    low: float,
    high: float,
    *,
    frame: Pose = UP,
    lean: float = 0.0,
    holes: Sequence[Sequence[Point]] = (),
) -> Solid:
    """A contour, counterclockwise, drawn up from one height to another over the plane of a frame.

    lean : along the frame's first axis, for each mm up
    """
    edges = SharedEdges()
    u, v, w = frame.axes
    way = w + lean * u

    def place(point: Point) -> Array:
        return np.asarray(frame.at + point[0] * u + point[1] * v + low * way)

    def edge(part: Part) -> Edge:
        if isinstance(part, Line):
            return edges.line(place(part.start), place(part.end))
        return edges.arc(
            place(part.start), place(part.end), centre=place(part.centre), axis=part.turning * w, radius=part.radius
        )

    flat = kernel.plane(place((0.0, 0.0)), w)
    loops = [[edge(part) for part in _parts(loop)] for loop in (outline, *holes)]
    return kernel.prism(kernel.face(flat, loops[0], holes=loops[1:]), (high - low) * way)


def _parts(outline: Sequence[Point] | Sequence[Part]) -> Sequence[Part]:
    parts = [part for part in outline if isinstance(part, Line | Arc)]
    if parts:
        return parts
    points = [point for point in outline if isinstance(point, tuple)]
    kept = [b for a, b in pairwise([points[-1], *points]) if math.dist(a, b) > 1e-6]
    return polygon(kept)


def curve(crown: Crown, start: float, stop: float) -> Line | Arc:
    """A crown from one place across to another, as a part of a contour in (x, z)."""
    ends = [(x, float(crown.z(x))) for x in (start, stop)]
    if not crown.curvature:
        return Line(*ends)
    return Arc(ends[0], ends[1], crown.centre, 1 if stop < start else -1)


def under(crown: Crown, left: float, right: float, low: float) -> list[Part]:
    """The contour of what stands between a level and a crown, counterclockwise."""
    over = curve(crown, right, left)
    return [over, Line(over.end, (left, low)), Line((left, low), (right, low)), Line((right, low), over.start)]


def trap(form: Form, screw: Screw, at: Vector, *, play: float, up: float, along: str = "x") -> None:
    """Room for a nut that is dropped in from above: from below its axis up to a height [mm].

    at    : middle of the nut on the screw's axis
    play  : more than the nut itself, in all [mm]
    along : the axis of the screw, "x" or "y"
    """
    x, y, z = at
    thick, flats = (screw.nut_high + play + 0.1) / 2.0, (screw.flats + play) / 2.0
    u, v = (thick, flats) if along == "x" else (flats, thick)
    form.box((x - u, y - v, z - flats * 2.0 / math.sqrt(3.0)), (x + u, y + v, up), off=True)
