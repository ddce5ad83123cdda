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
from nutgen.model.drawing import LAYERS, Drawing, Stroke, draw
from nutgen.model.lines import Arc, Chain, Part, joined
from nutgen.nut.part import Nut

NOTES = "notes"
"""Layer of the words: they cut nothing and carry no size that the lines do not."""

_BETWEEN = 15.0  # mm, clear of one view to the next
_LETTER = 2.5  # mm
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
        for view, (across, up) in zip(drawing, _places(drawing), strict=True):
            for chain in view.chains:
                moved = chain.moved(across, up)
                _add(space, moved)
            left, _, _, high = view.box
            _write(space, view.title, (left + across, high + up + _LETTER))
        left, low, _, _ = drawing.front.box
        _frame(document, drawing)
        for row, words in enumerate((stamp.line, "mm, 1:1, final sizes")):
            _write(space, words, (left, low - (row + 2) * 2.0 * _LETTER))
        # the writer would add these in the order of a set, which changes from run to run
        for kind in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(kind)
        text = io.StringIO()
        document.write(text)
    return document.encode(text.getvalue())


def _places(drawing: Drawing) -> tuple[tuple[float, float], ...]:
    """Where the frame of each view goes."""
    _, _, right, high = drawing.front.box
    top_low, end_left = drawing.top.box[1], drawing.end.box[0]
    return (0.0, 0.0), (0.0, high + _BETWEEN - top_low), (right + _BETWEEN - end_left, 0.0)


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


def _frame(document: Document, drawing: Drawing) -> None:
    """Open on the whole drawing."""
    placed = zip(drawing, _places(drawing), strict=True)
    boxes = [chain.moved(*place).box for view, place in placed for chain in view.chains]
    left, low, right, high = joined(boxes)
    low -= 8.0 * _LETTER
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


def _write(space: "ezdxf.layouts.Modelspace", words: str, place: tuple[float, float]) -> None:
    text = space.add_text(_one_line(words), height=_LETTER, dxfattribs={"layer": NOTES})
    text.set_placement(place, align=TextEntityAlignment.LEFT)
