"""What the sheet and the screen of stages say around the bench's findings."""

from collections.abc import Iterator

from nutgen.bench.leaves import LEAF_WIDTH, TINPLATE
from nutgen.bench.stages import Stage
from nutgen.finding import Finding, Value, caution, note
from nutgen.spec.stacks import SHEET_ERROR, STACK_ERROR

LOCAL = caution("work.local-rules")
SIZES_READ = note("work.sizes-read")


def stops_read(work: tuple[Stage, ...]) -> Finding:
    """How the stop stacks are laid; where a shelf stands, against it; where no leaf is, of what."""
    stop = next(stage.slots for stage in work if stage.slots)[0].stop
    own, bench = stop.own, dict[str, Value]()
    if own:
        bench = {"found": bool(own.leaves), "sheets": bool(own.spread), "wide": LEAF_WIDTH, "tinplate": TINPLATE}
        bench |= {"loose": STACK_ERROR, "each": SHEET_ERROR}
    if stop.block:
        bench["block"] = stop.block
    return note("work.stops-read", shelf=any(stage.name == "shelf" for stage in work), **bench)


def stages_of_hazards(work: tuple[Stage, ...]) -> Iterator[tuple[Finding, str]]:
    """What can hurt at the stages, each once with the stages that it belongs to."""
    at: dict[Finding, list[int]] = {}
    for stage in work:
        for hazard in stage.cautions:
            at.setdefault(hazard, []).append(stage.number)
    for hazard, numbers in at.items():
        yield hazard, f"{'Stage' if len(numbers) == 1 else 'Stages'} {_runs(numbers)}"


def _runs(numbers: list[int]) -> str:
    """Rising numbers in words, three and more in a row as one run: 1, 4 to 8, 11."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
