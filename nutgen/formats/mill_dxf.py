"""The router's files as DXF: one layer an operation, contours closed, depths carried by the lines.

Release 2010, millimetres. A contour is one polyline with true arcs and lies at the height that its
layer means; the floor of a slot is a line in space. The words on the layer "notes" say nothing that
the lines do not.
"""

from collections.abc import Iterable, Sequence

import ezdxf
from ezdxf.document import Drawing as Document

from nutgen.formats.dxf_document import NOTES, dxf_file, note, open_on
from nutgen.formats.stamp import Stamp
from nutgen.geometry.lines import Arc
from nutgen.model.mill.milling import OPERATIONS, Along, Clamped, Level, plan_chains, profile_chains, slot_lines
from nutgen.spec.forming import Mill

_LETTER = 1.2  # mm
_COLOURS = {"stock": 8, "outline": 7, "land": 5, "bevel": 4, "slot-outline": 3, "slot-centre": 1, "profile": 7}


def mill_dxf(work: Clamped, mill: Mill, stamp: Stamp) -> bytes:
    """The part standing in its stock, cut from above.

    returns : the file; the same part and stamp give the same bytes
    """
    where = "zero: left corner of the stock toward the bridge, on its top; x right, y to the headstock, z up; mm"
    return _bytes(list(plan_chains(work, mill)), slot_lines(work), stamp, where)


def profile_dxf(work: Clamped, stamp: Stamp) -> bytes:
    """The part lying on its back, the front face up, for its outline alone."""
    where = "lying on its back; zero: lower left corner of the stock, on its top; x right, y up the nut, z up; mm"
    return _bytes(list(profile_chains(work)), (), stamp, where)


def _bytes(levels: Sequence[Level], lines: Iterable[Along], stamp: Stamp, where: str) -> bytes:
    return dxf_file(stamp, lambda document: _fill(document, levels, lines, (stamp.line, where)))


def _fill(document: Document, levels: Sequence[Level], lines: Iterable[Along], words: Sequence[str]) -> None:
    for operation in OPERATIONS:
        entry = document.layers.add(operation.layer, color=_COLOURS[operation.layer])
        entry.description = operation.meaning
    document.layers.add(NOTES, color=_COLOURS["stock"])
    space = document.modelspace()
    for level in levels:
        _contour(space, level)
    for line in lines:
        _line(space, line)
    for row, line_of_words in enumerate(words):
        note(document, line_of_words, (0.0, -(row + 2) * 1.7 * _LETTER), letter=_LETTER)
    depths = [level.z for level in levels]
    open_on(document, levels[0].chain.box, depth=(min(depths), max(depths)), room=1.2)


def _contour(space: "ezdxf.layouts.Modelspace", level: Level) -> None:
    parts = level.chain.parts
    corners = [(*part.start, part.bulge if isinstance(part, Arc) else 0.0) for part in parts]
    look = {"layer": level.chain.layer, "elevation": level.z}
    space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs=look)


def _line(space: "ezdxf.layouts.Modelspace", line: Along) -> None:
    for start, end in zip(line.points, line.points[1:], strict=False):
        space.add_line(start, end, dxfattribs={"layer": line.layer})
