"""What every DXF file of ours is: release 2010, millimetres, the same bytes on any day."""

import io
import unicodedata
from collections.abc import Callable

import ezdxf
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment

from nutgen.formats.stamp import Stamp

NOTES = "notes"
"""Layer of the words: they cut nothing and carry no size that the lines do not."""

_METRIC, _MM = 1, 4


def dxf_file(stamp: Stamp, fill: Callable[[Document], None]) -> bytes:
    """A DXF file with the stamp as a property.

    fill : adds layers and entities to the empty document
    """
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


def open_on(
    document: Document, box: tuple[float, float, float, float], *, depth: tuple[float, float], room: float
) -> None:
    """State the drawing's extent and open on all of it.

    box   : left, low, right, high [mm]
    depth : lowest and highest z [mm]
    room  : of the view, in drawings
    """
    left, low, right, high = box
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (left, low, depth[0]), (right, high, depth[1])
    middle = (left + right) / 2.0, (low + high) / 2.0
    document.set_modelspace_vport(height=max(high - low, right - left) * room, center=middle)


def note(document: Document, words: str, place: tuple[float, float], *, letter: float) -> None:
    """Words on the layer of notes, beginning at a place, in letters of a height [mm]."""
    text = document.modelspace().add_text(_one_line(words), height=letter, dxfattribs={"layer": NOTES})
    text.set_placement(place, align=TextEntityAlignment.LEFT)


def _one_line(words: str) -> str:
    """A control character would end the line that DXF keeps a text on."""
    return "".join(" " if unicodedata.category(letter) in ("Cc", "Zl", "Zp") else letter for letter in words)
