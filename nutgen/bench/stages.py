"""The stages at the bench, from the raw piece to the nut in its seat: a number for each.

saw, square, thickness, fit to seat, ends, crown, bevel, rough slots, final slots, dress the top,
polish, fix. What is sanded off stays off: every stage has a size to reach, a size to stop at and
look, and the least that still works.
"""

from dataclasses import dataclass
from typing import Literal, get_args

from nutgen.bench.materials import COMMON_PRACTICE, Material, Note
from nutgen.bench.remedies import IfUnder, WayBack, if_under
from nutgen.bench.remedies import way_back as _way_back
from nutgen.bench.sizes import Size, TakeOff, Track, tracks
from nutgen.bench.stage_words import cautions, how_to, how_to_measure
from nutgen.bench.tools import SlotPlan, slot_plans
from nutgen.nut.part import Nut
from nutgen.spec.workshop import Tools

StageName = Literal[
    "saw", "square", "thickness", "fit to seat", "ends", "crown", "bevel", "rough slots", "final slots",
    "dress the top", "polish", "fix",
]  # fmt: skip

STAGES: tuple[StageName, ...] = get_args(StageName)


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the work.

    number         : 1 for the first
    do             : what to do
    reach          : the sizes to reach; empty where the stage has nothing to do on this nut
    how_to_measure : with the tools at hand
    next_takes_off : what comes off each of these sizes next, paper by paper for the polish
    if_under       : a way back for each size
    cautions       : where the stage can hurt someone
    slots          : file by file, for the two stages that cut slots
    """

    number: int
    name: StageName
    do: str
    reach: tuple[Size, ...]
    how_to_measure: str
    next_takes_off: tuple[TakeOff, ...]
    if_under: tuple[IfUnder, ...]
    cautions: tuple[Note, ...]
    slots: tuple[SlotPlan, ...] = ()

    def way_back(self, size: str, measured: float, tools: Tools) -> WayBack:
        """What to do now that one of the stage's sizes has been measured.

        size     : its name
        measured : [mm]
        raises   : ValueError where the stage has no such size, or the measurement is no length
        """
        for known, cure in zip(self.reach, self.if_under, strict=True):
            if known.name == size:
                return _way_back(known, measured, cure, tools)
        names = ", ".join(known.name for known in self.reach) or "none"
        raise ValueError(f"stage {self.name}: no size {size!r}; its sizes are {names}")


def stages(nut: Nut, tools: Tools, material: Material) -> tuple[Stage, ...]:
    """The twelve stages of a nut, with their sizes.

    nut      : to its final sizes; its allowances are left on until the stage that takes them off
    tools    : on the bench
    material : of the piece
    """
    plans = slot_plans(nut, tools, material)
    chain = tracks(nut, material, plans)
    return tuple(
        _stage(number, name, chain, plans, nut, tools, material) for number, name in enumerate(STAGES, start=1)
    )


def _stage(
    number: int,
    name: StageName,
    chain: tuple[Track, ...],
    plans: tuple[SlotPlan, ...],
    nut: Nut,
    tools: Tools,
    material: Material,
) -> Stage:
    sizes = [track.at(name, caliper=tools.caliper) for track in chain]
    reach = tuple(size for size in sizes if size is not None)
    return Stage(
        number=number,
        name=name,
        do=how_to(name, nut, material),
        reach=reach,
        how_to_measure=how_to_measure(name, nut, tools),
        next_takes_off=tuple(off for track in chain for off in track.next_after(name, material)),
        if_under=tuple(if_under(size, name, nut, material) for size in reach),
        cautions=tuple(Note(text, COMMON_PRACTICE) for text in cautions(name)),
        slots=plans if name in ("rough slots", "final slots") else (),
    )
