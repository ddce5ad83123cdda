"""The sheet as one page of HTML: everything inside it, nothing fetched, the part in 3D to turn."""

import base64
import json
from typing import TYPE_CHECKING

from markupsafe import Markup

from nutgen.documents.paint.html import page_html
from nutgen.documents.sheet.mesh import packed_mesh
from nutgen.documents.sheet.sheet import Sheet
from nutgen.documents.sheet.words import SIZES_READ

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
        words.units,
        sheet=words,
        stamp=words.stamp,
        sizes_read=SIZES_READ,
        mesh=Markup(json.dumps({"parts": [packed_mesh(mesh) | BONE]}, separators=(",", ":"))) if mesh else None,
        picture=f"data:image/png;base64,{base64.b64encode(picture).decode()}" if picture else None,
    )
