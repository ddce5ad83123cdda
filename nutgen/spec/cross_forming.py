"""What the tables of the machines say of themselves: faults that no single key shows."""

from collections.abc import Iterator
from typing import Any

from nutgen.errors import Fault
from nutgen.spec.fields import shown
from nutgen.spec.forming import Print


def _print(table: Print) -> Iterator[Fault]:
    if table.coupon_slot is not None and "xy_per_side" in table.given:
        yield Fault("print.xy_per_side", "given together with coupon_slot; one follows from the other, keep one")
    if table.layer_height > table.nozzle:
        yield Fault(
            "print.layer_height",
            f"{shown(table.layer_height)} mm is more than the nozzle, {shown(table.nozzle)} mm;"
            " half the nozzle is usual",
        )
    if table.line_width is not None and not table.nozzle / 2.0 <= table.line_width <= 2.0 * table.nozzle:
        yield Fault(
            "print.line_width",
            f"{shown(table.line_width)} mm does not go with a nozzle of {shown(table.nozzle)} mm;"
            " about the nozzle is usual",
        )


FORMING_CHECKS: tuple[tuple[Any, tuple[str, ...]], ...] = ((_print, ("print",)),)
"""Checks, and the tables that each needs whole."""
