"""The bench as solids: a block, and every stage of `nutgen stages --json` as a cut on it.

Nothing here knows the code of the part: a cut is made of the sizes that the stages tell, of what `nut.json` says of
each string, and of the board's radius as the maker read it. Booleans by manifold3d, which every cut is made for anew.

    x across, from the middle of the nut; y back from the face that goes against the board; z up from the board
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from manifold3d import Manifold, Mesh
from numpy.typing import NDArray

Array = NDArray[np.float64]
Told = dict[str, Any]

FAR = 40.0
ROUND = 32
"""Straight pieces of half a circle: 1.2 um off for a floor of 1 mm radius."""


@dataclass(frozen=True)
class Top:
    """A top by its sizes: an arc between two ends, a land, a bevel parallel to the crown, edges eased or crisp."""

    ends: tuple[float, float]
    radius: float
    left: float
    right: float
    land: float
    back: float
    fall: float
    eased: float = 0.0
    out: tuple[float, float] = (0.0, 0.0)

    def inset(self, y: Array) -> Array:
        """How far the top lies inside the crown."""
        bevel = np.maximum(y - self.land, 0.0) * self.fall
        if not self.eased:
            return bevel
        slope, middle = math.atan(self.fall), self.back - self.eased
        deep = (middle - self.land) * self.fall + self.eased / math.cos(slope)
        away = np.clip(y - middle, 0.0, self.eased)
        arc = deep - np.sqrt(self.eased**2 - away**2)
        return np.where(y > middle + self.eased * math.sin(slope), arc, bevel)

    def height(self, x: Array, y: Array) -> Array:
        inset = self.inset(y)
        outer = zip((-1.0, 1.0), self.ends, self.out, strict=True)
        ends = {side: end + side * (out * y - self.eased) for side, end, out in outer}
        wide, middle = self.ends[1] - self.ends[0], sum(self.ends) / 2.0
        slope = (self.right - self.left) / wide
        if math.isinf(self.radius):
            lower = (self.left + self.right) / 2.0 - slope * middle - inset / math.cos(math.atan(slope))
            z = lower + slope * x
            sink = self.eased / math.cos(math.atan(slope))
            corner = {side: lower + slope * inner - sink for side, inner in ends.items()}
            leans = {side: -side * math.sin(math.atan(slope)) for side in ends}
        else:
            chord = math.hypot(wide, self.right - self.left)
            rise = math.sqrt(self.radius**2 - chord**2 / 4.0)
            xc = middle + rise * wide * slope / chord
            zc = (self.left + self.right) / 2.0 - rise * wide / chord
            z = zc + np.sqrt((self.radius - inset) ** 2 - (x - xc) ** 2)
            reach = self.radius - inset - self.eased
            corner = {side: zc + np.sqrt(reach**2 - (inner - xc) ** 2) for side, inner in ends.items()}
            leans = {side: side * (inner - xc) / reach for side, inner in ends.items()}
        for side, centre in corner.items() if self.eased else ():
            beyond = side * (x - ends[side])
            over = np.sqrt(np.maximum(self.eased**2 - np.maximum(beyond, 0.0) ** 2, 0.0))
            round_from = np.maximum(self.eased * leans[side], 0.0)
            z = np.where(beyond > round_from, np.minimum(z, centre + over), z)
        return z


def box(x: Sequence[float], y: Sequence[float], z: Sequence[float]) -> Manifold:
    return Manifold.cube((x[1] - x[0], y[1] - y[0], z[1] - z[0])).translate((x[0], y[0], z[0]))


def sheet_cut(x: Array, y: Array, face: Callable[[Array, Array], Array], up: float) -> Manifold:
    """All between a surface over a grid in plan and a height far above or below it.

    x : as many as there are rows, or for each row and each y
    """
    grid_x, grid_y = np.broadcast_arrays(x if x.ndim == 2 else x[:, None], y)
    near = np.stack([grid_x, grid_y, face(grid_x, grid_y)], axis=-1).reshape(-1, 3)
    far = near.copy()
    far[:, 2] = up
    n, m = grid_x.shape
    index = np.arange(n * m).reshape(n, m)
    a, b, c, d = (index[i : i + n - 1, j : j + m - 1].ravel() for i, j in ((0, 0), (1, 0), (1, 1), (0, 1)))
    sheet = np.vstack([np.stack([a, c, b], axis=1), np.stack([a, d, c], axis=1)])
    rim = np.concatenate([index[:, 0], index[-1, 1:], index[-2::-1, -1], index[0, -2:0:-1]])
    after = np.roll(rim, -1)
    count = n * m
    wall = np.vstack(
        [np.stack([rim, after, after + count], axis=1), np.stack([rim, after + count, rim + count], axis=1)]
    )
    triangles = np.vstack([sheet, sheet[:, ::-1] + count, wall])
    if up < near[:, 2].min():
        triangles = triangles[:, ::-1]
    return Manifold(Mesh(np.vstack([near, far]).astype(np.float32), triangles.astype(np.uint32)))


def drop(x: Array, radius: float) -> Array:
    return np.zeros_like(x) if math.isinf(radius) else radius - np.sqrt(radius**2 - x**2)


def groove(string: Told, *, floor_z: float, width: float, start: float, back: float) -> Manifold:
    """A round-bottomed file drawn along a floor, and all above it: straight, or rolled about an axis below."""
    fan, first, last = (math.radians(string[key]) for key in ("fan_deg", "tilt_deg", "end_tilt_deg"))
    along, side = np.array([math.sin(fan), math.cos(fan), 0.0]), np.array([math.cos(fan), -math.sin(fan), 0.0])
    begin, up = np.array([string["x"], start, floor_z]), np.array([0.0, 0.0, 1.0])
    turns = np.linspace(0.0, math.pi, ROUND + 1)
    r = width / 2.0
    across = np.concatenate([[r, -r], -r * np.cos(turns)])
    over = np.concatenate([[FAR, FAR], r - r * np.sin(turns)])

    def section(run: float, deep: float, tilt: float) -> Array:
        normal = math.sin(tilt) * along + math.cos(tilt) * up
        foot = begin + run * along - deep * up
        return np.asarray(foot + across[:, None] * side + over[:, None] * normal)

    before = 1.0
    if string["floor"] == "straight":
        length = (back - start) / math.cos(fan) + 5.0
        return drawn([section(run, run * math.tan(first), first) for run in (-before, length)])
    roll = (back - start) / math.cos(fan) / (math.sin(last) - math.sin(first))
    angles = np.linspace(math.asin(math.sin(first) - before / roll), min(1.3, last + before / roll), 60)
    return drawn(
        [section(roll * (math.sin(a) - math.sin(first)), roll * (math.cos(first) - math.cos(a)), a) for a in angles]
    )


def drawn(sections: Sequence[Array]) -> Manifold:
    """A solid through convex sections of as many corners, one behind the other."""
    count, corners = len(sections), len(sections[0])
    index = np.arange(count * corners).reshape(count, corners)
    a, b = index[:-1], index[1:]
    sides = [
        np.stack([a, np.roll(a, -1, 1), np.roll(b, -1, 1)], -1).reshape(-1, 3),
        np.stack([a, np.roll(b, -1, 1), b], -1).reshape(-1, 3),
    ]
    fan = np.stack([np.zeros(corners - 2, int), np.arange(1, corners - 1), np.arange(2, corners)], -1)
    triangles = np.vstack([*sides, index[0][fan[:, ::-1]], index[-1][fan]])[:, ::-1]
    solid = Manifold(Mesh(np.vstack(sections).astype(np.float32), triangles.astype(np.uint32)))
    assert solid.volume() > 0.0
    return solid


class Bench:
    """A nut at the bench, from `stages --json`, `nut.json` and the readings of the board."""

    def __init__(self, work: Told, nut: Told, *, board_radius: float) -> None:
        self.nut, self.board_radius = nut["nut"], board_radius
        self.strings, self.shelf = nut["strings"], nut["shelf"]
        self.stages = {stage["name"]: stage for stage in work["stages"]}
        self.names = list(self.stages)
        self.reach = {
            (name, size["kind"], size["string"] and size["string"]["number"]): size["target"]
            for name, stage in self.stages.items()
            for size in stage["reach"]
        }
        self.thick = "whole thickness" if "shelf" in self.stages else "thickness"
        self.deep = self.of("shelf").get("deep", 0.0)
        radius = self.of("fit to seat").get("radius", math.inf)
        self.seat = lambda x: self.nut["underside_z"] - drop(x, radius)
        self.low = float(self.seat(np.array(self.nut["length"] / 2.0)))
        self.bed = self.size("square", "height") - self.size("fit to seat", "height")
        self.floor = self.low - self.bed
        out = tuple(math.tan(math.radians(self.of("ends").get(f"{end}_deg", 0.0))) for end in ("bass", "treble"))
        self.out = out if self.nut["strung"] == "right" else out[::-1]
        bass, treble = (self.nut["ends"][end]["x"] for end in ("bass", "treble"))
        self.ends = (min(bass, treble), max(bass, treble))
        spread = [max(0.0, out * self.nut["thickness"]) for out in self.out]
        self.middle = (self.ends[0] - spread[0] + self.ends[1] + spread[1]) / 2.0

    def of(self, stage: str) -> Told:
        """What a stage says is done, as values."""
        return self.stages[stage]["do"]["values"] if stage in self.stages else {}

    def size(self, stage: str, kind: str, string: int | None = None) -> float:
        return self.reach[stage, kind, string]

    def ends_at(self, stage: str) -> tuple[float, float]:
        """Where the ends stand on the front face; what is still on them is on either alike."""
        over = (self.last(stage, "length") - self.nut["length"]) / 2.0
        return self.ends[0] - over, self.ends[1] + over

    def last(self, stage: str, kind: str) -> float:
        """A size as the stages up to this one have left it."""
        names = self.names[: self.names.index(stage) + 1]
        return [self.reach[name, kind, None] for name in names if (name, kind, None) in self.reach][-1]

    def sawn(self) -> Manifold:
        length, thickness, height = (self.size("saw", kind) for kind in ("length", self.thick, "height"))
        before = (thickness - self.size("square", self.thick)) / 2.0
        below = (height - self.size("square", "height")) / 2.0
        y, z = -self.deep - before, self.floor - below
        return box((self.middle - length / 2.0, self.middle + length / 2.0), (y, y + thickness), (z, z + height))

    def cuts(self) -> Iterator[tuple[str, list[Manifold]]]:
        """What each stage after the saw takes away."""
        for name in self.names[1:]:
            work = getattr(self, "_" + name.replace(" ", "_"), None)
            yield name, list(work(name)) if work else []

    def _behind(self, stage: str) -> Manifold:
        y = -self.deep + self.size(stage, self.thick)
        return box((-FAR * 3, FAR * 3), (y, y + FAR), (-FAR, FAR))

    def _past_ends(self, stage: str) -> Iterator[Manifold]:
        """Upright, along the board's edges."""
        for side, end, out in zip((-1.0, 1.0), self.ends_at(stage), self.out, strict=True):
            corners = [(end + side * (x + y * out), y) for x in (0.0, FAR) for y in (-FAR / 2.0, FAR / 2.0)]
            yield Manifold.hull_points(np.array([(x, y, z) for x, y in corners for z in (-FAR, FAR)]))

    def _square(self, name: str) -> Iterator[Manifold]:
        wide, high = (-FAR * 3, FAR * 3), self.floor + self.size(name, "height")
        half = self.size(name, "length") / 2.0
        yield box((self.middle + half, FAR * 3), (-FAR, FAR), (-FAR, FAR))
        yield box((-FAR * 3, self.middle - half), (-FAR, FAR), (-FAR, FAR))
        yield box(wide, (-FAR, -self.deep), (-FAR, FAR))
        yield self._behind(name)
        yield box(wide, (-FAR, FAR), (-FAR, self.floor))
        yield box(wide, (-FAR, FAR), (high, high + FAR))

    def _thickness(self, name: str) -> Iterator[Manifold]:
        yield self._behind(name)

    def _shelf(self, name: str) -> Iterator[Manifold]:
        face = -self.deep + self.last(name, self.thick) - self.size(name, "seat thickness")
        yield box((-FAR * 3, FAR * 3), (-FAR, face), (-FAR, self.floor + self.size(name, "rebate")))

    def _fit_to_seat(self, name: str) -> Iterator[Manifold]:
        yield self._behind(name)
        x = np.linspace(-1.0, 1.0, 121) * self.last(name, "length") / 2.0 * 1.01
        yield sheet_cut(x, np.array([-FAR, FAR]), lambda x, _: self.seat(x), -FAR)
        if self.deep:
            clear = self.size(name, "off the board")
            radius = self.board_radius + clear
            face = -self.deep + self.size(name, self.thick) - self.size(name, "seat thickness")
            yield sheet_cut(x, np.array([-FAR, face]), lambda x, _: clear - drop(x, radius), -FAR)

    def _ends(self, name: str) -> Iterator[Manifold]:
        yield from self._past_ends(name)

    def _above(self, name: str, *, bevelled: bool, eased: float = 0.0) -> Manifold:
        ends = self.ends_at(name)
        bass, treble = (self.last(name, kind) for kind in ("bass height", "treble height"))
        left, right = (bass, treble) if self.nut["strung"] == "right" else (treble, bass)
        back = -self.deep + self.last(name, self.thick)
        values = self.of("bevel") if bevelled else {}
        top = Top(
            ends=ends,
            radius=self.of("crown").get("radius", math.inf),
            left=self.low + left,
            right=self.low + right,
            land=-self.deep + self.last(name, "land") if values.get("bevel_deg") else back,
            back=back,
            fall=math.tan(math.radians(values.get("bevel_deg", 0.0))),
            eased=eased,
            out=self.out,
        )
        corner = eased * (1.0 - np.cos(np.linspace(0.0, math.pi / 2.0, 17))) if eased else np.zeros(1)
        inner = np.linspace(ends[0] + 1.2 * eased, ends[1] - 1.2 * eased, 81)
        nodes = [[ends[0] - 0.5], ends[0] + corner, inner, ends[1] - corner, [ends[1] + 0.5]]
        x = np.unique(np.round(np.concatenate(nodes), 7))
        slope = np.linspace(top.land, back - eased, 5)
        round_off = back - corner
        y = np.unique(np.round(np.concatenate([[-self.deep - 0.5, top.land], slope, round_off, [back + 0.5]]), 7))
        share = (x[:, None] - ends[0]) / (ends[1] - ends[0])
        leaning = x[:, None] + y * (share * self.out[1] - (1.0 - share) * self.out[0])
        return sheet_cut(leaning, y, top.height, FAR)

    def _crown(self, name: str) -> Iterator[Manifold]:
        yield self._above(name, bevelled=False)

    def _bevel(self, name: str) -> Iterator[Manifold]:
        if (name, "land", None) in self.reach:
            yield self._above(name, bevelled=True)

    def _starts(self, _: str) -> Iterator[Manifold]:
        stretches = self.stages["starts"]["fronts"]
        toward = 1.0 if self.nut["strung"] == "right" else -1.0
        bass = self.ends[0] if toward > 0.0 else self.ends[1]
        for i, stretch in enumerate(stretches):
            start = -FAR if i == 0 else stretch["start"]
            end = stretch["end"] + (FAR if i == len(stretches) - 1 else 0.0)
            x = sorted((bass + toward * start, bass + toward * end))
            yield box(x, (-FAR, -stretch["ahead"]), (-FAR, FAR))

    def _slots(self, name: str) -> Iterator[Manifold]:
        back = -self.deep + self.last("polish", self.thick)
        for string in self.strings:
            width = self.size(name, "width", string["number"])
            along_face = string["x"] + string["start_y"] * math.tan(math.radians(self.nut["slant_deg"]))
            board = -float(drop(np.array(along_face), self.board_radius))
            floor = board + self.size(name, "floor", string["number"])
            if width > 0.0:
                yield groove(string, floor_z=floor, width=width, start=string["start_y"], back=back)

    _rough_slots = _final_slots = _slots

    def _dress_the_top(self, name: str) -> Iterator[Manifold]:
        yield self._above(name, bevelled=("bevel", "land", None) in self.reach)

    def _polish(self, name: str) -> Iterator[Manifold]:
        yield from self._past_ends(name)
        if (name, self.thick, None) in self.reach:
            yield self._behind(name)
        bevelled = ("bevel", "land", None) in self.reach
        yield self._above(name, bevelled=bevelled, eased=self.of(name).get("edge_radius", 0.0))
