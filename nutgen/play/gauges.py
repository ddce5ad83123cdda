"""Which gauges of a range reach a wanted pull, or the same pull for all."""

from dataclasses import dataclass

import numpy as np

from nutgen.nut.places import SOFT, Kind, kind_of
from nutgen.nut.strung import strung_with
from nutgen.play.pull import on_the_neck
from nutgen.spec.strings import AnyString
from nutgen.spec.tables import Spec
from nutgen.theory import Array

INCH = 25.4
REACHED = 0.08
"""How far a pull may be off its target and still count as reached: about one gauge. Common practice, no source."""

_RANGES = {
    ("steel", False): (0.007, 0.026),
    ("steel", True): (0.018, 0.080),
    ("bass", False): (0.018, 0.026),
    ("bass", True): (0.025, 0.145),
    ("nylon", False): (0.019, 0.045),
    ("nylon", True): (0.024, 0.056),
}
"""Gauges met in the trade by kind and winding [in]. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Gauges for a wanted pull, bass to treble.

    target_n     : wanted pull of each string [N]
    gauge        : the gauge of the range that comes closest [mm]
    tension_n    : its pull [N]
    reached      : whether that is within a gauge's step of the target
    beside       : the nearest gauges that pull less and more, and their pulls, (strings, 2); nan where there is none
    low, high    : the range looked through for each string [mm]
    """

    target_n: float
    gauge: Array
    tension_n: Array
    reached: tuple[bool, ...]
    beside: Array
    beside_n: Array
    low: Array
    high: Array

    @property
    def total_n(self) -> float:
        """Pull of the suggested set [N]."""
        return float(self.tension_n.sum())


def suggest(spec: Spec, *, target_n: float | None, low: float | None = None, high: float | None = None) -> Suggestion:
    """Gauges that pull alike.

    target_n  : wanted pull of each string; None for an even pull with the same total as now [N]
    low, high : range of gauges for every string; the trade's for its kind where not given [mm]
    raises    : ValueError where no gauge lies in the range

    Strings keep their notes, material and winding. Wound ones are taken to be built as usual.
    """
    kind, now = kind_of(spec), on_the_neck(spec)
    target = float(now.tension_n.mean()) if target_n is None else target_n
    gauges, tensions, beside, bounds = [], [], [], []
    for i, string in enumerate((*spec.drones, *spec.strings)):
        choice = _choice(string, kind, low, high)
        others = strung_with(
            [_like(string, gauge) for gauge in choice],
            scale_length=[now.scale_length[i]] * len(choice),
            a4_hz=spec.instrument.a4_hz,
            kind=kind,
        )
        best = int(np.argmin(np.abs(np.log(others.tension_n / target))))
        gauges.append(choice[best])
        tensions.append(others.tension_n[best])
        beside.append(_straddling(choice, others.tension_n, target))
        bounds.append((choice[0], choice[-1]))
    tension = np.array(tensions)
    reached = tuple(bool(abs(t / target - 1.0) <= REACHED) for t in tension)
    near, near_n = np.moveaxis(np.array(beside), 1, 0)
    return Suggestion(target, np.array(gauges), tension, reached, near, near_n, *np.array(bounds).T)


def _straddling(choice: Array, pulls: Array, target: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """The gauges next to a wanted pull, less and more, and their pulls; pull rises with the gauge."""
    above = int(np.searchsorted(pulls, target))
    places = (above - 1, above)
    gauge, pull = ([of[i] if 0 <= i < len(choice) else np.nan for i in places] for of in (choice, pulls))
    return (gauge[0], gauge[1]), (pull[0], pull[1])


def _like(string: AnyString, gauge: float) -> AnyString:
    """The same string in another gauge; what was measured on the one does not hold for the other."""
    return string.model_copy(update={"gauge": float(gauge), "unit_mass": None, "core": None, "wraps": None})


def _choice(string: AnyString, kind: Kind, low: float | None, high: float | None) -> Array:
    """Gauges to choose from: the trade's steps between two bounds [mm]."""
    material = "nylon" if string.material in SOFT else kind if kind == "bass" else "steel"
    least, most = _RANGES[material, string.wound]
    least, most = least if low is None else low / INCH, most if high is None else high / INCH
    step = 0.005 if string.wound and kind == "bass" else 0.001
    grid = np.arange(round(0.005 / step), round(0.2 / step) + 1) * step
    if not string.wound:
        grid = np.union1d(grid, np.arange(14, 28) * 0.0005)
    grid = np.unique(np.round(grid[(grid >= least - 1e-9) & (grid <= most + 1e-9)], 4))
    if grid.size == 0:
        kind_words = "wound" if string.wound else "plain"
        raise ValueError(f"no {kind_words} gauge of the trade lies between {least:.4g} and {most:.4g} in")
    return np.asarray(grid * INCH, float)
