"""The drawing as DXF: outlines as closed polylines with true arcs, one layer a meaning.

Release 2010, millimetres, no splines, no dimensions, no scale: what is drawn is what is cut.
"""

import io
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager

import ezdxf
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment

from nutgen.export.stamp import Stamp
from nutgen.model.drawing import LAYERS, Drawing, Stroke, View, draw
from nutgen.model.lines import Arc, Box, Chain, Part, Point, joined
from nutgen.nut.part import Nut

NOTES = "notes"
"""Layer of the words: they cut nothing and carry no size that the lines do not."""

_BETWEEN = 15.0  # mm, clear of one view to the next
_LETTER = 2.0  # mm
_METRIC, _MM = 1, 4
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
    with _fixed_dates():
        document = _document(stamp)
        space = document.modelspace()
        boxes = []
        for view, place, box in _placed(drawing):
            for chain in view.chains:
                _add(space, chain.moved(*place))
            _write(space, view.title, (box[0], box[3] + _LETTER))
            boxes.append(box)
        left, low, _, _ = boxes[0]
        for row, words in enumerate((stamp.line, "mm, 1:1, final sizes")):
            _write(space, words, (left, low - (row + 2) * 2.0 * _LETTER))
        _frame(document, joined(boxes))
        # the writer would add these in the order of a set, which changes from run to run
        for kind in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(kind)
        text = io.StringIO()
        document.write(text)
    return document.encode(text.getvalue())


def _placed(drawing: Drawing) -> Iterator[tuple[View, Point, Box]]:
    """Each view, where the zero of its frame goes, and the box that it then fills."""
    front, top, end = (view.box for view in drawing)
    places = (0.0, 0.0), (0.0, front[3] + _BETWEEN - top[1]), (front[2] + _BETWEEN - end[0], 0.0)
    for view, (across, up), box in zip(drawing, places, (front, top, end), strict=True):
        yield view, (across, up), (box[0] + across, box[1] + up, box[2] + across, box[3] + up)


@contextmanager
def _fixed_dates() -> Iterator[None]:
    """Keep the clock and random numbers out of the header."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _document(stamp: Stamp) -> Document:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = _MM
    document.header["$MEASUREMENT"] = _METRIC
    document.header["$LWDISPLAY"] = 1
    document.header.custom_vars.append("nutgen", _one_line(stamp.line))
    for stroke in {layer.stroke.name: layer.stroke for layer in LAYERS}.values():
        if stroke.pattern:
            document.linetypes.add(_linetype(stroke), _pattern(stroke), description=stroke.name)
    for layer in LAYERS:
        kind = _linetype(layer.stroke) if layer.stroke.pattern else "Continuous"
        entry = document.layers.add(layer.name, color=_WHITE_OR_BLACK, linetype=kind)
        entry.dxf.lineweight = round(layer.stroke.width * 100.0)
        entry.description = layer.meaning
    document.layers.add(NOTES, color=_WHITE_OR_BLACK)
    return document


def _frame(document: Document, box: Box) -> None:
    """Open on the whole drawing."""
    left, low, right, high = box[0], box[1] - 8.0 * _LETTER, box[2], box[3] + 2.0 * _LETTER
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (left, low, 0.0), (right, high, 0.0)
    middle = (left + right) / 2.0, (low + high) / 2.0
    document.set_modelspace_vport(height=max(high - low, right - left) * 1.1, center=middle)


def _one_line(words: str) -> str:
    """A control character would end the line that DXF keeps a text on."""
    return "".join(" " if unicodedata.category(letter) in ("Cc", "Zl", "Zp") else letter for letter in words)


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


def _write(space: "ezdxf.layouts.Modelspace", words: str, place: Point) -> None:
    text = space.add_text(_one_line(words), height=_LETTER, dxfattribs={"layer": NOTES})
    text.set_placement(place, align=TextEntityAlignment.LEFT)
