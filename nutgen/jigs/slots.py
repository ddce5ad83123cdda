"""Starting comb and depth carrier: one body, its notches for the tool that begins a slot, or for those after it."""

import math

from nutgen.finding import Finding, Span, Subject, note, refusal, step, warning
from nutgen.jigs.guides import setting, stopped, why_not
from nutgen.jigs.jig import Jig, NoJigError
from nutgen.jigs.notches import Notch, notches
from nutgen.jigs.plates import END_SCREW, plates
from nutgen.jigs.rails import PINS, Rails, rails
from nutgen.jigs.shapes.fits import PLACED, TOOL_PLAY
from nutgen.jigs.task import Task

LEAST_CUT = 0.10
"""A start shallower than this guides no file [mm]."""


def comb(task: Task) -> Jig:
    """The comb of a nut; raises NoJigError where it cannot guide."""
    bare = [slot.who for slot, plan in task.pairs if not plan.steps]
    if bare:
        raise NoJigError(refusal("jig.comb-no-tool", *bare))
    steel = rails(task, "comb")
    firsts = [(slot, plan.steps[0]) for slot, plan in task.pairs]
    cut = notches(task, steel, [(slot, (tool.tool_width,)) for slot, tool in firsts])
    part = plates(task, steel, "comb", cut)
    play = max(one.play for one in cut)
    turned = math.degrees(math.atan2(play, steel.plates[3] - steel.plates[0]))
    held = [slot for slot, tool in firsts if steel.listed and stopped(task, steel, slot, tool)]
    free = [slot.who for slot, _ in firsts if slot not in held]
    stop = setting(task, steel, [one for one in cut if one.slot in held])
    return Jig(
        name="comb",
        stages=("rough slots",),
        parts=(part,),
        hardware=(note("jig.screw-and-nut", thread="M3", long=END_SCREW, count=1), *stop.hardware),
        steps=(
            step("jig.comb-set", screw=END_SCREW),
            *stop.steps,
            step("jig.comb-cut"),
            *((step("jig.comb-by-hand", *free),) if free else ()),
        ),
        promise=(note("jig.comb-holds", placed=PLACED, play=play / 2.0, turn_deg=turned), *stop.promise),
        check=stop.check,
        told=tuple(_told(task, steel, cut)),
        settings=stop.settings,
    )


def _told(task: Task, steel: Rails, cut: list[Notch]) -> list[Finding]:
    """Slots whose tool has room to wander, or is hardly begun."""
    found = [
        warning("jig.comb-notch-wide", one.slot.who, notch=one.width, tool_width=min(one.widths))
        for one in cut
        if one.play > TOOL_PLAY + 0.03
    ]
    for one in cut:
        slot = one.slot
        deep = slot.floor_z + slot.depth + task.top_over - steel.edge(slot, slot.start_y)
        if deep < LEAST_CUT:
            found.append(warning("jig.comb-shallow", slot.who, deep=max(0.0, deep)))
    return found


def depth(task: Task) -> Jig:
    """The carrier of a nut; raises NoJigError where no tool can be stopped."""
    steel = rails(task, "depth")
    if not steel.listed:
        raise NoJigError(refusal("jig.depth-no-pins", pins=Span(*PINS)))
    found = {slot: plan.steps[1:] for slot, plan in task.pairs}  # the comb begins
    ends = {slot: [one for one in tools if stopped(task, steel, slot, one)] for slot, tools in found.items()}
    whys: dict[Finding, list[Subject]] = {}
    for slot, tools in found.items():
        if tools and not ends[slot] and (why := why_not(task, steel, slot, tools[-1])):
            whys.setdefault(why, []).append(slot.who)
    told = tuple(note("jig.depth-not-stopped", *whose, why=why) for why, whose in whys.items())
    held = [slot for slot, tools in ends.items() if tools]
    if not held:
        raise NoJigError(*(told or (refusal("jig.depth-no-need"),)))
    cut = notches(task, steel, [(slot, tuple(one.tool_width for one in ends[slot])) for slot in held])
    stop = setting(task, steel, cut)
    return Jig(
        name="depth",
        stages=("rough slots",),
        parts=(plates(task, steel, "depth", cut),),
        hardware=(note("jig.screw-and-nut", thread="M3", long=END_SCREW, count=1), *stop.hardware),
        steps=(step("jig.comb-set", screw=END_SCREW), *stop.steps, step("jig.depth-file", over=steel.over)),
        promise=stop.promise,
        check=stop.check,
        told=told,
        settings=stop.settings,
    )
