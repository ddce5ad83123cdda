"""The sheet as one page of HTML: everything inside it, nothing fetched, the part in 3D to turn."""

import base64
import json
from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING, Any

from markupsafe import Markup, escape

from nutgen.documents.paint.html import inside, page_html
from nutgen.documents.sheet.dimensions import SKETCH_STROKES, TYPE, Label, Sketch, legend
from nutgen.documents.sheet.mesh import packed_mesh
from nutgen.documents.sheet.sheet import Sheet
from nutgen.documents.sheet.words import SIZES_READ
from nutgen.geometry.lines import Arc, Chain, Part

if TYPE_CHECKING:
    from nutgen.model.mesh import SolidMesh

BONE = {
    "name": "nut",
    "dark": [0.42, 0.34, 0.26],
    "light": [1.0, 0.965, 0.89],
    "line": [0.25, 0.19, 0.14, 0.75],
    "cover": 1,
}
"""How the page's view paints the part: red, green, blue in its own shade and in full light, its edges, opaque."""

_MARGIN = 1.0  # mm, around a sketch: half its widest line, and air
_ANCHOR = {"left": "start", "centre": "middle", "right": "end"}


def sheet_html(words: Sheet, *, mesh: "SolidMesh | None" = None, picture: bytes | None = None) -> bytes:
    """A sheet as an HTML file.

    mesh    : of the part, to be turned; without it the page says where to get it
    picture : a PNG of the part, for paper and for browsers without WebGL
    returns : the file; the same values give the same bytes

    The page asks for nothing: a content policy forbids every request, its style, script, mesh and
    picture are inside it. Ticks and notes are kept in the browser under the hash of the values.
    """
    return page_html(
        "sheet.html.j2",
        "mm",
        sheet=words,
        sizes_read=SIZES_READ,
        drawings=[_figure(sketch) for sketch in words.drawn],
        legend=[(_sample(layer), meaning) for layer, meaning in legend()],
        mesh=Markup(json.dumps({"parts": [packed_mesh(mesh) | BONE]}, separators=(",", ":"))) if mesh else None,
        picture=f"data:image/png;base64,{base64.b64encode(picture).decode()}" if picture else None,
        style=inside("sheet.css"),
        script=inside("sheet.js") + inside("viewer.js"),
        capital=lambda words: words[:1].upper() + words[1:],
    )


def _figure(sketch: Sketch) -> dict[str, Any]:
    """A sketch as SVG, its size in mm, and its words."""
    left, low, right, high = sketch.box
    left, low, right, high = left - _MARGIN, low - _MARGIN, right + _MARGIN, high + _MARGIN
    wide, tall = right - left, high - low
    title = sketch.title + ("" if sketch.scale == 1 else f", {sketch.scale}:1")
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" id="{sketch.name}" role="img" aria-labelledby="{sketch.name}-title"'
        f' width="{_n(wide)}mm" height="{_n(tall)}mm" viewBox="{_n(left)} {_n(-high)} {_n(wide)} {_n(tall)}"'
        f' style="--wide:{_n(wide)}mm">',
        f'<title id="{sketch.name}-title">{escape(title)}</title>',
        *_strokes(sketch),
        *(_label(label) for label in sketch.labels),
        "</svg>",
    ]
    return {"name": sketch.name, "title": title, "svg": Markup("\n".join(lines))}


def _strokes(sketch: Sketch) -> Iterator[str]:
    for layer, chains in groupby(sorted(sketch.chains, key=lambda chain: chain.layer), key=lambda c: c.layer):
        yield f'<g class="{layer}" fill="none" stroke="#000" stroke-linejoin="round" {_look(layer)}>'
        for chain in chains:
            yield f'<path d="{_path(chain)}"/>'
        yield "</g>"


def _look(layer: str) -> str:
    stroke = SKETCH_STROKES[layer]
    look = f'stroke-width="{stroke.width:g}"'
    if stroke.pattern:
        look += f' stroke-linecap="round" stroke-dasharray="{" ".join(_n(dash) for dash in stroke.pattern)}"'
    return look


def _sample(layer: str) -> Markup:
    return Markup(
        '<svg class="sample" viewBox="0 0 10 2" width="10mm" height="2mm" aria-hidden="true">'
        f'<path d="M0 1L10 1" fill="none" stroke="#000" {_look(layer)}/></svg>'
    )


def _path(chain: Chain) -> str:
    x, y = chain.parts[0].start
    steps = [f"M{_n(x)} {_n(-y)}", *(_step(part) for part in chain.parts)]
    return "".join([*steps, "Z"] if chain.closed else steps)


def _step(part: Part) -> str:
    to = f"{_n(part.end[0])} {_n(-part.end[1])}"
    if not isinstance(part, Arc):
        return f"L{to}"
    # up is down here, so counterclockwise in the drawing is sweep 0
    return f"A{_n(part.radius)} {_n(part.radius)} 0 {int(abs(part.sweep_deg) > 180.0)} {int(part.turning < 0)} {to}"


def _label(label: Label) -> str:
    x, y = _n(label.x), _n(-label.y)
    look = f'font-size="{TYPE:g}" text-anchor="{_ANCHOR[label.align]}"'
    look += ' font-weight="bold"' if label.bold else ""
    look += f' transform="rotate(-90 {x} {y})"' if label.turned else ""
    return f'<text x="{x}" y="{y}" {look}>{escape(label.text)}</text>'


def _n(value: float) -> str:
    return f"{value + 0.0:.5f}".rstrip("0").rstrip(".")
