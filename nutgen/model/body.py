"""The nut before its slots, put together face by face from its exact sections (`model.section`).

Fillets that a kernel works out for itself fail on short bevels and tilted crowns; here the eased
ends are strips whose every section is an arc, and the eased back edge is turned with the crown.

    front, back, two ends, underside; land, bevel and back edge, each with a strip at either end
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from nutgen.geometry import kernel
from nutgen.geometry.kernel import Edge, Face, SharedEdges, Solid, Surface, making
from nutgen.model.section import ProfilePart, corner, profile
from nutgen.nut.edges import eased_radius
from nutgen.nut.part import Nut
from nutgen.theory import Array

_DEGREES = (7, 11, 15, 19, 23)  # of the easing strips along the nut's thickness: the least that is near enough
_NEAR = 1e-7  # mm
_STRAIGHT = 1e-6  # mm; an arch that rises over less is level


def _nodes(degree: int) -> Array:
    """Chebyshev's, from 0 to 1."""
    found: Array = (1.0 - np.cos(np.pi * np.arange(degree + 1) / degree)) / 2.0
    return found


def _bernstein(degree: int, shares: Array) -> Array:
    """The polynomials of a Bezier curve at shares of the way: (shares, degree + 1)."""
    powers = range(degree + 1)
    return np.array([[math.comb(degree, i) * t**i * (1.0 - t) ** (degree - i) for i in powers] for t in shares])


def _placed(poles: Array) -> Array:
    """Poles without their weights."""
    found: Array = poles[..., :3] / poles[..., 3:]
    return found


def nut_body(nut: Nut, *, freeform: bool = False, front: float = 0.0) -> Solid:
    """The nut without its slots, as one closed solid [mm].

    front    : where it begins; below 0 the section at the front face is carried forward [mm]
    freeform : the top as Bezier patches instead of a cylinder, a cone and a torus, the same to the
               last digit. A wall that is all but parallel to the crown's axis cuts those along an
               arc of an ellipse many metres long, and a rolled floor is a second torus: the kernel
               may lose either.
    raises   : KernelError
    """
    with making("the body of the nut"):
        return _Body(nut, freeform, front).solid()


@dataclass(frozen=True, slots=True)
class _Rim:
    """The edges and strips where the top meets one end, section by section and piece by piece."""

    rounds: list[Edge]
    touches: list[Edge]
    ends: list[Edge]
    strips: list[Surface]


class _Body:
    """The edges that the faces share, and the faces."""

    def __init__(self, nut: Nut, freeform: bool, front: float) -> None:
        self.nut, self.edge_radius, self.freeform, self.front = nut, eased_radius(nut), freeform, front
        land, *others = profile(nut, edge_radius=self.edge_radius)
        self.pieces = (replace(land, start=(front, land.start[1])), *others)
        self.stops = [self.pieces[0].start, *(piece.stop for piece in self.pieces)]
        self.edges = SharedEdges()

    def solid(self) -> Solid:
        """All faces, closed up."""
        rims = {side: self._rim(side) for side in (-1.0, 1.0)}
        tops = [self._top_edge(y, inset) for y, inset in self.stops]
        return kernel.closed_solid([*self._block(rims, tops), *self._top(rims, tops)])

    def _corner(self, y: float, inset: float, side: float) -> list[Array]:
        """touch, knee and end of one section, as points."""
        one = corner(self.nut, y, inset, side=side, edge_radius=self.edge_radius)
        return [np.array([xz[0, 0], y, xz[0, 1]]) for xz in (one.touch, one.knee, one.end)]

    def _top_edge(self, y: float, inset: float) -> Edge:
        """The top of one section, from the bass side of the drawing to the other."""
        start, stop = (self._corner(y, inset, side)[0] for side in (-1.0, 1.0))
        if self.nut.crown.curvature == 0.0:
            return self.edges.line(start, stop)
        xc, zc = self.nut.crown.centre
        radius = self.nut.top_radius - inset
        return self.edges.arc(start, stop, centre=(xc, y, zc), axis=(0.0, 1.0, 0.0), radius=radius)

    def _rim(self, side: float) -> _Rim:
        rim = _Rim([], [], [], [])
        eased = self.edge_radius > 0.0
        for y, inset in self.stops if eased else ():
            weight = corner(self.nut, y, inset, side=side, edge_radius=self.edge_radius).weight[0]
            poles = np.array(self._corner(y, inset, side))
            rim.rounds.append(self.edges.bezier(poles, np.array([1.0, weight, 1.0])))
        for piece in self.pieces:
            poles, weights = self._strip(piece, side)
            rim.ends.append(self._along(poles[2]))
            rim.touches.append(self._along(poles[0]) if eased else rim.ends[-1])
            order = slice(None, None, int(side))
            rim.strips.append(kernel.bezier_surface(poles[order], weights[order]) if eased else None)
        return rim

    def _along(self, poles: Array) -> Edge:
        return self.edges.line(poles[0], poles[1]) if len(poles) == 2 else self.edges.bezier(poles)

    def _strip(self, piece: ProfilePart, side: float) -> tuple[Array, Array]:
        """Poles (3, n, 3) and weights (3, n) of the easing over one piece: across, then along y.

        Across, each row is an arc exactly; along, a polynomial through Chebyshev's nodes, held against the sections
        between them: an end that stands all but upright under a steep bevel asks for a higher degree.
        """
        for degree in _DEGREES:
            nodes, between = _nodes(degree), _nodes(2 * degree)[1::2]
            rows = self._arcs(piece, side, nodes)
            solved = np.array([np.linalg.solve(_bernstein(degree, nodes), row) for row in rows])
            off = _placed(_bernstein(degree, between) @ solved) - _placed(self._arcs(piece, side, between))
            if np.abs(off).max() < _NEAR:
                break
        level_ends = piece.start[1] == piece.stop[1] and self.nut.end(side).lean_deg == 0.0
        if piece.centre is None and (self.nut.crown.curvature == 0.0 or level_ends):
            solved = solved[:, [0, -1]]
        return _placed(solved), solved[..., 3]

    def _arcs(self, piece: ProfilePart, side: float, shares: Array) -> Array:
        """Of the sections at shares of a piece, touch, knee and end as poles with weights: (3, shares, 4)."""
        y, inset = piece.at(shares)
        one = corner(self.nut, y, inset, side=side, edge_radius=self.edge_radius)
        level = np.ones_like(y)
        rows = (one.touch, level), (one.knee, one.weight), (one.end, level)
        return np.array([np.stack([xz[:, 0], y, xz[:, 1], level], axis=1) * weight[:, None] for xz, weight in rows])

    def _block(self, rims: dict[float, _Rim], tops: list[Edge]) -> Iterator[Face]:
        """Front, back, ends and underside."""
        nut, t = self.nut, self.nut.thickness
        under = [self._on_seat(self._foot(-1.0, y), self._foot(1.0, y)) for y in (self.front, t)]
        foot = {side: self._on_seat(self._foot(side, self.front), self._foot(side, t)) for side in rims}
        upright = {side: [self._upright(side, stop) for stop in (self.stops[0], self.stops[-1])] for side in rims}
        for at, y in ((0, self.front), (-1, t)):
            left, right = ([*rims[side].rounds[at:][:1], upright[side][at]] for side in (-1.0, 1.0))
            wall = kernel.plane((0.0, y, 0.0), (0.0, 1.0 if at else -1.0, 0.0))
            yield kernel.face(wall, [under[at], *right[::-1], tops[at], *left], clockwise=at != 0)
        for side, rim in rims.items():
            lean = math.radians(nut.end(side).lean_deg)
            wall = kernel.plane((nut.end_x(side), 0.0, 0.0), (side * math.cos(lean), -side * math.sin(lean), 0.0))
            front, back = upright[side]
            yield kernel.face(wall, [foot[side], front, *rim.ends, back], clockwise=side < 0.0)
        loop = [under[0], foot[1.0], under[1], foot[-1.0]]
        if nut.underside.curvature == 0.0:
            yield kernel.face(kernel.plane((0.0, 0.0, nut.lowest_z), (0.0, 0.0, -1.0)), loop, clockwise=True)
        else:
            yield kernel.face(self._seat(), loop, inside_out=True)

    def _upright(self, side: float, stop: tuple[float, float]) -> Edge:
        return self.edges.line(self._foot(side, stop[0]), self._corner(*stop, side)[2])

    def _foot(self, side: float, y: float) -> Array:
        """Where an end stands on the seat, over a plane y."""
        x = self.nut.end_x(side, y)
        return np.array([x, y, float(self.nut.underside.z(x, y))])

    def _on_seat(self, start: Array, stop: Array) -> Edge:
        """From one place on the seat to another, in an upright plane: straight, or an arc of an ellipse."""
        under, (first, last) = self.nut.underside, (self.nut.underside.across(*p[:2]) for p in (start, stop))
        if under.curvature == 0.0 or abs(last - first) < _STRAIGHT:
            return self.edges.line(start, stop)
        radius = 1.0 / under.curvature
        if under.axis_deg == 0.0 and start[1] == stop[1]:
            centre = (0.0, start[1], under.z0 - radius)
            return self.edges.arc(start, stop, centre=centre, axis=(0.0, 1.0, 0.0), radius=radius)
        angles = np.arcsin(np.array([first, last]) / radius)  # an ellipse is a circle, drawn out
        middle, weight = angles.mean(), math.cos((angles[1] - angles[0]) / 2.0)
        share = (radius * math.sin(middle) / weight - first) / (last - first)
        knee = start + share * (stop - start)
        knee[2] = under.z0 - radius + radius * math.cos(middle) / weight
        return self.edges.bezier(np.array([start, knee, stop]), np.array([1.0, weight, 1.0]))

    def _seat(self) -> Surface:
        radius, turn = 1.0 / self.nut.underside.curvature, math.radians(self.nut.underside.axis_deg)
        centre = (0.0, 0.0, self.nut.underside.z0 - radius)
        return kernel.cylinder(centre, axis=(math.sin(turn), math.cos(turn), 0.0), seam=(0.0, 0.0, -1.0), radius=radius)

    def _top(self, rims: dict[float, _Rim], tops: list[Edge]) -> Iterator[Face]:
        """Land, bevel and back edge, with the eased strips at both ends of each."""
        for i, piece in enumerate(self.pieces):
            surface = self._curved(piece) if self.nut.crown.curvature else self._flat(piece)
            yield kernel.face(surface, [tops[i], rims[1.0].touches[i], tops[i + 1], rims[-1.0].touches[i]])
            for side, rim in rims.items():
                if self.edge_radius > 0.0:
                    loop = [rim.rounds[i], rim.touches[i], rim.rounds[i + 1], rim.ends[i]]
                    yield kernel.face(rim.strips[i], loop, clockwise=side < 0.0)

    def _curved(self, piece: ProfilePart) -> Surface:
        """The piece turned about the crown's axis."""
        xc, zc = self.nut.crown.centre
        axis, seam, radius = (0.0, 1.0, 0.0), (0.0, 0.0, -1.0), self.nut.top_radius
        (y0, f0), (y1, f1) = piece.start, piece.stop
        if self.freeform:
            return self._patch(piece)
        if piece.centre is not None:
            yc, fc = piece.centre
            return kernel.torus((xc, yc, zc), axis=axis, seam=seam, major=radius - fc, minor=piece.radius)
        if f0 == f1:
            return kernel.cylinder((xc, y0, zc), axis=axis, seam=seam, radius=radius)
        fall = -math.atan2(f1 - f0, y1 - y0)
        return kernel.cone((xc, y0, zc), axis=axis, seam=seam, half_angle=fall, radius=radius - f0)

    def _patch(self, piece: ProfilePart) -> Surface:
        """The piece turned about the crown's axis, as a rational Bezier patch a little wider than the nut."""
        xc, zc = self.nut.crown.centre
        touches = [self._corner(y, inset, side)[0] for y, inset in (piece.start, piece.stop) for side in (-1.0, 1.0)]
        angles = [math.atan2(x - xc, z - zc) for x, _, z in touches]
        middle, half = (max(angles) + min(angles)) / 2.0, 0.51 * (max(angles) - min(angles))
        across = ((-half, 1.0), (0.0, math.cos(half)), (half, 1.0))
        along = piece.poles
        poles, weights = np.empty((3, len(along), 3)), np.empty((3, len(along)))
        for i, (angle, outer) in enumerate(across):
            for j, (y, inset, inner) in enumerate(along):
                radius = (self.nut.top_radius - inset) / outer
                poles[i, j] = xc + radius * math.sin(middle + angle), y, zc + radius * math.cos(middle + angle)
                weights[i, j] = outer * inner
        return kernel.bezier_surface(poles, weights)

    def _flat(self, piece: ProfilePart) -> Surface:
        """The piece drawn along a crown that is a straight line."""
        slope = math.radians(self.nut.crown.slope_deg)
        along = np.array([math.cos(slope), 0.0, math.sin(slope)])
        up = np.array([-along[2], 0.0, along[0]])
        crown = np.array([0.0, 0.0, self.nut.crown.z0])
        (y0, f0), (y1, f1) = piece.start, piece.stop
        if piece.centre is not None:
            yc, fc = piece.centre
            centre = crown - fc * up + np.array([0.0, yc, 0.0])
            return kernel.cylinder(centre, axis=along, seam=-up, radius=piece.radius)
        normal = (y1 - y0) * up + np.array([0.0, f1 - f0, 0.0])
        return kernel.plane(crown - f0 * up + np.array([0.0, y0, 0.0]), normal)
