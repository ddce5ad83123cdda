"""The work with the jigs, simulated: tools swept along the mesh that a printer gets, as far as its guides let them.

Where a tool may go is asked of manifold3d; heights are rays of trimesh. Tools touch the printed mesh, never a number
that the jig was drawn from.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from nutgen.bench.sizes import StageName
from nutgen.bench.stages import stages
from nutgen.geometry.mesh import manifold_of
from nutgen.jigs.choose import MAKERS, ON_DEMAND
from nutgen.jigs.jig import Jig, JigName
from nutgen.jigs.lay import Laid
from nutgen.jigs.shapes.fasteners import M3
from nutgen.jigs.shapes.fits import MARK_HIGH
from nutgen.jigs.task import Task
from tests.jigs.blades import TOUCH, bar, farthest, gaps
from tests.jigs.jigs_of import COMPENSATED, KINDS, blank, finished, heights, made, printed, solid, task_of, values

Array = NDArray[np.float64]


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_stages_name_the_jigs_that_serve_them(kind: str) -> None:
    task = task_of(kind, COMPENSATED.get(kind))
    serve: dict[StageName, set[str]] = {}
    for name in set(MAKERS) - set(ON_DEMAND):
        try:
            _, jig, _ = made(kind, name)
        except pytest.skip.Exception:
            continue
        for stage in jig.stages:
            serve.setdefault(stage, set()).add(name)
    named = {stage.name: set(stage.jigs) for stage in stages(task.nut, task.tools, task.material) if stage.jigs}
    assert {name: found & named.get(name, set()) for name, found in serve.items()} == serve


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_thickness(kind: str) -> None:
    task, jig, (carrier, _) = made(kind, "thickness")
    told = values(jig, "jig.thickness-set")
    mesh, nut = printed(carrier), task.nut
    middle = (sum(nut.reach) / 2.0, nut.lowest_z + task.size("height", "square") / 2.0)
    body = mesh.vertices[:, [0, 2, 1]], mesh.triangles[:, ::-1]
    bearing = heights(type(mesh)(*body), np.array([middle]))[0]
    paper = bearing + told["heads"] - task.tools.sanding_paper
    assert paper - bearing == pytest.approx(values(jig, "jig.thickness-holds")["stop"], abs=0.02)
    assert mesh.vertices[:, 1].max() < paper - 0.2  # nothing of the jig meets the paper, its letters neither

    holes = screws(carrier)
    assert len(holes) == 4
    x, z = task.size("length", "square") / 2.0, task.size("height", "square") / 2.0
    spots = np.array([(middle[0] + u * x, middle[1] + v * z) for u in (-1, 0, 1) for v in (-1, 0, 1)])
    random = np.random.default_rng(1)
    kept = [np.abs(sanded(holes, errors, spots)).max() for errors in random.normal(0.0, 0.05 / 1.96, (2000, 4))]
    assert np.mean(np.array(kept) <= values(jig, "jig.thickness-holds")["within"]) >= 0.95

    tips = random.uniform(-0.1, 0.1, (500, 2))  # the jig rocked on its heads, each a disc
    ground = holes @ tips.T + M3.head / 2.0 * np.hypot(*tips.T)
    glass = bearing + told["heads"] + ground.max(axis=0) - spots @ tips.T
    assert glass.min() - task.tools.sanding_paper >= nut.thickness + task.back_over


def screws(carrier: Laid) -> Array:
    """Where the four screws are, x and z in the nut's frame, by a section of the printed plate."""
    section = manifold_of(carrier.mesh).slice(1.0)
    round_ones = [np.array(loop) for loop in section.to_polygons() if np.ptp(np.array(loop)[:, 0]) < 4.0]
    low = carrier.part.used.apply_inverse(carrier.used.vertices)[0] - carrier.mesh.vertices[0]
    places = np.array([[*(loop.min(axis=0) + loop.max(axis=0)) / 2.0, 0.0] for loop in round_ones])
    return carrier.part.used.apply(places + low)[:, [0, 2]]


def sanded(holes: Array, errors: Array, spots: Array) -> Array:
    """Error of the thickness at spots, once the jig was rocked over all planes that its heads allow."""
    planes = []
    for left_out in range(4):
        three = [n for n in range(4) if n != left_out]
        ground = np.column_stack([holes, np.ones(4)])
        plane = np.linalg.solve(ground[three], errors[three])
        if ground[left_out] @ plane >= errors[left_out] - 1e-12:
            planes.append(np.column_stack([spots, np.ones(len(spots))]) @ plane)
    return np.min(planes, axis=0)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_ends(kind: str) -> None:
    task, jig, (cradle,) = made(kind, "ends")
    body, nut = solid(cradle), finished(task)
    told, kerf = values(jig, "jig.ends-hold"), values(jig, "jig.ends-saw")["kerf"]
    low, high = printed(cradle).vertices[:, 1].min(), printed(cradle).vertices[:, 1].max()
    z = printed(cradle).vertices[:, 2].max() - 0.5
    front, back = task.nut.foremost - 1.5, task.nut.foremost + task.size("thickness", "fit to seat") + 3.0
    assert low < front < back < high
    cuts = [sawn(task, body, side, kerf, (front, back), z) for side in (-1, 1)]
    for cut in cuts:
        for ways in ((0, 0, 0), (1, 1, 0), (-1, -1, 0), (1, -1, 0), (-1, 1, 0), (0, 0, 1), (0, 0, -1)):
            saw = cut.pushed(*ways)
            assert (saw ^ body).volume() < 0.25  # it goes into the foot no further than told
            assert (saw ^ nut).volume() == 0.0
    assert length_of(cuts, np.zeros((2, 2)), np.zeros((2, 2))) == pytest.approx(told["length"], abs=0.02)
    random = np.random.default_rng(4)
    lengths, turns = [], []
    for _ in range(2000):
        off, play = random.normal(0.0, 0.10 / 1.96 / math.sqrt(2.0), (2, 2)), random.uniform(0.0, 1.0, (2, 2))
        lengths.append(length_of(cuts, off, play))
        turns.append(max(abs(cut.turned(o, p)) for cut, o, p in zip(cuts, off, play, strict=True)))
    assert np.mean(np.abs(np.array(lengths) - told["length"]) <= told["within"]) >= 0.95
    assert np.mean(np.array(turns) <= told["turn_deg"]) >= 0.95


@dataclass(frozen=True)
class Sawn:
    """A guided cut: the open stretch of each wall along x, and the saw in it."""

    body: Any
    side: int
    y: tuple[float, float]
    open: tuple[tuple[float, float], tuple[float, float]]
    across: float
    z: tuple[float, float]

    def inner(self, off: Array, play: Array) -> Array:
        """Where the blank's end is left, in x over both walls: walls off, the saw so far out in its play."""
        faces = np.array([gap[0 if self.side > 0 else 1] for gap in self.open])
        spare = np.array([high - low - self.across for low, high in self.open])
        found: Array = faces + self.side * (off + play * np.maximum(0.0, spare - off))
        return found

    def at(self, y: float, off: Array, play: Array) -> float:
        return float(np.interp(y, self.y, self.inner(off, play)))

    def turned(self, off: Array, play: Array) -> float:
        """How far the end is turned from where it should be, in degrees."""
        moved = np.diff(self.inner(off, play) - self.inner(np.zeros(2), np.zeros(2)))[0]
        return math.degrees(math.atan(moved / (self.y[1] - self.y[0])))

    def pushed(self, front: int, back: int, lean: int) -> Any:
        """The saw in the middle of its slots, pushed that way or leant until it touches."""
        (a, b), (low, high) = self.open, self.z

        def saw(by: float) -> Any:
            middles = [sum(a) / 2.0 - lean * by / 2.0, sum(b) / 2.0 - lean * by / 2.0]
            deep = self.y[1] - self.y[0]
            wide = self.across * deep / math.hypot(middles[1] - middles[0], deep)
            ends = [(x + way * by, y, low) for x, way, y in zip(middles, (front, back), self.y, strict=True)]
            return bar(ends[0], ends[1], wide, high - low, lean=lean * by / (high - low))

        rest = (saw(0.0) ^ self.body).volume()
        return saw(farthest(lambda by: (saw(by) ^ self.body).volume() > rest + 10.0 * TOUCH, 1.0))


def sawn(task: Task, body: Any, side: int, kerf: float, y: tuple[float, float], z: float) -> Sawn:
    """The cut at one end, from gaps in both walls."""
    found = [
        min(gaps(body, at, z), key=lambda one, at=at: abs(sum(one) / 2.0 - float(task.nut.end_x(side, at)))) for at in y
    ]
    across = kerf * math.hypot(1.0, task.nut.end(side).per_y)
    return Sawn(body, side, y, (found[0], found[1]), across, (task.nut.lowest_z - 0.5, z))


def length_of(cuts: list[Sawn], off: Array, play: Array) -> float:
    """From end to end along the front face."""
    left, right = (cut.at(0.0, o, p) for cut, o, p in zip(cuts, off, play, strict=True))
    return right - left


CALIPER, LAND, LEAVES = 0.05, 0.15, 0.05
"""95 of 100 heights are read within the first, lands by caliper tips within the second; leaves for shims are so far
apart [mm]."""


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_top(kind: str) -> None:
    """The blank filed on the cheeks, measured, shimmed and filed again: nominal, with errors, with a tipped file."""
    task, jig, parts = made(kind, "top")
    nut, told = task.nut, values(jig, "jig.top-land")
    wear = next(dict(one.values)["strip"] for one in jig.hardware if one.code == "jig.wear-strips")
    x = np.linspace(nut.reach[0] + 0.5, nut.reach[1] - 0.5, 41)
    stands = float(heights(printed(parts[0]), np.array([(sum(nut.reach) / 2.0, nut.thickness / 2.0)]))[0])
    assert stands == pytest.approx(nut.lowest_z - told["first"], abs=0.001)
    profiles: dict[str, Profile] = {}
    for setting, y in settings_of(task, {one.part.name for one in parts}):
        front, back = (cheek(parts, f"top-{setting}-{place}", x, wear) for place in ("front", "back"))
        profiles[setting] = x, y, front, back
    for first, last in filed(task, jig, profiles, stands, np.zeros(7), leaves=1e-6):
        assert np.abs(first - told["first"]).max() <= 0.02
        assert np.abs(last).max() <= 0.02
    random = np.random.default_rng(5)
    drawn = random.normal(0.0, 1.0 / 1.96, (1000, 7)) * [*5 * [0.10], CALIPER, LAND]
    kept = [
        max(np.abs(last).max() for _, last in filed(task, jig, profiles, stands, draw, leaves=LEAVES)) for draw in drawn
    ]
    assert np.mean(np.array(kept) <= values(jig, "jig.top-holds")["within"]) >= 0.95
    for one in profiles.values():
        for tilt in random.uniform(-0.3, 0.3, (100, 2)):
            assert lying_file(task, one, tilt) >= task.top_over - 0.02


Profile = tuple[Array, list[float], tuple[float, Array], tuple[float, Array]]


def filed(
    task: Task, jig: Jig, profiles: dict[str, "Profile"], stands: float, off: Array, *, leaves: float
) -> Iterator[tuple[Array, Array]]:
    """What each setting leaves over what it should, filed first and then on its shim of leaves so far apart.

    stands : height of the plinth
    off    : how far plinth, four cheeks, the caliper and the land that is read are off
    """
    nut, shim = task.nut, 0.0
    plinth, cheeks, (caliper, tips) = off[0], off[1:5], off[5:]
    for n, (setting, profile) in enumerate(profiles.items()):
        up = stands + plinth + shim - nut.lowest_z
        first = cut_over(task, profile, cheeks[2 * n : 2 * n + 2]) - up
        if setting == "land":
            x, y = profile[0], profile[1][0]
            high = first[0] + nut.top_z(x, y) + task.top_over - nut.underside.z(x, y)
            more = float(high.max()) + caliper - values(jig, "jig.top-land")["height"]
        else:
            told = values(jig, "jig.top-bevel")
            wider = float(first[0].mean()) / math.tan(math.radians(nut.bevel_deg)) + tips
            more = wider * told["shim"] / told["wider"]
        laid_under = max(0.0, round(more / leaves) * leaves)
        shim += laid_under
        yield first, first - laid_under


def cut_over(task: Task, profile: Profile, off: Any = (0.0, 0.0)) -> Array:
    """What a file on both cheeks leaves over what it should: (places along y, places along x)."""
    x, y, (yf, zf), (yb, zb) = profile
    front, back = zf + off[0], zb + off[1]
    cut = [front + (back - front) * (at - yf) / (yb - yf) for at in y]
    return np.array([one - task.nut.top_z(x, at) - task.top_over for one, at in zip(cut, y, strict=True)])


def lying_file(task: Task, profile: Profile, tilt: Array) -> float:
    """How near a tipped file comes to the finished top, lowered until it touches a cheek."""
    x, y, (yf, zf), (yb, zb) = profile
    touch = max(float((z - x * tilt[0] - at * tilt[1]).max()) for at, z in ((yf, zf), (yb, zb)))
    return min(float((touch + x * tilt[0] + at * tilt[1] - task.nut.top_z(x, at)).min()) for at in y)


def settings_of(task: Task, names: set[str]) -> Iterator[tuple[str, list[float]]]:
    nut = task.nut
    yield "land", [nut.foremost, nut.land]
    if "top-bevel-front" in names:
        yield "bevel", [nut.land + 0.01, (nut.land + nut.thickness) / 2.0, nut.thickness]


def cheek(parts: tuple[Laid, ...], name: str, x: Array, wear: float) -> tuple[float, Array]:
    """Where a file touches the strip on a cheek: y of that edge, and its height over x, the strip laid around it."""
    mesh = printed(next(one for one in parts if one.part.name == name))
    low, high = mesh.vertices[:, 1].min(), mesh.vertices[:, 1].max()
    fine = np.linspace(x[0] - 2.0, x[-1] + 2.0, 1600)
    profile = heights(mesh, np.column_stack([fine, np.full(len(fine), (low + high) / 2.0)]))
    near = np.abs(fine[None, :] - x[:, None])
    strip = np.sqrt(np.maximum(wear**2 - near**2, 0.0))
    over = np.where(near <= wear, profile[None, :] + strip, -np.inf).max(axis=1)
    inner, outer = (high, low + MARK_HIGH) if "front" in name else (low, high - MARK_HIGH)
    return float(outer if name == "top-bevel-back" else inner), over


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", ["comb", "depth", "ends", "top"])
def test_blank_goes_in_straight_from_above(kind: str, name: JigName) -> None:
    task, _, parts = made(kind, name)
    nut = task.nut
    over = task.end_over if name != "ends" else 8.0
    back = nut.thickness + task.back_over
    way = blank(task, nut.lowest_z + 0.001, nut.lowest_z + 80.0, over=over - 0.001, back=back)
    for one in parts:
        assert (way ^ solid(one)).volume() < 0.05, one.part.name


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_blank_and_wedge_go_straight_into_the_thickness_carrier(kind: str) -> None:
    task, _, (carrier, wedge) = made(kind, "thickness")
    from manifold3d import Manifold

    nut, body = task.nut, solid(carrier)
    long, high = task.size("length", "square") - 0.002, task.size("height", "square") - 0.002
    middle = sum(nut.reach) / 2.0
    corner = (middle - long / 2.0, nut.foremost + 0.001, nut.lowest_z + 0.001)
    block = Manifold.cube((long, 60.0, high)).translate(corner)
    assert (block ^ body).volume() < 0.05
    driven = solid(wedge)
    (x0, _, _, x1, _, _) = driven.bounding_box()
    for out in np.linspace(0.0, x1 - x0, 12):
        on_its_way = driven.translate((math.copysign(out, middle - (x0 + x1) / 2.0) * -1.0, 0.0, 0.0))
        assert (on_its_way ^ body).volume() < 0.5  # it touches both walls
        assert (on_its_way ^ block).volume() < 0.5


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", ["top", "thickness"])
def test_parts_do_not_meet(kind: str, name: JigName) -> None:
    _, _, parts = made(kind, name)
    bodies = {one.part.name: solid(one) for one in parts}
    for a, b in combinations(bodies, 2):
        if {"land", "bevel"} <= {word for part in (a, b) for word in part.split("-")}:
            continue  # one setting after the other
        assert (bodies[a] ^ bodies[b]).volume() < 0.5, (a, b)  # a wedge touches both walls


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", MAKERS)
def test_every_part_is_one_closed_body_on_the_bed(kind: str, name: JigName) -> None:
    task, _, parts = made(kind, name)
    for one in parts:
        assert one.mesh.faults == []
        assert one.mesh.vertices.min(axis=0) == pytest.approx([0.0] * 3, abs=1e-9)
        assert max(one.size[:2]) <= max(task.printer.bed)
