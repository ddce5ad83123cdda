"""The work at the bench in words, the same on the sheet and on the screen.

Lengths are written out in mm, two places, as a caliper shows them.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from nutgen.bench.leaves import EXACT, LOW_WORTH_A_WORD, LeafStack, StopStack
from nutgen.bench.materials import NutMaterial
from nutgen.bench.sizes import Size
from nutgen.bench.stages import Stage
from nutgen.bench.tools import SlotPlan
from nutgen.documents.words import sentence
from nutgen.documents.words.bench import SIZES, leaves_marked
from nutgen.findings import Finding
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
class Note:
    """A sentence for the maker, and where it comes from; nothing for what is common practice."""

    text: str
    source: str


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


def noted(findings: Iterable[Finding]) -> tuple[Note, ...]:
    """Findings in words, each with its published source."""
    return tuple(Note(sentence(one), str(dict(one.values).get("source", ""))) for one in findings)


def stages_of_hazards(work: tuple[Stage, ...]) -> Iterator[tuple[Finding, str]]:
    """What can hurt at the stages, each once with the stages that it belongs to."""
    at: dict[Finding, list[int]] = {}
    for stage in work:
        for hazard in stage.cautions:
            at.setdefault(hazard, []).append(stage.number)
    for hazard, numbers in at.items():
        yield hazard, f"{'Stage' if len(numbers) == 1 else 'Stages'} {_runs(numbers)}"


def hazards(work: tuple[Stage, ...]) -> tuple[Note, ...]:
    """The same in words."""
    return tuple(Note(f"{sentence(hazard)} ({stages}.)", "") for hazard, stages in stages_of_hazards(work))


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


def stage_words(stage: Stage, material: NutMaterial) -> StageWords:
    """One stage in words."""
    return StageWords(
        number=stage.number,
        name=stage.name,
        do=sentence(stage.do),
        measure=sentence(stage.measure),
        papers=_papers(material) if stage.name == "polish" else "",
        sizes=tuple(_groups(stage)),
        under=tuple((", ".join(SIZES[size.name] for size in cure.about), sentence(cure)) for cure in stage.if_under),
        cautions=tuple(map(sentence, stage.cautions)),
    )


def _papers(material: NutMaterial) -> str:
    papers = ", ".join(f"{grit.name} {grit.takes_off:.3f}" for grit in material.grits)
    return f"{papers} mm off each face; in all {material.polish_face:.2f} mm."


def _groups(stage: Stage) -> Iterator[SizeGroup]:
    groups: dict[str, list[Size]] = {}
    for size in stage.reach:
        groups.setdefault(SIZES[size.kind] if size.string else "", []).append(size)
    for heading, sizes in groups.items():
        amounts = {_amount(size) for size in sizes}
        by = {take.by for size in sizes for take in size.takes_off}
        lines = [_line(size) for size in sizes]
        if heading and len(amounts) == 1:
            yield SizeGroup(heading, lines[0].then, tuple(replace(line, then_short="") for line in lines))
        elif heading and len(by) == 1:
            short = (replace(line, then_short=_amount(size)) for line, size in zip(lines, sizes, strict=True))
            yield SizeGroup(heading, f"by {by.pop()}", tuple(short))
        else:
            yield SizeGroup(heading, "", tuple(lines))


def _amount(size: Size) -> str:
    return f"{sum(take.amount for take in size.takes_off):.2f}" if size.takes_off else ""


def _line(size: Size) -> SizeLine:
    off = f"{_amount(size)} by {size.takes_off[0].by}" if size.takes_off else ""
    kind, string = SIZES[size.kind], f"string {size.string.number} ({size.string.name})" if size.string else ""
    return SizeLine(
        name=f"{string}: {kind}" if string else kind,
        short=string or kind,
        stop=f"{size.stop:.2f}",
        reach=f"{size.target:.2f}",
        limit=f"{'≤' if size.grows else '≥'} {size.least:.2f}",
        then=off,
        then_short=off,
    )


def cuts(plans: tuple[SlotPlan, ...]) -> tuple[Cut, ...]:
    """The tools of every slot, step by step."""
    return tuple(_cut(plan) for plan in plans)


def _cut(plan: SlotPlan) -> Cut:
    steps = [sentence(step.do) for step in (*plan.rough, *plan.final)]
    return Cut(string_name(plan), sentence(plan.verdict), tuple(step[:1].upper() + step[1:] for step in steps))


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
    return (
        f"{stop.height:.3f}",
        leaves_marked(metric.leaves, "mm"),
        _out(metric),
        leaves_marked(inch.leaves, "in"),
        _out(inch),
    )


def _out(stack: LeafStack) -> str:
    if not stack.leaves:
        return ""
    if abs(stack.error) < EXACT:
        return "exact"
    if stack.error > 0.0:
        return f"{stack.error:.3f} high"
    return f"{-stack.error:.3f} low" + (", stop short" if stack.error < -LOW_WORTH_A_WORD else "")
