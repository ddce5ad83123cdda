"""The drawing as DXF: outlines as closed polylines with true arcs, one layer a meaning.

Release 2010, millimetres, no splines, no dimensions, no scale: what is drawn is what is cut.
"""

from collections.abc import Iterator

import ezdxf
from ezdxf.document import Drawing as Document

from nutgen.formats.dxf_document import NOTES, dxf_file, note, open_on
from nutgen.formats.stamp import Stamp
from nutgen.geometry.lines import Arc, Box, Chain, Part, Point, joined
from nutgen.model.drawing import LAYERS, Drawing, Stroke, View, draw
from nutgen.nut.part import Nut

_BETWEEN = 15.0  # mm, clear of one view to the next
_LETTER = 2.0  # mm
_WHITE_OR_BLACK = 7


def template_dxf(nut: Nut, stamp: Stamp) -> bytes:
    """A nut's three views as a DXF file.

    nut     : as it should be cut, so `nut.rough()` where the allowances stay on
    stamp   : written into the file as words on the layer "notes" and as a property
    returns : the file; the same nut and stamp give the same bytes

    The front view keeps its own frame: x = 0 is the centre line, y = 0 the board surface. The top
    view stands above it and the end view to its right, each in line with it.
    """
    return drawing_dxf(draw(nut), stamp)


def drawing_dxf(drawing: Drawing, stamp: Stamp) -> bytes:
    """Any three views as a DXF file; see `template_dxf`."""
    return dxf_file(stamp, lambda document: _fill(document, drawing, stamp))


def _fill(document: Document, drawing: Drawing, stamp: Stamp) -> None:
    _layers(document)
    space = document.modelspace()
    boxes = []
    for view, place, box in _placed(drawing):
        for chain in view.chains:
            _add(space, chain.moved(*place))
        note(document, view.title, (box[0], box[3] + _LETTER), letter=_LETTER)
        boxes.append(box)
    left, low, _, _ = boxes[0]
    for row, words in enumerate((stamp.line, "mm, 1:1, final sizes")):
        note(document, words, (left, low - (row + 2) * 2.0 * _LETTER), letter=_LETTER)
    left, low, right, high = joined(boxes)
    open_on(document, (left, low - 8.0 * _LETTER, right, high + 2.0 * _LETTER), depth=(0.0, 0.0), room=1.1)


def _placed(drawing: Drawing) -> Iterator[tuple[View, Point, Box]]:
    """Each view, where the zero of its frame goes, and the box that it then fills."""
    front, top, end = (view.box for view in drawing)
    places = (0.0, 0.0), (0.0, front[3] + _BETWEEN - top[1]), (front[2] + _BETWEEN - end[0], 0.0)
    for view, (across, up), box in zip(drawing, places, (front, top, end), strict=True):
        yield view, (across, up), (box[0] + across, box[1] + up, box[2] + across, box[3] + up)


def _layers(document: Document) -> None:
    document.header["$LWDISPLAY"] = 1
    for stroke in {layer.stroke.name: layer.stroke for layer in LAYERS}.values():
        if stroke.pattern:
            document.linetypes.add(_linetype(stroke), _pattern(stroke), description=stroke.name)
    for layer in LAYERS:
        kind = _linetype(layer.stroke) if layer.stroke.pattern else "Continuous"
        entry = document.layers.add(layer.name, color=_WHITE_OR_BLACK, linetype=kind)
        entry.dxf.lineweight = round(layer.stroke.width * 100.0)
        entry.description = layer.meaning
    document.layers.add(NOTES, color=_WHITE_OR_BLACK)


def _linetype(stroke: Stroke) -> str:
    return stroke.name.replace(" ", "-")


def _pattern(stroke: Stroke) -> list[float]:
    """Total length, then dashes above and gaps below zero."""
    return [sum(stroke.pattern)] + [length if i % 2 == 0 else -length for i, length in enumerate(stroke.pattern)]


def _add(space: "ezdxf.layouts.Modelspace", chain: Chain) -> None:
    """A contour or a bent chain as one polyline; a lone line or arc as itself."""
    look = {"layer": chain.layer}
    if len(chain.parts) == 1:
        _add_part(space, chain.parts[0], look)
        return
    corners = [(*part.start, part.bulge if isinstance(part, Arc) else 0.0) for part in chain.parts]
    if not chain.closed:
        corners.append((*chain.parts[-1].end, 0.0))
    line = space.add_lwpolyline(corners, format="xyb", close=chain.closed, dxfattribs=look)
    line.dxf.flags |= 128  # the dashes run on round the corners


def _add_part(space: "ezdxf.layouts.Modelspace", part: Part, look: dict[str, str]) -> None:
    if isinstance(part, Arc):
        counterclockwise = part if part.turning > 0 else part.reversed()
        space.add_arc(part.centre, part.radius, counterclockwise.start_deg, counterclockwise.end_deg, dxfattribs=look)
    else:
        space.add_line(part.start, part.end, dxfattribs=look)
