"""The router's files as DXF: one layer an operation, contours closed, depths carried by the lines.

Release 2010, millimetres. A contour is one polyline with true arcs and lies at the height that its
layer means; the floor of a slot is a line in space. The words on the layer "notes" say nothing that
the lines do not.
"""

import io
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import contextmanager

import ezdxf
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment

from nutgen.export.stamp import Stamp
from nutgen.model.lines import Arc
from nutgen.model.milling import OPERATIONS, Along, Clamped, Level, plan_chains, profile_chains, slot_lines
from nutgen.spec.forming import Mill

NOTES = "notes"
_LETTER = 1.2  # mm
_METRIC, _MM = 1, 4
_COLOURS = {"stock": 8, "outline": 7, "land": 5, "bevel": 4, "slot-outline": 3, "slot-centre": 1, "profile": 7}


def mill_dxf(work: Clamped, mill: Mill, stamp: Stamp) -> bytes:
    """The part standing in its stock, cut from above.

    returns : the file; the same part and stamp give the same bytes
    """
    where = "zero: left corner of the stock toward the bridge, on its top; x right, y to the headstock, z up; mm"
    return _bytes(plan_chains(work, mill), slot_lines(work), stamp, where)


def profile_dxf(work: Clamped, stamp: Stamp) -> bytes:
    """The part lying on its back, the front face up, for its outline alone."""
    where = "lying on its back; zero: lower left corner of the stock, on its top; x right, y up the nut, z up; mm"
    return _bytes(profile_chains(work), (), stamp, where)


def _bytes(levels: Iterable[Level], lines: Iterable[Along], stamp: Stamp, where: str) -> bytes:
    with _fixed_dates():
        levels = list(levels)
        document = _document(stamp)
        space = document.modelspace()
        for level in levels:
            _contour(space, level)
        for line in lines:
            _line(space, line)
        for row, words in enumerate((_one_line(stamp.line), where)):
            text = space.add_text(words, height=_LETTER, dxfattribs={"layer": NOTES})
            text.set_placement((0.0, -(row + 2) * 1.7 * _LETTER), align=TextEntityAlignment.LEFT)
        left, low, right, high = levels[0].chain.box
        document.header["$EXTMIN"] = (left, low, min(level.z for level in levels))
        document.header["$EXTMAX"] = (right, high, max(level.z for level in levels))
        middle = (left + right) / 2.0, (low + high) / 2.0
        document.set_modelspace_vport(height=max(high - low, right - left) * 1.2, center=middle)
        # the writer would add these in the order of a set, which changes from run to run
        for kind in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(kind)
        written = io.StringIO()
        document.write(written)
    return document.encode(written.getvalue())


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
    document.header.custom_vars.append("nutgen", _one_line(stamp.line))
    for operation in OPERATIONS:
        entry = document.layers.add(operation.layer, color=_COLOURS[operation.layer])
        entry.description = operation.meaning
    document.layers.add(NOTES, color=_COLOURS["stock"])
    return document


def _contour(space: "ezdxf.layouts.Modelspace", level: Level) -> None:
    parts = level.chain.parts
    corners = [(*part.start, part.bulge if isinstance(part, Arc) else 0.0) for part in parts]
    look = {"layer": level.chain.layer, "elevation": level.z}
    space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs=look)


def _line(space: "ezdxf.layouts.Modelspace", line: Along) -> None:
    for start, end in zip(line.points, line.points[1:], strict=False):
        space.add_line(start, end, dxfattribs={"layer": line.layer})


def _one_line(words: str) -> str:
    """A control character would end the line that DXF keeps a text on."""
    return "".join(" " if unicodedata.category(letter) in ("Cc", "Zl", "Zp") else letter for letter in words)
