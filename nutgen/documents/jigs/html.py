"""The set of jigs as one page of HTML: what jigs.pdf shows in pictures, to turn, one at a time."""

import json
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from markupsafe import Markup

from nutgen.documents.jigs.scene import Scene, scenes
from nutgen.documents.paint.html import page_html
from nutgen.documents.piece_page.thinned import shaded
from nutgen.documents.sheet.mesh import packed
from nutgen.documents.texts import capital
from nutgen.documents.words.jigs import JIG_NAMES
from nutgen.formats.stamp import Stamp
from nutgen.jigs.choose import Made
from nutgen.jigs.task import Task

LOOKS: dict[str, dict[str, Any]] = {
    "jig": {"dark": [0.05, 0.24, 0.34], "light": [0.45, 0.72, 0.84], "line": [0.03, 0.16, 0.24, 0.7], "cover": 1},
    "blank": {"dark": [0.42, 0.34, 0.26], "light": [1.0, 0.965, 0.89], "line": [0.25, 0.19, 0.14, 0.75], "cover": 1},
    "steel": {"dark": [0.20, 0.21, 0.23], "light": [0.80, 0.81, 0.83], "line": [0.1, 0.1, 0.12, 0.7], "cover": 1},
    "tool": {"dark": [0.45, 0.20, 0.02], "light": [0.98, 0.70, 0.30], "line": [0.3, 0.13, 0.0, 0.7], "cover": 1},
}
"""By kind of body: red, green, blue in its own shade and in full light, its edges, opaque."""


def jigs_html(task: Task, made: Sequence[Made], stamp: Stamp) -> bytes:
    """The page: nothing is fetched, and without WebGL it sends to jigs.pdf.

    returns : the file; the same values give the same bytes
    """
    views = [(one, scene, f"{one.jig.name}-{place}") for one in made for place, scene in enumerate(scenes(task, one))]
    choices = [
        (capital(JIG_NAMES[one.jig.name]), [(key, scene.words) for other, scene, key in views if other is one])
        for one in made
    ]
    parts = [part for one, scene, key in views for part in _parts(one, scene, key)]
    return page_html(
        "jigs.html.j2",
        "mm",
        stamp=stamp,
        title=task.nut.title,
        choices=choices,
        view=Markup(json.dumps({"parts": parts}, separators=(",", ":"))),
    )


def _parts(made: Made, scene: Scene, key: str) -> Iterator[dict[str, Any]]:
    """The bodies of a scene, their middle at zero, in the frame that it is seen in."""
    frame = scene.lies or made.jig.parts[0].used
    places = [frame.apply_inverse(one.mesh.vertices) for one in scene.bodies]
    ends = [getattr(np.concatenate(places), end)(axis=0) for end in ("min", "max")]
    for one, vertices in zip(scene.bodies, places, strict=True):
        yield {"name": key, **packed(*shaded(vertices - sum(ends) / 2.0, one.mesh.triangles)), **LOOKS[one.layer]}
