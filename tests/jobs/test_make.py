"""The part at its job: strings laid into the exported STL must rest where the solver said.

Everything is measured on the triangles as trimesh reads them from the file's bytes. A string is a
round bar of its gauge that comes down from above until it touches; its height then gives back the
first-fret clearance that the file asked for.
"""

import io
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, Phase, given, note, reject, settings

from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import stl_bytes
from nutgen.model.mesh import CHORD, mesh_of
from nutgen.model.solid import nut_solid
from nutgen.nut import solve
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.read import parse_spec
from nutgen.spec.tables import Spec
from tests.cases import EACH_PRESET, cases
from tests.kinds import text_of
from tests.specs import EXAMPLES, solved, specs


@dataclass(frozen=True)
class Bar:
    """A round bar over the nut: where its bottom line starts, and which way it points, toward the headstock.

    down_deg : fall toward the headstock [deg]
    """

    x: float
    y: float
    gauge: float
    fan_deg: float
    down_deg: float

    def rest(self, read: trimesh.Trimesh, *, behind: float = -math.inf, ahead: float = math.inf) -> float:
        """Height of the bottom line at the start when the bar has come down onto what lies in behind <= y <= ahead.

        The part is cut by upright planes along the bar. On each, what holds the bar up is a corner of
        the cut, because both are straight between the corners.
        """
        r, fan, t = self.gauge / 2.0, math.radians(self.fan_deg), math.radians(self.down_deg)
        aside = np.array([math.cos(fan), -math.sin(fan), 0.0])
        highest = -math.inf
        for s in r * np.sin(np.linspace(-1.5, 1.5, 41)):
            origin = np.array([self.x, self.y, 0.0]) + s * aside
            cut = trimesh.intersections.mesh_plane(read, aside, origin + 1e-7 * aside)
            points = clipped(cut, behind, ahead)
            along = (points[:, 0] - self.x) * math.sin(fan) + (points[:, 1] - self.y) * math.cos(fan)
            belly = (r - math.sqrt(r * r - s * s)) / math.cos(t)
            highest = max(highest, float((points[:, 2] + along * math.tan(t)).max()) - belly)
        return highest


def clipped(segments: np.ndarray, low: float, high: float) -> np.ndarray:
    """Ends of segments (n, 2, 3) after what lies outside low <= y <= high is taken away."""
    a, b = segments[:, 0], segments[:, 1]
    step = b[:, 1] - a[:, 1]
    safe = np.where(np.abs(step) > 1e-12, step, 1.0)
    first, last = (low - a[:, 1]) / safe, (high - a[:, 1]) / safe
    level = np.abs(step) <= 1e-12
    inside = (a[:, 1] >= low) & (a[:, 1] <= high)
    start = np.where(level, np.where(inside, 0.0, 2.0), np.clip(np.minimum(first, last), 0.0, None))
    stop = np.where(level, 1.0, np.clip(np.maximum(first, last), None, 1.0))
    kept = start <= stop
    a, d = a[kept], (b - a)[kept]
    return np.concatenate([a + d * start[kept, None], a + d * stop[kept, None]])


def exported(nut: Nut) -> trimesh.Trimesh:
    data = stl_bytes(mesh_of(nut_solid(nut)), Stamp(nut.title, "0123456789ab"))
    return trimesh.load(io.BytesIO(data), file_type="stl")


def centre_line(read: trimesh.Trimesh, slot: Slot, nut: Nut) -> Iterator[tuple[float, float, float]]:
    """y, the middle between the slot's two sides, and its lowest point, in cuts parallel to the front face.

    The middle is taken at one height over the floor: the bottom of a tilted, fanned slot leans in such a cut.
    """
    cuts = np.linspace(0.02, 0.9, 9) * nut.land
    depths = [float(nut.top_z(slot.x_at(y), y) - slot.floor_at(y)) for y in cuts]
    over_floor = min(0.45 * slot.width, 0.7 * min(depths))
    for y in cuts:
        cut = trimesh.intersections.mesh_plane(read, [0.0, 1.0, 0.0], [0.0, y, 0.0])
        expected, floor = float(slot.x_at(y)), float(slot.floor_at(y))
        near = np.abs(cut[:, :, 0] - expected).min(axis=1) < slot.half_width_along_x + 0.05
        cut = cut[near & (cut[:, :, 2].max(axis=1) > floor - 0.2)]
        level = floor + over_floor
        (x0, _, z0), (x1, _, z1) = cut.transpose(1, 2, 0)
        through = (z0 - level) * (z1 - level) < 0.0
        x = (x0 + (x1 - x0) * (level - z0) / np.where(through, z1 - z0, 1.0))[through]
        left, right = x[x < expected], x[x > expected]
        over = np.abs(cut[:, :, 0] - expected) < 0.3 * slot.width
        yield y, (left.max() + right.min()) / 2.0, float(cut[:, :, 2][over].min())


def clearance(nut: Nut, slot: Slot, rest: float) -> float:
    """Room under a straight string at fret 1, from where it rests to its action over fret 12.

    Crowns dip along a parabola between fret 1 and the last; twelve equal steps to the octave.
    """
    frets = slot.scale_length * (1.0 - 2.0 ** (-np.arange(nut.frets + 1) / 12.0))
    half, middle = (frets[-1] - frets[1]) / 2.0, (frets[-1] + frets[1]) / 2.0
    crown = nut.relief * (((frets - middle) / half) ** 2 - 1.0)
    ahead = -slot.start_y  # of the front face, from which frets are counted
    plane = crown[1] - (frets[1] - ahead) * (crown[2] - crown[1]) / (frets[2] - frets[1])
    over = slot.zero_fret.height if slot.zero_fret else rest - slot.fret_plane_z  # a string on a zero fret starts there
    start, twelve = plane + over, crown[12] + slot.action
    return float(start + (twelve - start) * (frets[1] - ahead) / (frets[12] - ahead) - crown[1])


def lay(nut: Nut, slot: Slot, read: trimesh.Trimesh) -> None:
    """Every claim of one slot."""
    at_face = slot.start_y + 0.02
    over_board = Bar(slot.x, slot.start_y, slot.gauge, slot.fan_deg - slot.bend_deg, slot.incline_deg)
    rest = over_board.rest(read, ahead=at_face)
    assert rest == pytest.approx(slot.floor_z, abs=0.01), "rests at its height on the front face"
    if slot.tilt_deg >= slot.incline_deg:  # a floor flatter than the string carries it on its back edge
        straight_on = replace(over_board, fan_deg=slot.fan_deg)  # turned into the slot, not yet bent down
        assert straight_on.rest(read, behind=at_face) <= rest + CHORD, "touches the front face first"
    if not slot.rolled:
        in_slot = Bar(slot.x, slot.start_y, slot.gauge, slot.fan_deg, slot.tilt_deg)
        assert in_slot.rest(read) == pytest.approx(slot.floor_z, abs=0.01), "lies on the floor all along"
    y, x, z = np.array(list(centre_line(read, slot, nut))).T
    fan, _ = np.polyfit(y, x, 1)
    wanted = slot.x + (y - slot.start_y) * math.tan(math.radians(slot.fan_deg))
    lean = abs(math.tan(math.radians(slot.tilt_at(float(y[-1])))) * math.tan(math.radians(slot.fan_deg)))
    beside = slot.width / 2.0 * lean  # in such a cut the round bottom leans by that much, its lowest point lower
    assert float(np.mean(x - wanted)) == pytest.approx(0.0, abs=0.02 + beside), "stands where it should"
    assert z == pytest.approx(slot.floor_at(y), abs=0.01 + beside * lean / 2.0), "the floor falls as it should"
    if nut.land >= 1.0:  # on less, a hundredth of a millimetre is too much of an angle
        assert math.degrees(math.atan(fan)) == pytest.approx(slot.fan_deg, abs=0.2 + wander_deg(slot, y))
    assert clearance(nut, slot, rest) == pytest.approx(slot.first_fret_clearance, abs=0.01)


def wander_deg(slot: Slot, y: np.ndarray) -> float:
    """How far the middle between the sides of a round bottom turns away from the centre line of a rolled slot.

    In a cut parallel to the face the bottom leans by tan(tilt) tan(fan), so its middle lies that times its
    radius beside the centre line; where the tilt grows along the slot, so does this.
    """
    lean = [math.tan(math.radians(slot.tilt_at(float(at)))) for at in (y[0], y[-1])]
    beside = slot.width / 2.0 * abs(math.tan(math.radians(slot.fan_deg))) * (lean[1] - lean[0])
    return math.degrees(math.atan(beside / float(y[-1] - y[0])))


def tilt_over_all(read: trimesh.Trimesh, slot: Slot, nut: Nut) -> float:
    """Fall of the floor's lowest line from front to back [deg]."""
    run, z = [], []
    for y in np.linspace(0.05, 0.95, 12) * nut.thickness:
        cut = trimesh.intersections.mesh_plane(read, [0.0, 1.0, 0.0], [0.0, y, 0.0])
        over = np.abs(cut[:, :, 0] - float(slot.x_at(y))) < 0.3 * slot.width
        points = cut[:, :, 2][over]
        run.append(slot.run(y))
        z.append(float(points[points > slot.floor_at(y) - 0.2].min()))
    return -math.degrees(math.atan(np.polyfit(run, z, 1)[0]))


def targets(spec: Spec, nut: Nut) -> np.ndarray | None:
    """The clearances that the file asks for, bass to treble; None where it asks for floors or the lowest."""
    wanted = spec.setup.first_fret_clearance
    if wanted is None or isinstance(wanted, str):
        return None
    x = np.array([slot.x for slot in nut.slots]) * (-1.0 if nut.strung == "left" else 1.0)
    return wanted.at((x - x[0]) / (x[-1] - x[0]))


@pytest.mark.parametrize("path", EACH_PRESET, ids=lambda path: path.stem)
def test_strings_rest_where_the_solver_said(path: Path) -> None:
    spec = parse_spec(path.read_text("utf-8"), source=path.name)
    nut = solve(spec)
    read = exported(nut)
    asked = targets(spec, nut)
    for i, slot in enumerate(nut.slots):
        lay(nut, slot, read)
        if not slot.rolled:
            assert tilt_over_all(read, slot, nut) == pytest.approx(slot.tilt_deg, abs=0.2)
        if asked is not None:
            assert slot.first_fret_clearance == pytest.approx(asked[i], abs=1e-9)


@pytest.mark.parametrize("turn", [{"slots.floor": "rolled"}, {"instrument.strung": "left"}], ids=["rolled", "left"])
@pytest.mark.parametrize("kind", cases("electric-6", slow=["bass-4"]))
def test_strings_rest_where_the_solver_said_after_a_turn(kind: str, turn: dict[str, str]) -> None:
    nut = solve(parse_spec(text_of(kind, turn), source=kind))
    read = exported(nut)
    for slot in nut.slots:
        lay(nut, slot, read)


def pinches(slot: Slot) -> bool:
    """Whether a stiff bar that comes level over the front edge is too round for the bottom of the slot there.

    On the front face a tilted, fanned groove is an ellipse; at its foot the radius of curvature is
    half the width times cos(tilt) / cos(fan)^2, which a steep slot makes less than half the gauge.
    """
    narrowed = math.cos(math.radians(slot.tilt_deg)) / math.cos(math.radians(slot.fan_deg)) ** 2
    pinched = slot.width * narrowed < 1.01 * slot.gauge or slot.width < slot.gauge + 0.02
    return pinched or beside_the_floor(slot) > 0.005


def beside_the_floor(slot: Slot) -> float:
    """How far a bar is held up that finds the flank of a wide, steep, fanned slot before its floor [mm].

    Along the face the floor rises to one side by tan(tilt) tan(fan); a bar of radius r in a bottom of
    radius R stands off by s^2 (1/r - 1/R) / 2. What is left of the rise is most at k^2 / (2 (1/r - 1/R)).
    """
    rise = math.tan(math.radians(slot.tilt_deg)) * math.tan(math.radians(slot.fan_deg))
    return rise**2 / (2.0 * (2.0 / slot.gauge - 2.0 / slot.width))


def alone(nut: Nut, slot: Slot) -> bool:
    """Whether a slot keeps clear of its neighbours, the ends and the eased edges, and is deep enough to measure."""
    y = np.linspace(0.0, nut.thickness, 40)
    walls = [
        float(np.abs(slot.x_at(y) - other.x_at(y)).min()) - slot.half_width_along_x - other.half_width_along_x
        for other in nut.slots
        if other is not slot
    ]
    room = nut.end_wall(slot) - nut.edge_radius
    sides = nut.crown.z(slot.x + slot.half_width_along_x * np.array([-1.0, 1.0]))
    shallow = min(slot.depth, float(sides.min()) - slot.floor_z - 0.7 * slot.depth)
    return min([*walls, room]) > 0.05 and shallow > 0.02 and nut.land <= nut.thickness - nut.edge_radius


@pytest.mark.slow
@settings(
    max_examples=-(-EXAMPLES // 10),
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
@given(specs(most_strings=6))
def test_strings_rest_where_the_solver_said_in_any_nut(text: str) -> None:
    note(text)
    nut = solved(text)
    slots = [slot for slot in nut.slots if alone(nut, slot) and not pinches(slot)]
    if not slots:
        reject()
    read = exported(nut)
    for slot in slots:
        lay(nut, slot, read)
