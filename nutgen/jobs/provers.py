"""What each kind of file must say, and who reads it: always another than its writer.

Pages are proved before they are painted, from their model: what a printer gets of a PDF or an SVG is looked at by
the tests, with libraries that read and draw them.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nutgen.geometry.lines import HAIR, joined
from nutgen.jobs.proof import Check, Proof, along_axes

if TYPE_CHECKING:
    from nutgen.documents.paint.page import Linework, Page
    from nutgen.formats.dxf_reader import Dxf
    from nutgen.geometry.lines import Chain

CLAIMED = 5e-3
"""What a STEP file may say of its own accuracy at most: a program sews with it. It is 1e-6 as a rule; where a bevel all
but grazes a slot their edge turns so sharply that 2e-3 was seen, which is less than any tool can tell [mm]."""

Prover = Callable[[Path], Proof]
"""Where a file lies now -> its proof."""

NEAR = 1e-3
"""How far a size may be off [mm]."""

MESHED = 1e-3
"""Share by which the volume of a mesh may miss the solid's."""

EXACT = 5e-4
"""Share by which the volume of a solid may miss itself after a journey through a file: the kernel
integrates it anew, and no more finely than that."""


def proof_of(prover: Prover, path: Path) -> Proof:
    """A file's proof; one that cannot be read at all is a proof that fails."""
    try:
        return prover(path)
    except (ValueError, RuntimeError, ArithmeticError, LookupError, SyntaxError) as error:
        return Proof("its reader", (Check("readable", str(error) or type(error).__name__, "readable"),))


def mesh_file(
    size: Sequence[float], volume: float, path: Path, *, lowest: Sequence[float], bodies: int = 1, step: float = 0.0
) -> Proof:
    """An STL file: sizes and where it lies [mm], volume [mm3], closed bodies facing outward.

    step : between the numbers that single precision has there [mm]
    """
    from nutgen.formats.stl import read_stl

    found, near = read_stl(path), max(NEAR, step)
    x, y, z = size
    around = 2.0 * (x * y + y * z + z * x)
    checks = [
        Check("closed, facing outward", found.closed and found.volume > 0.0, True),
        Check("bodies", found.bodies, bodies),
        Check("volume in mm3", found.volume, volume, MESHED * volume + step * around),
        *_extent(found.lowest, found.highest, size, near),
        *along_axes("lowest", found.lowest, lowest, within=near),
    ]
    return Proof("trimesh's STL reader", tuple(checks))


def threemf_file(size: Sequence[float], volume: float, path: Path, *, named: str) -> Proof:
    """A 3MF file: strictly valid, in mm, one closed mesh of that name, standing on the bed."""
    from nutgen.formats.threemf import read_threemf

    found = read_threemf(path)
    checks = (
        Check("warnings of the strict reader", len(found.warnings), 0),
        Check("unit", found.unit, "mm"),
        Check("meshes", found.objects, 1),
        Check("name", found.name, named),
        Check("closed, facing outward", found.closed, True),
        Check("lowest z", found.lowest[2], 0.0, NEAR),
        Check("volume in mm3", found.volume, volume, MESHED * volume),
        *_extent(found.lowest, found.highest, size, NEAR),
    )
    return Proof("lib3mf, strict", checks)


def _extent(lowest: Sequence[float], highest: Sequence[float], size: Sequence[float], near: float) -> list[Check]:
    found = [high - low for low, high in zip(lowest, highest, strict=True)]
    return along_axes("size along", found, size, within=near)


def step_file(lowest: Sequence[float], highest: Sequence[float | None], volume: float, path: Path) -> Proof:
    """A STEP file: mm, one solid, its corners and its volume [mm3], its edges plain and as near as they say.

    An axis without a highest is not asked.
    """
    from nutgen.formats.step import step_volume
    from nutgen.formats.step_reader import read_step

    data = path.read_bytes()
    found = read_step(data)
    checks = (
        Check("unit", found.unit, "mm"),
        Check("solids", found.solids, 1),
        Check("curves and surfaces that not every program knows", len(found.foreign), 0),
        Check("accuracy claimed, in mm", found.accuracy, 0.0, CLAIMED),
        Check("edges off their faces or corners, in mm", found.off, 0.0, found.accuracy),
        *along_axes("lowest", found.lowest, lowest, within=NEAR),
        *along_axes("highest", found.highest, highest, within=NEAR),
        Check("volume in mm3", step_volume(data), volume, EXACT * volume),
    )
    return Proof("its text; the volume by the kernel", checks)


def drawing_file(layers: Collection[str], contour: str, path: Path, *, across: float) -> Proof:
    """A DXF drawing: mm, the layers it must have, no spline, one closed contour as wide as wanted [mm]."""
    found = _read_dxf(path)
    contours = found.on(contour)
    left, _, right, _ = contours[0].box if contours else (0.0, 0.0, 0.0, 0.0)
    checks = (
        *_dxf_checks(found, layers),
        Check(f"contours on {contour}", len(contours), 1),
        Check(f"open contours on {contour}", sum(not entity.closed for entity in contours), 0),
        Check(f"{contour}, width in mm", right - left, across, NEAR),
    )
    return Proof("nutgen's own DXF reader", checks)


def router_file(
    layers: Collection[str],
    path: Path,
    *,
    stock: tuple[float, float],
    outline: tuple[str, float],
    lines: Sequence[tuple[str, Sequence[tuple[float, float, float]]]] = (),
) -> Proof:
    """A DXF for a router: mm, every contour closed and counterclockwise, the stock at zero, lines in space.

    layers  : that it must have
    stock   : its sizes in the plane [mm]
    outline : layer of the part's outline, and the area it encloses [mm2]
    lines   : layer and points of every line in space, in the file's frame [mm]
    """
    found = _read_dxf(path)
    contours = [entity for entity in found.entities if entity.kind == "LWPOLYLINE"]
    piece, part = found.on("stock"), found.on(outline[0])
    edges = zip(piece[0].box if piece else (0.0,) * 4, (0.0, 0.0, *stock), strict=True)
    runs = [(entity.layer, entity.points) for entity in found.entities if entity.kind == "POLYLINE"]
    missed = sum(all(not _same_line(run, wanted) for run in runs) for wanted in lines)
    checks = (
        *_dxf_checks(found, layers),
        Check("open contours", found.open_polylines, 0),
        Check("contours the wrong way round", sum(entity.area <= 0.0 for entity in contours), 0),
        *(
            Check(f"stock, {side} edge", at, wanted, NEAR)
            for side, (at, wanted) in zip(("left", "lower", "right", "upper"), edges, strict=True)
        ),
        Check(f"{outline[0]}, area in mm2", sum(entity.area for entity in part), outline[1], NEAR * outline[1]),
        Check("lines in space", len(runs), len(lines)),
        Check("lines in space that run elsewhere", missed, 0),
    )
    return Proof("nutgen's own DXF reader", checks)


def _same_line(found: tuple[str, Sequence[Sequence[float]]], wanted: tuple[str, Sequence[Sequence[float]]]) -> bool:
    (layer, points), (on, meant) = found, wanted
    near = len(points) == len(meant) and all(_apart(p, q) <= NEAR for p, q in zip(points, meant, strict=True))
    return layer == on and near


def _read_dxf(path: Path) -> "Dxf":
    from nutgen.formats.dxf_reader import read_dxf

    return read_dxf(path.read_bytes())


def _dxf_checks(found: "Dxf", layers: Collection[str]) -> Iterator[Check]:
    yield Check("unit", found.unit, "mm")
    yield Check("layers missing", len(set(layers) - found.layers), 0)
    yield Check("entities on unknown layers", found.strays, 0)
    yield Check("splines and ellipses", found.refused, 0)
    yield Check("entities drawn twice", found.duplicates, 0)
    yield Check("lines too short to be any", sum(entity.shortest < HAIR for entity in found.entities), 0)


def _apart(a: Sequence[float], b: Sequence[float]) -> float:
    return max(abs(p - q) for p, q in zip(a, b, strict=True))


def json_file(record: Mapping[str, Any], path: Path) -> Proof:
    """A record: by another parser than the writer's, every value as it was given, no number that is none."""
    from pydantic_core import from_json

    found = from_json(path.read_bytes(), allow_inf_nan=False)
    return Proof("pydantic's JSON reader", (Check("reads back as it was recorded", found == record, True),))


def pages_proof(
    pages: "Sequence[Page]", paper: tuple[float, float], *, closed: Collection[str] = (), across: Mapping[str, float]
) -> Proof:
    """Pages before they are painted: the paper's size, no line too short or drawn twice, contours closed, true sizes.

    paper  : width and height [mm]
    closed : contours that must be there, each a drawing and a layer with a dot between
    across : drawing, or drawing and layer -> how wide it must come out [mm]
    """
    from nutgen.documents.paint.page import Linework

    drawings = [item for page in pages for item in page.items if isinstance(item, Linework)]
    chains = [chain for drawing in drawings for chain in drawing.chains]
    contours = [_named(drawings, name) for name in closed]
    checks = [
        Check("pages of another size", sum(_apart((page.width, page.height), paper) > NEAR for page in pages), 0),
        Check("lines too short to be any", sum(part.length < HAIR for chain in chains for part in chain.parts), 0),
        Check("lines drawn twice", sum(len(one.chains) - len(set(one.chains)) for one in drawings), 0),
        Check("contours open or missing", sum(not all(c.closed for c in of) or not of for of in contours), 0),
    ]
    for name, wanted in across.items():
        boxes = [chain.box for chain in _named(drawings, name)]
        left, _, right, _ = joined(boxes) if boxes else (0.0, 0.0, 0.0, 0.0)
        checks.append(Check(f"{name}, in mm", right - left, wanted, NEAR))
    return Proof("the page before it is painted", tuple(checks))


def _named(drawings: "Sequence[Linework]", name: str) -> "list[Chain]":
    """The chains of a drawing, or of one of its layers: "front", "front.front-outline"."""
    drawing, _, layer = name.partition(".")
    return [chain for one in drawings if one.name == drawing for chain in one.chains if layer in ("", chain.layer)]
