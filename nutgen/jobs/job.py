"""What one purpose makes: files, how each is proved, and what is said of them."""

import io
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from typing import Any

from nutgen.documents.screen import Screen
from nutgen.formats.stamp import Stamp
from nutgen.jobs.provers import Prover


@dataclass(frozen=True, slots=True)
class Job:
    """Files for one purpose.

    files    : name -> content
    provers  : name -> what it must say when read back
    record   : for nut.json
    warnings : in words
    volume   : of the solid, where this job made it [mm3]
    report   : says on a screen what a maker needs to know to use the files
    """

    files: dict[str, bytes]
    provers: dict[str, Prover]
    record: dict[str, Any] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    report: Callable[[Screen], None] | None = None
    volume: float | None = None


def report_text(stamp: Stamp, show: Callable[[Screen], None], warnings: Collection[str] = ()) -> str:
    """A report as a file, 80 columns wide: what it was made from, what a screen shows of it, its warnings."""
    out = io.StringIO()
    screen = Screen(out=out, width=80)
    screen.say(stamp.line)
    screen.say()
    show(screen)
    for warning in warnings:
        screen.say(f"! {warning}", hang="  ")
    return out.getvalue()
