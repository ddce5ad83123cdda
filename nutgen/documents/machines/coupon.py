"""coupon.txt and its screen: how to print the fit coupon, read it and write the reading down."""

from nutgen.documents.blocks import Column, Document, Paragraph, Space, Steps, Title, remark, table_of
from nutgen.documents.machines.cautions import plastic_cautions
from nutgen.documents.texts import Cell, Text, phrase
from nutgen.model.print.coupon import Coupon
from nutgen.nut.slot import Slot
from nutgen.spec.forming import Print


def coupon_blocks(coupon: Coupon, table: Print, *, step_given: bool) -> Document:
    """How to print the fit coupon, read it and write the reading down.

    step_given : the file says its own coupon_step, which the next make must know too
    """
    kept = f"coupon_step = {coupon.step:g}"
    return (
        Title("Read the printer"),
        Steps(_steps(coupon.slot, table)),
        Space(),
        *(
            Paragraph(line, indent=7)
            for line in ("[print]", "coupon_slot = 2", "coupon_seat = 0", *([kept] if step_given else []))
        ),
        table_of(
            coupon.tries,
            (Column("coupon_slot", "count"), lambda one: Cell(one.step, "count", sign=one.step != 0)),
            (Column("slot as drawn", "fine"), "width"),
            (Column("per side", "fine", sign=True, places=4), "per_side"),
            indent=3,
        ),
        remark(
            "{units}. per side: what is then added to every side of the nut, so that widths come out within"
            " {near:fine}. If the string enters the narrowest slot, or not even the widest, the printer is off by"
            " more than the bar shows: set coupon_step to {next:machine} and print it again.",
            near=coupon.step / 2.0,
            next=round(2.0 * coupon.step, 3),
        ),
        plastic_cautions(table),
    )


def _steps(slot: Slot, table: Print) -> tuple[Text, ...]:
    return (
        phrase(
            "Print coupon.3mf as it lies, with the settings of the nut: a nozzle of {nozzle:machine}, layers of"
            " {layer_height:machine}, {material}, the slicer's own correction of sizes at 0.",
            table,
        ),
        phrase(
            "Take string {number} ({note}, {gauge:fine} by caliper) and find the narrowest slot that it enters"
            " without force. Count the steps from the slot without notches: a shallow notch is one, a deep one"
            " five; minus on the side of the cut corner.",
            slot,
        ),
        "Slide the stair into the nut's seat, thin end first, and count the thickest tread that goes in; minus"
        " toward the thin end.",
        "Write both into the instrument file, then make the nut again:",
    )
