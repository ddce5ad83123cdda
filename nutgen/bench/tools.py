"""Which of the maker's tools cuts which slot: in what order, how far, and how often to look.

Limits and rates here are common practice, no source, unless they say otherwise.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from nutgen.bench.leaves import StopStack, stop_stack
from nutgen.bench.materials import Material
from nutgen.nut.part import Nut, Slot
from nutgen.spec.workshop import Tools

Kind = Literal["saw", "slotting file", "needle file", "drill shank"]

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

DEEPEST_STROKE = 0.02
"""The teeth of a fine file bite no deeper, however narrow the slot [mm]."""

MOST_STROKES = 25

_ORDER: dict[Kind, int] = {"slotting file": 0, "needle file": 1, "drill shank": 2, "saw": 3}


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
    words      : the step in a sentence
    """

    tool: Kind
    tool_width: float
    widen: float
    width: float
    floor_left: float
    takes_off: float
    strokes: int
    rock_strokes: int
    words: str


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
    words        : verdict on the tools, with the cure where none fits
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
    words: str

    @property
    def rough_width(self) -> float:
        """Width of the rough slot; 0 where no tool cuts it [mm]."""
        return self.rough[-1].width if self.rough else 0.0


@dataclass(frozen=True, slots=True)
class _Way:
    """A tool that can finish a slot, and the widths it can leave."""

    tool: Kind
    narrowest: float
    widest: float
    plus_minus: float
    flare_per_mm: float = 0.0

    def reached(self, width: float) -> float:
        """The width it leaves that comes nearest to the one asked for [mm]."""
        return min(max(width, self.narrowest), self.widest)


def slot_plans(nut: Nut, tools: Tools, material: Material) -> tuple[SlotPlan, ...]:
    """The plan of every slot, bass to treble."""
    return tuple(slot_plan(nut, slot, tools, material) for slot in nut.slots)


def slot_plan(nut: Nut, slot: Slot, tools: Tools, material: Material) -> SlotPlan:
    """Which tools cut a slot, in which order, and the error where none fits."""
    ways = list(_ways(tools))
    left = max(nut.allowances.floors, material.left_on.floors)
    stops = (stop_stack(nut, slot, tools, over=left), stop_stack(nut, slot, tools))
    if not ways:
        words = "no tool on this bench cuts a round slot; list files, needle_files or drill_shanks under [tools]"
        return SlotPlan(slot.number, slot.note, slot.gauge, slot.width, (), (), -slot.width, 0.0, 0.0, *stops, words)
    way = min(ways, key=lambda way: _rank(way, slot.width))
    reached = way.reached(slot.width)
    own = reached if way.flare_per_mm else way.narrowest
    rough_tools = _rough_tools(tools, target=own) or [(way.tool, own)]
    cut = _Cut(nut, slot, material)
    rough = _rough_steps(rough_tools, cut, left=left)
    final = cut.step(way.tool, own, width=reached, floor_left=0.0, takes_off=left)
    return SlotPlan(
        number=slot.number,
        note=slot.note,
        gauge=slot.gauge,
        width=slot.width,
        rough=rough,
        final=(final,),
        error=0.0 if abs(reached - slot.width) < 1e-9 else reached - slot.width,
        plus_minus=way.plus_minus,
        flare=way.flare_per_mm * nut.thickness,
        rough_stop=stops[0],
        stop=stops[1],
        words=_verdict(slot, way, reached),
    )


def _ways(tools: Tools) -> Iterator[_Way]:
    for width in tools.files:
        yield _Way("slotting file", width, width + rock(width), MARKED)
    for needle in tools.needle_files:
        taper = (needle.shank - needle.tip) / NEEDLE_TEETH
        wider = needle.shank if taper else needle.tip + rock(needle.tip)
        yield _Way("needle file", needle.tip, wider, MARKED + tools.caliper, taper)
    for shank in tools.drill_shanks:
        wrapped = shank + 2.0 * tools.abrasive
        yield _Way("drill shank", wrapped, wrapped + SHANK_ROCK, PAPER_YIELDS)


def rock(width: float) -> float:
    """How far a file of a width may widen its slot by rocking [mm]."""
    return min(ROCK_MOST, ROCK_SHARE * width)


def _rank(way: _Way, width: float) -> tuple[float, int, float, float]:
    """Least error first, where an error below that of a file's mark is none; then kind, then least rocking.

    Of two that miss by the same the narrow one comes first: it can still be opened.
    """
    error = way.reached(width) - width
    miss = 0.0 if abs(error) <= MARKED else round(abs(error), 6)
    return (miss, _ORDER[way.tool], error if miss else 0.0, abs(width - way.narrowest))


def _rough_tools(tools: Tools, *, target: float) -> list[tuple[Kind, float]]:
    """Tools of the rough slot, narrow to wide, up to but without the one of the final width."""
    pilots: list[tuple[Kind, float]] = [("saw", kerf) for kerf in tools.saws if kerf <= PILOT_SHARE * target]
    files: list[tuple[Kind, float]] = [("slotting file", w) for w in tools.files if w <= PILOT_SHARE * target]
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


def _next_wider(tools: Tools, last: float, *, target: float) -> tuple[Kind, float] | None:
    """The tool that opens a groove further: within reach the best kind, then the widest; else the narrowest."""
    reach = last + _step_up(last)
    wider: list[tuple[Kind, float]] = [("slotting file", width) for width in tools.files]
    wider += [("needle file", min(needle.shank, max(needle.tip, reach))) for needle in tools.needle_files]
    wider += [("drill shank", shank + 2.0 * tools.abrasive) for shank in tools.drill_shanks]
    wider = [tool for tool in wider if last < tool[1] < target - MARKED]
    near = [tool for tool in wider if tool[1] <= reach]
    if near:
        return min(near, key=lambda tool: (_ORDER[tool[0]], -tool[1]))
    return min(wider, key=lambda tool: (tool[1], _ORDER[tool[0]]), default=None)


@dataclass(frozen=True, slots=True)
class _Cut:
    """A slot in a nut of a material: what a stroke does there."""

    nut: Nut
    slot: Slot
    material: Material

    def step(
        self, tool: Kind, own: float, *, width: float, floor_left: float, takes_off: float, before: float = 0.0
    ) -> ToolStep:
        """One tool; `before` is the width already cut to this floor by the tool before it."""
        widen = max(0.0, width - own)
        volume, length = self.material.cut_per_stroke, self.nut.thickness
        down = min(DEEPEST_STROKE, volume / ((own - before) * length))
        aside = min(DEEPEST_STROKE, volume / (max(self.slot.depth, 0.1) * length))
        strokes = strokes_between_looks(takes_off, per_stroke=down)
        rocking = strokes_between_looks(widen, per_stroke=aside) if widen > 0.0 else 0
        words = _step_words(tool, own, widen, floor_left, strokes, rocking)
        return ToolStep(tool, own, widen, own + widen, floor_left, takes_off, strokes, rocking, words)


def strokes_between_looks(amount: float, *, per_stroke: float) -> int:
    """Strokes that take off half of an amount at most, even where each cuts twice the usual.

    amount     : still to come off [mm]
    per_stroke : usual cut of one stroke [mm]
    returns    : 1 to 25; after each look the half that is left is a new amount

    Common practice, no source: the rate of a file differs by half to double with its wear, the
    hand and the piece, so the first look tells the maker's own rate.
    """
    return max(1, min(MOST_STROKES, int(amount / 2.0 / (RATE_DOUBT * per_stroke))))


def _rough_steps(rough_tools: list[tuple[Kind, float]], cut: _Cut, *, left: float) -> tuple[ToolStep, ...]:
    material = cut.material
    top = cut.slot.depth + max(cut.nut.allowances.top, material.left_on.dress + material.polish_face)
    down = max(0.0, top - left)
    before = (0.0, *(own for _, own in rough_tools))
    return tuple(
        cut.step(tool, own, width=own, floor_left=left, takes_off=down, before=narrower)
        for (tool, own), narrower in zip(rough_tools, before, strict=False)
    )


def _step_words(tool: Kind, own: float, widen: float, left: float, strokes: int, rocking: int) -> str:
    names = {
        "saw": f"saw of {own:.2f} mm kerf",
        "slotting file": f"slotting file {own:.2f} mm ({_thousandths(own)})",
        "needle file": (
            f"needle file, taped where it measures {own:.2f} mm, handle toward the headstock; never let the tape"
            " pass the front face"
        ),
        "drill shank": f"abrasive paper round a drill shank, {own:.2f} mm over the paper",
    }
    goal = f"down to {left:.2f} mm above the final floor" if left > 0.0 else "down to the stop stack"
    words = f"{names[tool]}: {goal}, looking every {'stroke' if strokes == 1 else f'{strokes} strokes'}"
    if widen > 0.0005:
        every = "every rocking stroke" if rocking == 1 else f"every {rocking} rocking strokes"
        words += f"; rock it to widen by {widen:.3f} mm, trying the string {every}"
    return words


def _thousandths(width: float) -> str:
    return f"{width / 25.4:.3f} in".lstrip("0")


def _verdict(slot: Slot, way: _Way, reached: float) -> str:
    error = reached - slot.width
    if abs(error) <= MARKED:
        return f"{slot.width:.2f} mm: the {way.tool} fits, to about {way.plus_minus:.2f} mm"
    if reached < slot.gauge:
        verdict = f"{slot.gauge - reached:.2f} mm too narrow for the string itself; open it with paper on a wire"
    elif error < 0.0:
        verdict = f"{-error:.2f} mm narrow: the string may bind, so open it with paper folded over a leaf"
    else:
        verdict = f"{error:.2f} mm wide: the string may rattle sideways, so borrow or buy a file of the width"
    return (
        f"{slot.width:.2f} mm ({_thousandths(slot.width)}): no tool fits; the nearest, the {way.tool}, leaves"
        f" {reached:.2f} mm, {verdict}"
    )
