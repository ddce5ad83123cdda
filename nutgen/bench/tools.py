"""Which of the maker's tools cuts which slot: in what order, how far, and how often to look.

Limits and rates here are common practice, no source, unless they say otherwise.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from nutgen.bench.leaves import StopStack, stop_stack
from nutgen.bench.materials import NutMaterial
from nutgen.bench.wires import width_check
from nutgen.finding import Finding, note, step, warning
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.spec.workshop import Tools

ToolKind = Literal["saw", "slotting file", "needle file", "drill shank"]

ROCK_SHARE = 0.25
ROCK_MOST = 0.15
SHANK_ROCK = 0.05
"""Rolling a file from side to side widens its slot by a quarter of its width, 0.15 mm at most, paper
on a drill shank 0.05 mm: more, and the floor is no longer round [mm]."""

PILOT_SHARE = 0.8
"""A first cut is no wider than this share of the slot, so that a crooked start can be put right."""

WIDER_STEP = 0.6
WIDER_SHARE = 0.5
"""A file follows a groove that is no more than 0.6 mm, or half the groove's width, narrower than itself [mm]."""

MARKED = 0.02
PAPER_YIELDS = 0.05
"""How far a file may be from its mark, paper on a shank from its reckoned width [mm]."""

NEEDLE_TEETH = 70.0
"""Length of the teeth of a needle file, for its taper [mm]."""

RATE_DOUBT = 2.0
"""A stroke may take off this many times the usual, with a fresh file and a heavy hand."""

MOST_STROKES = 25

LEAST_WIDENED = 0.0005
"""Less than this is no rocking [mm]."""

_ORDER: dict[ToolKind, int] = {"slotting file": 0, "needle file": 1, "drill shank": 2, "saw": 3}


@dataclass(frozen=True, slots=True)
class ToolStep:
    """One tool in one slot.

    tool       : its kind
    tool_width : its own: file or kerf; shank and paper together; a needle file at its mark [mm]
    widen      : how much wider than itself the tool makes the slot, by rocking [mm]
    width      : of the slot when the step is done [mm]
    floor_left : between the floor when the step is done and the final floor [mm]
    takes_off  : how deep it cuts [mm]
    strokes    : easy strokes between two looks at the floor
    rock_strokes : rocking strokes between two looks at the width; 0 where nothing is widened
    do         : the step
    """

    tool: ToolKind
    tool_width: float
    widen: float
    width: float
    floor_left: float
    takes_off: float
    strokes: int
    rock_strokes: int
    do: Finding


@dataclass(frozen=True, slots=True)
class SlotPlan:
    """How one slot is cut with the tools at hand.

    number, note : the string, 1 = treble-most
    gauge, width : of the string; asked of the slot [mm]
    rough, final : steps of the rough slot, by the final tool where none is narrower; the step that
                   brings it to width and floor
    error        : width that comes out minus width asked for; 0 where a tool fits [mm]
    plus_minus   : how well the width that comes out is known [mm]
    flare        : how much wider the slot is at the back, from a tapering file [mm]
    rough_stop, stop : leaves that stop the tool at the rough floor; at the final one
    verdict      : on the tools, with the cure where none fits
    by_wire      : which wires tell the width; None on a bench without
    """

    number: int
    note: str
    gauge: float
    width: float
    rough: tuple[ToolStep, ...]
    final: tuple[ToolStep, ...]
    error: float
    plus_minus: float
    flare: float
    rough_stop: StopStack
    stop: StopStack
    verdict: Finding
    by_wire: Finding | None

    @property
    def steps(self) -> tuple[ToolStep, ...]:
        """All of them, in their order."""
        return (*self.rough, *self.final)

    @property
    def rough_width(self) -> float:
        """Width of the rough slot; 0 where no tool cuts it [mm]."""
        return self.rough[-1].width if self.rough else 0.0


@dataclass(frozen=True, slots=True)
class _Finisher:
    """A tool that can finish a slot, and the widths it can leave."""

    tool: ToolKind
    narrowest: float
    widest: float
    plus_minus: float
    flare_per_mm: float = 0.0

    def reached(self, width: float) -> float:
        """The width it leaves that comes nearest to the one asked for [mm]."""
        return min(max(width, self.narrowest), self.widest)

    def own(self, width: float) -> float:
        """How wide it is where it leaves that: a tapering file is taped at its mark, all else is rocked [mm]."""
        return self.reached(width) if self.flare_per_mm else self.narrowest


def slot_plans(nut: Nut, tools: Tools, material: NutMaterial) -> tuple[SlotPlan, ...]:
    """The plan of every slot, bass to treble."""
    return tuple(slot_plan(nut, slot, tools, material) for slot in nut.slots)


def slot_plan(nut: Nut, slot: Slot, tools: Tools, material: NutMaterial) -> SlotPlan:
    """Which tools cut a slot, in which order, and the error where none fits."""
    way = min(_finishers(tools), key=lambda way: _rank(way, slot.width), default=None)
    left = max(nut.allowances.floors, material.left_on.floors)
    rough: tuple[ToolStep, ...] = ()
    final: tuple[ToolStep, ...] = ()
    reached = 0.0
    if way is not None:
        own, reached, cut = way.own(slot.width), way.reached(slot.width), _Cut(nut, slot, material)
        rough = _rough_steps(_rough_tools(tools, target=own) or [(way.tool, own)], cut, left=left)
        final = (cut.step(way.tool, own, width=reached, floor_left=0.0, takes_off=left),)
    return SlotPlan(
        number=slot.number,
        note=slot.note,
        gauge=slot.gauge,
        width=slot.width,
        rough=rough,
        final=final,
        error=0.0 if abs(reached - slot.width) < 1e-9 else reached - slot.width,
        plus_minus=way.plus_minus if way else 0.0,
        flare=way.flare_per_mm * nut.thickness if way else 0.0,
        rough_stop=stop_stack(nut, slot, tools, over=left),
        stop=stop_stack(nut, slot, tools),
        verdict=_verdict(slot, way, reached),
        by_wire=width_check(slot.width, tools.wires),
    )


def _finishers(tools: Tools) -> Iterator[_Finisher]:
    for width in tools.files:
        yield _Finisher("slotting file", narrowest=width, widest=width + rock(width), plus_minus=MARKED)
    for needle in tools.needle_files:
        taper = (needle.shank - needle.tip) / NEEDLE_TEETH
        wider = needle.shank if taper else needle.tip + rock(needle.tip)
        marked = MARKED + tools.caliper
        yield _Finisher("needle file", narrowest=needle.tip, widest=wider, plus_minus=marked, flare_per_mm=taper)
    for shank in tools.drill_shanks:
        wrapped = shank + 2.0 * tools.abrasive
        widest = wrapped + SHANK_ROCK
        yield _Finisher("drill shank", narrowest=wrapped, widest=widest, plus_minus=PAPER_YIELDS)


def rock(width: float) -> float:
    """How far a file of a width may widen its slot by rocking [mm]."""
    return min(ROCK_MOST, ROCK_SHARE * width)


def _rank(way: _Finisher, width: float) -> tuple[float, int, float, float]:
    """Least error first, where an error below that of a file's mark is none; then kind, then least rocking.

    Of two that miss by the same the narrow one comes first: it can still be opened.
    """
    error = way.reached(width) - width
    miss = 0.0 if abs(error) <= MARKED else round(abs(error), 6)
    return (miss, _ORDER[way.tool], error if miss else 0.0, abs(width - way.narrowest))


def _rough_tools(tools: Tools, *, target: float) -> list[tuple[ToolKind, float]]:
    """Tools of the rough slot, narrow to wide, up to but without the one of the final width."""
    pilots: list[tuple[ToolKind, float]] = [("saw", kerf) for kerf in tools.saws if kerf <= PILOT_SHARE * target]
    files: list[tuple[ToolKind, float]] = [("slotting file", w) for w in tools.files if w <= PILOT_SHARE * target]
    if pilots:
        chosen = [max(pilots, key=lambda tool: tool[1])]
    elif files:
        chosen = [min(files, key=lambda tool: (abs(tool[1] - target / 2.0), tool[1]))]
    else:
        return []
    while target - chosen[-1][1] > _step_up(chosen[-1][1]):
        wider = _next_wider(tools, chosen[-1][1], target=target)
        if wider is None:
            break
        chosen.append(wider)
    return chosen


def _step_up(width: float) -> float:
    return max(WIDER_STEP, WIDER_SHARE * width)


def _next_wider(tools: Tools, last: float, *, target: float) -> tuple[ToolKind, float] | None:
    """The tool that opens a groove further: within reach the best kind, then the widest; else the narrowest."""
    reach = last + _step_up(last)
    wider = [(way.tool, way.own(reach)) for way in _finishers(tools) if last < way.own(reach) < target - MARKED]
    near = [tool for tool in wider if tool[1] <= reach]
    if near:
        return min(near, key=lambda tool: (_ORDER[tool[0]], -tool[1]))
    return min(wider, key=lambda tool: (tool[1], _ORDER[tool[0]]), default=None)


@dataclass(frozen=True, slots=True)
class _Cut:
    """A slot in a nut of a material: what a stroke does there."""

    nut: Nut
    slot: Slot
    material: NutMaterial

    def step(
        self, tool: ToolKind, own: float, *, width: float, floor_left: float, takes_off: float, before: float = 0.0
    ) -> ToolStep:
        """One tool; `before` is the width already cut to this floor by the tool before it."""
        widen = max(0.0, width - own)
        down = self.material.depth_per_stroke(width=own - before, length=self.nut.thickness)
        aside = self.material.depth_per_stroke(width=max(self.slot.depth, 0.1), length=self.nut.thickness)
        strokes = strokes_between_looks(takes_off, per_stroke=down)
        rocking = strokes_between_looks(widen, per_stroke=aside) if widen > 0.0 else 0
        do = step(
            f"tools.{tool.replace(' ', '-')}",
            tool_width=own,
            floor_left=floor_left,
            strokes=strokes,
            widen=widen if widen > LEAST_WIDENED else 0.0,
            rock_strokes=rocking,
        )
        return ToolStep(
            tool=tool,
            tool_width=own,
            widen=widen,
            width=own + widen,
            floor_left=floor_left,
            takes_off=takes_off,
            strokes=strokes,
            rock_strokes=rocking,
            do=do,
        )


def strokes_between_looks(amount: float, *, per_stroke: float) -> int:
    """Strokes that take off half of an amount at most, even where each cuts twice the usual.

    amount     : still to come off [mm]
    per_stroke : usual cut of one stroke [mm]
    returns    : 1 to 25; after each look the half that is left is a new amount

    Common practice, no source: the rate of a file differs by half to double with its wear, the
    hand and the piece, so the first look tells the maker's own rate.
    """
    return max(1, min(MOST_STROKES, int(amount / 2.0 / (RATE_DOUBT * per_stroke))))


def _rough_steps(rough_tools: list[tuple[ToolKind, float]], cut: _Cut, *, left: float) -> tuple[ToolStep, ...]:
    material = cut.material
    top = cut.slot.depth + max(cut.nut.allowances.top, material.left_on.dress + material.polish_face)
    down = max(0.0, top - left)
    before = (0.0, *(own for _, own in rough_tools))
    return tuple(
        cut.step(tool, own, width=own, floor_left=left, takes_off=down, before=narrower)
        for (tool, own), narrower in zip(rough_tools, before, strict=False)
    )


def _verdict(slot: Slot, way: _Finisher | None, reached: float) -> Finding:
    string, error = slot.who, reached - slot.width
    if way is None:
        return warning("tools.none", string)
    if abs(error) <= MARKED:
        return note("tools.fits", string, width=slot.width, tool=way.tool, plus_minus=way.plus_minus)
    if reached < slot.gauge:
        code, off = "tools.below-gauge", slot.gauge - reached
    else:
        code, off = "tools.narrow" if error < 0.0 else "tools.wide", abs(error)
    return warning(code, string, width=slot.width, tool=way.tool, leaves=reached, off=off)
