"""The stages at the bench, from the raw piece to the nut in its seat: a number for each.

saw, square, thickness, fit to seat, ends, crown, bevel, rough slots, final slots, dress the top,
polish, fix; where strings start before the front face, the shelf after the thickness and the starts
after the bevel. What is sanded off stays off: every stage has a size to reach, a size to stop at and
look, and the least that still works.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import get_args

from nutgen.bench.leaves import LOW_WORTH_A_WORD, gap_stack
from nutgen.bench.materials import NutMaterial
from nutgen.bench.remedies import past_the_limit
from nutgen.bench.sizes import Size, StageName, has_starts, tracks
from nutgen.bench.tools import SlotPlan, slot_plans
from nutgen.finding import Finding, caution, step
from nutgen.nut.edges import has_bevel
from nutgen.nut.heights import fitted_how
from nutgen.nut.part import Nut
from nutgen.nut.setback import Stretch, fronts, rebate
from nutgen.spec.workshop import Tools

STAGES: tuple[StageName, ...] = tuple(name for name in get_args(StageName) if name not in ("shelf", "starts"))
"""Of every nut."""

UPRIGHT_DEG = 0.05
"""An end that leans by less in plan is square to the front face, to any hand."""

COARSE_CALIPER = 0.05
"""A caliper that shows no less than this is no help with the last tenths [mm]. Common practice, no source."""


ACTION_SLACK = 0.05
"""A saddle that is off by no more moves a clearance at fret 1 by 0.006 [mm]. Geometry: 2 (1 - 2^(-1/12)) of it."""


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the work.

    number   : 1 for the first
    do       : what to do
    reach    : the sizes to reach; empty where the stage has nothing to do on this nut
    measure  : how, with the tools at hand
    if_under : ways back from a size past its limit, each about the sizes that it cures
    cautions : where the stage can hurt someone
    slots    : file by file, for the two stages that cut slots
    fronts   : stretch by stretch, for the stage that steps the front back
    jigs     : by name, printed parts that hold, guide or stop in it
    """

    number: int
    name: StageName
    do: Finding
    reach: tuple[Size, ...]
    measure: Finding
    if_under: tuple[Finding, ...]
    cautions: tuple[Finding, ...]
    slots: tuple[SlotPlan, ...] = ()
    fronts: tuple[Stretch, ...] = ()
    jigs: tuple[str, ...] = ()


JIGS: Mapping[StageName, tuple[str, ...]] = MappingProxyType(
    {
        "thickness": ("thickness",),
        "ends": ("ends",),
        "crown": ("top", "gauges"),
        "bevel": ("top", "gauges"),
        "rough slots": ("comb", "depth", "gauges"),
    }
)
"""What `jigs` may print for a stage; a nut from the printer needs those of its slots."""


def stages(nut: Nut, tools: Tools, material: NutMaterial) -> tuple[Stage, ...]:
    """The stages of a nut, with their sizes: twelve, and those of its shelf.

    nut      : to its final sizes; its allowances are left on until the stage that takes them off
    tools    : on the bench
    material : of the piece
    """
    plans = slot_plans(nut, tools, material)
    chain = tracks(nut, material, plans)
    found = []
    for number, name in enumerate(stage_names(nut), start=1):
        sizes = [track.at(name, material, caliper=tools.caliper) for track in chain]
        reach = tuple(size for size in sizes if size is not None)
        stage = Stage(
            number=number,
            name=name,
            do=_do(name, nut, tools, material),
            reach=reach,
            measure=_measure(name, nut, tools),
            if_under=past_the_limit(reach, name, nut, material),
            cautions=tuple(caution(f"bench.{hazard}") for hazard in _HAZARDS[name]),
            slots=plans if name in ("rough slots", "final slots") else (),
            fronts=fronts(nut) if name == "starts" else (),
            jigs=JIGS.get(name, ()) if reach and (name == "rough slots" or not material.printed) else (),
        )
        found.append(stage)
    return tuple(found)


def stage_names(nut: Nut) -> tuple[StageName, ...]:
    """The stages that a nut goes through, in order."""
    shelf = {"shelf": bool(nut.shelves.alone), "starts": bool(nut.shelves.alone) and has_starts(nut)}
    return tuple(name for name in get_args(StageName) if shelf.get(name, True))


def _do(name: StageName, nut: Nut, tools: Tools, material: NutMaterial) -> Finding:
    deep = -nut.shelves.front
    shelf = {"deep": deep} if deep else {}
    match name:
        case "saw" if material.printed:
            return step("stage.clean-print")
        case "saw":
            return step("stage.saw", over=material.left_on.sawn_face)
        case "thickness":
            return step("stage.thickness", paper=material.last_coarse)
        case "square":
            return step("stage.square", **shelf)
        case "shelf":
            return step("stage.shelf-printed" if material.printed else "stage.shelf", deep=deep, high=rebate(nut))
        case "fit to seat":
            radius = _radius(nut.underside.curvature)
            if nut.slant_deg:
                radius["off_square_deg"] = abs(nut.slant_deg)
            if not deep:
                return step("stage.fit-to-seat", seat=nut.seat.kind, **radius)
            clear = nut.shelves.clear
            over = 1.0 / (nut.board_radius * math.cos(math.radians(nut.slant_deg)) ** 2 + clear)
            arch = {f"shelf_{key}": value for key, value in _radius(over).items()}
            filler = _in_sheets(clear, tools)
            return step("stage.fit-to-seat", seat=nut.seat.kind, **radius, clear=clear, **arch, **filler)
        case "ends":
            return step("stage.ends", **_leaning(nut))
        case "crown":
            return step("stage.crown", **_radius(nut.crown.curvature))
        case "bevel" if not has_bevel(nut):
            return step("stage.no-bevel")
        case "bevel":
            return step("stage.bevel", bevel_deg=nut.bevel_deg, land=nut.land + deep)
        case "rough slots" | "final slots":
            return step(f"stage.{_slug(name)}", **shelf, **_gap(nut))
        case "polish":
            return step("stage.polish", edge_radius=nut.edge_radius)
        case "fix":
            return step(f"stage.fix{fitted_how(nut)}", **_action_to_set(nut))
    return step(f"stage.{_slug(name)}")


def _in_sheets(gap: float, tools: Tools) -> dict[str, Finding]:
    """Own sheets that make a gap; nothing where none do, or leaves are there."""
    stack = gap_stack(gap, tools)
    return {} if stack.leaves or abs(stack.error) > LOW_WORTH_A_WORD else {"stack": stack.told}


def _action_to_set(nut: Nut) -> dict[str, float]:
    """The outer strings' action as measured and as wanted, where they differ; the clearances go with the one wanted."""
    if max(abs(slot.action_now - slot.action) for slot in nut.slots) <= ACTION_SLACK:
        return {}
    bass, treble = nut.slots[0], nut.slots[-1]
    now = {"bass_now": bass.action_now, "treble_now": treble.action_now}
    return {**now, "bass_wanted": bass.action, "treble_wanted": treble.action}


def _gap(nut: Nut) -> dict[str, float]:
    """The room on the board between the nut and a zero fret, where there is one."""
    ahead = [slot.zero_fret.ahead for slot in nut.slots if slot.zero_fret]
    return {"gap": min(ahead)} if ahead else {}


def _leaning(nut: Nut) -> dict[str, float]:
    """Ends that are not square to the front face: how far out they run, and where they are from the centre line."""
    (bass, treble), (bass_deg, treble_deg) = nut.bass_and_treble, nut.outward_deg
    if max(abs(bass_deg), abs(treble_deg)) <= UPRIGHT_DEG:
        return {}
    return {"bass": abs(bass.x), "bass_deg": bass_deg, "treble": abs(treble.x), "treble_deg": treble_deg}


def _radius(curvature: float) -> dict[str, float]:
    """The radius of an arc; without it, it is flat."""
    return {"radius": 1.0 / curvature} if curvature and math.isfinite(1.0 / curvature) else {}


def _measure(name: StageName, nut: Nut, tools: Tools) -> Finding:
    code = f"measure.{_slug(name)}"
    if name == "fix" and fitted_how(nut):
        return step(f"measure.fix{fitted_how(nut)}")
    if name == "fix" and not (tools.feeler or tools.feeler_inch):
        laid = [gap_stack(slot.first_fret_clearance, tools) for slot in nut.slots] if tools.own_leaves else []
        stacks, sums = tuple(one.told for one in laid), tuple(one.sum for one in laid)
        return step("measure.fix-by-sheets", *(slot.who for slot in nut.slots), stacks=stacks, sums=sums)
    if name in ("rough slots", "final slots", "fix"):
        return step(code)
    if name == "dress the top":
        strings = [slot.who for slot in nut.slots]
        proud = tuple(slot.gauge - slot.depth for slot in nut.slots)
        return step(code, *strings, caliper=tools.caliper, proud=proud)
    return step(code, caliper=tools.caliper, too_coarse=tools.caliper > COARSE_CALIPER)


def _slug(name: StageName) -> str:
    return name.replace(" ", "-")


_HAZARDS: dict[StageName, tuple[str, ...]] = {
    "saw": ("edges", "turning-tools", "dust"),
    "square": ("dust", "turning-tools"),
    "thickness": ("dust",),
    "shelf": ("edges", "turning-tools", "dust"),
    "fit to seat": ("dust", "prising"),
    "ends": ("dust",),
    "crown": ("edges", "dust"),
    "bevel": ("edges", "dust"),
    "starts": ("edges", "dust"),
    "rough slots": ("edges", "dust"),
    "final slots": ("string-whips", "dust", "thin-glue"),
    "dress the top": ("string-whips", "dust"),
    "polish": ("dust", "turning-tools"),
    "fix": ("string-whips", "thin-glue"),
}
"""What can hurt at each stage. Common practice, no source."""
