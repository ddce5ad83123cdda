"""STEP read back: names, unit and corners straight from its text, the volume by a fresh reader."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from nutgen.geometry import kernel
from nutgen.geometry.kernel import making

_POINT = re.compile(r"#(\d+) ?= ?CARTESIAN_POINT\('[^']*',\(([^)]*)\)\)")
_VERTEX = re.compile(r"VERTEX_POINT\('[^']*',#(\d+)\)")
_ENTITY = re.compile(r"#\d+ ?= ?([A-Z0-9_]+)\(")


@dataclass(frozen=True, slots=True)
class Step:
    """What the text of a STEP file says.

    unit            : "mm" where it says so
    solids          : closed bodies in it
    lowest, highest : corner over all vertices [mm]
    points          : every place in space that the shape is built from, (n, 3), sorted [mm]
    kinds           : how often each kind of entity stands in it
    """

    unit: str
    solids: int
    lowest: tuple[float, ...]
    highest: tuple[float, ...]
    points: NDArray[np.float64]
    kinds: Counter[str]


@lru_cache(maxsize=2)
def read_step(data: bytes) -> Step:
    """Read the text of a STEP file of ours; the last ones are kept, since one is often compared with another.

    raises : ValueError where it is not whole
    """
    text = re.sub(r"\n\s*", "", data.decode("ascii"))
    if not text.startswith("ISO-10303-21;") or not text.rstrip().endswith("END-ISO-10303-21;"):
        raise ValueError("is not a whole STEP file")
    places = {at: [float(word) for word in place.split(",")] for at, place in _POINT.findall(text)}
    corners = np.array([places[at] for at in _VERTEX.findall(text)])
    points = np.array([place for place in places.values() if len(place) == 3])
    return Step(
        unit="mm" if "SI_UNIT(.MILLI.,.METRE.)" in text.replace(" ", "") else "unknown",
        solids=text.count("MANIFOLD_SOLID_BREP("),
        lowest=tuple(corners.min(axis=0).tolist()),
        highest=tuple(corners.max(axis=0).tolist()),
        points=points,
        kinds=Counter(_ENTITY.findall(text)),
    )


def step_volume(data: bytes) -> float:
    """Volume of the solids in a STEP file, by the kernel's own reader [mm3].

    raises : KernelError where it refuses the file
    """
    with making("the reading of the STEP file"):
        return sum(kernel.volume(solid) for solid in kernel.step_solids(data))


def farthest_apart(one: Step, other: Step, shift: Sequence[float]) -> float:
    """How far a shape is from another one moved by a shift, point by point; inf where they are not alike [mm].

    One point is that of the file's own frame, which lies at zero in both and does not move.
    """
    if one.kinds != other.kinds or one.points.shape != other.points.shape:
        return float("inf")
    apart = np.abs(one.points - other.points - np.asarray(shift, float)).max(axis=1)
    frame = np.flatnonzero(~one.points.any(axis=1) & ~other.points.any(axis=1))[:1]
    apart[frame] = 0.0
    return float(apart.max())
