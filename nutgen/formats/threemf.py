"""3MF: one closed mesh in mm, named, for a slicer.

Three small parts in a zip, written here with fixed times, so that the same mesh gives the same bytes on
any day, and so that the consortium's own library is free to be what checks the file: the other reader.
Source: 3D Manufacturing Format, Core Specification, 3MF Consortium, and the Open Packaging
Conventions, ECMA-376 part 2 (from memory; the strict reader is the check).
"""

import io
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

from nutgen.formats.stamp import Stamp
from nutgen.geometry.mesh import Mesh, in_single_precision

_NAMESPACE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_MODEL = "3D/3dmodel.model"
_WRITTEN = (2000, 1, 1, 0, 0, 0)

_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n"
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Target="/{_MODEL}" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
    "</Relationships>\n"
)


def threemf_bytes(mesh: Mesh, stamp: Stamp, *, name: str) -> bytes:
    """A mesh as a 3MF file.

    Parameters
    ----------
    mesh : Mesh
        Lying as it is to be printed, z up from the bed, no coordinate below 0 [mm].
    stamp : Stamp
        Title, hash and program for the metadata.
    name : str
        Of the one object, as a slicer shows it.

    Returns
    -------
    bytes
        The file; the same mesh, stamp and name give the same bytes.

    Raises
    ------
    KernelError
        Where the mesh does not close once its nodes are rounded to single precision.
    """
    single = in_single_precision(mesh)
    parts = {"[Content_Types].xml": _TYPES, "_rels/.rels": _RELATIONS, _MODEL: _model(single, stamp, name)}
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as package:
        for path, text in parts.items():
            entry = zipfile.ZipInfo(path, _WRITTEN)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 0  # the same on every system
            entry.external_attr = 0
            package.writestr(entry, text.encode("utf-8"))
    return packed.getvalue()


def _model(mesh: Mesh, stamp: Stamp, name: str) -> str:
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{_NAMESPACE}">',
        f' <metadata name="Title">{_text(stamp.title)}</metadata>',
        f' <metadata name="Description">{_text(stamp.line)}</metadata>',
        f' <metadata name="Application">{_text(stamp.program)}</metadata>',
        " <resources>",
        f'  <object id="1" type="model" name={quoteattr(_clean(name))}>',
        "   <mesh>",
        "    <vertices>",
    ]
    lines += [f'     <vertex x="{_n(x)}" y="{_n(y)}" z="{_n(z)}"/>' for x, y, z in mesh.vertices.tolist()]
    lines += ["    </vertices>", "    <triangles>"]
    lines += [f'     <triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist()]
    lines += [
        "    </triangles>",
        "   </mesh>",
        "  </object>",
        " </resources>",
        ' <build>\n  <item objectid="1"/>\n </build>',
        "</model>",
    ]
    return "\n".join(lines) + "\n"


def _n(value: float) -> str:
    """Nine digits hold every number of single precision."""
    return f"{value + 0.0:.9g}"


def _clean(words: str) -> str:
    """XML knows no control characters."""
    return "".join(letter if letter.isprintable() else " " for letter in words)


def _text(words: str) -> str:
    return escape(_clean(words))


@dataclass(frozen=True, slots=True)
class ThreeMfContent:
    """What the consortium's own reader finds, in its strict mode.

    objects : meshes in the file; `name` is that of the first
    closed  : every edge between two triangles, all facing outward
    """

    unit: str
    objects: int
    name: str
    lowest: tuple[float, ...]
    highest: tuple[float, ...]
    volume: float
    closed: bool
    warnings: tuple[str, ...]


def _array(rows: list[Any], kind: str) -> NDArray[Any]:
    """Rows of three numbers out of the reader's own structures."""
    flat = np.frombuffer(b"".join(bytes(row) for row in rows), kind).reshape(-1, 3)
    return flat.astype(np.int64 if kind == "<u4" else np.float64)


def read_threemf(path: Path) -> ThreeMfContent:
    """Read a 3MF file with the consortium's reader.

    Parameters
    ----------
    path : Path
        Of the file.

    Returns
    -------
    ThreeMfContent
        Unit, meshes, name, box and volume [mm].

    Raises
    ------
    RuntimeError
        With the reader's words where it refuses the file.
    """
    import lib3mf

    wrapper = lib3mf.Wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    try:
        reader.ReadFromFile(str(path))
    except Exception as error:
        raise RuntimeError(str(error)) from error
    warnings = tuple(str(reader.GetWarning(index)[1]) for index in range(reader.GetWarningCount()))
    found = model.GetMeshObjects()
    meshes = []
    while found.MoveNext():
        meshes.append(found.GetCurrentMeshObject())
    nodes = [_array(mesh.GetVertices(), "<f4") for mesh in meshes]
    corners = [n[_array(mesh.GetTriangleIndices(), "<u4")] for n, mesh in zip(nodes, meshes, strict=True)]
    points = np.concatenate(nodes)
    a, b, c = (np.concatenate(corners) - points.mean(axis=0)).transpose(1, 0, 2)
    volume = float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)
    unit = model.GetUnit()
    return ThreeMfContent(
        unit="mm" if unit == lib3mf.ModelUnit.MilliMeter else str(unit),
        objects=len(meshes),
        name=meshes[0].GetName() if meshes else "",
        lowest=tuple(points.min(axis=0).tolist()),
        highest=tuple(points.max(axis=0).tolist()),
        volume=volume,
        closed=all(mesh.IsManifoldAndOriented() for mesh in meshes),
        warnings=warnings,
    )
