"""The work at the bench in words, the same on the sheet and on the screen.

Lengths are written out in mm, two places, as a caliper shows them.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from nutgen.bench.leaves import LOW_WORTH_A_WORD, LeafStack, StopStack
from nutgen.bench.materials import COMMON_PRACTICE, Material, Note
from nutgen.bench.sizes import Size
from nutgen.bench.stages import Stage
from nutgen.bench.tools import SlotPlan
from nutgen.nut.part import Slot

LOCAL = (
    "Local rules for workshops, dust, glue and the trade in animal parts come first. Where you are unsure, or the"
    " instrument is worth more than the lesson, ask a licensed repairer."
)

SIZES_READ = (
    "Stop at: put the tool down and measure; from there stroke by stroke. Reach: the size of this stage, with what"
    " comes off later still on. Limit: beyond it the nut is no longer sound; then see the way back."
)

STOPS_READ = (
    "Lay the leaves on the board in front of the nut, along the string and centred under it, pushed up to the front"
    " face. File until the file just touches steel. Low: stop that much short of the leaf."
)


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of words under column heads of one or two lines; `right` marks columns of numbers."""

    heads: tuple[tuple[str, str], ...]
    right: tuple[bool, ...]
    rows: tuple[tuple[str, ...], ...]
    remark: str = ""


@dataclass(frozen=True, slots=True)
class SizeLine:
    """A size to reach, in words.

    name       : the whole of it
    short      : the same under the heading of its group
    then       : what comes off it next
    then_short : what of this the heading does not say
    """

    name: str
    short: str
    stop: str
    reach: str
    limit: str
    then: str
    then_short: str


@dataclass(frozen=True, slots=True)
class SizeGroup:
    """Sizes of one kind: of the nut, under no heading, or one of every string.

    then : what comes off all of them next, or by what
    """

    heading: str
    then: str
    lines: tuple[SizeLine, ...]


@dataclass(frozen=True, slots=True)
class StageWords:
    """A stage in words; `under` pairs the sizes concerned with their way back."""

    number: int
    name: str
    do: str
    measure: str
    papers: str
    sizes: tuple[SizeGroup, ...]
    under: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """One slot's tools, in order, and how well they fit."""

    string: str
    verdict: str
    steps: tuple[str, ...]


def source_of(note: Note) -> str:
    """Where a note comes from; nothing for what is common practice."""
    return "" if note.source == COMMON_PRACTICE else note.source


def hazards(work: tuple[Stage, ...]) -> tuple[Note, ...]:
    """What can hurt at the stages, each said once with the stages that it belongs to."""
    at: dict[Note, list[int]] = {}
    for stage in work:
        for note in stage.cautions:
            at.setdefault(note, []).append(stage.number)
    return tuple(
        Note(f"{note.text} ({'Stage' if len(numbers) == 1 else 'Stages'} {_runs(numbers)}.)", note.source)
        for note, numbers in at.items()
    )


def _runs(numbers: list[int]) -> str:
    """Rising numbers in words, three and more in a row as one run: 1, 4 to 8, 11."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)


def string_name(slot: Slot | SlotPlan) -> str:
    """Number and note of a string."""
    return f"{slot.number} {slot.note}"


def stage_words(stage: Stage, material: Material) -> StageWords:
    """One stage in words."""
    return StageWords(
        number=stage.number,
        name=stage.name,
        do=stage.do,
        measure=stage.how_to_measure,
        papers=_papers(material) if stage.name == "polish" else "",
        sizes=tuple(_groups(stage)),
        under=tuple(_under(stage)),
        cautions=tuple(note.text for note in stage.cautions),
    )


def _papers(material: Material) -> str:
    papers = ", ".join(f"{grit.name} {grit.takes_off:.3f}" for grit in material.grits)
    return f"{papers} mm off each face; {material.polish_face:.2f} mm in all."


def _groups(stage: Stage) -> Iterator[SizeGroup]:
    lines: dict[str, list[SizeLine]] = {}
    for size in stage.reach:
        string, _, kind = size.name.rpartition(": ")
        lines.setdefault(kind if string else "", []).append(_line(size, string, stage))
    for heading, group in lines.items():
        thens = {line.then for line in group}
        bys = {line.then.partition(" ")[2] for line in group}
        if heading and len(thens) == 1:
            yield SizeGroup(heading, thens.pop(), tuple(replace(line, then_short="") for line in group))
        elif heading and len(bys) == 1:
            amounts = (replace(line, then_short=line.then.partition(" ")[0]) for line in group)
            yield SizeGroup(heading, bys.pop(), tuple(amounts))
        else:
            yield SizeGroup(heading, "", tuple(group))


def _line(size: Size, string: str, stage: Stage) -> SizeLine:
    takes = [take for take in stage.next_takes_off if take.size == size.name]
    off = f"{sum(take.amount for take in takes):.2f} by {takes[0].by.partition(',')[0]}" if takes else ""
    return SizeLine(
        name=size.name,
        short=string or size.name,
        stop=f"{size.stop:.2f}",
        reach=f"{size.target:.2f}",
        limit=f"{'≤' if size.opens else '≥'} {size.least:.2f}",
        then=off,
        then_short=off,
    )


def _under(stage: Stage) -> Iterator[tuple[str, str]]:
    """Ways back, each said once with the sizes that it is for."""
    sizes: dict[str, dict[str, None]] = {}
    for cure in stage.if_under:
        sizes.setdefault(cure.words, {})[cure.size.split(": ")[-1]] = None
    for words, names in sizes.items():
        yield ", ".join(names), words


def cuts(plans: tuple[SlotPlan, ...]) -> tuple[Cut, ...]:
    """The tools of every slot, step by step."""
    return tuple(_cut(plan) for plan in plans)


def _cut(plan: SlotPlan) -> Cut:
    steps = tuple(step.words[:1].upper() + step.words[1:] for step in (*plan.rough, *plan.final))
    return Cut(string_name(plan), plan.words, steps)


def stops(plans: tuple[SlotPlan, ...]) -> Table:
    """Which leaves stop each file, at the rough floor and at the final one."""
    heads = (
        ("string", ""),
        ("slot", ""),
        ("stack", "mm"),
        ("leaves", "mm"),
        ("out by", "mm"),
        ("leaves", "in"),
        ("out by", "mm"),
    )
    rows = tuple(
        (string_name(plan) if which == "rough" else "", which, *_stop_cells(stop))
        for plan in plans
        for which, stop in (("rough", plan.rough_stop), ("final", plan.stop))
    )
    return Table(heads, (False, False, True, False, False, False, False), rows, STOPS_READ)


def _stop_cells(stop: StopStack) -> tuple[str, ...]:
    if stop.over_board <= 0.0:
        return "none", "floor at or below the board", "", "measure over the frets", ""
    metric, inch = stop.metric, stop.inch
    return f"{stop.height:.3f}", metric.words, _out(metric), inch.words_inch, _out(inch)


def _out(stack: LeafStack) -> str:
    if not stack.leaves:
        return ""
    if abs(stack.error) < 0.0005:
        return "exact"
    if stack.error > 0.0:
        return f"{stack.error:.3f} high"
    return f"{-stack.error:.3f} low" + (", stop short" if stack.error < -LOW_WORTH_A_WORD else "")
