"""A cut plan carried out on the solid, cut by cut in its order: what is in the vise, what drops off, what is left.

The saw here is a slab as thick as its kerf, the file takes all that stands over a line; both act on whatever is still
there. The solids are manifold3d's, so that nothing of the plan's own sections and areas is used.
"""

import os
from contextlib import nullcontext, suppress
from dataclasses import dataclass, replace

import numpy as np
import pytest
from manifold3d import Manifold

from nutgen.errors import CannotBeMade
from nutgen.geometry.mesh import manifold_of
from nutgen.geometry.slices import Plane
from nutgen.jobs.stock import judge
from nutgen.nut import solve
from nutgen.spec.presets import find_file, find_piece
from nutgen.spec.read import read_piece, read_spec
from nutgen.stock.cut.cross_cuts import CrossCut
from nutgen.stock.cut.cuts import CutPlan, RipCut, Stretch, cut_plan
from nutgen.stock.cut.rips import AGREE, SNUG
from nutgen.stock.laid import Answer
from nutgen.stock.lay.lay import lay
from nutgen.stock.piece import Piece
from tests.stock import solids
from tests.stock.pieces_by_hand import answer, block, cylinder, laid, piece, shin, turned

FAR = 500.0  # beyond any piece [mm]
STICK = 100.0  # mm
THICK = 50.0  # of the stick [mm]
GLUED = 0.002  # into the stub, so that both are one solid [mm]
CRUMB = 1e-3  # mm3; what is smaller is no solid
COUNT = int(os.environ.get("NUTGEN_EXAMPLES", "3"))


def box(plane: Plane, low: float, high: float, *, half: float = FAR) -> Manifold:
    """All between two distances over a plane, about its origin."""
    frame = np.column_stack([plane.across, plane.up, plane.normal, plane.origin])
    return Manifold.cube([2 * half, 2 * half, high - low]).translate([-half, -half, low]).transform(frame)


def below(solid: Manifold, plane: Plane, over: float = 0.0) -> Manifold:
    return solid.trim_by_plane(-plane.normal, -float(plane.normal @ plane.origin) - over)


def beyond(solid: Manifold, plane: Plane, over: float = 0.0) -> Manifold:
    return solid.trim_by_plane(plane.normal, float(plane.normal @ plane.origin) + over)


def has(solid: Manifold, point) -> bool:
    return (solid ^ Manifold.cube([0.02] * 3, True).translate(point)).volume() > 1e-9


@dataclass
class Work:
    """What is on one hold: the nuts that are still to be freed from it, and the plane beyond which the hold is."""

    solid: Manifold
    nuts: list[int]
    foot: Plane
    held: str


class Bench:
    """The piece as work goes on, and the blanks that came free."""

    def __init__(self, body: Piece, plan: CutPlan) -> None:
        self.permitted, self.plan, self.kerf = body.permitted, plan, plan.kerf
        self.rest = manifold_of(body.skin)
        self.blanks: dict[int, Manifold] = {}
        self.held: list[tuple[str, float]] = []
        stretches = plan.stretches if plan.begins == "first" else plan.stretches[::-1]
        self.left = [nut for stretch in stretches for nut in stretch.nuts]
        self.told = iter(range(1, 1 + len(plan.order) + sum(len(stretch.cuts) for stretch in stretches)))
        done: set[int] = set()
        for stretch in stretches:
            self.freed(stretch, done)
        assert next(self.told, None) is None  # every number was carried out, in its order

    def middle(self, nut: int):
        return self.plan.blocks[nut - 1].pose.at

    def part(self, solid: Manifold, nuts) -> Manifold:
        """The one part that all of some nuts are in."""
        (found,) = [one for one in solid.decompose() if any(has(one, self.middle(nut)) for nut in nuts)]
        assert all(has(found, self.middle(nut)) for nut in nuts)
        return found

    def cross(self, solid: Manifold, cut: CrossCut) -> Manifold:
        assert next(self.told) == cut.number
        thick = {"saw": self.kerf, "sanding": FAR if len(self.plan.stretches) == 1 else 3.0, "sawn end": 0.0}[cut.by]
        return solid - box(cut.plane, 0.0, thick) if thick else solid

    def freed(self, stretch: Stretch, done: set[int]) -> None:
        on_piece = stretch.held == "piece"
        near, far = (stretch.face, stretch.foot) if on_piece else (stretch.foot, stretch.face)
        if near.number not in done:
            self.rest = self.part(self.cross(self.rest, near), self.left)
        done |= {near.number, far.number}
        self.left = [nut for nut in self.left if nut not in stretch.nuts]
        rips = list(stretch.cuts)
        if on_piece:
            works = [Work(self.rest, list(stretch.nuts), stretch.foot.plane, "piece")]
            while rips and rips[0].rip.held == "piece":
                self.rip(works, rips.pop(0))
            solid = self.cross(works[0].solid, far)
            self.blanks |= {nut: self.part(solid, [nut]) for nut in works[0].nuts}
            self.rest = beyond(solid, far.plane)
        else:
            solid = self.cross(self.rest, far)
            works = [self.on_a_stick(self.part(solid, stretch.nuts), list(stretch.nuts), near.plane)]
            self.rest = beyond(solid, far.plane)
        while rips and rips[0].rip.held == "stick":
            self.rip(works, rips.pop(0))
        for work in works:
            if work.held == "stick":
                free = below(work.solid, work.foot, -1.5 * GLUED)
                self.blanks |= {nut: self.part(free, [nut]) for nut in work.nuts}
        for cut in rips:  # an end that is sanded
            assert next(self.told) == cut.rip.number
            assert (cut.rip.by, cut.rip.held) == ("sanding", None)
            self.blanks[cut.rip.nut] = below(self.blanks[cut.rip.nut], cut.rip.plane)

    def on_a_stick(self, stub: Manifold, nuts: list[int], foot: Plane) -> Work:
        middle = np.mean([self.middle(nut) for nut in nuts], axis=0)
        at = replace(foot, origin=middle - float(foot.above(middle[None])[0]) * foot.normal)
        return Work(stub + box(at, -GLUED, STICK, half=THICK / 2.0), nuts, foot, "stick")

    def grip(self, work: Work) -> Manifold:
        """The one part that every nut is on; it must reach far enough beyond the foot to be clamped there."""
        held = self.part(work.solid, work.nuts)
        grip = beyond(held, work.foot, self.kerf)
        assert len([one for one in grip.decompose() if one.volume() > CRUMB]) == 1
        reach = float(work.foot.above(grip.to_mesh().vert_properties[:, :3]).max()) - self.kerf
        assert reach >= (self.permitted.handle_length if work.held == "piece" else STICK - self.kerf) - 1e-4
        self.held.append((work.held, reach))
        return held

    def rip(self, works: list[Work], cut: RipCut) -> None:
        rip = cut.rip
        assert next(self.told) == rip.number
        (work,) = [one for one in works if rip.nut in one.nuts]
        assert work.held == rip.held
        work.solid = self.grip(work)
        tool = below(box(rip.plane, 0.0, self.kerf if rip.by == "saw" else FAR), work.foot, self.kerf)
        for solid in self.plan.blocks:  # no saw, no file runs into a blank, but for a graze that squaring takes
            assert (tool ^ work.solid ^ Manifold.hull_points(solid.corners)).volume() < SNUG * 700.0
        work.solid -= tool
        if "end" not in rip.side:  # in from that side, until the offcut drops
            work.solid -= box(work.foot, 0.0, self.kerf) ^ box(rip.plane, 0.0, FAR)
        toward_foot = float(rip.plane.normal @ work.foot.normal) > 0.9
        if rip.parts:
            loose = [nut for nut in work.nuts if (nut in rip.parts) != toward_foot]
            off = self.part(work.solid, loose)
            work.nuts = [nut for nut in work.nuts if nut not in loose]
            works.append(self.on_a_stick(off, loose, rip.plane if toward_foot else work.foot))
        elif "end" in rip.side and toward_foot:
            self.blanks[rip.nut] = self.part(work.solid, [rip.nut])
            work.nuts.remove(rip.nut)


def carried_out(body: Piece, given: Answer) -> Bench:
    """Saw by the plan, and hold every blank against its block."""
    bench = Bench(body, cut_plan(body, given))
    assert sorted(bench.blanks) == list(range(1, len(given.laid) + 1))
    skin = manifold_of(body.skin)
    several = len(given.laid) > 1
    over, under = np.full(3, AGREE + 0.01 if several else 0.01), np.full(3, 0.06 if several else 0.01)
    if several:  # where they lie slant to each other a cross cut may graze the next one's end, which squaring takes off
        under[0] = given.block.to_square["end"] / 2.0 + 0.01
    for nut, blank in bench.blanks.items():
        pose, corners = given.laid[nut - 1].pose, given.block.corners
        larger, smaller = (Manifold.hull_points(pose.apply(corners + np.sign(corners) * by)) for by in (over, -under))
        assert (blank - larger).volume() < CRUMB
        assert ((smaller ^ skin) - blank).volume() < CRUMB
    return bench


ROD = piece(cylinder(20.0, 150.0), 150.0)


class TestByHand:
    def test_held_by_the_rest(self):
        bench = carried_out(ROD, answer(block(), laid([40.0, 2.0, -3.0], turned(yaw_deg=3.0, roll_deg=20.0))))
        assert {held for held, _ in bench.held} == {"piece"}

    def test_in_the_middle_of_a_short_piece(self):
        """48 of 150: 51 at either end, less than a handle."""
        bench = carried_out(ROD, answer(block(), laid([75.0, 0.0, 0.0], turned())))
        assert {held for held, _ in bench.held} == {"stick"}

    def test_hollow(self):
        carried_out(shin(), answer(block(), laid([62.0, 0.3, 9.0], turned(yaw_deg=2.0, pitch_deg=1.5, roll_deg=90.0))))

    @pytest.mark.parametrize("start", [28.0, 74.0])
    def test_one_behind_another(self, start):
        bench = carried_out(ROD, answer(block(), *(laid([start + along, 0, 0], turned()) for along in (0.0, 48.8))))
        held = [by for by, _ in bench.held]
        assert held == sorted(held)  # from the trimmed end on: by the rest as long as it is a handle, then on a stick
        assert set(held) == {"piece", "stick"}

    @pytest.mark.parametrize(("apart", "bites"), [(0.1, True), (0.5, False)])
    def test_a_saw_that_would_bite_the_next_block_is_refused(self, apart, bites):
        """A kerf of 0.8: 48 long, so their middles are 48 and the room between them apart."""
        given = answer(block(), *(laid([28.0 + along, 0, 0], turned()) for along in (0.0, 48.0 + apart)))
        with pytest.raises(CannotBeMade, match=r"cut\.not-parted") if bites else nullcontext():
            cut_plan(ROD, given)

    @pytest.mark.parametrize(("slants", "cuts"), [((0.0, 9.0), 3), ((9.0, 0.0), 3), ((10.0, 1.0), 3), ((8.0, -8.0), 4)])
    def test_slant_to_each_other(self, slants, cuts):
        """As close as an end of one lets a kerf between: square to the other a saw would bite it, or would not."""
        half = np.array(block().size[:2]) / 2.0

        def reach(yaw: float, toward: float) -> float:
            """Half a block as it is seen along a direction."""
            turn = np.radians(yaw - toward)
            return float(half @ np.abs([np.cos(turn), np.sin(turn)]))

        apart = min(
            (sum(reach(yaw, toward) for yaw in slants) + ROD.permitted.kerf) / np.cos(np.radians(toward))
            for toward in slants
        )
        places = zip((35.0, 35.0 + apart + 1e-6), slants, strict=True)
        given = answer(block(), *(laid([along, 0, 0], turned(yaw_deg=yaw)) for along, yaw in places))
        carried_out(ROD, given)
        assert len(cut_plan(ROD, given).order) == cuts

    def test_beside_each_other(self):
        places = (60.0, -5.2, -7), (62.0, 5.2, -7), (60.2, -5.2, 7), (60.0, 5.2, 7)
        bench = carried_out(ROD, answer(block(), *(laid(at, turned()) for at in places)))
        assert {held for held, _ in bench.held} == {"piece", "stick"}

    def test_a_slant_sawn_end(self):
        carried_out(ROD, answer(block(48.0, 4.0, 8.0), laid([24.9, 0.0, 14.0], turned(pitch_deg=-5.0))))


def generated(seed: int) -> tuple[Piece, int, object]:
    """A piece that tapers, bows and may be hollow, and what is wanted of it."""
    rng = np.random.default_rng(seed)
    length = float(rng.uniform(55.0, 240.0))
    wide, high = rng.uniform(9.0, 22.0, 2)
    taper = rng.uniform(0.6, 1.0, 2)[:: rng.choice([-1, 1])]
    bow = rng.uniform(-0.03, 0.03, 2) * length
    shape = {"sideways": [0.0, bow[0], 0.0], "up": [0.0, bow[1], 0.0]}
    skin = solids.Rod.of(length, wide * taper, high * taper, **shape)
    hollow = rng.random() < 0.4
    core = solids.Rod.of(length, wide * taper * 0.35, high * taper * 0.3, **shape) if hollow else None
    size = rng.uniform((34.0, 5.0, 6.0), (52.0, 8.0, 10.0))
    made = solids.piece(skin, core, kerf=float(rng.choice([0.5, 0.8, 1.2])))
    return made, int(rng.choice([1, 1, 2, 3, 4])), solids.block(*map(float, size), compact=hollow)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(COUNT) if COUNT > 3 else (0,))  # this one wants one nut
def test_generated_pieces(seed):
    body, count, wanted = generated(seed)
    for fewer in range(count, 0, -1):
        given = lay(body, wanted, count=fewer, smaller=False)
        with suppress(CannotBeMade):  # no straight cut parts them: fewer are asked for then
            plan = cut_plan(body, given) if given.fits else None
            if plan is not None:
                carried_out(body, given)
                return
    pytest.skip("it holds none")


DEMO = [
    ("bass-4-fifths", "shin-bone"),
    ("acoustic-6", "antler-beam"),
    ("electric-6", "shin-bone-scan"),
    ("ukulele-tenor", "antler-beam-scan"),
]


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "name"), DEMO if COUNT > 3 else DEMO[:1])
def test_demo_pieces(kind, name):
    spec = read_spec(find_file(kind))
    judged = judge(spec, solve(spec), read_piece(find_piece(name)), count=1)
    carried_out(judged.piece, judged.answer)
