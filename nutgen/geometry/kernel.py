"""The few words of the CAD kernel that this project speaks. `exchange` adds STEP; no other module loads it.

Shapes are cadquery's; where cadquery has no word for something (faces on a given surface,
meshes with face numbers) the kernel's own is used here and nowhere else.
Points are (x, y, z) in mm.
"""

import contextlib
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Any

import cadquery as cq
import numpy as np
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.BRepLib import BRepLib_ToolTriangulatedShape
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism, BRepPrimAPI_MakeRevol
from OCP.BRepTools import BRepTools
from OCP.Geom import (
    Geom_BezierCurve,
    Geom_BezierSurface,
    Geom_ConicalSurface,
    Geom_CylindricalSurface,
    Geom_Plane,
    Geom_ToroidalSurface,
)
from OCP.gp import gp_Ax1, gp_Ax2, gp_Ax3, gp_Circ, gp_Dir, gp_Pnt, gp_Vec
from OCP.IMeshTools import IMeshTools_Parameters
from OCP.ShapeFix import ShapeFix_Edge
from OCP.TColgp import TColgp_Array1OfPnt, TColgp_Array2OfPnt
from OCP.TColStd import TColStd_Array1OfReal, TColStd_Array2OfReal
from OCP.TopAbs import TopAbs_Orientation, TopAbs_State
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shell, TopoDS_Solid
from OCP.TopTools import TopTools_ListOfShape

from nutgen.errors import KernelError
from nutgen.theory import Array, Ints

Point = Sequence[float] | Array
Curve = Any
Edge = Any
Face = Any
Surface = Any
Solid = Any  # a cadquery.Solid


@contextlib.contextmanager
def making(what: str) -> Iterator[None]:
    """Turn whatever the kernel throws into a KernelError that says what was being made."""
    try:
        yield
    except KernelError:
        raise
    except Exception as error:
        reason = str(error).strip().splitlines() or [type(error).__name__]
        raise KernelError(what, reason[0]) from error


def _pnt(p: Point) -> Any:
    return gp_Pnt(float(p[0]), float(p[1]), float(p[2]))


def _dir(p: Point) -> Any:
    return gp_Dir(float(p[0]), float(p[1]), float(p[2]))


class SharedEdges:
    """Makes edges that share their end points, so that faces on them close without sewing."""

    def __init__(self) -> None:
        self._vertices: list[tuple[tuple[float, float, float], Any]] = []

    def _vertex(self, p: Point) -> Any:
        x, y, z = (float(c) for c in p)
        for (u, v, w), vertex in self._vertices:
            if abs(x - u) + abs(y - v) + abs(z - w) < 1e-6:
                return vertex
        self._vertices.append(((x, y, z), BRepBuilderAPI_MakeVertex(gp_Pnt(x, y, z)).Vertex()))
        return self._vertices[-1][1]

    def line(self, start: Point, stop: Point) -> Edge:
        """A straight edge."""
        return BRepBuilderAPI_MakeEdge(self._vertex(start), self._vertex(stop)).Edge()

    def arc(self, start: Point, stop: Point, *, centre: Point, axis: Point, radius: float) -> Edge:
        """A circular edge of half a turn at most, right-handed about its axis from start to stop."""
        seam = np.cross(axis, np.asarray(stop, float) - np.asarray(start, float))
        circle = gp_Circ(gp_Ax2(_pnt(centre), _dir(axis), _dir(seam)), radius)
        return BRepBuilderAPI_MakeEdge(circle, self._vertex(start), self._vertex(stop)).Edge()

    def bezier(self, poles: Array, weights: Array | None = None) -> Edge:
        """A Bezier edge; poles shape (n, 3), weights shape (n,)."""
        points = TColgp_Array1OfPnt(1, len(poles))
        for i, pole in enumerate(poles):
            points.SetValue(i + 1, _pnt(pole))
        if weights is None:
            curve = Geom_BezierCurve(points)
        else:
            reals = TColStd_Array1OfReal(1, len(poles))
            for i, weight in enumerate(weights):
                reals.SetValue(i + 1, float(weight))
            curve = Geom_BezierCurve(points, reals)
        return BRepBuilderAPI_MakeEdge(curve, self._vertex(poles[0]), self._vertex(poles[-1])).Edge()


def plane(point: Point, normal: Point) -> Surface:
    """A plane."""
    return Geom_Plane(_pnt(point), _dir(normal))


def cylinder(centre: Point, *, axis: Point, seam: Point, radius: float) -> Surface:
    """A cylinder; its seam lies toward `seam` from the axis, where no face should be."""
    return Geom_CylindricalSurface(gp_Ax3(_pnt(centre), _dir(axis), _dir(seam)), radius)


def cone(centre: Point, *, axis: Point, seam: Point, half_angle: float, radius: float) -> Surface:
    """A cone with a radius at its centre; narrows along the axis where the half angle is negative [rad]."""
    return Geom_ConicalSurface(gp_Ax3(_pnt(centre), _dir(axis), _dir(seam)), half_angle, radius)


def torus(centre: Point, *, axis: Point, seam: Point, major: float, minor: float) -> Surface:
    """A torus."""
    return Geom_ToroidalSurface(gp_Ax3(_pnt(centre), _dir(axis), _dir(seam)), major, minor)


def bezier_surface(poles: Array, weights: Array) -> Surface:
    """A rational Bezier patch; poles shape (m, n, 3), weights shape (m, n)."""
    m, n = weights.shape
    points, reals = TColgp_Array2OfPnt(1, m, 1, n), TColStd_Array2OfReal(1, m, 1, n)
    for i in range(m):
        for j in range(n):
            points.SetValue(i + 1, j + 1, _pnt(poles[i, j]))
            reals.SetValue(i + 1, j + 1, float(weights[i, j]))
    return Geom_BezierSurface(points, reals)


def face(
    surface: Surface,
    edges: Sequence[Edge],
    *,
    clockwise: bool = False,
    inside_out: bool = False,
    holes: Sequence[Sequence[Edge]] = (),
) -> Face:
    """A face on a surface within a loop of edges.

    Parameters
    ----------
    surface : Surface
        That the edges lie on.
    edges : sequence of Edge
        End to end; the first one gives the sense of the loop.
    clockwise : bool
        Whether that sense is clockwise, seen against the surface's normal.
    inside_out : bool
        Whether the material lies on the side that the surface's normal points to.
    holes : sequence of sequences of Edge
        In a plane face; each loop runs the other way round.

    Returns
    -------
    Face
        Facing out of the material.
    """
    wire = _loop(edges)
    if clockwise:
        wire.Reverse()
    maker = BRepBuilderAPI_MakeFace(surface, wire, False)
    for hole in holes:
        maker.Add(_loop(hole))
    made = maker.Face()
    if not isinstance(surface, Geom_Plane):
        fix = ShapeFix_Edge()
        for edge in edges:
            fix.FixAddPCurve(edge, made, False)
            fix.FixSameParameter(edge)
    return made.Reversed() if inside_out else made


def _loop(edges: Sequence[Edge]) -> Any:
    loop = BRepBuilderAPI_MakeWire()
    for edge in edges:
        loop.Add(edge)
    return loop.Wire()


def closed_solid(faces: Sequence[Face]) -> Solid:
    """The solid within faces that share their edges and face outward."""
    builder, shell, solid = BRep_Builder(), TopoDS_Shell(), TopoDS_Solid()
    builder.MakeShell(shell)
    for one in faces:
        builder.Add(shell, one)
    shell.Closed(True)
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return cq.Solid(solid)


def prism(outline: Face, along: Point) -> Solid:
    """A face drawn out along a vector [mm]."""
    vector = gp_Vec(float(along[0]), float(along[1]), float(along[2]))
    return cq.Solid(BRepPrimAPI_MakePrism(outline, vector).Shape())


def revolved(outline: Face, *, centre: Point, axis: Point, angle: float) -> Solid:
    """A face turned about an axis, right-handed [rad]."""
    return cq.Solid(BRepPrimAPI_MakeRevol(outline, gp_Ax1(_pnt(centre), _dir(axis)), angle).Shape())


def cut(body: Solid, tools: Sequence[Solid]) -> list[Solid]:
    """What is left of a body where all tools are taken away at once: as many solids as remain, none on failure."""
    return _combined(BRepAlgoAPI_Cut(), body, tools)


def fused(body: Solid, others: Sequence[Solid]) -> list[Solid]:
    """A body and others as one, faces in one plane joined: several where they do not touch, none on failure."""
    return _combined(BRepAlgoAPI_Fuse(), body, others, joined=True)


def _combined(operation: Any, body: Solid, tools: Sequence[Solid], *, joined: bool = False) -> list[Solid]:
    bodies, others = TopTools_ListOfShape(), TopTools_ListOfShape()
    bodies.Append(body.wrapped)
    for tool in tools:
        others.Append(tool.wrapped)
    operation.SetArguments(bodies)
    operation.SetTools(others)
    operation.SetRunParallel(True)
    operation.SetToFillHistory(joined)  # which joining faces needs
    try:
        operation.Build()
        if joined:
            operation.SimplifyResult()
    except Exception:  # the kernel's own errors have no common base; the caller tries another way
        return []
    if not operation.IsDone():
        return []
    return [cq.Solid(solid.wrapped) for solid in cq.Shape.cast(operation.Shape()).Solids()]


@lru_cache(maxsize=4)  # asked for by whoever meshes a solid and by whoever writes it
def volume(solid: Solid) -> float:
    """Volume, integrated to one part in 100000 or better [mm3].

    Parameters
    ----------
    solid : Solid
        Closed.

    Returns
    -------
    float
        Volume [mm3].

    Notes
    -----
    The kernel's quick integral may be off by a few parts in 10000 on a long, narrow face, and
    differently so for the same solid read back from a file.
    """
    return float(solid.Volume(1e-5))


def inside(solid: Solid, points: Sequence[Point]) -> bool:
    """Whether any of some points lies within a solid."""
    classifier = BRepClass3d_SolidClassifier(solid.wrapped)
    for point in points:
        classifier.Perform(_pnt(point), 1e-6)
        if classifier.State() == TopAbs_State.TopAbs_IN:
            return True
    return False


def _fineness(chord: float, angle: float) -> Any:
    """Absolute, and held on every kind of surface: left alone, the kernel checks free-form ones only."""
    wanted = IMeshTools_Parameters()
    wanted.Deflection, wanted.Angle, wanted.Relative = chord, angle, False
    wanted.EnableControlSurfaceDeflectionAllSurfaces = True
    wanted.InParallel = True
    return wanted


def facets(solid: Solid, *, chord: float, angle: float) -> tuple[Array, Array, Ints, Ints]:
    """Triangles over the faces of a solid.

    Parameters
    ----------
    solid : Solid
        Closed.
    chord : float
        Greatest distance from the surface, absolute [mm].
    angle : float
        Greatest turn from one facet of a curved face to the next [rad].

    Returns
    -------
    points : ndarray, (n, 3)
        Not merged between faces [mm].
    normals : ndarray, (n, 3)
        Of the surface there, outward.
    triangles : ndarray of int, (m, 3)
        Rows of points, counter-clockwise from outside.
    faces : ndarray of int, (m,)
        Number of each triangle's face.
    """
    BRepTools.Clean_s(solid.wrapped)
    BRepMesh_IncrementalMesh(solid.wrapped, _fineness(chord, angle))
    points: list[tuple[float, ...]] = []
    normals: list[tuple[float, ...]] = []
    triangles: list[tuple[int, ...]] = []
    faces: list[int] = []
    for number, one in enumerate(solid.Faces()):
        place = TopLoc_Location()  # the far end of a prism is its near one, moved
        patch = BRep_Tool.Triangulation_s(one.wrapped, place)
        if patch is None:  # a face narrower than the chord: its borders have become one
            continue
        BRepLib_ToolTriangulatedShape.ComputeNormals_s(one.wrapped, patch)
        base = len(points) - 1
        turned = one.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
        sense = -1.0 if turned else 1.0
        for i in range(1, patch.NbNodes() + 1):
            node, normal = patch.Node(i).Transformed(place.Transformation()), patch.Normal(i)
            points.append((node.X(), node.Y(), node.Z()))
            normals.append((sense * normal.X(), sense * normal.Y(), sense * normal.Z()))
        for i in range(1, patch.NbTriangles() + 1):
            a, b, c = patch.Triangle(i).Get()
            triangles.append((a + base, c + base, b + base) if turned else (a + base, b + base, c + base))
        faces += [number] * patch.NbTriangles()
    return np.array(points), np.array(normals), np.array(triangles, np.int64), np.array(faces, np.int64)
