"""Solids for other programs' kernels, as STEP, and back.

Where two surfaces meet, our kernel writes hyperbolas, which other kernels refuse, and curves whose
parameter runs so unevenly that a program that projects them on a face again leaves it by 0.02 mm. Before a
solid leaves, every edge that is neither a line nor a circle is laid out anew: a B-spline of degree 5 at
most, which any kernel reads, its parameter the length along it. An arc drawn out askew is a surface that only some
programs know; it leaves as the B-spline surface that it is too.
"""

import io
from functools import lru_cache

import cadquery as cq
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.BRepTools import BRepTools
from OCP.GCPnts import GCPnts_UniformAbscissa
from OCP.Geom import Geom_RectangularTrimmedSurface
from OCP.GeomAbs import GeomAbs_CurveType, GeomAbs_Shape
from OCP.GeomAPI import GeomAPI_PointsToBSpline, GeomAPI_ProjectPointOnCurve
from OCP.GeomConvert import GeomConvert
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.ShapeAnalysis import ShapeAnalysis_Surface
from OCP.STEPControl import STEPControl_Reader, STEPControl_StepModelType, STEPControl_Writer
from OCP.TColgp import TColgp_Array1OfPnt
from OCP.TColStd import TColStd_Array1OfReal
from OCP.TopLoc import TopLoc_Location

from nutgen.errors import KernelError
from nutgen.geometry.kernel import Curve, Solid

ACCURACY = 1e-7
"""What a STEP file says of itself: no edge is farther off its faces [mm]. Twice what is measured where that is more, as
where walls all but coincide."""

NEAR = 1e-8
"""Greatest distance between an edge and the curve laid out for it [mm]."""

_LAID_OUT = ("HYPERBOLA", "PARABOLA", "ELLIPSE", "BSPLINE", "OFFSET", "OTHER")
_DEGREE = 5
_LOOKS, _LOOKS_ALONG_SPLINE = 12, 101  # where a spline bends sharply it leaves a face within a fiftieth of its length
_COUNTS = (65, 129, 257, 513, 1025)
"""Points that a curve is laid through: the least that do."""

_SETTINGS = {
    "write.step.schema": "AP214IS",
    "write.step.unit": "MM",
    "xstep.cascade.unit": "MM",
    "write.step.product.name": "part",
}


@lru_cache(maxsize=2)  # the part leaves twice, once where it stands in its stock
def portable(solid: Solid) -> Solid:
    """A copy of a solid of lines, circles, B-splines and surfaces that any program knows; to be written only."""
    copy = cq.Solid(BRepBuilderAPI_Copy(solid.wrapped).Shape())
    builder = BRep_Builder()
    for edge in copy.Edges():
        curve = _by_length(BRepAdaptor_Curve(edge.wrapped)) if edge.geomType() in _LAID_OUT else None
        if curve is not None:
            builder.UpdateEdge(edge.wrapped, curve, TopLoc_Location(), NEAR)
            builder.Range(edge.wrapped, curve.FirstParameter(), curve.LastParameter(), True)
    for face in copy.Faces():
        if face.geomType() == "EXTRUSION":
            whole, bounds = BRep_Tool.Surface_s(face.wrapped), BRepTools.UVBounds_s(face.wrapped)
            part = GeomConvert.SurfaceToBSplineSurface_s(Geom_RectangularTrimmedSurface(whole, *bounds))
            builder.UpdateFace(face.wrapped, part, TopLoc_Location(), NEAR)
    return copy


def _by_length(edge: BRepAdaptor_Curve) -> Curve | None:
    """A B-spline through points at even distances along an edge; its parameter is that distance, chord by chord.

    It may bend more sharply than the points tell, as where a bevel grazes a slot's floor: so it is looked at between
    them, and laid out through more until it is near enough. Where a B-spline bends so sharply that even the most points
    tell too little, it is None: the kernel's own is nearer.
    """
    laid_out: list[tuple[float, Curve]] = []
    for count in _COUNTS:
        curve = _through(edge, count)
        laid_out.append((_off_between(curve, edge, count), curve))
        if laid_out[-1][0] <= edge.Tolerance() / 2.0:
            break
    off, curve = min(laid_out, key=lambda one: one[0])
    own = edge.GetType() == GeomAbs_CurveType.GeomAbs_BSplineCurve
    return None if own and off > edge.Tolerance() else curve


def _through(edge: BRepAdaptor_Curve, count: int) -> Curve:
    """A B-spline through so many points of an edge."""
    even = GCPnts_UniformAbscissa(edge, count, NEAR / 10.0)
    places, lengths = TColgp_Array1OfPnt(1, count), TColStd_Array1OfReal(1, count)
    ends = {1: edge.FirstParameter(), count: edge.LastParameter()}
    for i in range(1, count + 1):
        places.SetValue(i, edge.Value(ends.get(i, even.Parameter(i))))
    step = sum(places.Value(i).Distance(places.Value(i + 1)) for i in range(1, count)) / (count - 1)
    for i in range(count):
        lengths.SetValue(i + 1, i * step)
    return GeomAPI_PointsToBSpline(places, lengths, 3, _DEGREE, GeomAbs_Shape.GeomAbs_C2, NEAR).Curve()


def _off_between(curve: Curve, edge: BRepAdaptor_Curve, count: int) -> float:
    """How far a curve through so many points of an edge is off it half-way between them [mm]."""
    twice, step = GCPnts_UniformAbscissa(edge, 2 * count - 1, NEAR / 10.0), curve.LastParameter() / (count - 1)
    off = 0.0
    for i in range(1, count):
        place = edge.Value(twice.Parameter(2 * i))
        found = GeomAPI_ProjectPointOnCurve(place, curve, (i - 1) * step, i * step)
        near = found.LowerDistance() if found.NbPoints() else place.Distance(curve.Value((i - 0.5) * step))
        off = max(off, near)
    return off


def step_text(solid: Solid) -> str:
    """A solid as a STEP file, AP214, in mm, under the kernel's own header and name."""
    writer, stream = STEPControl_Writer(), io.BytesIO()  # the writer first: it registers the settings
    for key, value in _SETTINGS.items():
        Interface_Static.SetCVal_s(key, value)
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    Interface_Static.SetIVal_s("write.precision.mode", 2)  # as told, not an average of what edges happen to have
    claimed = max(ACCURACY, 2.0 * _off_faces(solid))  # in other places it is more
    Interface_Static.SetRVal_s("write.precision.val", claimed)
    writer.Transfer(solid.wrapped, STEPControl_StepModelType.STEPControl_AsIs)
    if writer.WriteStream(stream) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise KernelError("the STEP file", "it was not written")
    return stream.getvalue().decode("ascii")


def _off_faces(solid: Solid) -> float:
    """How far its edges are off its faces, at places along each [mm]."""
    off = 0.0
    for face in solid.Faces():
        surface = ShapeAnalysis_Surface(BRep_Tool.Surface_s(face.wrapped))
        for edge in face.Edges():
            curve = BRepAdaptor_Curve(edge.wrapped)
            first, last = curve.FirstParameter(), curve.LastParameter()
            looks = _LOOKS_ALONG_SPLINE if edge.geomType() == "BSPLINE" else _LOOKS
            for i in range(looks):
                surface.ValueOfUV(curve.Value(first + (last - first) * i / (looks - 1)), NEAR / 10.0)
                off = max(off, surface.Gap())
    return off


def step_solids(data: bytes) -> list[Solid]:
    """The solids in a STEP file, in mm."""
    reader = STEPControl_Reader()
    if reader.ReadStream("part.step", io.BytesIO(data)) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise KernelError("the reading of the STEP file", "it was not read back")
    reader.TransferRoots()
    return [cq.Solid(solid.wrapped) for solid in cq.Shape.cast(reader.OneShape()).Solids()]
