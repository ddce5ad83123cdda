"""What the sheet and the screen of stages say around the bench's findings."""

from collections.abc import Iterator

from nutgen.bench.stages import Stage
from nutgen.bench.tools import SlotPlan
from nutgen.finding import Finding
from nutgen.nut.slot import Slot

LOCAL = (
    "Local rules for workshops, dust, glue and the trade in animal parts come first. Where you are unsure, or the"
    " instrument is worth more than the lesson, ask a licensed repairer."
)

SIZES_READ = (
    "Stop at: put the tool down and measure; from there stroke by stroke. Reach: the size of this stage, with what"
    " comes off later still on. Limit: beyond it the nut is no longer sound; then see the way back."
)


def stops_read(work: tuple[Stage, ...]) -> str:
    """How the stop stacks are laid; where a shelf stands, against it."""
    shelf = any(stage.name == "shelf" for stage in work)
    against = "shelf, or to the front face where no shelf meets them" if shelf else "front face"
    reach = (
        " Where a neighbour's shelf keeps them off a string that starts farther back, the stack is as high as the file"
        " stands over them there."
    )
    return (
        "Lay the leaves on the board in front of the nut, along the string and centred under it, pushed up to the"
        f" {against}.{reach if shelf else ''} File until the file just touches steel. Low: stop that much short of the"
        " leaf."
    )


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


def string_name(slot: Slot | SlotPlan) -> str:
    """Number and note of a string."""
    return f"{slot.number} {slot.note}"
