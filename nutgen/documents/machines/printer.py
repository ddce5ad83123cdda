"""print.txt and its screen: how to print the nut, and what each slot still needs.

A printer's own settings, nozzle, layer and line, are in mm wherever it is used.
"""

from collections.abc import Mapping

from nutgen.bench.tools import SlotPlan
from nutgen.documents.blocks import Column, Document, Paragraph, Steps, Title, remark
from nutgen.documents.machines.cautions import plastic_cautions
from nutgen.documents.strings import FINISH, by_string, shelf_blocks
from nutgen.documents.texts import Run, Text, phrase
from nutgen.model.print.amount import CURED_LAYER, FILAMENT, FILL_SPEED, LAYER_PAUSE, OUTLINE_SPEED, Amount
from nutgen.model.print.printing import HOLDS, MARK_DEPTH, Lying, PrintedSlot, PrintPlan
from nutgen.nut.heights import fitted_how
from nutgen.spec.forming import Print

_SHORT = {"slotting file": "file"}
ROCKED = 0.005
"""A tool that widens a slot by more than this is rocked; less than this on a wall or a floor is nothing [mm]."""


def print_blocks(plan: PrintPlan, lying: Lying, amount: Amount, finish: Mapping[int, Text]) -> Document:
    """How to print it, and what each slot still needs.

    finish : number of a string -> the tool that finishes its slot
    """
    table = plan.table
    return (
        Title("Print"),
        Steps(
            (
                f"Open print.3mf in your slicer (or print.stl, in mm, 25.4 to the inch). It lies on its"
                f" {lying.down}: leave it so, at 100 %, without supports.",
                Run((_settings(table, lying.layers), _compensation(table)), " "),
                f"Sand the front face flat, then finish each slot: {_by_hand(plan)}",
            )
        ),
        Paragraph(Run(("Why this way: ", lying.why, ".")), "note"),
        Paragraph(_takes(amount), "note"),
        by_string(
            plan.slots,
            (Column("printed"), "way"),
            (Column("width", "setting_out"), lambda slot: slot.width or None),
            (Column("final", "setting_out"), "final_width"),
            (Column("walls", "leaf", breaks=True), lambda slot: _left(slot.walls_left)),
            (Column("floor", "leaf"), lambda slot: _left(slot.floor_left)),
            (Column("layers", "fine", sign=True), lambda slot: slot.layer_error if slot.width else None),
            (Column("finish with"), lambda slot: _finish(slot, finish[slot.number])),
        ),
        remark(
            "{units}. walls, floor: left for the file, on each wall and above the final floor. layers: how far the"
            " layers put the floor off, + is high. pilot: narrower and shallower, centred; mark: a line to start"
            " the file in. Slots under {held} do not come out true from this nozzle.",
            held=HOLDS * table.nozzle,
        ),
        *_wider(plan),
        *shelf_blocks(plan.nut),
        plastic_cautions(table),
    )


def _settings(table: Print, layers: int) -> Text:
    return phrase(
        "Set a nozzle of {nozzle:machine}, {layers} layers of {layer_height:machine}, the first like the others, lines"
        " of {line:machine}, solid all through, {material}. If your slicer counts other layers, its layer height is"
        " another.",
        table,
        layers=layers,
    )


def _takes(amount: Amount) -> Text:
    minutes = max(5, 5 * round(amount.minutes / 5.0))
    if not amount.filament:
        return (
            f"It takes about {amount.volume / 1000.0:.1f} ml of resin and {minutes} min: worked out from its volume and"
            f" {CURED_LAYER:g} s a layer."
        )
    return phrase(
        f"It takes about {amount.grams:.1f} g, {{length:.0}} of filament of {{filament:machine}}, and {minutes} min:"
        " worked out from its volume, two outer lines at {outline:machine} a second, the rest at {fill:machine},"
        f" {LAYER_PAUSE:g} s more a layer; without skirt, purge and heating. A printer half or twice as fast takes"
        " twice or half as long.",
        length=amount.filament,
        filament=FILAMENT,
        outline=OUTLINE_SPEED,
        fill=FILL_SPEED,
    )


def _wider(plan: PrintPlan) -> Document:
    """What a wall below 0 means, where there is one."""
    wider = [slot for slot in plan.slots if slot.walls_left <= -ROCKED]
    if not wider:
        return ()
    return (
        remark(
            "walls below 0: this nozzle cannot print the mark as narrow as the slot; it is wider by that on each"
            " side, {deep} deep at most. File on from its middle: what holds the string is the slot below.",
            deep=MARK_DEPTH,
        ),
    )


def _compensation(table: Print) -> Text:
    if not table.added_per_side:
        return "Nothing is added for the printer's own error yet: `nutgen coupon` makes a bar that measures it."
    turned = "added to" if table.added_per_side > 0.0 else "taken off"
    source = "read from the coupon" if table.coupon_slot is not None else "as the file says"
    return phrase(
        f"{{off:fine}} is {turned} every side already ({source}): leave the slicer's own correction of sizes at 0.",
        off=abs(table.added_per_side),
    )


_BY_HAND = {
    "whole": "whole slots only want smoothing",
    "pilot": "file pilots down to width and floor",
    "mark": "start the file in the marks",
    "none": "lay out the rest from the paper template",
}


def _by_hand(plan: PrintPlan) -> str:
    ways = {slot.way for slot in plan.slots}
    parts = "; ".join(words for way, words in _BY_HAND.items() if way in ways)
    return f"{parts}. The string at pitch decides: stop above the floor and {FINISH[fitted_how(plan.nut)]}."


def _left(size: float) -> float | None:
    return size if abs(size) >= ROCKED else None


def _finish(slot: PrintedSlot, tool: Text) -> Text:
    return Run((tool, ", if tight")) if slot.way == "whole" and slot.floor_left < ROCKED else tool


def finishing(plan: SlotPlan) -> Text:
    """The tool on the bench that brings a slot to its width."""
    if not plan.final:
        return "no tool on the bench"
    step = plan.final[-1]
    inches = f"{step.tool_width / 25.4:.3f} in".lstrip("0")
    words = f"{_SHORT.get(step.tool, step.tool)} {inches} ({{width:bare}}){', rocked' if step.widen > ROCKED else ''}"
    return phrase(words, width=step.tool_width)
