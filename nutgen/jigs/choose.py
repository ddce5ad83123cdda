"""Which jigs a nut needs, which were asked for, and why one is not made."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from nutgen.errors import CannotBeMade
from nutgen.finding import Finding, note, refusal, warning
from nutgen.jigs.blocks import pencil, seat, stick
from nutgen.jigs.ends import ends
from nutgen.jigs.gauges import gauges
from nutgen.jigs.jig import Jig, JigName, NoJigError
from nutgen.jigs.lay import Laid, laid
from nutgen.jigs.slots import comb, depth
from nutgen.jigs.task import Task
from nutgen.jigs.thickness import thickness
from nutgen.jigs.top import top

MAKERS: Mapping[JigName, Callable[[Task], Jig]] = MappingProxyType(
    {
        "pencil": pencil,
        "thickness": thickness,
        "ends": ends,
        "top": top,
        "comb": comb,
        "depth": depth,
        "stick": stick,
        "seat": seat,
        "gauges": gauges,
    }
)
"""In the order of work."""

PART_NAMES = (
    *("pencil", "thickness", "thickness-wedge", "ends", "top"),
    *(f"top-{setting}-{place}" for setting in ("land", "bevel") for place in ("front", "back")),
    *("comb", "depth", "stick", "seat", "gauge-top", "gauge-strings", "gauge-bevel", "gauge-radius"),
)
"""Every part that a jig may have."""

ON_DEMAND: tuple[JigName, ...] = ("pencil", "stick", "seat")
"""What is made only where it is asked for by name."""

OF_A_PRINT: tuple[JigName, ...] = ("comb", "depth", "seat", "gauges", "pencil")
"""What a nut from the printer can use: it needs slots only."""


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """A jig and its parts on the bed."""

    jig: Jig
    parts: tuple[Laid, ...]


def jigs(task: Task, asked: Collection[JigName] = ()) -> tuple[tuple[Made, ...], tuple[Finding, ...]]:
    """The jigs of a nut in the order of work, and why others are not made.

    asked  : by name; all that the nut needs where empty
    raises : CannotBeMade where one that was asked for cannot be made, or none can
    """
    made: list[Made] = []
    left_out: list[Finding] = []
    reasons: list[Finding] = []
    for name, maker in MAKERS.items():
        if (asked and name not in asked) or (not asked and name in ON_DEMAND):
            continue
        if task.material.printed and name not in OF_A_PRINT:
            left_out.append(note("jig.not-needed", jig=name))
            continue
        try:
            jig = maker(task)
            made.append(Made(jig, tuple(laid(part, task.printer) for part in jig.parts)))
        except NoJigError as error:
            reasons += error.why
            left_out += [warning("jig.not-made", jig=name, why=why) for why in error.why]
    if (asked and reasons) or not made:
        raise CannotBeMade(reasons or [refusal("jig.none-needed")])
    return tuple(made), tuple(left_out)
