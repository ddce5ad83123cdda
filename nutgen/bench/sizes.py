"""The sizes of a nut on its way from the raw piece to the final part, in one chain.

Every size is a track: the stages that touch it, and where each leaves it. What a stage leaves on
is by construction what the later stages take off.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, get_args

from nutgen.bench.leaves import floor_over_board
from nutgen.bench.materials import NutMaterial
from nutgen.bench.tools import SlotPlan
from nutgen.finding import Subject
from nutgen.nut.edges import has_bevel
from nutgen.nut.heights import fitted_how
from nutgen.nut.part import Nut
from nutgen.nut.setback import least_shelf, rebate, under_floor
from nutgen.nut.slot import Slot
from nutgen.nut.solve import LEAST_BURIED

StageName = Literal[
    "saw", "square", "thickness", "shelf", "fit to seat", "ends", "crown", "bevel", "starts", "rough slots",
    "final slots", "dress the top", "polish", "fix",
]  # fmt: skip
"""What is done at the bench, in order; "shelf" and "starts" only where strings start before the front face."""

SizeKind = Literal[
    "length", "thickness", "whole thickness", "seat thickness", "height", "bass height", "treble height",
    "back height", "land", "rebate", "off the board", "start", "floor", "width", "depth", "clearance",
]  # fmt: skip
"""What is measured; the last five once for every string. A floor is over the board, a clearance at fret 1.

With a shelf the whole thickness is over it and the seat thickness below it; a rebate is the height of what is cut
away below it; a start is the thickness where a string starts.
"""

GROWING: tuple[SizeKind, ...] = ("width", "rebate", "off the board")
"""Sizes that the work makes larger; all others fall."""

LeftAt = tuple[StageName, float]
"""A stage and what it leaves of a size, or where it stops [mm]."""

MARGIN: dict[StageName, float] = dict.fromkeys(get_args(StageName), 0.05) | {
    "saw": 0.30,
    "square": 0.10,
    "fit to seat": 0.03,
    "final slots": 0.02,
    "dress the top": 0.03,
    "polish": 0.02,
}
"""How far over the size of a stage to stop and look [mm]. Common practice, no source."""

LOOSE_IN_CHANNEL = 0.05  # a nut this much thinner than its channel still stands with a dab of glue
THIN_ON_LEDGE = 0.5  # a nut that is open behind may be this much thinner, if its land stays
SHORT_END = 0.15  # an end this far inside the board's edge is not felt
END_WALL = 0.5  # left outside the outer slot, at least
NARROW_LAND = 0.8
LOW_FLOOR = 0.05 / 0.944  # a clearance at fret 1 that is 0.05 low: a floor falls this far for it
HIGH_SHELF = 0.15  # a shelf this much farther off the board holds, where enough stays under its slots
SHORT_START = 0.1  # a string that starts this much too far back is out by less than half a cent on 400 mm
WIDE_SLOT = 0.127  # 0.005 in over the gauge, the most that repairers allow
WIDE_OVER = 0.05  # or this much over the width asked for


@dataclass(frozen=True, slots=True)
class TakeOff:
    """What comes off a size next.

    by     : the stage
    paper  : P grade, where it is the polish
    amount : in all, not per face [mm]
    """

    by: StageName
    paper: str
    amount: float


@dataclass(frozen=True, slots=True)
class Size:
    """A size to reach. All fall but those that grow.

    kind      : what is measured
    string    : whose it is; None where it is the whole nut's
    target    : the size to reach, with what later stages take off still on [mm]
    stop      : stop the tool and look, from here it is stroke by stroke [mm]
    least     : what still makes a sound nut, if later stages take correspondingly less; the most of what grows [mm]
    takes_off : what comes off next, paper by paper for the polish
    """

    kind: SizeKind
    string: Subject | None
    target: float
    stop: float
    least: float
    takes_off: tuple[TakeOff, ...]

    @property
    def grows(self) -> bool:
        """Whether the work makes it larger."""
        return self.kind in GROWING


@dataclass(frozen=True, slots=True)
class Track:
    """One size through the stages.

    steps : (stage, where the stage leaves the size), in the order of the work
    least : what still makes a sound nut [mm]
    faces : how many faces the polish works on
    block : what the squared block has over the nut along its front face, for ends that lean [mm]
    stops : stage -> where to stop, where that is not simply a margin over the size
    """

    kind: SizeKind
    steps: tuple[LeftAt, ...]
    least: float
    faces: int = 0
    stops: tuple[LeftAt, ...] = ()
    string: Subject | None = None
    block: float = 0.0

    def at(self, stage: StageName, material: NutMaterial, *, caliper: float) -> Size | None:
        """The size at a stage; None where the stage does not touch it."""
        names = [name for name, _ in self.steps]
        if stage not in names:
            return None
        index = names.index(stage)
        return Size(
            kind=self.kind,
            string=self.string,
            target=self.steps[index][1],
            stop=self._stop(index, caliper),
            least=self.least + (self.block if stage in ("saw", "square") else 0.0),
            takes_off=tuple(self._takes_off(index, material)),
        )

    def _stop(self, index: int, caliper: float) -> float:
        stage, target = self.steps[index]
        margin = max(MARGIN[stage], caliper)
        if self.kind in GROWING:
            return max(target - margin, 0.5 * target)
        stop = dict(self.stops).get(stage, target + margin)
        before = self.steps[index - 1][1] if index else stop
        return max(min(stop, before), target)

    def _takes_off(self, index: int, material: NutMaterial) -> Iterator[TakeOff]:
        for (_, here), (then, there) in zip(self.steps[index:], self.steps[index + 1 : index + 2], strict=False):
            if then == "polish":
                yield from (TakeOff(then, grit.name, self.faces * grit.takes_off) for grit in material.grits)
            else:
                yield TakeOff(then, "", abs(here - there))


def tracks(nut: Nut, material: NutMaterial, plans: tuple[SlotPlan, ...]) -> tuple[Track, ...]:
    """Every size of the nut through the stages."""
    length, thickness, height = blank_tracks(nut, material)
    return (
        *(length, thickness),
        *(_shelf(nut, thickness) if nut.shelves.alone else ()),
        *(height, *_heights(nut, material)),
        *_land(nut),
        *(track for slot, plan in zip(nut.slots, plans, strict=True) for track in _slot(nut, slot, material, plan)),
    )


def blank_tracks(nut: Nut, material: NutMaterial) -> tuple[Track, Track, Track]:
    """Length, thickness and height, from the sawn block to the finished nut."""
    return _length(nut, material), _thickness(nut, material), _height(nut, material)


def _length(nut: Nut, material: NutMaterial) -> Track:
    left, final = material.left_on, nut.length
    block = nut.extent - nut.length
    over = max(left.squared_end, nut.allowances.ends, material.polish_face)
    squared = _squared(final + block + 2.0 * over, nut.blank.length, material)
    wall = min(nut.end_wall(slot) for slot in nut.slots)
    least = final - 2.0 * min(SHORT_END, max(0.0, wall - END_WALL))
    ends = final + 2.0 * material.polish_face
    sawn = squared + 2.0 * left.sawn_face
    return Track(
        "length", (("saw", sawn), ("square", squared), ("ends", ends), ("polish", final)), least, faces=2, block=block
    )


def _thickness(nut: Nut, material: NutMaterial) -> Track:
    """Over the shelf, where one stands before the front face."""
    left, final = material.left_on, nut.thickness - nut.shelves.front
    hidden = nut.seat.kind == "channel"
    fitted = final if hidden else final + material.polish_face
    sanded = fitted + left.fit
    squared = _squared(
        max(sanded, final + max(left.squared_thickness, nut.allowances.back)), nut.blank.thickness, material
    )
    steps: list[LeftAt] = [("saw", squared + 2.0 * left.sawn_face), ("square", squared)]
    steps += [("thickness", sanded), ("fit to seat", fitted)]
    steps += [] if hidden else [("polish", final)]
    thinner = LOOSE_IN_CHANNEL if hidden else min(THIN_ON_LEDGE, max(0.0, nut.thickness - nut.land))
    kind: SizeKind = "whole thickness" if nut.shelves.alone else "thickness"
    return Track(kind, tuple(steps), final - thinner, faces=0 if hidden else 1)


def _shelf(nut: Nut, whole: Track) -> Iterator[Track]:
    """What is cut away below the shelf, what stays in the seat, and how far the front steps back to each start.

    whole : the thickness over the shelf; what comes off the back face comes off every thickness
    """
    shelves, deep = nut.shelves, -nut.shelves.front
    (_, sanded), *fitted = ((name, size - deep) for name, size in whole.steps[2:])
    seat: tuple[LeftAt, ...] = (("shelf", sanded), *fitted)
    yield Track("seat thickness", seat, whole.least - deep, faces=whole.faces)
    spare = min(HIGH_SHELF, min(under_floor(nut, slot) for slot in nut.slots) - least_shelf(nut.material))
    high = rebate(nut)
    yield Track("rebate", (("shelf", high),), high + spare)
    yield Track("off the board", (("fit to seat", shelves.clear),), shelves.clear + spare)
    if has_starts(nut):
        for slot in nut.slots:
            ahead = -shelves.foremost(slot.x, slot.x)
            (_, bedded), *polished = ((name, size + ahead) for name, size in fitted)
            steps: tuple[LeftAt, ...] = (("starts", bedded), *polished)
            yield Track("start", steps, steps[-1][1] - SHORT_START, faces=whole.faces, string=slot.who)


def has_starts(nut: Nut) -> bool:
    """Whether the front steps back from the farthest shelf, to strings that start nearer or to none."""
    return len(nut.steps) > 1


def _height(nut: Nut, material: NutMaterial) -> Track:
    left, final = material.left_on, nut.height
    crowned = final + _top_over(nut, material)
    bedded = max(crowned, _squared(final + left.squared_top, nut.blank.height, material))
    squared = bedded + left.bed
    sawn = squared + 2.0 * left.sawn_face
    block: tuple[LeftAt, ...] = (("saw", sawn), ("square", squared), ("fit to seat", bedded))
    return Track("height", (*block, *_top_steps(final, nut, material)), final - _top_slack(nut), faces=1)


def _heights(nut: Nut, material: NutMaterial) -> Iterator[Track]:
    lowest, slack = nut.lowest_z, _top_slack(nut)
    bass, treble = (end.x for end in nut.bass_and_treble)
    ends: tuple[tuple[SizeKind, float], ...] = (("bass height", bass), ("treble height", treble))
    for kind, x in ends:
        final = float(nut.top_z(x, 0.0)) - lowest
        yield Track(kind, _top_steps(final, nut, material), max(0.0, final - slack), faces=1)
    if has_bevel(nut):
        final = nut.highest_at_back - lowest
        (_, bevelled), dressed, polished = _top_steps(final, nut, material)
        yield Track("back height", (("bevel", bevelled), dressed, polished), max(0.0, final - slack), faces=1)


def _land(nut: Nut) -> Iterator[Track]:
    """From the front that stands when the bevel is filed: the farthest shelf's, where there is one."""
    if has_bevel(nut):
        deep = -nut.shelves.front
        yield Track("land", (("bevel", nut.land + deep),), min(nut.land, NARROW_LAND) + deep)


def _slot(nut: Nut, slot: Slot, material: NutMaterial, plan: SlotPlan) -> Iterator[Track]:
    string, final = slot.who, floor_over_board(nut, slot)
    left = max(nut.allowances.floors, material.left_on.floors)
    plane = final - slot.floor_height
    lowest = max(final - LOW_FLOOR, min(final, plane) if slot.zero_fret is None else -math.inf)
    stack = plan.stop.best
    over = max(0.0, stack.error) + stack.spread if stack else MARGIN["final slots"]
    floors: tuple[LeftAt, ...] = (("rough slots", final + left), ("final slots", final))
    yield Track("floor", floors, lowest, stops=(("final slots", final + min(left, over)),), string=string)
    rough = min(plan.rough_width, slot.width)
    widest = max(slot.width + WIDE_OVER, slot.gauge + WIDE_SLOT)
    yield Track("width", (("rough slots", rough), ("final slots", slot.width)), widest, string=string)
    shallow = min(slot.depth, LEAST_BURIED * slot.gauge)
    dressed = slot.depth + material.polish_face
    yield Track("depth", (("dress the top", dressed), ("polish", slot.depth)), shallow, faces=1, string=string)
    if fitted_how(nut):
        return
    clearance = slot.first_fret_clearance
    yield Track("clearance", (("fix", clearance),), max(0.0, clearance - MARGIN["fix"]), string=string)


def _squared(size: float, blank: float, material: NutMaterial) -> float:
    """A printed part has no blank; every other is squared to no less than the one drawn."""
    return size if material.printed else max(size, blank)


def _top_over(nut: Nut, material: NutMaterial) -> float:
    return max(nut.allowances.top, material.left_on.dress + material.polish_face)


def _top_steps(final: float, nut: Nut, material: NutMaterial) -> tuple[LeftAt, LeftAt, LeftAt]:
    over, polish = _top_over(nut, material), material.polish_face
    return (("crown", final + over), ("dress the top", final + polish), ("polish", final))


def _top_slack(nut: Nut) -> float:
    """How far the top may be lower before a string is buried by less than a third [mm]."""
    return max(0.0, min(slot.depth - LEAST_BURIED * slot.gauge for slot in nut.slots))
