"""What is on the bench to read a gap with, to cut a slot and to stop a file: asked before anything is measured.

A tool that was not told is not there: Enter answers none.
"""

from collections.abc import Iterator, Sequence

from nutgen.ask import drawings, values
from nutgen.ask.draft import Draft
from nutgen.ask.question import Question
from nutgen.errors import Unreadable
from nutgen.spec.workshop import Tools


def bench(draft: Draft) -> Iterator[Question]:
    """Leaves; where there are none, what serves instead of them."""
    yield from _for_gaps(draft)
    yield from _for_slots(draft)


def _for_gaps(draft: Draft) -> Iterator[Question]:
    unit, gauges = draft.units, draft.gauge_units
    yield Question("leaves", ("tools",), "Feeler leaves?",
                   "none; metric or inch for a usual set; or their sizes with spaces between.", "none", unit,
                   read=values.leaves)  # fmt: skip
    if draft.has_leaves:
        return
    yield Question("sheets", ("tools", "own_leaves"), "Sheets that fill a gap",
                   'Squeeze ten of a sort in the caliper, and write each sort with its ten: "paper 1.02, card 2.95".'
                   " From then on 2 card + 1 paper is a length. Enter where there are none.",
                   "", unit, drawings.TEN_SHEETS, values.sheets, may_skip=True)  # fmt: skip
    yield Question("wires", ("tools", "wires"), "Offcuts of plain strings",
                   "They gauge slots and gaps: by their packets, with spaces between. Enter where there are none.",
                   "", gauges, read=values.several, may_skip=True)  # fmt: skip
    yield Question("steel", ("tools", "steel"), "Strips of steel that a file stops on",
                   "The side of a tin with its edges filed dull, the smooth part of a saw back: caliper, one number"
                   " each. Enter where there are none yet.",
                   "", unit, read=values.several, may_skip=True)  # fmt: skip


def _for_slots(draft: Draft) -> Iterator[Question]:
    yield Question("files", ("tools", "files"), "Slotting files with a round edge?",
                   "none; usual for a set; or their widths with spaces between.", "none", draft.gauge_units,
                   read=values.tool_set)  # fmt: skip
    yield Question("needle files", ("tools", "needle_files"), "Round needle files?",
                   "none; usual for one; or each by caliper at the tip and where the teeth end, like"
                   f' "{"0.9-3.0" if draft.units == "mm" else "0.035-0.12"}".', "none", draft.units,
                   read=values.needles)  # fmt: skip
    yield Question("saws", ("tools", "saws"), "Fine saws?",
                   "none; usual for two; or the kerf of each, by caliper in a cut made in scrap.", "none", draft.units,
                   read=values.tool_set)  # fmt: skip
    yield Question("drills", ("tools", "drill_shanks"), "Drills whose smooth shank can carry abrasive paper?",
                   "none; usual for a household set; or their diameters.", "none", draft.units,
                   read=values.tool_set)  # fmt: skip


def fills(tools: Tools) -> str:
    """What a gap is read with on a bench, in words."""
    if tools.feeler or tools.feeler_inch:
        return "leaf or stack"
    sheets = f"stack of sheets ({_stack([one.name for one in tools.own_leaves])})" if tools.own_leaves else ""
    return " or ".join(word for word in ("wire" if tools.wires else "", sheets) if word) or "strip, by caliper,"


def _stack(names: Sequence[str]) -> str:
    return " + ".join(f"{count} {name}" for count, name in zip((2, 1), names[:-3:-1], strict=False))


def in_gap(draft: Draft) -> str:
    """How a gap may be written on this bench, as an example: a length, sheets by their names, or a wire."""
    try:
        names = list(values.sheets(draft.given("sheets")))
    except Unreadable:
        names = []
    if not draft.has_leaves and names:
        return _stack(names)
    wires = draft.given("wires").split()
    return f"{wires[0]} wire" if wires and not draft.has_leaves else ("0.2" if draft.units == "mm" else "0.008")
