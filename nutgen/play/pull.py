"""How hard the strings pull on the neck, and what changes against another set or tuning."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.nut.places import string_scales
from nutgen.nut.remarks import kind_of
from nutgen.nut.strung import Strung, strung, strung_with
from nutgen.spec.tables import Spec
from nutgen.theory.strings import HIGH_LOAD, SLACK_PULL_N, pull_state

Array = NDArray[np.float64]

NEWTON_PER = {"N": 1.0, "kgf": 9.80665, "lbf": 4.4482216}
"""Units of pull. kgf: exact, by the standard acceleration of 1901; lbf: 0.45359237 kgf."""

UNEVEN = 1.35
"""Pull over a neighbour's from which a string feels stiffer or looser than it. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Pull:
    """Pull of a set at pitch. Arrays run bass to treble.

    strings    : the set
    tension_n  : pull of each string [N]
    error_n    : half width of the band in which each lies [N]
    load_share : of the breaking load; nan where that is not known
    state      : "plays", "slack", "near breaking" or "breaks"
    """

    strings: Strung
    tension_n: Array
    error_n: Array
    load_share: Array
    state: tuple[str, ...]

    @property
    def total_n(self) -> float:
        """Pull of all strings on the neck [N]."""
        return float(self.tension_n.sum())

    @property
    def total_error_n(self) -> float:
        """Half width of the total's band: the sum, because strings of one model err together [N]."""
        return float(self.error_n.sum())

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the pull rests on that the file does not say."""
        if "wound" not in self.strings.basis:
            return ()
        worst = max(e for e, b in zip(self.strings.relative_error, self.strings.basis, strict=True) if b == "wound")
        return (
            f"the pull of wound strings comes from a model of their usual build, within {worst:.0%};"
            " write unit_mass where the maker prints it",
        )


@dataclass(frozen=True, slots=True)
class Change:
    """Against what was strung before.

    before    : pull of the old set
    by_string : change of each string; None where the number of strings differs [N]
    total_n   : change in all [N]
    error_n   : half width of the total change's band [N]
    relief    : change of relief to expect; None without a measured neck stiffness [mm]
    """

    before: Pull
    by_string: Array | None
    total_n: float
    error_n: float
    relief: float | None

    @property
    def direction(self) -> str:
        """ "more", "less", or "unclear" where the change is within what is known of the strings."""
        return "unclear" if abs(self.total_n) <= self.error_n else "more" if self.total_n > 0.0 else "less"

    @property
    def meaning(self) -> str:
        """What it means for the neck, in words."""
        share = abs(self.total_n) / self.before.total_n
        steps = "string up to pitch, let the neck settle, set the relief, and only then file the slots"
        if self.direction == "unclear":
            return f"that is within what is known of these strings: the relief may move either way; {steps}"
        bow = "more relief" if self.direction == "more" else "less relief, perhaps a back bow,"
        figure = "" if self.relief is None else f", about {self.relief:+.2f} mm by this neck's measured stiffness"
        return f"{share:.0%} {self.direction} pull: expect {bow}{figure}; {steps}"


def pull_of(strings: Strung) -> Pull:
    """Pull of a set of strings."""
    tension = strings.tension_n
    known = np.where(np.isfinite(strings.breaking_n), strings.breaking_n, 1e9)
    state = pull_state(tension_n=tension, breaking_load_n=known)
    return Pull(
        strings, tension, tension * strings.relative_error, tension / strings.breaking_n, tuple(map(str, state))
    )


def pull_now(spec: Spec) -> Pull:
    """Pull of a file's strings; raises CannotBeMade where a slanted nut has no places for them."""
    return pull_of(strung(spec))


def pull_before(spec: Spec) -> Pull | None:
    """Pull of what the file's `[before]` says was strung; None where there is none."""
    before = spec.before
    if before is None:
        return None
    strings, scale = before.strings or spec.strings, np.array(string_scales(spec))
    if len(strings) != len(scale):
        scale = np.linspace(scale[0], scale[-1], len(strings))
    a4_hz = before.a4_hz or spec.instrument.a4_hz
    return pull_of(strung_with(strings, scale_length=scale, a4_hz=a4_hz, kind=kind_of(spec), notes=before.tuning))


def change(now: Pull, before: Pull, *, relief_per_100_n: float | None = None) -> Change:
    """What changes from one set to the next.

    relief_per_100_n : relief that 100 N more add on this neck [mm]
    """
    same = len(now.tension_n) == len(before.tension_n)
    total = now.total_n - before.total_n
    return Change(
        before=before,
        by_string=now.tension_n - before.tension_n if same else None,
        total_n=total,
        error_n=_change_error_n(now, before),
        relief=None if relief_per_100_n is None else relief_per_100_n * total / 100.0,
    )


def _change_error_n(now: Pull, before: Pull) -> float:
    """Strings that are the same in both sets err by the same share, so that only their change counts."""
    a, b = now.strings, before.strings
    if len(a.notes) != len(b.notes):
        return now.total_error_n + before.total_error_n
    same = np.isclose(a.unit_mass_kg_per_m, b.unit_mass_kg_per_m, rtol=1e-9) & (np.array(a.basis) == np.array(b.basis))
    together = np.abs(now.error_n - before.error_n)
    return float(np.where(same, together, now.error_n + before.error_n).sum())


def pull_warnings(pull: Pull) -> Iterator[str]:
    """Strings that are slack, near breaking, or far from their neighbours, by number and note."""
    count = len(pull.tension_n)
    for i, note in enumerate(pull.strings.notes):
        name, tension = f"string {count - i} ({note})", pull.tension_n[i]
        match pull.state[i]:
            case "slack":
                yield (
                    f"{name}: {tension:.1f} N is slack, under {SLACK_PULL_N:g} N; it will flap and not sound;"
                    " a thicker gauge or a higher note"
                )
            case "breaks":
                yield f"{name}: {tension:.0f} N is {pull.load_share[i]:.0%} of its strength; it breaks before its pitch"
            case "near breaking":
                yield (
                    f"{name}: {tension:.0f} N is {pull.load_share[i]:.0%} of its strength, over {HIGH_LOAD:.0%};"
                    " it will break soon at a bend; a lower note or a shorter scale (no gauge helps)"
                )
        beside = [pull.tension_n[k] for k in (i - 1, i + 1) if 0 <= k < count]
        if beside and tension > UNEVEN * max(beside):
            yield f"{name}: pulls {tension / max(beside) - 1.0:.0%} more than its neighbours; it will feel stiff"
        elif beside and tension < min(beside) / UNEVEN and pull.state[i] != "slack":
            yield f"{name}: pulls {1.0 - tension / min(beside):.0%} less than its neighbours; it will feel loose"


STRENGTH_SOURCE = (
    "strength of music wire by diameter: ASTM A228 constants as in J. E. Shigley, Mechanical Engineering"
    " Design, table 10-4, from memory"
)
