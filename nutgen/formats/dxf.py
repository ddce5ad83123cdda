"""DXF: outlines as closed polylines with true arcs, one layer a meaning; for tracing and for the router.

Release 2010, millimetres, no splines, no dimensions, no scale: what is drawn is what is cut, and the same
bytes on any day. Read back by `dxf_reader`, which knows nothing of the library that writes here.
"""

import io
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import ezdxf
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment

from nutgen.formats.stamp import Stamp
from nutgen.geometry.lines import Arc, Box, Chain, Part, Point, joined
from nutgen.model.drawing import LAYERS, Drawing, Stroke, View, draw
from nutgen.model.mill.milling import MEANINGS, SLOT_MEANING, Clamped, Level, plan_levels, profile_levels
from nutgen.model.mill.runs import Run
from nutgen.nut.part import Nut

NOTES = "notes"
"""Layer of the words: they cut nothing and carry no size that the lines do not."""

_UNIT = "in mm, 25.4 to the inch"
_METRIC, _MM = 1, 4
_BETWEEN = 15.0  # mm, clear of one view to the next
_LETTER, _ROUTER_LETTER = 2.0, 1.2  # mm
_WHITE_OR_BLACK, _GREY = 7, 8
_COLOURS = {"stock": _GREY, "clamps": 2, "tabs": 6, "top": 5, "outline": 7, "profile": 7}
_SLOT_COLOUR = 1


def template_dxf(nut: Nut, stamp: Stamp) -> bytes:
    """A nut's three views as a DXF file.

    The front view keeps its own frame: x = 0 is the centre line, y = 0 the board surface. The top
    view stands above it and the end view to its right, each in line with it.

    Parameters
    ----------
    nut : Nut
        As it should be cut, so `nut.rough()` where the allowances stay on.
    stamp : Stamp
        Written into the file as words on the layer "notes" and as a property.

    Returns
    -------
    bytes
        The file; the same nut and stamp give the same bytes.

    Raises
    ------
    CannotBeMade
        Where a slot cuts the nut in two at the front face.
    """
    return _dxf(stamp, lambda document: _views(document, draw(nut), stamp))


def mill_dxf(work: Clamped, runs: Sequence[Run], stamp: Stamp) -> bytes:
    """The part standing in its stock, cut from above: one layer an operation, in the order of work.

    A contour lies at the height that its layer means; the line of a slot is one polyline in space.

    Parameters
    ----------
    work : Clamped
        The part in its stock.
    runs : sequence of Run
        Along its slots.
    stamp : Stamp
        As in `template_dxf`.

    Returns
    -------
    bytes
        The file; the same part and stamp give the same bytes.
    """
    where = "zero: left corner of the stock toward the bridge, on its top; x right, y to the headstock, z up"
    return _router_dxf(list(plan_levels(work)), runs, where, stamp)


def profile_dxf(work: Clamped, stamp: Stamp) -> bytes:
    """The part lying on its back, the front face up, for its outline alone; see `mill_dxf`."""
    where = "lying on its back; zero: lower left corner of the stock, on its top; x right, y up the nut, z up"
    return _router_dxf(list(profile_levels(work)), (), where, stamp)


def _router_dxf(levels: Sequence[Level], runs: Sequence[Run], where: str, stamp: Stamp) -> bytes:
    return _dxf(stamp, lambda document: _operations(document, levels, runs, (where, _UNIT, *stamp.notes)))


def outlines_dxf(chains: Sequence[Chain], stamp: Stamp) -> bytes:
    """Contours true to size, each on its own layer, to cut gauges of card or sheet by.

    Parameters
    ----------
    chains : sequence of Chain
        Where they stand in the drawing.
    stamp : Stamp
        As in `template_dxf`.

    Returns
    -------
    bytes
        The file; the same contours and stamp give the same bytes.
    """

    def fill(document: Document) -> None:
        for layer in dict.fromkeys((*(chain.layer for chain in chains), NOTES)):
            document.layers.add(layer, color=_WHITE_OR_BLACK)
        for chain in chains:
            _add_polyline(document.modelspace(), chain)
        left, low, right, high = joined([chain.box for chain in chains])
        for row, words in enumerate((f"{_UNIT}, 1:1", *stamp.notes)):
            _note(document, words, (left, low - (row + 2) * 2.0 * _LETTER), _LETTER)
        _open_on(document, (left, low - 8.0 * _LETTER, right, high), depth=(0.0, 0.0), room=1.1)

    return _dxf(stamp, fill)


def _dxf(stamp: Stamp, fill: Callable[[Document], None]) -> bytes:
    """A DXF file with the stamp as a property; fill adds layers and entities to the empty document."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # keeps clock and random numbers out of the header
    try:
        document = ezdxf.new("R2010")
        document.header["$INSUNITS"] = _MM
        document.header["$MEASUREMENT"] = _METRIC
        document.header.custom_vars.append("nutgen", _one_line(stamp.line))
        fill(document)
        # the writer would add these in the order of a set, which changes from run to run
        for kind in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(kind)
        text = io.StringIO()
        document.write(text)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
    return document.encode(text.getvalue())


def _views(document: Document, drawing: Drawing, stamp: Stamp) -> None:
    _view_layers(document)
    boxes = []
    for view, place, box in _placed(drawing):
        for chain in view.chains:
            _add_chain(document.modelspace(), chain.moved(*place))
        _note(document, view.title, (box[0], box[3] + _LETTER), _LETTER)
        boxes.append(box)
    left, low, right, high = joined(boxes)
    for row, words in enumerate((f"{_UNIT}, 1:1, final sizes", *stamp.notes)):
        _note(document, words, (boxes[0][0], boxes[0][1] - (row + 2) * 2.0 * _LETTER), _LETTER)
    _open_on(document, (left, low - 8.0 * _LETTER, right, high + 2.0 * _LETTER), depth=(0.0, 0.0), room=1.1)


def _placed(drawing: Drawing) -> Iterator[tuple[View, Point, Box]]:
    """Each view, where the zero of its frame goes, and the box that it then fills."""
    front, top, end = (view.box for view in drawing)
    places = (0.0, 0.0), (0.0, front[3] + _BETWEEN - top[1]), (front[2] + _BETWEEN - end[0], 0.0)
    for view, (across, up), box in zip(drawing, places, (front, top, end), strict=True):
        yield view, (across, up), (box[0] + across, box[1] + up, box[2] + across, box[3] + up)


def _view_layers(document: Document) -> None:
    document.header["$LWDISPLAY"] = 1
    for stroke in {layer.stroke.name: layer.stroke for layer in LAYERS}.values():
        if stroke.pattern:
            document.linetypes.add(_linetype(stroke), _pattern(stroke), description=stroke.name)
    for layer in LAYERS:
        kind = _linetype(layer.stroke) if layer.stroke.pattern else "Continuous"
        entry = document.layers.add(layer.name, color=_WHITE_OR_BLACK, linetype=kind)
        entry.dxf.lineweight = round(layer.stroke.width * 100.0)
        entry.description = layer.meaning
        entry.rgb = layer.colour
    document.layers.add(NOTES, color=_WHITE_OR_BLACK)


def _linetype(stroke: Stroke) -> str:
    return stroke.name.replace(" ", "-")


def _pattern(stroke: Stroke) -> list[float]:
    """Total length, then dashes above and gaps below zero."""
    return [sum(stroke.pattern)] + [length if i % 2 == 0 else -length for i, length in enumerate(stroke.pattern)]


def _operations(document: Document, levels: Sequence[Level], runs: Sequence[Run], words: Sequence[str]) -> None:
    for layer in dict.fromkeys((*(level.chain.layer for level in levels), *(run.layer for run in runs))):
        entry = document.layers.add(layer, color=_COLOURS.get(layer, _SLOT_COLOUR))
        entry.description = MEANINGS.get(layer, SLOT_MEANING)
    document.layers.add(NOTES, color=_GREY)
    space = document.modelspace()
    for level in levels:
        _add_polyline(space, level.chain, elevation=level.z)
    for run in runs:
        space.add_polyline3d(run.points, dxfattribs={"layer": run.layer})
    for row, line_of_words in enumerate(words):
        _note(document, line_of_words, (0.0, -(row + 2) * 1.7 * _ROUTER_LETTER), _ROUTER_LETTER)
    depths = [level.z for level in levels]
    _open_on(document, levels[0].chain.box, depth=(min(depths), max(depths)), room=1.2)


def _add_chain(space: "ezdxf.layouts.Modelspace", chain: Chain) -> None:
    """A contour or a bent chain as one polyline; a lone line or arc as itself."""
    if len(chain.parts) == 1:
        _add_part(space, chain.parts[0], chain.layer)
    else:
        _add_polyline(space, chain).dxf.flags |= 128  # the dashes run on round the corners


def _add_polyline(space: "ezdxf.layouts.Modelspace", chain: Chain, **look: float) -> Any:
    corners = [(*part.start, part.bulge if isinstance(part, Arc) else 0.0) for part in chain.parts]
    if not chain.closed:
        corners.append((*chain.parts[-1].end, 0.0))
    return space.add_lwpolyline(corners, format="xyb", close=chain.closed, dxfattribs={"layer": chain.layer, **look})


def _add_part(space: "ezdxf.layouts.Modelspace", part: Part, layer: str) -> None:
    if isinstance(part, Arc):
        one = part if part.turning > 0 else part.reversed()
        space.add_arc(one.centre, one.radius, one.start_deg, one.end_deg, dxfattribs={"layer": layer})
    else:
        space.add_line(part.start, part.end, dxfattribs={"layer": layer})


def _open_on(document: Document, box: Box, *, depth: tuple[float, float], room: float) -> None:
    """State the drawing's extent and open on all of it.

    box   : left, low, right, high [mm]
    depth : lowest and highest z [mm]
    room  : of the view, in drawings
    """
    left, low, right, high = box
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (left, low, depth[0]), (right, high, depth[1])
    middle = (left + right) / 2.0, (low + high) / 2.0
    document.set_modelspace_vport(height=max(high - low, right - left) * room, center=middle)


def _note(document: Document, words: str, place: Point, letter: float) -> None:
    """Words on the layer of notes, beginning at a place, in letters of a height [mm]."""
    text = document.modelspace().add_text(_one_line(words), height=letter, dxfattribs={"layer": NOTES})
    text.set_placement(place, align=TextEntityAlignment.LEFT)


def _one_line(words: str) -> str:
    """A control character would end the line that DXF keeps a text on."""
    return "".join(" " if unicodedata.category(letter) in ("Cc", "Zl", "Zp") else letter for letter in words)
