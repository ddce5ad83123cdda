"""The work with the jigs, simulated: tools swept along the mesh that a printer gets, as far as its guides let them.

Where a tool may go is asked of manifold3d; heights are rays of trimesh. Tools touch the printed mesh, never a number
that the jig was drawn from.
"""

import math
from collections.abc import Iterator
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

import nutgen
from nutgen.bench.sizes import StageName
from nutgen.bench.stages import stages
from nutgen.geometry.mesh import manifold_of
from nutgen.jigs.choose import MAKERS, jigs
from nutgen.jigs.jig import JigName
from nutgen.jigs.lay import Laid
from nutgen.jigs.notches import notches
from nutgen.jigs.shapes.fits import MARK_HIGH
from nutgen.jigs.task import Task
from nutgen.model.mesh import mesh_of
from nutgen.nut.slot import Slot
from tests.jigs.jigs_of import COMPENSATED, KINDS, heights, made, printed, solid, task_of

TOUCH = 0.003
"""Of a tool into plastic, mm3 for each mm of its travel: what a touch of two meshes leaves."""

Array = NDArray[np.float64]


def plate(front: tuple[float, float], back: tuple[float, float], wide: float, low: float, high: float) -> Any:
    """A blade: a plate of a width that stands on the line between two places, carried on past both."""
    from manifold3d import CrossSection, Manifold

    a, b = np.array(front), np.array(back)
    way = (b - a) / np.linalg.norm(b - a)
    side = np.array([-way[1], way[0]]) * wide / 2.0
    a, b = a - 20.0 * way, b + 20.0 * way
    return Manifold.extrude(CrossSection([[a - side, b - side, b + side, a + side]]), high - low).translate((0, 0, low))


def blank(task: Task, low: float, high: float, *, over: float, back: float) -> Any:
    """The blank seen from above, raised from one height to another."""
    from manifold3d import CrossSection, Manifold

    nut = task.nut
    points = [(float(nut.end_x(-1, back)) - over, back)]
    for n, one in enumerate(nut.steps):
        left = float(nut.end_x(-1, one.front)) - over if n == 0 else nut.steps[n - 1].right
        right = float(nut.end_x(1, one.front)) + over if n == len(nut.steps) - 1 else one.right
        points += [(left, one.front), (right, one.front)]
    points.append((float(nut.end_x(1, back)) + over, back))
    return Manifold.extrude(CrossSection([points]), high - low).translate((0.0, 0.0, low))


def gaps(body: Any, y: float, z: float) -> list[tuple[float, float]]:
    """Open stretches of a body along x, between its outermost walls."""
    import trimesh

    from nutgen.geometry.mesh import mesh_of_manifold

    mesh = mesh_of_manifold(body)
    found = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    spots, _, _ = found.ray.intersects_location([[-300.0, y, z]], [[1.0, 0.0, 0.0]])
    xs = sorted(set(np.round(spots[:, 0], 6).tolist()))
    assert len(xs) % 2 == 0
    return list(zip(xs[1:-1:2], xs[2::2], strict=True))


def finished(task: Task) -> Any:
    return manifold_of(mesh_of(nutgen.solid(task.nut)))


def values(jig: Any, code: str) -> dict[str, Any]:
    (found,) = [one for one in (*jig.steps, *jig.promise) if one.code == code]
    return dict(found.values)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_stages_name_the_jigs_that_serve_them(kind: str) -> None:
    task = task_of(kind, COMPENSATED.get(kind))
    serve: dict[StageName, set[str]] = {}
    made_here, _ = jigs(task)
    for one in made_here:
        for stage in one.jig.stages:
            serve.setdefault(stage, set()).add(one.jig.name)
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
    walls = [(y, gaps(body, y, z)) for y in (front, back)]
    lengths = []
    for inward in (True, False):
        faces = []
        for side in (-1, 1):
            places = []
            for y, found in walls:
                gap = min(found, key=lambda one: abs(sum(one) / 2.0 - float(task.nut.end_x(side, y))))
                lean = math.hypot(1.0, task.nut.end(side).per_y)
                edge = gap[0 if (side > 0) == inward else 1]
                places.append((edge + (kerf / 2.0 * lean) * (side if inward else -side), y))
            saw = plate(*places, kerf, task.nut.lowest_z - 0.5, z)
            assert (saw ^ body).volume() < 0.2  # it touches the guides, and goes into the foot no further than told
            assert (saw ^ nut).volume() == 0.0
            (x0, y0), (x1, y1) = places
            at = x0 + (x1 - x0) * (0.0 - y0) / (y1 - y0)
            faces.append(at - side * kerf / 2.0 * math.hypot(1.0, (x1 - x0) / (y1 - y0)))
        lengths.append(faces[1] - faces[0])
    assert lengths[0] == pytest.approx(told["length"], abs=0.02)
    assert lengths[1] - told["length"] <= told["within"]


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_comb(kind: str) -> None:
    task, jig, (comb,) = made(kind, "comb")
    body, nut = solid(comb), finished(task)
    play, turn = values(jig, "jig.comb-holds")["play"], values(jig, "jig.comb-holds")["turn_deg"]
    hand = {who for one in jig.told for who in one.about}
    mesh = printed(comb)
    y0 = task.nut.foremost - task.fit.wall / 2.0
    y1 = task.nut.thickness + task.back_over + task.fit.wall / 2.0
    for one in notches(task):
        blade = next(b for b in task.tools.blades if b.width == pytest.approx(one.tool_width, abs=0.02))
        beside = [(float(one.slot.x_at(y)) + side * (one.width / 2.0 + 0.15), y) for y in (y0, y1) for side in (-1, 1)]
        tops = heights(mesh, np.array(beside))
        cut = tops.max() + task.tools.steel[0] - blade.height
        assert cut >= float(one.slot.floor_at(np.linspace(one.slot.start_y, task.nut.thickness, 9)).max()) + 0.23
        assert cut == pytest.approx(one.cut, abs=0.02)
        for first, last in ((0, 0), (-1, -1), (1, 1), (-1, 1), (1, -1)):
            at = touching(body, one.slot, one.tool_width, cut, (y0, y1), (first, last))
            for y in (task.nut.foremost, task.nut.thickness):
                (xa, _), (xb, _) = at
                x = xa + (xb - xa) * (y - y0) / (y1 - y0)
                assert abs(x - float(one.slot.x_at(y))) <= play + 0.02
            skew = math.degrees(math.atan2(at[1][0] - at[0][0], y1 - y0))
            fan = math.degrees(math.atan2(float(one.slot.x_at(y1) - one.slot.x_at(y0)), y1 - y0))
            assert abs(skew - fan) <= turn + 0.05
            if one.slot.who not in hand:
                assert (plate(*at, one.tool_width, cut, cut + 9.0) ^ nut).volume() < 1e-3


def touching(
    body: Any, slot: Slot, wide: float, cut: float, y: tuple[float, float], ways: tuple[int, int]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Both ends of a tool pushed in its notches from the middle until it touches them."""

    def at(far: float) -> Any:
        return tuple((float(slot.x_at(v)) + way * far, v) for v, way in zip(y, ways, strict=True))

    low, high = 0.0, 1.0
    if (plate(*at(low), wide, cut, cut + 9.0) ^ body).volume() > TOUCH:
        raise AssertionError(f"{slot.who}: the tool does not go into its notch")
    for _ in range(12):
        far = (low + high) / 2.0
        inside = (plate(*at(far), wide, cut, cut + 9.0) ^ body).volume()
        low, high = (far, high) if inside <= TOUCH else (low, far)
    return at(low)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_depth(kind: str) -> None:
    task, jig, (carrier,) = made(kind, "depth")
    told = values(jig, "jig.depth-holds")
    mesh, body = printed(carrier), solid(carrier)
    pin = next(dict(one.values)["pin"] for one in jig.hardware if one.code == "jig.pins")
    foot = mesh.vertices[:, 2].min()
    rows, ends = grooves(mesh, pin)
    random = np.random.default_rng(2)
    slots = {slot.who: slot for slot in task.nut.slots}
    for one in jig.settings:
        slot, tops = slots[one.string], foot + np.array([one.front, one.back])
        y = np.linspace(slot.start_y, task.nut.thickness, 41)
        left = (edge(rows, tops, pin, one.tool_height, y) - slot.floor_at(y)).min()
        assert left == pytest.approx(told["over"], abs=0.02)
        for at, top in zip(rows, tops, strict=True):
            assert (rod(ends, at, top - pin / 2.0, pin) ^ body).volume() < 0.05
        blade = min(task.tools.blades, key=lambda one_blade: abs(one_blade.width - one.tool_width))
        assert blade.length < rows[1] - rows[0] - pin - 5.0  # it hangs under its shoe, and would meet the pins
        middle = [(float(slot.x_at(v)), v) for v in (0.0, task.nut.thickness)]
        low = float(edge(rows, tops, pin, one.tool_height, np.array(rows)).min())
        assert (plate(*middle, one.tool_width, low, low + 60.0) ^ body).volume() < 1e-3
        share = (slot.x - ends[0]) / (ends[1] - ends[0])
        off = []
        for errors in random.normal(0.0, 1.0 / 1.96, (1000, 5)):
            moved = tops + 0.05 * (errors[:2] * (1.0 - share) + errors[2:4] * share)
            height = one.tool_height + 0.02 * errors[4]
            off.append((edge(rows, moved, pin, height, y) - slot.floor_at(y)).min() - told["over"])
        assert np.mean(np.abs(off) <= told["within"]) >= 0.95


def grooves(mesh: Any, pin: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where the pins lie: y of both rows, and from where to where along x the towers stand."""
    import trimesh

    found = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    x = (mesh.vertices[:, 0].min(), mesh.vertices[:, 0].max())
    high = mesh.vertices[:, 2].max() - 0.5
    tall = mesh.vertices[mesh.vertices[:, 2] > high]
    x = (tall[:, 0].min(), tall[:, 0].max())
    rows = []
    spots, _, _ = found.ray.intersects_location([[inner(tall[:, 0]), -200.0, high]], [[0.0, 1.0, 0.0]])
    edges = sorted(set(np.round(spots[:, 1], 6).tolist()))
    for a, b in zip(edges[1::2], edges[2::2], strict=False):
        if abs(b - a - pin) < 0.5:
            rows.append((a + b) / 2.0)
    assert len(rows) == 2
    return (rows[0], rows[1]), (float(x[0]), float(x[1]))


def inner(xs: Array) -> float:
    """A place within the guide of the left tower."""
    left = xs[xs < xs.mean()]
    return float(left.max()) - 1.0


def edge(rows: tuple[float, float], tops: Array, pin: float, height: float, y: Array) -> Array:
    """Height of a tool's edge whose shoe rests on two round pins."""
    radius = pin / 2.0
    slope = math.atan2(tops[1] - tops[0], rows[1] - rows[0])
    shoe = tops[0] - radius + radius / math.cos(slope) + (y - rows[0]) * math.tan(slope)
    return shoe - height / math.cos(slope)


def rod(ends: tuple[float, float], y: float, z: float, pin: float) -> Any:
    from manifold3d import Manifold

    long = ends[1] - ends[0]
    return Manifold.cylinder(long, pin / 2.0, circular_segments=48).rotate((0.0, 90.0, 0.0)).translate((ends[0], y, z))


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_top(kind: str) -> None:
    task, jig, parts = made(kind, "top")
    nut, wear = task.nut, next(dict(one.values)["strip"] for one in jig.hardware if one.code == "jig.wear-strips")
    x = np.linspace(nut.reach[0] + 0.5, nut.reach[1] - 0.5, 41)
    for setting, y in settings_of(task, {one.part.name for one in parts}):
        front, back = (cheek(parts, f"top-{setting}-{place}", x, wear) for place in ("front", "back"))
        (yf, zf), (yb, zb) = front, back
        for at in y:
            cut = zf + (zb - zf) * (at - yf) / (yb - yf)
            over = cut - nut.top_z(x, at) - task.top_over
            assert over == pytest.approx(np.zeros(len(x)), abs=0.02), setting


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
