"""STEP read back: names, unit and corners straight from its text, the volume by a fresh reader."""

import re
from dataclasses import dataclass

import numpy as np

from nutgen.model import kernel
from nutgen.model.kernel import making

_POINT = re.compile(r"#(\d+) ?= ?CARTESIAN_POINT\('[^']*',\(([^)]*)\)\)")
_VERTEX = re.compile(r"VERTEX_POINT\('[^']*',#(\d+)\)")


@dataclass(frozen=True, slots=True)
class Step:
    """unit; solids in the file; lowest and highest corner over all vertices [mm]; volume [mm3]."""

    unit: str
    solids: int
    lowest: tuple[float, ...]
    highest: tuple[float, ...]
    volume: float


def read_step(data: bytes) -> Step:
    """Read a STEP file of ours.

    raises : ValueError where it is not whole; KernelError where the kernel's reader refuses it
    """
    text = re.sub(r"\n\s*", "", data.decode("ascii"))
    if not text.startswith("ISO-10303-21;") or not text.rstrip().endswith("END-ISO-10303-21;"):
        raise ValueError("is not a whole STEP file")
    places = dict(_POINT.findall(text))
    corners = np.array([[float(word) for word in places[at].split(",")] for at in _VERTEX.findall(text)])
    with making("the reading of the STEP file"):
        volume = sum(float(solid.Volume()) for solid in kernel.step_solids(data))
    return Step(
        unit="mm" if "SI_UNIT(.MILLI.,.METRE.)" in text.replace(" ", "") else "unknown",
        solids=text.count("MANIFOLD_SOLID_BREP("),
        lowest=tuple(corners.min(axis=0).tolist()),
        highest=tuple(corners.max(axis=0).tolist()),
        volume=volume,
    )
