"""A reader of STEP that knows nothing of the kernel that wrote it, and measures every edge against its faces.

Read are the curves and surfaces that a plain reader of boundary models has to know (ISO 10303-42); those of
another kind are foreign. Places along an edge come from its curve, distances to a face from its surface: in closed
form for planes, cylinders, cones and tori, by Newton's method for a B-spline surface.
"""

import json
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.interpolate import NdBSpline

from nutgen.theory import Array

Shape = Callable[[Array], Array]
Parts = dict[str, list[Any]]
"""An instance: the values of each entity that it is."""

_LOOKS = 31  # places along an edge
_STARTS, _MOST_STEPS = 9, 12
_PLAIN = {
    "LINE", "CIRCLE", "B_SPLINE_CURVE", "B_SPLINE_CURVE_WITH_KNOTS",
    "PLANE", "CYLINDRICAL_SURFACE", "CONICAL_SURFACE", "TOROIDAL_SURFACE", "B_SPLINE_SURFACE",
    "B_SPLINE_SURFACE_WITH_KNOTS",
}  # fmt: skip
_AS_JSON = (
    (r"'(?:[^']|'')*'", '""'), (r"\(", "["), (r"\)", "]"), (r"\.([A-Z_]+)\.", r'"\1"'), (r"(\d)\.(?!\d)", r"\1.0"),
    (r"[$*]", "null"), (r"LENGTH_MEASURE(\[[^\]]*\])", r"\1"),
)  # fmt: skip
_INSTANCE = re.compile(r"#(\d+)\s*=\s*([^;]*);")
_ENTITY = re.compile(r"([A-Z][A-Z_0-9]*)\s*\[")
_MM = re.compile(r'LENGTH_UNIT\s*\[\s*\][^;]*SI_UNIT\s*\[\s*"MILLI"\s*,\s*"METRE"\s*\]')


@dataclass(frozen=True, slots=True)
class StepContent:
    """What the text of a STEP file says.

    unit            : "mm" where it says so
    solids          : closed bodies in it
    lowest, highest : corners of a box around all vertices [mm]
    foreign         : kinds of curves and surfaces that a plain reader need not know
    accuracy        : that the file claims [mm]
    off             : greatest distance of an edge from a face that it borders, or of a corner from its edge; nan
                      where something is foreign [mm]
    """

    unit: str
    solids: int
    lowest: tuple[float, ...]
    highest: tuple[float, ...]
    foreign: tuple[str, ...]
    accuracy: float
    off: float


def read_step(data: bytes) -> StepContent:
    """Read the text of a STEP file.

    Parameters
    ----------
    data : bytes
        The file.

    Returns
    -------
    StepContent
        Unit, number of solids, box, the accuracy claimed and the one found [mm].

    Raises
    ------
    ValueError
        Where it is not whole.

    References
    ----------
    ISO 10303-21 (the text) and ISO 10303-42 (what curves and surfaces mean), both from memory.
    """
    text = data.decode("ascii")
    if not text.startswith("ISO-10303-21;") or not text.rstrip().endswith("END-ISO-10303-21;"):
        raise ValueError("is not a whole STEP file")
    for pattern, into in _AS_JSON:
        text = re.sub(pattern, into, text)
    model = _Model({int(number): words for number, words in _INSTANCE.findall(text)})
    corners = np.array([model.vector(at) for at in model.having("VERTEX_POINT")])
    claimed = [model.parts(at)["UNCERTAINTY_MEASURE_WITH_UNIT"] for at in model.having("UNCERTAINTY_MEASURE_WITH_UNIT")]
    return StepContent(
        unit="mm" if _MM.search(text) else "unknown",
        solids=len(model.having("MANIFOLD_SOLID_BREP")),
        lowest=tuple(corners.min(axis=0).tolist()),
        highest=tuple(corners.max(axis=0).tolist()),
        foreign=model.foreign,
        accuracy=claimed[0][0][0] if claimed else math.nan,
        off=math.nan if model.foreign else max(model.off()),
    )


class _Model:
    """The instances of a file by number, and what they mean."""

    def __init__(self, instances: dict[int, str]) -> None:
        self._instances = instances
        self._known: dict[int, Parts] = {}

    def having(self, name: str) -> list[int]:
        """The instances of a kind."""
        return [at for at, words in self._instances.items() if words.startswith(name)]

    def parts(self, at: int | str) -> Parts:
        """An instance, its values by the names of what it is; numbers of others are strings with a # before."""
        number = int(str(at).lstrip("#"))
        if number not in self._known:
            self._known[number] = dict(_entities(re.sub(r"(#\d+)", r'"\1"', self._instances[number])))
        return self._known[number]

    def vector(self, at: int | str) -> Array:
        """A point, a direction, or the place of a vertex."""
        of = self.parts(at)
        if "VERTEX_POINT" in of:
            return self.vector(of["VERTEX_POINT"][1])
        return np.array((of.get("CARTESIAN_POINT") or of["DIRECTION"])[1], float)

    @cached_property
    def foreign(self) -> tuple[str, ...]:
        """Kinds of the geometry under edges and faces that are not plain."""
        edges = [self.parts(at)["EDGE_CURVE"][3] for at in self.having("EDGE_CURVE")]
        faces = [self.parts(at)["ADVANCED_FACE"][2] for at in self.having("ADVANCED_FACE")]
        kinds = {tuple(self.parts(at)) for at in [*edges, *faces]}
        return tuple(sorted(" ".join(names) for names in kinds if not _PLAIN & set(names)))

    def off(self) -> Iterator[float]:
        """Of every edge, how far its corners are from its curve, and it from the faces it borders [mm]."""
        places: dict[str, Array] = {}
        for at in self.having("EDGE_CURVE"):
            places[f"#{at}"], off = self._along(at)
            yield off
        for at in self.having("ADVANCED_FACE"):
            _, bounds, surface, _ = self.parts(at)["ADVANCED_FACE"]
            loops = [next(iter(self.parts(bound).values()))[1] for bound in bounds]
            turned = [edge for loop in loops for edge in self.parts(loop)["EDGE_LOOP"][1]]
            edges = [self.parts(edge)["ORIENTED_EDGE"][3] for edge in turned]
            yield float(self._from_surface(surface, np.concatenate([places[edge] for edge in edges])).max())

    def _along(self, at: int) -> tuple[Array, float]:
        """Places along an edge, (n, 3), and how far its corners are off its curve [mm]."""
        _, start, stop, curve, same = self.parts(at)["EDGE_CURVE"]
        ends = np.array([self.vector(v) for v in ((start, stop) if same == "T" else (stop, start))])
        of, share = self.parts(curve), np.linspace(0.0, 1.0, _LOOKS)[:, None]
        if "LINE" in of:
            origin = self.vector(of["LINE"][1])
            along = self.vector(self.parts(of["LINE"][2])["VECTOR"][1])
            run = (ends - origin) @ along
            places = origin + (run[0] + (run[1] - run[0]) * share) * along
        elif "CIRCLE" in of:
            origin, (x, y, _) = self._placement(of["CIRCLE"][1])
            first, last = (math.atan2(end @ y, end @ x) for end in ends - origin)
            turn = first + share * ((last - first) % (2.0 * math.pi) or 2.0 * math.pi)
            places = origin + of["CIRCLE"][2] * (np.cos(turn) * x + np.sin(turn) * y)
        else:
            curve_at, low, high = self._spline(of)
            first, last = _nearest(curve_at, low, high, ends)
            places = curve_at(first + share * (last - first))
        return places, float(np.linalg.norm(places[[0, -1]] - ends, axis=1).max())

    def _placement(self, at: str) -> tuple[Array, Array]:
        """Origin and axes x, y, z of a placement."""
        _, origin, axis, reference = self.parts(at)["AXIS2_PLACEMENT_3D"]
        z = self.vector(axis)
        x = self.vector(reference) - self.vector(reference) @ z * z
        x /= np.linalg.norm(x)
        return self.vector(origin), np.array([x, np.cross(z, x), z])

    def _from_surface(self, at: str, places: Array) -> Array:
        """Distances of places (n, 3) from a surface (n,) [mm]."""
        of = self.parts(at)
        name = next(iter(of))
        if "B_SPLINE_SURFACE" in of or name == "B_SPLINE_SURFACE_WITH_KNOTS":
            surface, low, high = self._spline(of)
            return np.linalg.norm(surface(_nearest(surface, low, high, places)) - places, axis=1)
        origin, axes = self._placement(of[name][1])
        x, y, z = axes @ (places - origin).T
        out, sizes = np.hypot(x, y), of[name][2:]
        if name == "PLANE":
            return np.abs(z)
        if name == "CYLINDRICAL_SURFACE":
            return np.abs(out - sizes[0])
        if name == "CONICAL_SURFACE":
            return np.abs((out - sizes[0]) * math.cos(sizes[1]) - z * math.sin(sizes[1]))
        return np.abs(np.hypot(out - sizes[0], z) - sizes[1])

    def _spline(self, of: Parts) -> tuple[Shape, Array, Array]:
        """A B-spline curve or surface as a function of parameters (n, 1) or (n, 2), their least and greatest values."""
        kind, ways = ("B_SPLINE_CURVE", 1) if any("CURVE" in name for name in of) else ("B_SPLINE_SURFACE", 2)
        knotted = of[f"{kind}_WITH_KNOTS"]
        values = of[kind] + knotted if kind in of else knotted[1:]
        poles = np.array([[self.vector(at) for at in row] for row in ([values[1]] if ways == 1 else values[2])])
        weights = np.array(of.get(f"RATIONAL_{kind}", [np.ones(poles.shape[:2])])[0]).reshape(*poles.shape[:2], 1)
        lifted = np.concatenate([poles * weights, weights], axis=2)
        first = 2 * ways + 3  # behind degrees, poles and four words or three: how often each knot, then the knots
        often, at = values[first : first + ways], values[first + ways : first + 2 * ways]
        knots = [np.repeat(np.array(a, float), n) for a, n in zip(at, often, strict=True)]
        spline = NdBSpline(tuple(knots), lifted[0] if ways == 1 else lifted, tuple(values[:ways]))

        def shape(parameters: Array) -> Array:
            here = spline(parameters)
            return here[:, :3] / here[:, 3:]

        return shape, np.array([k[0] for k in knots]), np.array([k[-1] for k in knots])


def _entities(words: str) -> Iterator[tuple[str, list[Any]]]:
    """Name and values of each entity in the text of an instance."""
    stop = 0
    while name := _ENTITY.search(words, stop):
        values, stop = json.JSONDecoder().raw_decode(words, name.end() - 1)
        yield name[1], values


def _nearest(shape: Shape, low: Array, high: Array, places: Array) -> Array:
    """Parameters (n, ways) at which a curve or a surface is nearest to places (n, 3), by Gauss and Newton."""
    axes = [np.linspace(a, b, _STARTS) for a, b in zip(low, high, strict=True)]
    starts = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(low))
    apart = np.linalg.norm(shape(starts)[None] - places[:, None], axis=2)
    found, step = starts[apart.argmin(axis=1)], 1e-6 * (high - low)
    for _ in range(_MOST_STEPS):
        missing = places - shape(found)
        slopes = []
        for way in np.diag(step):
            before, behind = np.maximum(found - way, low), np.minimum(found + way, high)
            slopes.append((shape(behind) - shape(before)) / (behind - before).sum(axis=1, keepdims=True))
        along = np.stack(slopes, axis=2)
        moved = _least(along, missing)
        found = np.clip(found + moved, low, high)
        if np.all(np.abs(moved) < 1e-9 * (high - low)):
            break
    return found


def _least(along: Array, missing: Array) -> Array:
    """Steps (n, ways) along slopes (n, 3, ways) that bring what is missing (n, 3) nearest to nothing."""
    turned = along.transpose(0, 2, 1)
    return np.asarray(np.linalg.solve(turned @ along, turned @ missing[:, :, None])[:, :, 0], np.float64)
