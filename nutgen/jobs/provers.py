"""What each kind of file must say, and who reads it."""

from collections.abc import Callable, Collection, Sequence
from pathlib import Path

from nutgen.jobs.proof import Check, Proof, sizes

Prover = Callable[[str, Path], Proof]
"""A file's name and where it lies now -> its proof."""

NEAR = 1e-3
"""How far a size may be off [mm]."""

MESHED = 1e-3
"""Share by which the volume of a mesh may miss the solid's."""

EXACT = 5e-4
"""Share by which the volume of a solid may miss itself after a journey through a file: the kernel
integrates it anew, and no more finely than that."""


def proof_of(prover: Prover, name: str, path: Path) -> Proof:
    """A file's proof; one that cannot be read at all is a proof that fails."""
    try:
        return prover(name, path)
    except (ValueError, RuntimeError, ArithmeticError, LookupError, SyntaxError) as error:
        return Proof(name, "its reader", (Check("readable", str(error) or type(error).__name__, "readable"),))


def mesh_file(
    size: Sequence[float], volume: float, *, lowest: Sequence[float] | None = None, bodies: int = 1
) -> Prover:
    """An STL file: sizes, where it lies, volume [mm3], closed bodies facing outward."""

    def prove(name: str, path: Path) -> Proof:
        from nutgen.formats.stl import read_back_stl

        found = read_back_stl(path.read_bytes())
        extent = [high - low for low, high in zip(found.lowest, found.highest, strict=True)]
        checks = [
            Check("closed, facing outward", found.watertight, True),
            Check("bodies", found.bodies, bodies),
            Check("volume in mm3", found.volume, volume, MESHED * volume),
            *sizes(extent, size, within=NEAR),
        ]
        if lowest is not None:
            checks += [
                Check(f"lowest {axis}", a, b, NEAR) for axis, a, b in zip("xyz", found.lowest, lowest, strict=True)
            ]
        return Proof(name, "trimesh", tuple(checks))

    return prove


def threemf_file(size: Sequence[float], volume: float, *, named: str) -> Prover:
    """A 3MF file: strictly valid, in mm, one closed mesh of that name, standing on the bed."""

    def prove(name: str, path: Path) -> Proof:
        from nutgen.formats.threemf import read_back_threemf

        found = read_back_threemf(path)
        extent = [high - low for low, high in zip(found.lowest, found.highest, strict=True)]
        checks = (
            Check("warnings of the strict reader", len(found.warnings), 0),
            Check("unit", found.unit, "mm"),
            Check("meshes", found.objects, 1),
            Check("name", found.name, named),
            Check("closed, facing outward", found.closed, True),
            Check("lowest z", found.lowest[2], 0.0, NEAR),
            Check("volume in mm3", found.volume, volume, MESHED * volume),
            *sizes(extent, size, within=NEAR),
        )
        return Proof(name, "lib3mf, strict", checks)

    return prove


def step_file(
    lowest: Sequence[float],
    highest: Sequence[float | None],
    volume: float,
    *,
    twin: tuple[bytes, Sequence[float]] | None = None,
) -> Prover:
    """A STEP file: mm, one solid, its corners and its volume [mm3]; an axis without a highest is not asked.

    twin : another file's content and a shift: this file must hold the same shape, moved; its volume
           is then that file's, which is proved by itself
    """

    def prove(name: str, path: Path) -> Proof:
        from nutgen.formats.step_reader import farthest_apart, read_step, step_volume

        data = path.read_bytes()
        found = read_step(data)
        checks = [Check("unit", found.unit, "mm"), Check("solids", found.solids, 1)]
        checks += [Check(f"lowest {axis}", a, b, NEAR) for axis, a, b in zip("xyz", found.lowest, lowest, strict=True)]
        checks += [
            Check(f"highest {axis}", a, b, NEAR)
            for axis, a, b in zip("xyz", found.highest, highest, strict=True)
            if b is not None
        ]
        if twin is None:
            checks.append(Check("volume in mm3", step_volume(data), volume, EXACT * volume))
            return Proof(name, "the kernel's STEP reader, and its text", tuple(checks))
        apart = farthest_apart(found, read_step(twin[0]), twin[1])
        checks.append(Check("from nut.step moved into this frame, mm", apart, 0.0, NEAR))
        return Proof(name, "its text, against that of nut.step", tuple(checks))

    return prove


def drawing_file(layers: Collection[str], contour: str, *, across: float) -> Prover:
    """A DXF drawing: mm, the layers it must have, no spline, one closed contour as wide as wanted [mm]."""

    def prove(name: str, path: Path) -> Proof:
        from nutgen.formats.dxf_reader import read_dxf

        found = read_dxf(path.read_bytes())
        contours = found.on(contour)
        left, _, right, _ = contours[0].box if contours else (0.0, 0.0, 0.0, 0.0)
        checks = (
            Check("unit", found.unit, "mm"),
            Check("layers missing", len(set(layers) - found.layers), 0),
            Check("entities on unknown layers", found.strays, 0),
            Check("splines and ellipses", found.refused, 0),
            Check(f"contours on {contour}", len(contours), 1),
            Check(f"open contours on {contour}", sum(not entity.closed for entity in contours), 0),
            Check(f"{contour}, width in mm", right - left, across, NEAR),
        )
        return Proof(name, "nutgen's own DXF reader", checks)

    return prove


def router_file(
    layers: Collection[str],
    *,
    stock: tuple[float, float],
    outline: tuple[str, float],
    slots: Sequence[tuple[float, float, float]] = (),
) -> Prover:
    """A DXF for a router: mm, every contour closed and the right way round, the stock at zero, slot floors in space.

    layers  : that it must have
    stock   : its sizes in the plane [mm]
    outline : layer of the part's outline, and the area it encloses [mm2]
    slots   : where each slot's floor starts, in the file's frame [mm]
    """

    def prove(name: str, path: Path) -> Proof:
        from nutgen.formats.dxf_reader import read_dxf

        found = read_dxf(path.read_bytes())
        contours = [entity for entity in found.entities if entity.kind == "LWPOLYLINE"]
        wrong = sum((entity.area > 0.0) == (entity.layer == "slot-outline") for entity in contours)
        piece, part = found.on("stock"), found.on(outline[0])
        left, low, right, high = piece[0].box if piece else (0.0, 0.0, 0.0, 0.0)
        starts = {entity.ends[0] for entity in found.on("slot-centre")}
        missed = sum(all(_apart(start, wanted) > NEAR for start in starts) for wanted in slots)
        checks = (
            Check("unit", found.unit, "mm"),
            Check("layers missing", len(set(layers) - found.layers), 0),
            Check("entities on unknown layers", found.strays, 0),
            Check("splines and ellipses", found.refused, 0),
            Check("open contours", found.open_polylines, 0),
            Check("entities drawn twice", found.duplicates, 0),
            Check("contours the wrong way round", wrong, 0),
            Check("stock, left edge", left, 0.0, NEAR),
            Check("stock, lower edge", low, 0.0, NEAR),
            Check("stock, right edge", right, stock[0], NEAR),
            Check("stock, upper edge", high, stock[1], NEAR),
            Check(f"{outline[0]}, area in mm2", sum(entity.area for entity in part), outline[1], NEAR * outline[1]),
            Check("slot floors that start elsewhere", missed, 0),
        )
        return Proof(name, "nutgen's own DXF reader", checks)

    return prove


def _apart(a: Sequence[float], b: Sequence[float]) -> float:
    return max(abs(p - q) for p, q in zip(a, b, strict=True))


def pdf_file(page: tuple[float, float]) -> Prover:
    """A PDF: whole, every page of the paper's size [mm], no scale of its own."""

    def prove(name: str, path: Path) -> Proof:
        from nutgen.formats.paper_reader import pdf_pages

        pages = pdf_pages(path.read_bytes())
        checks = [Check("has pages", bool(pages), True)]
        for number, (width, height) in enumerate(pages, 1):
            checks += [
                Check(f"page {number}, width in mm", width, page[0], 0.01),
                Check(f"page {number}, height in mm", height, page[1], 0.01),
            ]
        return Proof(name, "nutgen's own PDF reader", tuple(checks))

    return prove


def svg_file(width: float, bars: dict[str, float]) -> Prover:
    """An SVG: the paper's width [mm], one unit a mm, and lengths across that must come out at 1:1 [mm]."""

    def prove(name: str, path: Path) -> Proof:
        from nutgen.formats.paper_reader import read_svg

        found = read_svg(path.read_bytes(), tuple(bars))
        checks = [
            Check("page width in mm", found.width, width, NEAR),
            Check("mm to a unit", found.scale, 1.0, 1e-9),
        ]
        checks += [Check(f"{bar}, in mm", found.across.get(bar, 0.0), length, NEAR) for bar, length in bars.items()]
        return Proof(name, "the XML reader of the standard library", tuple(checks))

    return prove


def png_file(size: tuple[int, int]) -> Prover:
    """A PNG: whole, undamaged, of a size in pixels."""

    def prove(name: str, path: Path) -> Proof:
        from nutgen.formats.paper_reader import png_size

        width, height = png_size(path.read_bytes())
        checks = (Check("width in pixels", width, size[0]), Check("height in pixels", height, size[1]))
        return Proof(name, "nutgen's own PNG reader", checks)

    return prove


def page_file(words: Collection[str]) -> Prover:
    """An HTML page: every element closed, words that it must hold, nothing that it would fetch from elsewhere."""

    def prove(name: str, path: Path) -> Proof:
        from nutgen.formats.html_reader import read_page

        found = read_page(path.read_text(encoding="utf-8"))
        checks = (
            Check("elements left open", found.left_open, 0),
            Check("words missing", sum(word not in found.text for word in words), 0),
            Check("addresses it would fetch", len(found.fetched), 0),
        )
        return Proof(name, "the HTML reader of the standard library", checks)

    return prove


def picture_file() -> Prover:
    """An SVG picture that is not to scale: well-formed, with a title and lines drawn in it."""

    def prove(name: str, path: Path) -> Proof:
        from xml.etree import ElementTree

        root = ElementTree.fromstring(path.read_bytes())
        kinds = [element.tag.rpartition("}")[2] for element in root.iter()]
        checks = (
            Check("an SVG", kinds[0], "svg"),
            Check("titles", min(kinds.count("title"), 1), 1),
            Check("has lines", any(kind in kinds for kind in ("path", "line", "polyline")), True),
        )
        return Proof(name, "the XML reader of the standard library", checks)

    return prove


def text_file(words: Collection[str]) -> Prover:
    """A text: UTF-8, with words that it must hold."""

    def prove(name: str, path: Path) -> Proof:
        text = path.read_text(encoding="utf-8")
        missing = sum(word not in text for word in words)
        return Proof(name, "Python's text reader", (Check("words missing", missing, 0),))

    return prove
