"""The cut that mill.txt and mill.dxf tell, simulated on a height field, against the triangles of nut.stl.

The reader here is the test's own: ezdxf for the lines, the words of mill.txt for cutters and heights, STL by numpy.
It knows nothing of how the lines were found. One router's program reads the lines in space, another ignores every z
in the drawing and cuts at what mill.txt says, a third runs straight from front to back.
"""

import io
import math
import re
from dataclasses import dataclass
from itertools import pairwise

import ezdxf
import numpy as np
import pytest
from shapely import contains_xy
from shapely.geometry import Polygon

from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import stl_bytes
from nutgen.geometry import kernel
from nutgen.jobs.mill import mill_job
from nutgen.model.mesh import mesh_of
from nutgen.model.solid import nut_solid, shelved_body
from nutgen.nut import solve
from nutgen.spec.read import parse_spec
from tests.cases import cases
from tests.kinds import text_of
from tests.specs import PRESETS

GOUGE = 0.01
"""No cut may go deeper into the part [mm]."""

PITCH = 0.015, 0.1
"""Of the height field, along the nut and across [mm]."""

STAMP = Stamp("Bench test", "0123456789ab")
NUMBER = r"\s+(-?\d+\.\d+)"


@dataclass
class Field:
    """The part's top over a grid in the stock's frame, -inf beside it; corners of its facets."""

    x: np.ndarray
    y: np.ndarray
    z: np.ndarray
    corners: np.ndarray

    @classmethod
    def of(cls, stl: bytes, shift) -> "Field":
        """Every triangle of a binary STL, one after the other: the highest wins."""
        facets = np.frombuffer(stl[84:], np.dtype([("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")]))
        corners = facets["v"].astype(float) + shift
        low, high = corners.min(axis=(0, 1)) - 1.0, corners.max(axis=(0, 1)) + 1.0
        x, y = (np.arange(low[i], high[i], pitch) + 1.3e-4 for i, pitch in enumerate(PITCH))
        z = np.full((len(x), len(y)), -np.inf)
        for a, b, c in corners:
            area = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])
            if area <= 1e-12:
                continue  # upright, or looking down
            first, last = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
            i, j = np.searchsorted(x, (first[0], last[0])), np.searchsorted(y, (first[1], last[1]))
            if i[0] == i[1] or j[0] == j[1]:
                continue
            px, py = x[i[0] : i[1], None], y[None, j[0] : j[1]]
            u = ((px - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (py - a[1])) / area
            v = ((b[0] - a[0]) * (py - a[1]) - (px - a[0]) * (b[1] - a[1])) / area
            inside = (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1.0 + 1e-9)
            height = np.where(inside, a[2] + u * (b[2] - a[2]) + v * (c[2] - a[2]), -np.inf)
            window = z[i[0] : i[1], j[0] : j[1]]
            np.maximum(window, height, out=window)
        return cls(x, y, z, corners.reshape(-1, 3))

    def gouge(self, path: np.ndarray, diameter: float, end: str) -> float:
        """How deep a cutter whose tip follows a path cuts into the part [mm]."""
        r, deepest = diameter / 2.0, -math.inf
        for tip in dense(path, 0.06):
            i, j = (np.searchsorted(of, (at - r, at + r)) for of, at in ((self.x, tip[0]), (self.y, tip[1])))
            away = np.hypot(self.x[i[0] : i[1], None] - tip[0], self.y[None, j[0] : j[1]] - tip[1])
            rise = r - np.sqrt(np.maximum(r * r - away * away, 0.0)) if end == "ball" else 0.0
            over = self.z[i[0] : i[1], j[0] : j[1]] - tip[2] - rise
            deepest = max(deepest, float(over[away < r].max(initial=-math.inf)))
        return deepest


class Told:
    """What mill.txt says, in mm."""

    def __init__(self, text: str) -> None:
        self.scale = 25.4 if re.search(r"^inches\. ", text, re.M) else 1.0
        self.lines: list[tuple[str, list[float]]] = []
        rows = re.findall(r"^(slot-\d+(?:-\d+)?)((?:\s+-?\d*\.\d+){7})\s+\d+$", text, re.M)
        for name, numbers in rows:
            self.lines.append((name, [float(one) * self.scale for one in numbers.split()]))
        self.cutter: dict[int, tuple[float, str]] = {}
        self.left: dict[int, list[float]] = {}
        self.largest: dict[int, float] = {}
        for row in re.findall(r"^(\d+) \S+" + NUMBER + r"\s+(\d*\.?\d+) (ball|flat)" + 2 * NUMBER, text, re.M):
            number = int(row[0])
            self.largest[number] = float(row[1]) * self.scale
            self.cutter[number] = float(row[2]) * self.scale, row[3]
            self.left[number] = [float(one) * self.scale for one in row[4:]]
        down = re.findall(r"^\d+\s+(top|outline).*?(\d*\.?\d+) (ball|flat)" + NUMBER + r"\s+\d+$", text, re.M)
        self.levels = {layer: float(z) * self.scale for layer, _, _, z in down}


HARD = {
    "rolled": ("electric-6", {"slots.floor": "rolled", "headstock.break_angle_deg": 16.0}),
    "rolled, wide, fine cutters": ("bass-5", {"slots.floor": "rolled", "mill": {"cutters": ["3 flat", "0.6 ball"]}}),
    "shelves": ("electric-7", {"slots.setback": {"bass": 1.2, "treble": 0.3}}),
    "no ball": ("bass-4", {"mill": {"cutters": ["3 flat", "1 flat"]}}),
    "wide balls alone": ("electric-6", {"mill": {"cutters": ["2 ball"]}}),
    "out of the ends": (
        "electric-6",
        {
            "fretboard.width_at_12": 60.0,
            "spacing.margin": 0.55,
            "seat.thickness": 6.0,
            "headstock.fan_deg": [-20.0, 0.0, 0.0, 0.0, 0.0, 20.0],
            "mill": {"cutters": ["3 flat", "0.4 ball"]},
        },
    ),
}
"""What kinds do not have: each a kind with some values changed."""


def text_named(name: str) -> str:
    kind, changes = HARD.get(name, (name, {}))
    return text_of(kind, changes)


KINDS = [path.stem for path in PRESETS]
QUICK = ["rolled", "shelves"]


@pytest.fixture(scope="module", params=cases(*QUICK, slow=[one for one in [*KINDS, *HARD] if one not in QUICK]))
def job(request):
    return made(text_named(request.param))


def made(text: str):
    spec = parse_spec(text, source="bench.toml")
    nut = solve(spec)
    solid = nut_solid(nut.rough())
    mesh = mesh_of(solid)
    files = mill_job(spec, nut, STAMP, solid, volume=kernel.volume(solid), front=float(mesh.vertices[:, 1].min()))
    data = {file.name: file.content for file in files.files}
    drawing = ezdxf.read(io.StringIO(data["mill.dxf"].decode())).modelspace()
    shift = np.array(files.record["mill"]["nut_frame_at"])
    part, uncut = (Field.of(stl_bytes(one, STAMP), shift) for one in (mesh, mesh_of(shelved_body(nut.rough()))))
    return part, uncut, drawing, Told(data["mill.txt"].decode()), data["mill-profile.dxf"]


def polylines(drawing) -> list[tuple[str, np.ndarray]]:
    found = drawing.query("POLYLINE")
    return [(one.dxf.layer, np.array([tuple(vertex.dxf.location) for vertex in one.vertices])) for one in found]


def test_no_reader_of_it_cuts_into_the_part(job) -> None:
    field, _, drawing, told, _ = job
    drawn, lowered = polylines(drawing), []
    assert [name for name, _ in drawn] == [name for name, _ in told.lines]
    assert len({(name, line[-1]) for name, line in told.lines}) == len({name for name, _ in drawn}), "a depth a layer"
    for (name, points), (_, (x0, y0, z0, x1, y1, z1, level)) in zip(drawn, told.lines, strict=True):
        diameter, end = told.cutter[int(name.split("-")[1])]
        flat = points.copy()
        flat[:, 2] = level
        front, back = np.array([x0, y0, z0]), np.array([x1, y1, z1])
        past = (back - front) / (y1 - y0) * (diameter / 2.0 + 1.0)
        for path in (points, flat, np.array([front - past, back + past])):
            assert -0.5 < field.gouge(path, diameter, end) < GOUGE, name
        lowered.append(field.gouge(points - (0.0, 0.0, 10.0 * GOUGE), diameter, end))
    assert max(lowered) > GOUGE, "a line that runs lower cuts into the part"


@pytest.mark.slow
def test_a_rolled_floor_that_an_allowance_carries_past_its_end_is_not_cut_into() -> None:
    """Past its steepest the roll has no height of its own: it was none, and no file came."""
    kind = {"slots.floor": "rolled", "headstock.break_angle_deg": 25.0}
    text = text_of("electric-6", kind | {"seat.thickness": 2.6, "seat.depth": 8.0, "body.back": 5.0})
    field, _, drawing, told, _ = made(text)
    drawn = polylines(drawing)
    assert len(drawn) >= 6
    for name, points in drawn:
        diameter, end = told.cutter[int(name.split("-")[1])]
        assert np.isfinite(points).all()
        assert -0.1 < field.gouge(points, diameter, end) < GOUGE, name  # 0.37 over it where the line dived on


def test_what_is_left_above_each_floor_is_what_it_says(job) -> None:
    """Along the bottom line, by the lines in space and by level ones, up to the top before the slots were cut.

    Rows of the field are 0.1 mm apart, and a floor falls by 0.03 in that.
    """
    field, uncut, drawing, told, _ = job
    lines = [(name, points, line[-1]) for (name, points), (_, line) in zip(polylines(drawing), told.lines, strict=True)]
    assert set(told.left) == {int(name.split("-")[1]) for name, _, _ in lines}
    for number, said in told.left.items():
        mine = [(dense(points, 0.02), level) for name, points, level in lines if int(name.split("-")[1]) == number]
        x = np.interp(field.y, mine[0][0][:, 1], mine[0][0][:, 0])
        column = np.searchsorted(field.x, x), np.arange(len(field.y))
        floor, on = field.z[column], np.isfinite(field.z[column])
        top = uncut.z[column][on]
        bottom = np.stack([x, field.y], axis=-1)[on]
        level_too = [points * (1.0, 1.0, 0.0) + (0.0, 0.0, level) for points, level in mine]
        for leaves, tips in zip(said, ([points for points, _ in mine], level_too), strict=True):
            diameter, end = told.cutter[number]
            stands = np.min([top, *(swept(bottom, tip, diameter / 2.0, end) for tip in tips)], axis=0)
            assert float((stands - floor[on]).max()) == pytest.approx(leaves, abs=0.03), (number, said)


def dense(path: np.ndarray, step: float) -> np.ndarray:
    parts = [
        a + (b - a) * np.linspace(0.0, 1.0, math.ceil(math.dist(a, b) / step) + 1)[:, None] for a, b in pairwise(path)
    ]
    return np.concatenate(parts)


def swept(places: np.ndarray, tips: np.ndarray, r: float, end: str) -> np.ndarray:
    """Height that a cutter leaves at places in plan."""
    away = np.hypot(places[:, None, 0] - tips[:, 0], places[:, None, 1] - tips[:, 1])
    rise = r - np.sqrt(np.maximum(r * r - away * away, 0.0)) if end == "ball" else 0.0
    return np.where(away < r, tips[:, 2] + rise, np.inf).min(axis=1)


def test_top_and_outline_leave_the_part_alone(job) -> None:
    field, _, drawing, told, _ = job
    assert field.z.max() < told.levels["top"] + GOUGE
    (outline,) = drawing.query('LWPOLYLINE[layer=="outline"]')
    ring = Polygon([(x, y) for x, y in outline.get_points("xy")])
    x, y = np.meshgrid(field.x, field.y, indexing="ij")
    outside = ~contains_xy(ring.buffer(1e-3), x, y)
    assert np.all(field.z[outside] == -np.inf)
    assert told.levels["outline"] == pytest.approx(outline.dxf.elevation, abs=0.002)


def test_lying_on_its_back_the_part_is_inside_its_profile(job) -> None:
    """Cut straight down along the outline: no corner of any facet may stick out."""
    field, *_, profile = job
    (outline,) = ezdxf.read(io.StringIO(profile.decode())).modelspace().query('LWPOLYLINE[layer=="profile"]')
    ring = Polygon([(point.x, point.y) for point in ezdxf.path.make_path(outline).flattening(1e-4)])
    up = field.corners[:, 2] - field.corners[:, 2].min()
    assert np.all(contains_xy(ring.buffer(GOUGE), field.corners[:, 0], up))
    assert ring.area < np.ptp(field.corners[:, 0]) * np.ptp(up) * 1.01
