"""Solids for other programs' kernels, as STEP, and back.

Where two surfaces meet, our kernel writes hyperbolas, which other kernels refuse, and curves whose
parameter runs so unevenly that a program that projects them on a face again leaves it by 0.02 mm. Before a
solid leaves, every edge that is neither a line nor a circle is laid out anew: a B-spline of degree 5 at
most, which any kernel reads, its parameter the length along it.
"""

import io
from functools import lru_cache

import cadquery as cq
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.GCPnts import GCPnts_UniformAbscissa
from OCP.GeomAbs import GeomAbs_Shape
from OCP.GeomAPI import GeomAPI_PointsToBSpline
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Interface import Interface_Static
from OCP.STEPControl import STEPControl_Reader, STEPControl_StepModelType, STEPControl_Writer
from OCP.TColgp import TColgp_Array1OfPnt
from OCP.TColStd import TColStd_Array1OfReal
from OCP.TopLoc import TopLoc_Location

from nutgen.errors import KernelError
from nutgen.geometry.kernel import Curve, Solid

ACCURACY = 1e-7
"""What a STEP file says of itself: no edge is farther off its faces, no corner farther off its edges [mm]."""

SEWN, LOOSE = 2e-6, 1e-6
"""Where the kernel could join faces only within more than SEWN, the file says LOOSE of itself [mm]."""

NEAR = 1e-8
"""Greatest distance between an edge and the curve laid out for it [mm]."""

_LAID_OUT = ("HYPERBOLA", "PARABOLA", "ELLIPSE", "BSPLINE", "OFFSET", "OTHER")
_DEGREE, _SAMPLES = 5, 65

_SETTINGS = {
    "write.step.schema": "AP214IS",
    "write.step.unit": "MM",
    "xstep.cascade.unit": "MM",
    "write.step.product.name": "part",
}


@lru_cache(maxsize=2)  # the part leaves twice, once where it stands in its stock
def portable(solid: Solid) -> Solid:
    """A copy of a solid whose edges are lines, circles and B-splines; to be written, not to be worked on."""
    copy = cq.Solid(BRepBuilderAPI_Copy(solid.wrapped).Shape())
    builder = BRep_Builder()
    for edge in copy.Edges():
        if edge.geomType() in _LAID_OUT:
            curve = _by_length(BRepAdaptor_Curve(edge.wrapped))
            builder.UpdateEdge(edge.wrapped, curve, TopLoc_Location(), NEAR)
            builder.Range(edge.wrapped, curve.FirstParameter(), curve.LastParameter(), True)
    return copy


def _by_length(edge: BRepAdaptor_Curve) -> Curve:
    """A B-spline through points at even distances along an edge; its parameter is that distance, chord by chord."""
    even = GCPnts_UniformAbscissa(edge, _SAMPLES, NEAR / 10.0)
    places, lengths = TColgp_Array1OfPnt(1, _SAMPLES), TColStd_Array1OfReal(1, _SAMPLES)
    ends = {1: edge.FirstParameter(), _SAMPLES: edge.LastParameter()}
    for i in range(1, _SAMPLES + 1):
        places.SetValue(i, edge.Value(ends.get(i, even.Parameter(i))))
    step = sum(places.Value(i).Distance(places.Value(i + 1)) for i in range(1, _SAMPLES)) / (_SAMPLES - 1)
    for i in range(_SAMPLES):
        lengths.SetValue(i + 1, i * step)
    return GeomAPI_PointsToBSpline(places, lengths, 3, _DEGREE, GeomAbs_Shape.GeomAbs_C2, NEAR).Curve()


def step_text(solid: Solid) -> str:
    """A solid as a STEP file, AP214, in mm, under the kernel's own header and name."""
    writer, stream = STEPControl_Writer(), io.BytesIO()  # the writer first: it registers the settings
    for key, value in _SETTINGS.items():
        Interface_Static.SetCVal_s(key, value)
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    Interface_Static.SetIVal_s("write.precision.mode", 2)  # as told, not an average of what edges happen to have
    sewn = max(BRep_Tool.Tolerance_s(edge.wrapped) for edge in solid.Edges())
    Interface_Static.SetRVal_s("write.precision.val", ACCURACY if sewn <= SEWN else LOOSE)
    writer.Transfer(solid.wrapped, STEPControl_StepModelType.STEPControl_AsIs)
    if writer.WriteStream(stream) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise KernelError("the STEP file", "it was not written")
    return stream.getvalue().decode("ascii")


def step_solids(data: bytes) -> list[Solid]:
    """The solids in a STEP file, in mm."""
    reader = STEPControl_Reader()
    if reader.ReadStream("part.step", io.BytesIO(data)) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise KernelError("the reading of the STEP file", "it was not read back")
    reader.TransferRoots()
    return [cq.Solid(solid.wrapped) for solid in cq.Shape.cast(reader.OneShape()).Solids()]
