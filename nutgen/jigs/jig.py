"""A jig: its printed parts, what it promises, how it is checked, and the steps at the bench."""

from dataclasses import dataclass
from typing import Any, Literal, get_args

from nutgen.bench.sizes import StageName
from nutgen.finding import Finding, Subject
from nutgen.geometry.lines import Chain
from nutgen.geometry.pose import Pose

JigName = Literal[
    "trial", "pencil", "thickness", "ends", "top", "comb", "depth", "stick", "seat", "gauges",
]  # fmt: skip
JIG_NAMES: tuple[JigName, ...] = get_args(JigName)
"""In the order of work."""

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One printed body.

    name  : of its files
    solid : as it lies on the bed, the bed at z = 0
    used  : where that frame lies in the nut's when the jig is used
    apart : the way that it is drawn apart in a picture, in the nut's frame [mm]
    """

    name: str
    solid: Any
    used: Pose
    apart: Vector = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Check:
    """The one size of a jig that is measured once it is printed.

    what : which
    size : as drawn [mm]
    """

    what: Finding
    size: float


@dataclass(frozen=True, slots=True)
class Setting:
    """How a shoe is set for a string.

    string : whose slot it is
    shoe   : from the edge of a tool to the underside of its shoe [mm]
    width  : of the widest tool that goes with it [mm]
    """

    string: Subject
    shoe: float
    width: float


@dataclass(frozen=True, slots=True, eq=False)
class Jig:
    """A jig for one nut.

    name     : of it
    stages   : of the work that it serves
    parts    : printed
    steps    : how it is used, in order
    check    : what to measure on it
    hardware : screws, nuts, steel: a finding each
    promise  : what it holds
    told     : what it cannot do for this nut
    settings : of the shoe, string by string
    outlines : of gauges, one below the other, true to size
    """

    name: JigName
    stages: tuple[StageName, ...]
    parts: tuple[Part, ...]
    steps: tuple[Finding, ...]
    check: Check
    hardware: tuple[Finding, ...] = ()
    promise: tuple[Finding, ...] = ()
    told: tuple[Finding, ...] = ()
    settings: tuple[Setting, ...] = ()
    outlines: tuple[Chain, ...] = ()


class NoJigError(Exception):
    """A jig that is not made for this nut.

    why : reasons
    """

    def __init__(self, *why: Finding) -> None:
        super().__init__(*map(str, why))
        self.why = why
