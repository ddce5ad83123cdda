"""The work at the bench as blocks: cautions first, then stage by stage, tools and stop stacks."""

from collections.abc import Iterable, Iterator

from nutgen.bench.leaves import EXACT, LOW_WORTH_A_WORD, LeafStack, StopStack
from nutgen.bench.materials import NutMaterial
from nutgen.bench.sizes import Size
from nutgen.bench.stages import Stage
from nutgen.bench.tools import SlotPlan
from nutgen.documents.blocks import Block, Column, Document, Paragraph, Points, Space, Steps, Style, Table, Title
from nutgen.documents.sheet.words import LOCAL, SIZES_READ, stages_of_hazards, stops_read
from nutgen.documents.strings import front_table, string_name
from nutgen.documents.texts import Labelled, Run, Text, capital, phrase
from nutgen.documents.words.jigs import JIG_NAMES
from nutgen.documents.words.stages import SIZES
from nutgen.finding import Finding


def work_blocks(work: tuple[Stage, ...], material: NutMaterial) -> Document:
    """What can hurt, then every stage, the tools of every slot, and the leaves that stop them."""
    plans = next(stage.slots for stage in work if stage.slots)
    hazards = (Run((hazard, f" ({stages}.)")) for hazard, stages in stages_of_hazards(work))
    return (
        Title(f"Before you start, take care: {material.name}", 2),
        Points(tuple(map(sourced, material.cautions)), "!"),
        Title("At the bench", 2),
        Points(tuple(hazards), "!"),
        Paragraph(LOCAL, "strong"),
        Title(f"Working {material.name}", 2),
        Points(tuple(map(sourced, material.working))),
        Title("Stages", 2),
        Paragraph(SIZES_READ, "note"),
        *(block for stage in work for block in _stage(stage, material)),
        Title("Tools, slot by slot", 2),
        *(block for plan in plans for block in tool_blocks(plan)),
        Title("Stop stacks", 2),
        Paragraph(stops_read(work), "note"),
        stop_table(plans),
    )


def sourced(finding: Finding) -> Text:
    """A finding with its published source behind it."""
    source = dict(finding.values).get("source")
    return Run((finding, f" [{source}]")) if source else finding


def _stage(stage: Stage, material: NutMaterial) -> Iterator[Block]:
    yield Title(f"{stage.number} {stage.name}", 2)
    yield Paragraph(stage.do)
    if stage.fronts:
        yield front_table(stage.fronts)
    for sizes in groups_of(stage.reach):
        yield _size_table(sizes)
    yield Space()
    yield from how_to(stage, material)
    yield from ways_back(stage)


def how_to(stage: Stage, material: NutMaterial) -> Iterator[Paragraph]:
    """What the stage is done and measured with."""
    if stage.name == "polish":
        yield _labelled("Papers:", Run(tuple(papers(material))))
    if stage.reach:
        yield _labelled("Measure:", stage.measure)
    if stage.jigs:
        yield _labelled("Jigs:", f"{', '.join(JIG_NAMES[name] for name in stage.jigs)}; `nutgen jigs` makes them.")


def ways_back(stage: Stage, style: Style = "") -> Iterator[Paragraph]:
    """What to do where a size went past its limit, and what can hurt."""
    for cure in stage.if_under:
        names = ", ".join(SIZES[size.name] for size in cure.about)
        yield _labelled(f"{names[:1].upper()}{names[1:]} past the limit:", Run((cure, ".")), style)
    yield _labelled("Take care:", Run(stage.cautions, " "), style)


def _labelled(label: str, text: Text, style: Style = "") -> Paragraph:
    return Paragraph(Labelled(label, text), style, hang=2)


def papers(material: NutMaterial) -> Iterator[Text]:
    each = tuple(phrase(f"{grit.name} {{takes_off:fine,bare}}", takes_off=grit.takes_off) for grit in material.grits)
    yield Run(each, ", ")
    yield phrase(" {units} off each face; in all {in_all}.", in_all=material.polish_face)


def groups_of(sizes: Iterable[Size]) -> Iterable[list[Size]]:
    """Sizes of the whole nut, then those of every string, kind by kind."""
    groups: dict[str, list[Size]] = {}
    for size in sizes:
        groups.setdefault(size.kind if size.string else "", []).append(size)
    return groups.values()


def _size_table(sizes: list[Size]) -> Table:
    head = SIZES[sizes[0].kind] if sizes[0].string else "size"
    numbers = tuple(Column(title, "setting_out", right=True) for title in ("stop at", "reach", "limit"))
    if not any(size.takes_off for size in sizes):
        return Table((Column(head), *numbers), tuple(map(size_row, sizes)))
    return Table(
        (Column(head), *numbers, Column("then off")), tuple((*size_row(size), then_off(size)) for size in sizes)
    )


def size_row(size: Size) -> tuple[Text, float, float, Text]:
    """Of which string or which it is; where to stop, what to reach, and the limit."""
    name = f"string {size.string.number} ({size.string.name})" if size.string else SIZES[size.kind]
    return name, size.stop, size.target, phrase(f"{'≤' if size.grows else '≥'} {{least:bare}}", least=size.least)


def then_off(size: Size) -> Text:
    """What comes off a size next, and by what; nothing where nothing does."""
    if not size.takes_off:
        return ""
    amount = sum(take.amount for take in size.takes_off)
    return phrase("{amount:bare} by {by}", amount=amount, by=size.takes_off[0].by)


def tool_blocks(plan: SlotPlan) -> Iterator[Block]:
    yield _labelled(f"String {string_name(plan)}:", plan.verdict)
    yield Steps(tuple(capital(step.do) for step in plan.steps), indent=2)
    if plan.by_wire:
        yield Paragraph(Run(("Width by wire: ", plan.by_wire)), indent=2, hang=2)


def stop_table(plans: tuple[SlotPlan, ...]) -> Table:
    """What stops each file, at the rough floor and at the final one: of each set, or of one's own bench the surest."""
    stops = [
        (f"{string_name(plan)} {which}", stop)
        for plan in plans
        for which, stop in (("rough", plan.rough_stop), ("final", plan.stop))
    ]
    own = any(stop.own for _, stop in stops)
    sets = ("steel over sheets",) if own else ("metric leaves", "inch leaves")
    lay = tuple(column for name in sets for column in (Column(name, breaks=name == sets[-1]), Column("out by")))
    columns = (Column("string"), Column("stack", "fine", none="none"), *lay)
    return Table(columns, tuple((name, *_lay(stop, own=own)) for name, stop in stops), "stops")


def _lay(stop: StopStack, *, own: bool) -> tuple[float | Text | None, ...]:
    """Height of a stack, what makes it, and what that is out by."""
    if stop.over_board <= 0.0:
        told = ("floor at or below the board", "", "measure over the frets", "")
        return (None, "floor at or below the board: over the frets", "") if own else (None, *told)
    stacks = (stop.best or stop.own or stop.metric,) if own else (stop.metric, stop.inch)
    return stop.height, *(text for stack in stacks for text in (stack.told, _out(stack)))


def _out(stack: LeafStack) -> Text:
    if not stack.summed:
        return "by caliper, as one"
    if not stack.leaves:
        return ""
    if abs(stack.error) < EXACT:
        return "exact"
    if stack.error > 0.0:
        return phrase("{error:fine} high", error=stack.error)
    short = ", stop short" if stack.error < -LOW_WORTH_A_WORD else ""
    return phrase(f"{{error:fine}} low{short}", error=-stack.error)
